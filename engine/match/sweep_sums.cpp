#include "match/sweep_sums.h"

#include <algorithm>

#include "text/csv.h"

namespace kitgap {

SweepSums& SweepSums::operator+=(const SweepSums& other) {
  matches += other.matches;
  may_match += other.may_match;
  pairs += other.pairs;
  lo += other.lo;
  hi += other.hi;
  differs |= other.differs;
  gave_up |= other.gave_up;
  return *this;
}

std::string decimal_text(__int128 scaled, unsigned places) {
  const bool negative = scaled < 0;
  std::string digits;
  for (unsigned __int128 rest = negative ? -static_cast<unsigned __int128>(scaled) : static_cast<unsigned __int128>(scaled);
       rest != 0 || digits.size() <= places; rest /= 10) {
    digits.push_back(static_cast<char>('0' + static_cast<int>(rest % 10)));
  }
  std::reverse(digits.begin(), digits.end());
  if (places > 0) {
    digits.insert(digits.size() - places, 1, '.');
    while (digits.back() == '0') digits.pop_back();
    if (digits.back() == '.') digits.pop_back();
  }
  return (negative ? "-" : "") + digits;
}

void TotalLines::begin_car(std::string_view id) {
  used_ = 0;
  car_cell_.clear();
  append_csv_cell(car_cell_, id);
  car_size_ = car_cell_.size();
  car_cell_.append(SweepIndex::kReadable, ' ');
}

}  // namespace kitgap
