#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <system_error>

#include "text/diagnostics.h"

namespace kitgap {

inline constexpr std::uint64_t kMaxFileBytes = 256'000'000;

// Reads a whole regular file. A missing file, a folder, a file past `limit` or one that cannot be read is
// reported; 0 bytes is reported as `empty-file`, NUL bytes as `binary-file` when `text` is set.
[[nodiscard]] std::optional<SourceId> read_file(const std::filesystem::path& path, Sources& sources,
                                                Diagnostics& diagnostics, bool text = true,
                                                std::uint64_t limit = kMaxFileBytes);

// Whether something lies there. What cannot be looked at (a ring of links, a folder of others) does not: who opens it
// then says why.
[[nodiscard]] inline bool is_there(const std::filesystem::path& path) {
  std::error_code unseen;
  return std::filesystem::exists(path, unseen);
}

// The machine failed: names the file and what is intact. Caught once, in `cli`.
struct MachineFailure {
  std::string says;
};

// Writes beside, syncs, renames, syncs the folder: an old file or a new one, never half. Throws
// MachineFailure.
void write_file(const std::filesystem::path& path, std::string_view bytes);

// True for well-formed UTF-8 (no surrogates, no overlong forms, at most U+10FFFF).
bool is_utf8(std::string_view bytes);
// Characters (code points) in well-formed UTF-8.
std::size_t characters(std::string_view text);
// Columns on a terminal (wide characters count two, combining ones none).
std::size_t display_width(std::string_view text);
// Control bytes, bidirectional overrides and what else could steer a terminal become visible escapes
// (`\x1b`).
std::string printable(std::string_view text);
// At most `limit` columns, with `...` at the end when cut.
std::string cut_to(std::string_view text, std::size_t limit);
// Letter case taken away by Unicode folding; NFKC. Text that is no UTF-8 has its ASCII letters lowered.
std::string folded(std::string_view text);

}  // namespace kitgap
