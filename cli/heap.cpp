#include "heap.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>

namespace kitgap {
namespace {

#if defined(__GLIBC__) && defined(MADV_POPULATE_WRITE) && defined(MADV_HUGEPAGE)

std::uintptr_t number_of(const void* address) { return reinterpret_cast<std::uintptr_t>(address); }

void advise(std::uintptr_t begin, std::uintptr_t end, int advice) {
  if (begin < end) ::madvise(reinterpret_cast<void*>(begin), end - begin, advice);  // NOLINT
}

// A block that nobody uses; volatile, or it would be left out.
void* volatile block = nullptr;

// Where the next larger block stands, at the end of the heap; 0: there is no room.
std::uintptr_t next_block() {
  block = std::malloc(130'000);  // NOLINT: blocks this large are not found among those let go
  const std::uintptr_t at = number_of(block);
  std::free(block);  // NOLINT
  return at;
}

#endif

}  // namespace

void warm_heap() {
#if defined(__GLIBC__) && defined(MADV_POPULATE_WRITE) && defined(MADV_HUGEPAGE)
  // The heap grows by so much once, and only what is written to takes memory; then, or where the address space is kept
  // smaller, by less, and page by page.
  constexpr int kFirstStep = 512 << 20;
  constexpr int kStep = 4 << 20;
  constexpr std::uintptr_t kWarm = 5 << 19;  // what a gap report of some hundred lines takes
  constexpr std::uintptr_t kHugePage = 2 << 20;
  ::mallopt(M_TRIM_THRESHOLD, 2 * kFirstStep);  // past the step, or each larger block let go would shrink the heap again
  // Where any of these is set, glibc no longer raises the size from which a block is mapped on its own, page after page
  // anew each time: this is what it would raise it to.
  ::mallopt(M_MMAP_THRESHOLD, 32 << 20);
  ::mallopt(M_TOP_PAD, kFirstStep);
  const std::uintptr_t begin = next_block();
  const std::uintptr_t end = number_of(::sbrk(0));
  ::mallopt(M_TOP_PAD, kStep);
  // Not so much was to be had, or the heap is another allocator's.
  if (begin == 0 || end < begin || end - begin < kHugePage + kWarm) return;
  const std::uintptr_t huge = (begin + kHugePage - 1) / kHugePage * kHugePage;
  // A kernel may have no huge pages, or be older than the other advice (Linux 5.14): pages then come one by one.
  advise(huge, end, MADV_HUGEPAGE);
  block = std::malloc(huge - begin + 16);  // NOLINT: never written to nor let go, so that the next ones begin with a huge page
  advise(huge, huge + kWarm, MADV_POPULATE_WRITE);
#endif
}

}  // namespace kitgap
