#include "heap.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>
#include <initializer_list>

namespace kitgap {

void warm_heap() {
#if defined(__GLIBC__) && defined(MADV_POPULATE_WRITE) && defined(MADV_HUGEPAGE)
  // The heap grows by so much once, and only what is written to takes memory; then, or where the address space is kept
  // smaller, by less.
  constexpr int kFirstStep = 512 << 20;
  constexpr int kStep = 4 << 20;
  constexpr std::uintptr_t kWarm = 5 << 19;  // what a gap report of some hundred lines takes
  constexpr std::uintptr_t kPage = 4096;
  constexpr std::uintptr_t kHugePage = 2 << 20;
  const auto end_of_heap = [] { return reinterpret_cast<std::uintptr_t>(::sbrk(0)); };
  const auto advise = [](std::uintptr_t begin, std::uintptr_t end, int advice) {
    if (begin < end) ::madvise(reinterpret_cast<void*>(begin), end - begin, advice);  // NOLINT
  };
  ::mallopt(M_TRIM_THRESHOLD, 2 * kFirstStep);  // past the step, or each larger block let go would shrink the heap again
  // Where any of these is set, glibc no longer raises the size from which a block is mapped on its own, page after page
  // anew each time: this is what it would raise it to.
  ::mallopt(M_MMAP_THRESHOLD, 32 << 20);
  const std::uintptr_t begin = end_of_heap() / kPage * kPage;
  for (const int step : {kFirstStep, kStep}) {
    ::mallopt(M_TOP_PAD, step);
    void* volatile block = std::malloc(130'000);  // NOLINT: this makes it grow; volatile, or it would be left out
    std::free(block);                             // NOLINT
    if (end_of_heap() > begin + kWarm) break;
  }
  ::mallopt(M_TOP_PAD, kStep);
  // A kernel may be older than one of these (Linux 5.14), or have no huge pages; another allocator's heap is not found
  // so. Then all is as it was.
  const std::uintptr_t end = end_of_heap();
  if (end < begin + kWarm) return;
  advise(begin, begin + kWarm, MADV_POPULATE_WRITE);
  advise((begin + kWarm + kHugePage - 1) / kHugePage * kHugePage, end, MADV_HUGEPAGE);
#endif
}

}  // namespace kitgap
