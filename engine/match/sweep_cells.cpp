#include "match/sweep_cells.h"

#include "text/ascii.h"
#include "value/value_set.h"

namespace kitgap {
namespace {

// Cuts at commas outside quotes and calls (`date("1970-03-01")`); the round brackets of intervals need not match.
std::vector<std::string_view> parts_of(std::string_view text) {
  std::vector<std::string_view> parts;
  bool in_quotes = false;
  int depth = 0;
  std::size_t begin = 0;
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char c = text[at];
    if (in_quotes && c == '\\') ++at;
    if (c == '"') in_quotes = !in_quotes;
    if (in_quotes) continue;
    if (c == '(' && at > 0 && text[at - 1] >= 'a' && text[at - 1] <= 'z') ++depth;
    if (c == ')' && depth > 0) --depth;
    if (c != ',' || depth > 0) continue;
    parts.push_back(trimmed(text.substr(begin, at - begin)));
    begin = at + 1;
  }
  parts.push_back(trimmed(text.substr(begin)));
  return parts;
}

std::optional<std::string> quoted_word(std::string_view text) {
  if (text.size() < 2 || text.front() != '"' || text.back() != '"') return std::nullopt;
  text = text.substr(1, text.size() - 2);
  std::string word;
  for (std::size_t at = 0; at < text.size(); ++at) {
    char c = text[at];
    if (c == '"') return std::nullopt;
    if (c == '\\') {
      if (++at == text.size()) return std::nullopt;
      c = text[at] == 'n' ? '\n' : text[at] == 't' ? '\t' : text[at];
    }
    word.push_back(c);
  }
  return word;
}

// A word that no sign of the language could be meant by.
bool is_bare_word(std::string_view text) {
  return !text.empty() && text.find_first_of("\"[]()<>=") == std::string_view::npos && text.find("..") == std::string_view::npos;
}

std::optional<SweepTests::Interval> comparison(std::string_view part, SweepType type) {
  const bool less = part.front() == '<';
  const bool or_equal = part.size() > 1 && part[1] == '=';
  const auto end = parse_sweep_value(part.substr(or_equal ? 2 : 1), type);
  if (!end) return std::nullopt;
  SweepTests::Interval interval;
  (less ? interval.hi : interval.lo) = end;
  (less ? interval.hi_closed : interval.lo_closed) = or_equal;
  return interval;
}

std::optional<SweepTests::Interval> interval_of(std::string_view part, SweepType type) {
  if (part.front() == '<' || part.front() == '>') return comparison(part, type);
  const bool opens = part.front() == '[' || part.front() == '(' || part.front() == ']';
  if (!opens) {
    const auto value = parse_sweep_value(part, type);
    if (!value) return std::nullopt;
    return SweepTests::Interval{value, value, true, true};
  }
  const auto dots = part.find("..");
  const char last = part.back();
  if (dots == std::string_view::npos || (last != ']' && last != ')' && last != '[')) return std::nullopt;
  const auto lo = parse_sweep_value(part.substr(1, dots - 1), type);
  const auto hi = parse_sweep_value(part.substr(dots + 2, part.size() - dots - 3), type);
  if (!lo || !hi) return std::nullopt;
  return SweepTests::Interval{lo, hi, part.front() == '[', last == ']'};
}

}  // namespace

std::optional<Fraction> parse_sweep_value(std::string_view text, SweepType type) {
  text = trimmed(text);
  if (text.empty()) return std::nullopt;
  if (type == SweepType::Number) {
    try {
      return Fraction::parse(text);
    } catch (const FigureOverflow&) {
      return std::nullopt;
    }
  }
  if (text.starts_with("date(") && text.ends_with(")")) text = trimmed(text.substr(5, text.size() - 6));
  if (text.size() > 2 && text.front() == '"' && text.back() == '"') text = text.substr(1, text.size() - 2);
  const auto day = day_number_of(text);
  if (!day) return std::nullopt;
  return Fraction(*day);
}

std::optional<SweepTests> parse_sweep_cell(std::string_view cell, SweepType type) {
  SweepTests tests;
  cell = trimmed(cell);
  if (cell.empty() || cell == "-") {
    tests.is_any = true;
    return tests;
  }
  if (cell.starts_with("not") && cell.ends_with(")")) {
    const std::string_view inner = trimmed(cell.substr(3));
    if (inner.starts_with("(")) {
      tests.is_negated = true;
      cell = trimmed(inner.substr(1, inner.size() - 2));
    }
  }
  for (const std::string_view part : parts_of(cell)) {
    if (part.empty()) return std::nullopt;
    if (type != SweepType::Text) {
      const auto interval = interval_of(part, type);
      if (!interval) return std::nullopt;
      tests.intervals.push_back(*interval);
      continue;
    }
    if (const auto word = quoted_word(part)) {
      tests.words.push_back(*word);
    } else if (is_bare_word(part)) {
      tests.words.emplace_back(part);
    } else {
      return std::nullopt;
    }
  }
  return tests;
}

}  // namespace kitgap
