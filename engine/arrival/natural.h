#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace kitgap {

// A whole number of any size, zero or above: what binomial sums of hundreds of pieces need to stay exact.
class Natural {
 public:
  Natural() = default;
  explicit Natural(std::uint32_t value) { if (value != 0) limbs_.push_back(value); }

  bool is_zero() const { return limbs_.empty(); }
  void add(const Natural& other);
  // `other` is at most this.
  void subtract(const Natural& other);
  void multiply(std::uint32_t factor);
  // Must divide without a rest.
  void divide_exactly(std::uint32_t divisor);
  friend bool operator==(const Natural&, const Natural&) = default;
  friend bool operator<(const Natural& a, const Natural& b);

 private:
  std::vector<std::uint32_t> limbs_;  // lowest first, none at the top is zero
};

// `part / whole`, which is 0..1, as a decimal of `digits` digits after the point, rounded half up.
std::string decimal_of(Natural part, const Natural& whole, int digits);

}  // namespace kitgap
