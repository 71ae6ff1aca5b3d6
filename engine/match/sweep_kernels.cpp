#include "match/sweep_kernels.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>

#if defined(__x86_64__)
#include <immintrin.h>
#define KITGAP_WIDE __attribute__((target("avx2,bmi,bmi2,popcnt,lzcnt")))
#endif

// The bodies are written once and compiled for each kind of machine.
#define KITGAP_BODY inline __attribute__((always_inline))

namespace kitgap {
namespace {

using Lanes = std::int32_t __attribute__((vector_size(32)));
using WideWords = std::uint64_t __attribute__((vector_size(32)));
constexpr std::size_t kLanes = 8;

KITGAP_BODY void load(Lanes& lanes, const std::int32_t* from) { std::memcpy(&lanes, from, sizeof lanes); }

KITGAP_BODY std::int64_t sum_of(const Lanes& lanes) {
  std::int64_t sum = 0;
  for (std::size_t at = 0; at < kLanes; ++at) sum += lanes[at];
  return sum;
}

KITGAP_BODY SweepKernels::Hits test_body(const std::int32_t* lo, const std::int32_t* hi, const std::int32_t* counts,
                                         const std::int32_t* fresh, std::size_t count, std::int32_t place) {
  const Lanes places = {place, place, place, place, place, place, place, place};
  Lanes matches{};
  Lanes sum{};
  Lanes news{};
  for (std::size_t at = 0; at < count; at += kLanes) {
    Lanes low, high, count_lanes, fresh_lanes;
    load(low, lo + at);
    load(high, hi + at);
    load(count_lanes, counts + at);
    load(fresh_lanes, fresh + at);
    const Lanes hit = (low <= places) & (places <= high);
    matches -= hit;
    sum += hit & count_lanes;
    news += hit & fresh_lanes;
  }
  return {sum_of(matches), sum_of(sum), sum_of(news)};
}

KITGAP_BODY void unite_body(std::uint64_t* to, const std::uint64_t* from, std::size_t words) {
  std::size_t at = 0;
  for (; at + 4 <= words; at += 4) {
    WideWords sum, with;
    std::memcpy(&sum, to + at, sizeof sum);
    std::memcpy(&with, from + at, sizeof with);
    sum |= with;
    std::memcpy(to + at, &sum, sizeof sum);
  }
  for (; at < words; ++at) to[at] |= from[at];
}

KITGAP_BODY std::uint64_t common_body(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words,
                                      std::uint64_t head, std::uint64_t tail) {
  constexpr std::size_t kBlock = 64;  // words; stays in the first-level cache
  std::array<std::uint64_t, kBlock> bits;
  std::uint64_t count = 0;
  for (std::size_t from = 0; from < words; from += kBlock) {
    const std::size_t size = std::min(kBlock, words - from);
    if (mask_count == 0) {
      bits.fill(~std::uint64_t{0});
    } else {
      std::memcpy(bits.data(), masks[0] + from, size * sizeof(std::uint64_t));
    }
    for (std::size_t mask = 1; mask < mask_count; ++mask) {
      const std::uint64_t* words_of_mask = masks[mask] + from;
      std::size_t at = 0;
      for (; at + 4 <= size; at += 4) {
        WideWords kept, with;
        std::memcpy(&kept, &bits[at], sizeof kept);
        std::memcpy(&with, words_of_mask + at, sizeof with);
        kept &= with;
        std::memcpy(&bits[at], &kept, sizeof kept);
      }
      for (; at < size; ++at) bits[at] &= words_of_mask[at];
    }
    if (from == 0) bits[0] &= head;
    if (from + size == words) bits[size - 1] &= tail;
    for (std::size_t at = 0; at < size; ++at) count += static_cast<std::uint64_t>(std::popcount(bits[at]));
  }
  return count;
}

KITGAP_BODY std::size_t positions_body(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words,
                                       std::uint64_t tail, std::uint32_t* out) {
  constexpr std::size_t kBlock = 64;  // words; stays in the first-level cache
  std::array<std::uint64_t, kBlock> bits;
  std::uint32_t* const begin = out;
  for (std::size_t from = 0; from < words; from += kBlock) {
    const std::size_t count = std::min(kBlock, words - from);
    if (mask_count == 0) {
      bits.fill(~std::uint64_t{0});
    } else {
      std::memcpy(bits.data(), masks[0] + from, count * sizeof(std::uint64_t));
    }
    for (std::size_t mask = 1; mask < mask_count; ++mask) {
      const std::uint64_t* with = masks[mask] + from;
      for (std::size_t at = 0; at < count; ++at) bits[at] &= with[at];
    }
    if (from + count == words) bits[count - 1] &= tail;
    for (std::size_t at = 0; at < count; ++at) {
      std::uint64_t word = bits[at];
      const auto base = static_cast<std::uint32_t>((from + at) * 64);
      // Four at a time whatever there is: cheaper than to ask after each.
      std::uint32_t* write = out;
      out += std::popcount(word);
      while (word != 0) {
        for (int step = 0; step < 4; ++step) {
          *write++ = base + static_cast<std::uint32_t>(std::countr_zero(word));
          word &= word - 1;
        }
      }
    }
  }
  return static_cast<std::size_t>(out - begin);
}

std::uint64_t gather_plain(std::uint64_t from, std::uint64_t mask) {
  std::uint64_t result = 0;
  for (std::uint64_t bit = 1; mask != 0; mask &= mask - 1, bit <<= 1) {
    if ((from & mask & -mask) != 0) result |= bit;
  }
  return result;
}

// Bits one after the other, as words.
struct BitsInOrder {
  std::uint64_t* to;
  std::uint64_t gathered = 0;
  unsigned filled = 0;
  KITGAP_BODY void add(std::uint64_t bits, unsigned more) {
    gathered |= bits << filled;
    if (filled + more >= 64) {
      *to++ = gathered;
      gathered = filled == 0 ? 0 : bits >> (64 - filled);
      filled = filled + more - 64;
    } else {
      filled += more;
    }
  }
  KITGAP_BODY void end() {
    if (filled > 0) *to = gathered;
  }
};

SweepKernels::Hits test_plain(const std::int32_t* lo, const std::int32_t* hi, const std::int32_t* counts,
                              const std::int32_t* fresh, std::size_t count, std::int32_t place) {
  return test_body(lo, hi, counts, fresh, count, place);
}
std::size_t positions_plain(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words, std::uint64_t tail,
                            std::uint32_t* out) {
  return positions_body(masks, mask_count, words, tail, out);
}
void compact_plain(const std::uint64_t* from, const std::uint32_t* words, const std::uint64_t* masks, std::size_t count,
                   std::uint64_t* to) {
  BitsInOrder out{to};
  for (std::size_t at = 0; at < count; ++at) {
    out.add(gather_plain(from[words[at]], masks[at]), static_cast<unsigned>(std::popcount(masks[at])));
  }
  out.end();
}

void unite_plain(std::uint64_t* to, const std::uint64_t* from, std::size_t words) { unite_body(to, from, words); }

std::uint64_t common_plain(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words, std::uint64_t head, std::uint64_t tail) {
  return common_body(masks, mask_count, words, head, tail);
}

#if defined(__x86_64__)
KITGAP_WIDE void unite_wide(std::uint64_t* to, const std::uint64_t* from, std::size_t words) { unite_body(to, from, words); }
KITGAP_WIDE std::uint64_t common_wide(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words, std::uint64_t head,
                                      std::uint64_t tail) {
  return common_body(masks, mask_count, words, head, tail);
}
KITGAP_WIDE SweepKernels::Hits test_wide(const std::int32_t* lo, const std::int32_t* hi, const std::int32_t* counts,
                                         const std::int32_t* fresh, std::size_t count, std::int32_t place) {
  return test_body(lo, hi, counts, fresh, count, place);
}
KITGAP_WIDE std::size_t positions_wide(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words,
                                       std::uint64_t tail, std::uint32_t* out) {
  return positions_body(masks, mask_count, words, tail, out);
}
KITGAP_WIDE void compact_wide(const std::uint64_t* from, const std::uint32_t* words, const std::uint64_t* masks,
                              std::size_t count, std::uint64_t* to) {
  BitsInOrder out{to};
  for (std::size_t at = 0; at < count; ++at) {
    out.add(_pext_u64(from[words[at]], masks[at]), static_cast<unsigned>(std::popcount(masks[at])));
  }
  out.end();
}
#endif

}  // namespace

const SweepKernels& sweep_kernels() {
  static constexpr SweepKernels kPlain{positions_plain, common_plain, unite_plain, test_plain, compact_plain};
#if defined(__x86_64__)
  static constexpr SweepKernels kWide{positions_wide, common_wide, unite_wide, test_wide, compact_wide};
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("bmi2")) return kWide;
#endif
  return kPlain;
}

}  // namespace kitgap
