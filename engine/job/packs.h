#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "job/record.h"
#include "pack/rules.h"

namespace kitgap {

// The packs of a job: which ones, with which content. Their files are kept in the job too, so that it can be told what
// a later change of a pack does to it, and so that it opens where its packs are not.

// The packs as entries: those of another path, version or hash than `standing` has, with all their files unless that
// content is kept already.
[[nodiscard]] std::vector<Entry> entries_of_packs(const Rules& rules, std::span<const Record> standing, Sources& sources,
                                                  Diagnostics& diagnostics);

// Lays the kept files of the pack with that hash into `sources`, and returns the folder to read it from; nothing when
// they are not kept.
std::optional<std::string> lay_in_pack(std::span<const Record> standing, const std::string& name, const std::string& hash,
                                       Sources& sources);

}  // namespace kitgap
