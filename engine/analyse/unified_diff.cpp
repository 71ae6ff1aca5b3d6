#include <algorithm>

#include "analyse/proposals.h"

namespace kitgap {
namespace {

std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size() - 1);
    lines.push_back(text.substr(at, end - at + 1));
    at = end + 1;
  }
  return lines;
}

// Old lines [old_begin, old_end) become new lines [new_begin, new_end).
struct Change {
  std::size_t old_begin, old_end, new_begin, new_end;
};

// Where the texts part, the nearest place at which they go together again: changes are few and small here.
std::vector<Change> changes_between(const std::vector<std::string_view>& before, const std::vector<std::string_view>& after) {
  constexpr std::size_t kFar = 400;
  std::vector<Change> changes;
  std::size_t old_at = 0;
  std::size_t new_at = 0;
  while (old_at < before.size() || new_at < after.size()) {
    if (old_at < before.size() && new_at < after.size() && before[old_at] == after[new_at]) {
      ++old_at, ++new_at;
      continue;
    }
    Change change{old_at, before.size(), new_at, after.size()};
    bool is_found = false;
    for (std::size_t distance = 1; distance <= kFar && !is_found; ++distance) {
      for (std::size_t skipped = 0; skipped <= distance && !is_found; ++skipped) {
        const std::size_t old_next = old_at + distance - skipped;
        const std::size_t new_next = new_at + skipped;
        if (old_next >= before.size() || new_next >= after.size() || before[old_next] != after[new_next]) continue;
        change = {old_at, old_next, new_at, new_next};
        is_found = true;
      }
    }
    changes.push_back(change);
    old_at = change.old_end;
    new_at = change.new_end;
  }
  return changes;
}

void add_line(std::string& out, char sign, std::string_view line) {
  out += sign;
  out += line;
  if (!line.ends_with('\n')) out += "\n\\ No newline at end of file\n";
}

std::string span_text(std::size_t begin, std::size_t end) {
  // An empty range is named by the line before it.
  return std::to_string(begin == end ? begin : begin + 1) + (end - begin == 1 ? "" : "," + std::to_string(end - begin));
}

}  // namespace

std::string unified_diff(const std::string& name, std::string_view before_text, std::string_view after_text) {
  constexpr std::size_t kContext = 3;
  const auto before = lines_of(before_text);
  const auto after = lines_of(after_text);
  const std::vector<Change> changes = changes_between(before, after);
  if (changes.empty()) return "";
  std::string out = "--- " + name + "\n+++ " + name + "\n";
  for (std::size_t first = 0; first < changes.size();) {
    std::size_t last = first;
    while (last + 1 < changes.size() && changes[last + 1].old_begin - changes[last].old_end <= 2 * kContext) ++last;
    const std::size_t lead = std::min(kContext, changes[first].old_begin);
    const std::size_t tail = std::min(kContext, before.size() - changes[last].old_end);
    out += "@@ -" + span_text(changes[first].old_begin - lead, changes[last].old_end + tail) + " +" +
           span_text(changes[first].new_begin - lead, changes[last].new_end + tail) + " @@\n";
    std::size_t at = changes[first].old_begin - lead;
    for (std::size_t number = first; number <= last; ++number) {
      const Change& change = changes[number];
      for (; at < change.old_begin; ++at) add_line(out, ' ', before[at]);
      for (; at < change.old_end; ++at) add_line(out, '-', before[at]);
      for (std::size_t line = change.new_begin; line < change.new_end; ++line) add_line(out, '+', after[line]);
    }
    for (std::size_t end = at + tail; at < end; ++at) add_line(out, ' ', before[at]);
    first = last + 1;
  }
  return out;
}

}  // namespace kitgap
