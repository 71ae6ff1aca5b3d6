#pragma once

#include <optional>
#include <span>
#include <string>

#include "pack/rules.h"

namespace kitgap {

// The packs that a command names, general first, through the user's cache: what has not changed since it was read and
// checked is not read and checked again.
std::optional<Rules> read_packs(std::span<const std::string> directories, Sources& sources, Diagnostics& diagnostics);

}  // namespace kitgap
