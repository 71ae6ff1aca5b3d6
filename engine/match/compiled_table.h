#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "match/sweep_cars.h"
#include "match/sweep_index.h"
#include "text/cache.h"

namespace kitgap {

// The index of one table of rows as the cache keeps it: by the content of the file, found without reading the file
// where that has not changed since. It serves cars that state every fact the rows ask about; others need the rows.
class CompiledTable {
 public:
  struct Found {
    std::unique_ptr<SweepIndex> index;
    std::vector<std::string> passed_over;
  };

  CompiledTable(std::optional<Cache> cache, const std::filesystem::path& rows);
  // The kept index, if its columns mean for these cars what they meant when it was made.
  std::optional<Found> find(const SweepCars& cars) const;
  // Whether the index is worth making for few cars: the same rows were asked before.
  bool was_asked() const { return was_asked_; }
  // Whether an index made of this table can be kept: places of decimals hang on the cars.
  static bool can_keep(const SweepTable& table);
  // What is needed beside the index of a table; taken before it is made.
  struct Columns {
    std::string content;  // the hash of the table's bytes
    std::vector<std::string> passed_over;
    std::vector<SweepType> by_cars;  // per column of the index, what the cars' values are
  };
  void keep(const SweepIndex& index, const Columns& columns, const SweepCars& cars) const;
  // Only remembers that the rows were asked.
  void remember() const;

 private:
  void remember(const std::string& content) const;
  std::string content_of_file() const;

  std::optional<Cache> cache_;
  std::filesystem::path rows_;
  std::optional<FileStamp> stamp_;  // before anything was read
  std::string memo_name_;
  std::string content_;  // empty: not known
  bool was_asked_ = false;
  std::int64_t begun_;  // before the rows were looked at
};

}  // namespace kitgap
