#pragma once

#include <cstdint>
#include <string>

#include "job/database.h"
#include "job/kinds.h"

namespace kitgap {

// The form of the file that this program writes. A file of a lower one is brought up to it; a higher one is refused.
inline constexpr int kJobVersion = 3;
inline constexpr std::uint32_t kJobApplicationId = 0x4b474150;  // "KGAP", in bytes 68 to 71 of the file

// Makes the tables, views and triggers of that version in an empty database, inside the caller's transaction.
void make_schema(Database& database, int version);
// Brings the tables of `from` up to `to` inside the caller's transaction. Records and their hashes stay as they are;
// the caller writes the seal, which covers the version, anew.
void migrate_schema(Database& database, int from, int to);

// `part number` -> `part_number`
std::string column_name(std::string_view word);

}  // namespace kitgap
