#pragma once

#include <stdexcept>
#include <string>

namespace kitgap {

// We are wrong: an invariant, in words, does not hold. No input may reach one; `cli` says how to save the case.
struct InternalError : std::logic_error {
  using std::logic_error::logic_error;
};

inline void require(bool holds, const char* invariant) {
  if (!holds) throw InternalError(invariant);
}

}  // namespace kitgap
