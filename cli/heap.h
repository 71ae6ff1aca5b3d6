#pragma once

namespace kitgap {

// The heap is to stand in huge pages, the first of them asked of the system at once. Page by page, as they are first
// touched, small ones take a quarter of a gap report's time on a guest machine whose page faults are dear, and half of the
// CPU of a large pack's (tests/bench/check).
void warm_heap();

}  // namespace kitgap
