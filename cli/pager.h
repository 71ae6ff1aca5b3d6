#pragma once

#include <string_view>

namespace kitgap {

// Shows `text` in the person's pager ($PAGER, else `less`) and waits until it is left. False, with nothing shown, where
// none can be had or is wanted (PAGER empty or `cat`). Only for a terminal.
bool show_in_pager(std::string_view text);

}  // namespace kitgap
