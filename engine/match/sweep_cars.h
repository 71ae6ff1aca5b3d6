#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "match/csv_scan.h"
#include "match/sweep_cells.h"
#include "match/sweep_places.h"
#include "text/diagnostics.h"

namespace kitgap {

// What the cars say in one column. Plain whole numbers are kept as such; a column with anything else keeps each
// different text once.
class CarFact {
 public:
  explicit CarFact(std::string name) : name_(std::move(name)) {}
  const std::string& name() const { return name_; }
  std::size_t size() const { return values_.size(); }
  void add_number(std::int64_t number) { values_.push_back(number); }  // when `is_plain`
  void add(std::string_view text);                                     // empty: unknown
  bool is_plain() const { return is_plain_; }
  bool is_unknown(std::size_t car) const { return values_[car] == kUnknown; }
  bool all_unknown() const;
  bool any_unknown() const;
  // Numbers where every value that a car states is one, dates likewise, else text.
  SweepType type() const;
  // Whether every value read as `type` is a whole number that leaves room around it.
  bool is_whole(SweepType type) const;
  std::optional<Fraction> value(std::size_t car, SweepType type) const;
  std::string text(std::size_t car) const;
  std::int64_t number(std::size_t car) const { return values_[car]; }
  // A number per different text, below `text_count`; for columns that are not plain.
  std::size_t text_count() const { return texts_.size(); }
  const std::string& text_of(std::size_t id) const { return texts_[id]; }
  // The order of the texts as numbers; see below.
  std::vector<std::uint32_t> natural_order() const;
  // Puts car `order[i]` at place i.
  void reorder(const std::vector<std::uint32_t>& order);

 private:
  static constexpr std::int64_t kUnknown = kFirstPlace;
  void make_texts();
  std::uint32_t id_of(std::string text);

  std::string name_;
  bool is_plain_ = true;
  std::vector<std::int64_t> values_;  // a number, or the number of a text
  std::vector<std::string> texts_;
  std::unordered_map<std::string, std::uint32_t> ids_;
};

// The cars of a sweep in the order of the answer: by number where their ids are numbers.
struct SweepCars {
  std::vector<CarFact> facts;
  CarFact ids{"car_id"};
  std::size_t size() const { return ids.size(); }
  const CarFact* find(std::string_view name) const;
};

// Nothing when something was reported.
[[nodiscard]] std::unique_ptr<SweepCars> read_sweep_cars(const std::filesystem::path& path, Sources& sources,
                                                         Diagnostics& diagnostics);

// The number that the text writes the one plain way: digits, at most 17, no zero in front.
std::optional<std::int64_t> plain_number(std::string_view text);

// The order of `texts` as numbers where they are plain numbers, numbers before other texts, else by bytes.
std::vector<std::uint32_t> natural_order(std::size_t count, const std::function<std::string(std::size_t)>& text);

}  // namespace kitgap
