#pragma once

#include <array>
#include <charconv>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>
#include <vector>

#include "match/sweep_index.h"
#include "match/sweep_table.h"

namespace kitgap {

struct SweepSums {
  std::uint64_t matches = 0;
  std::uint64_t may_match = 0;
  std::uint64_t pairs = 0;
  __int128 lo = 0;
  __int128 hi = 0;
  bool differs = false;  // some total is a range
  bool gave_up = false;  // some range is a sound bound only
  // A total of one car and item: it counts where it is, or may be, above zero.
  bool add_total(std::int64_t total_lo, std::int64_t total_hi) {
    if (total_hi <= 0) return false;
    ++pairs;
    lo += total_lo;
    hi += total_hi;
    differs |= total_lo != total_hi;
    return true;
  }
  SweepSums& operator+=(const SweepSums& other);
};

std::string decimal_text(__int128 scaled, unsigned places);

// The cars of a sweep, placed on the lines of an index's columns.
struct PlacedCars {
  std::vector<CarPlaces> columns;  // as the index has them
  std::size_t size = 0;
  bool has_unknown(std::size_t car) const {
    for (const CarPlaces& column : columns) {
      if (column.any_unknown && column.unknown[car]) return true;
    }
    return false;
  }
};

// The lines of the answer, `car,item,total`, of one car after the other.
class TotalLines {
 public:
  TotalLines(const SweepIndex& index, bool writes_ranges) : index_(index), writes_ranges_(writes_ranges) {}
  void begin_car(std::string_view id);
  void add(std::uint32_t rank, std::int64_t lo, std::int64_t hi) {
    const std::string_view item = index_.item_cell(rank);
    const std::size_t most = car_size_ + item.size() + 2 * kMostNumber + 2;
    if (used_ + most + kSlack > buffer_.size()) buffer_.resize(2 * buffer_.size() + most + kSlack);
    char* out = buffer_.data() + used_;
    out = put(out, car_cell_.data(), car_size_);
    out = put(out, item.data(), item.size());
    out = put_number(out, lo);
    if (writes_ranges_) {
      *out++ = ',';
      out = put_number(out, hi);
    }
    *out++ = '\n';
    used_ = static_cast<std::size_t>(out - buffer_.data());
  }
  std::string_view text() const { return {buffer_.data(), used_}; }

 private:
  static constexpr std::size_t kMostNumber = 40;
  static constexpr std::size_t kSlack = 64;
  // Most cells are short: 16 bytes are copied whatever their length, which both buffers allow.
  static char* put(char* out, const char* from, std::size_t size) {
    std::memcpy(out, from, 16);
    if (size > 16) std::memcpy(out + 16, from + 16, size - 16);
    return out + size;
  }
  char* put_number(char* out, std::int64_t value) const {
    if (index_.count_places() == 0) return std::to_chars(out, out + kMostNumber, value).ptr;
    const std::string text = decimal_text(value, index_.count_places());
    std::memcpy(out, text.data(), text.size());
    return out + text.size();
  }

  const SweepIndex& index_;
  bool writes_ranges_;
  std::string car_cell_;  // and bytes that may be read
  std::size_t car_size_ = 0;
  std::vector<char> buffer_ = std::vector<char>(1 << 14);
  std::size_t used_ = 0;
};

}  // namespace kitgap
