#pragma once

#include <filesystem>
#include <optional>
#include <span>

#include "need/found.h"
#include "text/person_table.h"

namespace kitgap {

// FOUND of FORMATS. Nothing only where the file as a whole is no table; every row is read or set aside.
// `renamed` and `sheet` as for `read_list`; a name of a column that this file lacks may be meant for another.
[[nodiscard]] std::optional<Found> read_found(const std::filesystem::path& path, const Rules& rules, Sources& sources, Diagnostics& diagnostics,
                                              std::span<const std::pair<std::string, std::string>> renamed = {}, const std::string& sheet = {});

// The columns of FOUND with what people call them, in the order of FORMATS.
std::span<const ColumnWords> found_columns();

}  // namespace kitgap
