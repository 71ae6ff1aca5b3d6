#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace kitgap {

// SHA-256 (FIPS 180-4): names the content of packs, and chains the records of a job.
class Sha256 {
 public:
  void add(std::string_view bytes);
  // The digest of all that was added, as 64 hexadecimal digits; nothing may be added after.
  std::string hex();

 private:
  void add_block(const unsigned char* block);
  std::array<std::uint32_t, 8> state_ = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a,
                                         0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19};
  std::array<unsigned char, 64> rest_{};
  std::uint64_t length_ = 0;
};

}  // namespace kitgap
