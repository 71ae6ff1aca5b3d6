#include "text/sha256.h"

#include <algorithm>
#include <bit>
#include <cstring>

#if defined(__x86_64__)
#include <cpuid.h>
#include <immintrin.h>
#endif

namespace kitgap {
namespace {

// The first 32 bits of the fractional parts of the cube roots of the first 64 primes (FIPS 180-4, 4.2.2).
constexpr std::array<std::uint32_t, 64> kRoundWords = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2};

#if defined(__x86_64__)
// The same by the processor's own instructions, some ten times as fast: every pack is hashed when it is read.
bool has_sha_instructions() {
  unsigned eax = 0, ebx = 0, ecx = 0, edx = 0;
  return __get_cpuid_count(7, 0, &eax, &ebx, &ecx, &edx) != 0 && (ebx & 1U << 29) != 0;
}

__attribute__((target("sha,sse4.1"))) void add_block_fast(std::array<std::uint32_t, 8>& state, const unsigned char* block) {
  const auto load = [](const void* at) { return _mm_loadu_si128(static_cast<const __m128i*>(at)); };
  const __m128i big_endian = _mm_set_epi64x(0x0c0d0e0f08090a0b, 0x0405060700010203);
  // The instructions want the words as ABEF and CDGH.
  const __m128i abcd = _mm_shuffle_epi32(load(state.data()), 0xb1);
  const __m128i efgh = _mm_shuffle_epi32(load(state.data() + 4), 0x1b);
  const __m128i first = _mm_alignr_epi8(abcd, efgh, 8);
  const __m128i second = _mm_blend_epi16(efgh, abcd, 0xf0);
  __m128i abef = first;
  __m128i cdgh = second;
  __m128i words[16];
  for (std::size_t four = 0; four < 16; ++four) {
    words[four] = four < 4 ? _mm_shuffle_epi8(load(block + 16 * four), big_endian)
                           : _mm_sha256msg2_epu32(_mm_add_epi32(_mm_sha256msg1_epu32(words[four - 4], words[four - 3]),
                                                                _mm_alignr_epi8(words[four - 1], words[four - 2], 4)),
                                                  words[four - 1]);
    const __m128i sum = _mm_add_epi32(words[four], load(kRoundWords.data() + 4 * four));
    cdgh = _mm_sha256rnds2_epu32(cdgh, abef, sum);
    abef = _mm_sha256rnds2_epu32(abef, cdgh, _mm_shuffle_epi32(sum, 0x0e));
  }
  const __m128i feba = _mm_shuffle_epi32(_mm_add_epi32(abef, first), 0x1b);
  const __m128i dchg = _mm_shuffle_epi32(_mm_add_epi32(cdgh, second), 0xb1);
  _mm_storeu_si128(reinterpret_cast<__m128i*>(state.data()), _mm_blend_epi16(feba, dchg, 0xf0));
  _mm_storeu_si128(reinterpret_cast<__m128i*>(state.data() + 4), _mm_alignr_epi8(dchg, feba, 8));
}
#endif

}  // namespace

void Sha256::add_block(const unsigned char* block) {
#if defined(__x86_64__)
  static const bool is_fast = has_sha_instructions();
  if (is_fast) return add_block_fast(state_, block);
#endif
  std::array<std::uint32_t, 64> words{};
  for (std::size_t index = 0; index < 16; ++index) {
    const unsigned char* at = block + 4 * index;
    words[index] = static_cast<std::uint32_t>(at[0]) << 24 | static_cast<std::uint32_t>(at[1]) << 16 |
                   static_cast<std::uint32_t>(at[2]) << 8 | static_cast<std::uint32_t>(at[3]);
  }
  for (std::size_t index = 16; index < 64; ++index) {
    const std::uint32_t a = words[index - 15];
    const std::uint32_t b = words[index - 2];
    words[index] = words[index - 16] + (std::rotr(a, 7) ^ std::rotr(a, 18) ^ (a >> 3)) + words[index - 7] +
                   (std::rotr(b, 17) ^ std::rotr(b, 19) ^ (b >> 10));
  }
  auto [a, b, c, d, e, f, g, h] = state_;
  for (std::size_t round = 0; round < 64; ++round) {
    const std::uint32_t first = h + (std::rotr(e, 6) ^ std::rotr(e, 11) ^ std::rotr(e, 25)) + ((e & f) ^ (~e & g)) +
                                kRoundWords[round] + words[round];
    const std::uint32_t second = (std::rotr(a, 2) ^ std::rotr(a, 13) ^ std::rotr(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
    h = g;
    g = f;
    f = e;
    e = d + first;
    d = c;
    c = b;
    b = a;
    a = first + second;
  }
  const std::array<std::uint32_t, 8> result = {a, b, c, d, e, f, g, h};
  for (std::size_t index = 0; index < 8; ++index) state_[index] += result[index];
}

void Sha256::add(std::string_view bytes) {
  const auto* at = reinterpret_cast<const unsigned char*>(bytes.data());
  std::size_t left = bytes.size();
  const auto held = static_cast<std::size_t>(length_ % 64);
  length_ += left;
  if (held != 0) {
    const std::size_t taken = std::min(left, 64 - held);
    std::memcpy(rest_.data() + held, at, taken);
    at += taken;
    left -= taken;
    if (held + taken < 64) return;
    add_block(rest_.data());
  }
  for (; left >= 64; left -= 64, at += 64) add_block(at);
  if (left != 0) std::memcpy(rest_.data(), at, left);
}

std::string Sha256::hex() {
  const std::uint64_t bits = length_ * 8;
  std::string padding(1, '\x80');
  while ((length_ + padding.size()) % 64 != 56) padding.push_back('\0');
  for (int shift = 56; shift >= 0; shift -= 8) padding.push_back(static_cast<char>(bits >> shift & 0xff));
  add(padding);
  static constexpr std::string_view kDigits = "0123456789abcdef";
  std::string out;
  for (const std::uint32_t word : state_) {
    for (int shift = 28; shift >= 0; shift -= 4) out.push_back(kDigits[word >> shift & 0xf]);
  }
  return out;
}

}  // namespace kitgap
