#pragma once

#include <filesystem>
#include <optional>

#include "need/found.h"

namespace kitgap {

// FOUND of FORMATS. Nothing only where the file as a whole is no table; every row is read or set aside.
[[nodiscard]] std::optional<Found> read_found(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics);

}  // namespace kitgap
