#pragma once

namespace kitgap {

// The heap's first pages are asked of the system at once, and what lies past them in huge ones: page by page, as they are
// first touched, they take up to an eighth of a gap report's time and, where the machine is a guest, half of that of a
// large pack (tests/bench/check).
void warm_heap();

}  // namespace kitgap
