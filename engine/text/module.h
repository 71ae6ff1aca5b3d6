#pragma once

#include <string_view>

namespace kitgap {

// A symbol of one of the program's own modules (`kitgap-zip`), which stand beside the program, in `bin`
// beside it or in
// `../lib/kitgap`: never a path from the outside. Loaded once, kept for the run. Throws MachineFailure when
// it is not there.
void* module_symbol(std::string_view module, const char* symbol);

}  // namespace kitgap
