#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <vector>

#include "value/fraction.h"

namespace kitgap {

// Every value of a fact is a place on a line of whole numbers: a whole number stands for itself, of a fact with
// decimals every value and every gap between values that are named has its place, a word its number. So every test is
// a few ranges of places.
inline constexpr std::int64_t kFirstPlace = std::numeric_limits<std::int64_t>::min();
inline constexpr std::int64_t kLastPlace = std::numeric_limits<std::int64_t>::max();

struct PlaceRange {
  std::int64_t lo = kFirstPlace;
  std::int64_t hi = kLastPlace;
  bool is_any() const { return lo == kFirstPlace && hi == kLastPlace; }
  bool holds(std::int64_t place) const { return lo <= place && place <= hi; }
  friend bool operator==(const PlaceRange&, const PlaceRange&) = default;
};

// Sorted, disjoint, no two touching, none empty.
std::vector<PlaceRange> merged(std::vector<PlaceRange> ranges);
std::vector<PlaceRange> complement(const std::vector<PlaceRange>& merged_ranges);

// The named values of a column with decimals, in order: value i has place 2i + 1, what lies before it 2i.
class NamedValues {
 public:
  void add(const Fraction& value) { values_.push_back(value); }
  void sort();
  std::int64_t place(const Fraction& value) const;
  const Fraction& value(std::size_t number) const { return values_[number]; }

 private:
  std::vector<Fraction> values_;
};

// An array that is made here, or that lies in a mapped file which outlives it.
template <class T>
class Kept {
 public:
  Kept() = default;
  Kept(std::vector<T> made) : made_(std::move(made)), view_(made_) {}  // NOLINT: an array is kept as it is
  Kept(std::span<const T> mapped) : view_(mapped) {}                   // NOLINT
  Kept(Kept&& other) noexcept : made_(std::move(other.made_)), view_(other.view_) { other.view_ = {}; }
  Kept& operator=(Kept&& other) noexcept {
    made_ = std::move(other.made_);
    view_ = other.view_;
    other.view_ = {};
    return *this;
  }
  const T& operator[](std::size_t at) const { return view_[at]; }
  const T* data() const { return view_.data(); }
  std::size_t size() const { return view_.size(); }
  bool empty() const { return view_.empty(); }
  auto begin() const { return view_.begin(); }
  auto end() const { return view_.end(); }
  std::span<const T> span() const { return view_; }
  std::uint64_t bytes() const { return view_.size_bytes(); }

 private:
  std::vector<T> made_;  // moving a vector keeps its elements where they are
  std::span<const T> view_;
};

}  // namespace kitgap
