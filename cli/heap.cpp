#include "heap.h"

#include <malloc.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cstdint>
#include <cstdlib>

namespace kitgap {

void warm_heap() {
#if defined(__GLIBC__) && defined(MADV_POPULATE_WRITE)
  constexpr int kStep = 4 << 20;                     // the heap grows by so much
  constexpr std::uintptr_t kWarm = std::uintptr_t{3} << 19;  // what a gap report of some hundred lines takes
  constexpr std::uintptr_t kPage = 4096;
  const auto end_of_heap = [] { return reinterpret_cast<std::uintptr_t>(::sbrk(0)); };
  ::mallopt(M_TOP_PAD, kStep);
  ::mallopt(M_TRIM_THRESHOLD, 2 * kStep);
  // Where any of these is set, glibc no longer raises the size from which a block is mapped on its own, page after page
  // anew each time: this is what it would raise it to.
  ::mallopt(M_MMAP_THRESHOLD, 32 << 20);
  const std::uintptr_t begin = end_of_heap() / kPage * kPage;
  void* volatile block = std::malloc(130'000);  // NOLINT: this makes it grow; volatile, or it would be left out
  std::free(block);                             // NOLINT
  const std::uintptr_t end = end_of_heap();
  // A kernel before Linux 5.14 cannot; nor can another allocator's heap be found so.
  if (end > begin + kWarm) ::madvise(reinterpret_cast<void*>(begin), kWarm, MADV_POPULATE_WRITE);  // NOLINT
#endif
}

}  // namespace kitgap
