// A pattern of `matches`, `replace` or a part's alias, a line end, and a text: read or refused, and found in bounds.
#include <re2/re2.h>

#include <cstdint>
#include <cstdlib>

#include "condition/regex.h"
#include "text/file.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view all(reinterpret_cast<const char*>(data), size);
  const std::size_t cut = all.find('\n');
  if (cut == std::string_view::npos || cut == 0 || size > 4096 || !is_utf8(all)) return 0;
  const std::string_view text = all.substr(cut + 1);
  const std::string_view flags = all[0] == '!' ? "i" : all[0] == '~' ? "smix" : "";
  const std::string_view pattern = all.substr(flags.empty() ? 0 : 1, cut - (flags.empty() ? 0 : 1));
  std::string error;
  const auto regex = Regex::parse(pattern, flags, error);
  if (!regex) {
    if (error.empty()) std::abort();
    return 0;
  }
  bool gave_up = false;
  const auto match = regex->find(text, 0, gave_up);
  if (match && (match->begin > match->end || match->end > text.size() || match->groups.size() != regex->group_count() + 1)) std::abort();
  // As an alias of a part.
  re2::RE2::Options options;
  options.set_log_errors(false);
  options.set_max_mem(1 << 20);
  const re2::RE2 alias(re2::StringPiece(pattern.data(), pattern.size()), options);
  if (alias.ok()) static_cast<void>(re2::RE2::PartialMatch(re2::StringPiece(text.data(), text.size()), alias));
  return 0;
}
