#pragma once

#include <cstddef>
#include <cstdint>

namespace kitgap {

// The inner loops over bit vectors and ends, in the best form that the machine has.
struct SweepKernels {
  // Writes the numbers of the bits that are set in all of `masks`, words [0, words); the last word's bits outside
  // `tail` do not count. `out` has room for eight more than there are. Returns how many.
  std::size_t (*positions)(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words, std::uint64_t tail,
                           std::uint32_t* out);
  // How many bits are set in all of `masks`, words [0, words); of the first word those of `head`, of the last those of
  // `tail`. At least one word.
  std::uint64_t (*common)(const std::uint64_t* const* masks, std::size_t mask_count, std::size_t words, std::uint64_t head, std::uint64_t tail);
  // Sets the bits of `from` in `to`.
  void (*unite)(std::uint64_t* to, const std::uint64_t* from, std::size_t words);
  struct Hits {
    std::int64_t matches = 0;
    std::int64_t sum = 0;
    std::int64_t fresh = 0;
  };
  // Over the entries [0, count), a multiple of eight, with lo <= place <= hi: how many, the sums of `counts` and of
  // `fresh`. The sums must fit 31 bits.
  Hits (*test)(const std::int32_t* lo, const std::int32_t* hi, const std::int32_t* counts, const std::int32_t* fresh,
               std::size_t count, std::int32_t place);
  // Moves together the bits of the words of `from` that `words` names, where their masks have one, from bit 0 on.
  void (*compact)(const std::uint64_t* from, const std::uint32_t* words, const std::uint64_t* masks, std::size_t count,
                  std::uint64_t* to);
};

const SweepKernels& sweep_kernels();

}  // namespace kitgap
