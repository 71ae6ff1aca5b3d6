#pragma once

#include <cstdint>

namespace kitgap {

// Both words folded into one, so that every bit of either counts: the halves of their product, after odd constants.
inline std::uint64_t mixed(std::uint64_t a, std::uint64_t b) {
  const auto product = static_cast<unsigned __int128>(a ^ 0x9E3779B97F4A7C15ULL) * (b ^ 0xD6E8FEB86659FD93ULL);
  return static_cast<std::uint64_t>(product) ^ static_cast<std::uint64_t>(product >> 64);
}

}  // namespace kitgap
