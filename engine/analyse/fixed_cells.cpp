#include "analyse/fixed_cells.h"

#include <algorithm>
#include <map>

#include "text/codes.h"

namespace kitgap {
namespace {

struct Change {
  std::size_t begin = 0;  // bytes of the file
  std::size_t end = 0;
  Diagnostic diagnostic;
};

// The byte where character `column` (from 1) of line `line` (from 1) begins; the size of the file past its end.
std::size_t byte_of(std::string_view bytes, std::uint32_t line, std::uint32_t column) {
  std::size_t at = bytes.starts_with("\xEF\xBB\xBF") ? 3 : 0;
  for (std::uint32_t passed = 1; passed < line; ++passed) {
    at = bytes.find('\n', at);
    if (at == std::string_view::npos) return bytes.size();
    ++at;
  }
  for (std::uint32_t passed = 1; passed < column && at < bytes.size(); ++passed) {
    ++at;
    while (at < bytes.size() && (static_cast<unsigned char>(bytes[at]) & 0xC0) == 0x80) ++at;
  }
  return at;
}

}  // namespace

std::vector<FixedFile> fixed_cells(const Diagnostics& diagnostics, const Sources& sources) {
  std::map<SourceId, std::vector<Change>> changes;
  for (Diagnostic& diagnostic : diagnostics.sorted()) {
    if (diagnostic.code != code::kWriteAsRange || diagnostic.suggestion.empty()) continue;
    const Span& span = diagnostic.span;
    const std::string_view bytes = sources.bytes(span.source);
    const std::size_t begin = byte_of(bytes, span.line, span.column);
    const std::size_t end = byte_of(bytes, span.line, span.column + span.length);
    // Only where the place still holds the text that the message is about.
    if (!diagnostic.says.starts_with("`" + std::string(bytes.substr(begin, end - begin)) + "`")) continue;
    changes[span.source].push_back({begin, end, std::move(diagnostic)});
  }
  std::vector<FixedFile> files;
  for (const auto& [source, all] : changes) {
    const std::string_view bytes = sources.bytes(source);
    FixedFile file{std::string(sources.name(source)), std::string(bytes), {}, {}};
    std::size_t at = 0;
    for (const Change& change : all) {
      if (change.begin < at) continue;  // the same cell, found wrong twice
      const Span& span = change.diagnostic.span;
      file.bytes.append(bytes.substr(at, change.begin - at)).append(change.diagnostic.suggestion);
      file.changes.push_back(file.name + ":" + std::to_string(span.line) + ":" + std::to_string(span.column) + ": " +
                             std::string(bytes.substr(change.begin, change.end - change.begin)) + " becomes " +
                             change.diagnostic.suggestion);
      at = change.end;
    }
    file.bytes.append(bytes.substr(at));
    files.push_back(std::move(file));
  }
  return files;
}

}  // namespace kitgap
