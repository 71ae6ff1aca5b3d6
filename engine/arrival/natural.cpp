#include "arrival/natural.h"

#include <algorithm>

#include "value/internal_error.h"

namespace kitgap {

void Natural::add(const Natural& other) {
  limbs_.resize(std::max(limbs_.size(), other.limbs_.size()), 0);
  std::uint64_t carry = 0;
  for (std::size_t i = 0; i < limbs_.size(); ++i) {
    carry += limbs_[i];
    if (i < other.limbs_.size()) carry += other.limbs_[i];
    limbs_[i] = static_cast<std::uint32_t>(carry);
    carry >>= 32;
  }
  if (carry != 0) limbs_.push_back(static_cast<std::uint32_t>(carry));
}

void Natural::subtract(const Natural& other) {
  require(!(*this < other), "a natural number is never below zero");
  std::uint64_t borrow = 0;
  for (std::size_t i = 0; i < limbs_.size(); ++i) {
    const std::uint64_t less = borrow + (i < other.limbs_.size() ? other.limbs_[i] : 0);
    borrow = limbs_[i] < less ? 1 : 0;
    limbs_[i] = static_cast<std::uint32_t>((borrow << 32) + limbs_[i] - less);
  }
  while (!limbs_.empty() && limbs_.back() == 0) limbs_.pop_back();
}

void Natural::multiply(std::uint32_t factor) {
  if (factor == 0) limbs_.clear();
  std::uint64_t carry = 0;
  for (std::uint32_t& limb : limbs_) {
    carry += static_cast<std::uint64_t>(limb) * factor;
    limb = static_cast<std::uint32_t>(carry);
    carry >>= 32;
  }
  if (carry != 0) limbs_.push_back(static_cast<std::uint32_t>(carry));
}

void Natural::divide_exactly(std::uint32_t divisor) {
  std::uint64_t rest = 0;
  for (std::size_t i = limbs_.size(); i-- > 0;) {
    rest = (rest << 32) + limbs_[i];
    limbs_[i] = static_cast<std::uint32_t>(rest / divisor);
    rest %= divisor;
  }
  require(rest == 0, "a binomial coefficient divides without a rest");
  while (!limbs_.empty() && limbs_.back() == 0) limbs_.pop_back();
}

bool operator<(const Natural& a, const Natural& b) {
  if (a.limbs_.size() != b.limbs_.size()) return a.limbs_.size() < b.limbs_.size();
  return std::lexicographical_compare(a.limbs_.rbegin(), a.limbs_.rend(), b.limbs_.rbegin(), b.limbs_.rend());
}

std::string decimal_of(Natural part, const Natural& whole, int digits) {
  std::vector<int> all;  // the digit before the point, those after it, and one to round by
  for (int i = 0; i < digits + 2; ++i) {
    int digit = 0;
    for (; !(part < whole); ++digit) part.subtract(whole);
    all.push_back(digit);
    part.multiply(10);
  }
  const bool rounds_up = all.back() >= 5;
  all.pop_back();
  for (std::size_t i = all.size(); rounds_up && i-- > 0;) {
    if (++all[i] < 10 || i == 0) break;
    all[i] = 0;
  }
  std::string text;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (i == 1) text += '.';
    text += static_cast<char>('0' + all[i]);
  }
  return text;
}

}  // namespace kitgap
