#include <utf8proc.h>

#include <algorithm>

#include "condition/evaluator.h"
#include "condition/regex.h"

// OMG DMN 10.3.4.3; text is counted in characters (code points) from 1.
namespace kitgap {
namespace {

using Arguments = std::span<const FeelValue>;

const std::string* text_at(Arguments arguments, std::size_t index) {
  return index < arguments.size() ? arguments[index].as<std::string>() : nullptr;
}

FeelValue needs_text(Evaluator& evaluator) { return evaluator.problem("the function needs a string"); }

bool is_start(char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }

std::vector<std::size_t> starts_of(const std::string& text) {
  std::vector<std::size_t> starts;
  for (std::size_t at = 0; at < text.size(); ++at) {
    if (is_start(text[at])) starts.push_back(at);
  }
  starts.push_back(text.size());
  return starts;
}

FeelValue to_text(Evaluator& evaluator, Arguments arguments) {
  if (arguments[0].is_null()) return {};
  std::string text = text_of(arguments[0]);
  evaluator.charge(text.size() / 16);
  return text;
}

FeelValue length(Evaluator& evaluator, Arguments arguments) {
  const auto* text = text_at(arguments, 0);
  if (text == nullptr) return needs_text(evaluator);
  evaluator.charge(text->size() / 64);
  return Decimal(std::count_if(text->begin(), text->end(), is_start));
}

FeelValue substring(Evaluator& evaluator, Arguments arguments) {
  const auto* text = text_at(arguments, 0);
  const Decimal* start = arguments[1].as<Decimal>();
  if (text == nullptr || start == nullptr) return needs_text(evaluator);
  evaluator.charge(text->size() / 16);
  const auto starts = starts_of(*text);
  const auto count = static_cast<std::int64_t>(starts.size()) - 1;
  auto first = start->to_integer_toward_zero();
  if (!first || *first == 0 || *first < -count) return evaluator.problem("the start position is outside the string");
  std::int64_t from = *first > 0 ? *first - 1 : count + *first;
  std::int64_t taken = count;
  if (arguments.size() > 2 && !arguments[2].is_null()) {
    const Decimal* wanted = arguments[2].as<Decimal>();
    const auto whole = wanted != nullptr ? wanted->to_integer_toward_zero() : std::nullopt;
    if (!whole || *whole < 1) return evaluator.problem("the length of a substring is below 1");
    taken = *whole;
  }
  if (from >= count) return std::string();
  const std::int64_t to = std::min(count, taken > count - from ? count : from + taken);
  const std::size_t begin = starts[static_cast<std::size_t>(from)];
  return text->substr(begin, starts[static_cast<std::size_t>(to)] - begin);
}

FeelValue changed_case(Evaluator& evaluator, Arguments arguments, utf8proc_int32_t (*change)(utf8proc_int32_t)) {
  const auto* text = text_at(arguments, 0);
  if (text == nullptr) return needs_text(evaluator);
  evaluator.charge(text->size() / 4);
  std::string result;
  const auto* bytes = reinterpret_cast<const utf8proc_uint8_t*>(text->data());
  auto left = static_cast<utf8proc_ssize_t>(text->size());
  while (left > 0) {
    utf8proc_int32_t code = 0;
    const auto used = utf8proc_iterate(bytes, left, &code);
    if (used <= 0) return evaluator.problem("the string is no UTF-8");
    utf8proc_uint8_t encoded[4];
    const auto written = utf8proc_encode_char(change(code), encoded);
    result.append(reinterpret_cast<const char*>(encoded), static_cast<std::size_t>(written));
    bytes += used;
    left -= used;
  }
  return result;
}

FeelValue upper(Evaluator& evaluator, Arguments arguments) { return changed_case(evaluator, arguments, utf8proc_toupper); }
FeelValue lower(Evaluator& evaluator, Arguments arguments) { return changed_case(evaluator, arguments, utf8proc_tolower); }

template <class Give>
FeelValue of_two(Evaluator& evaluator, Arguments arguments, Give&& give) {
  const auto* text = text_at(arguments, 0);
  const auto* match = text_at(arguments, 1);
  if (text == nullptr || match == nullptr) return needs_text(evaluator);
  evaluator.charge(text->size() / 16);
  return give(*text, *match);
}

FeelValue before_match(Evaluator& evaluator, Arguments arguments) {
  return of_two(evaluator, arguments, [](const std::string& text, const std::string& match) {
    const std::size_t at = text.find(match);
    return FeelValue(at == std::string::npos ? std::string() : text.substr(0, at));
  });
}

FeelValue after_match(Evaluator& evaluator, Arguments arguments) {
  return of_two(evaluator, arguments, [](const std::string& text, const std::string& match) {
    const std::size_t at = text.find(match);
    return FeelValue(at == std::string::npos ? std::string() : text.substr(at + match.size()));
  });
}

FeelValue contains_text(Evaluator& evaluator, Arguments arguments) {
  return of_two(evaluator, arguments, [](const std::string& text, const std::string& match) {
    return FeelValue(text.find(match) != std::string::npos);
  });
}

FeelValue starts_with(Evaluator& evaluator, Arguments arguments) {
  return of_two(evaluator, arguments, [](const std::string& text, const std::string& match) { return FeelValue(text.starts_with(match)); });
}

FeelValue ends_with(Evaluator& evaluator, Arguments arguments) {
  return of_two(evaluator, arguments, [](const std::string& text, const std::string& match) { return FeelValue(text.ends_with(match)); });
}

// The pattern at `index` with the flags at `index` of the last argument; nothing with the problem said.
std::optional<Regex> regex_at(Evaluator& evaluator, Arguments arguments, std::size_t pattern, std::size_t flags) {
  const auto* text = text_at(arguments, pattern);
  std::string flag_text;
  if (flags < arguments.size() && !arguments[flags].is_null()) {
    const auto* given = text_at(arguments, flags);
    if (given == nullptr) return needs_text(evaluator), std::nullopt;
    flag_text = *given;
  }
  if (text == nullptr) return needs_text(evaluator), std::nullopt;
  evaluator.charge(200 + text->size());
  std::string error;
  auto regex = Regex::parse(*text, flag_text, error);
  if (!regex) evaluator.problem(error);
  return regex;
}

FeelValue matches_pattern(Evaluator& evaluator, Arguments arguments) {
  const auto* text = text_at(arguments, 0);
  if (text == nullptr) return needs_text(evaluator);
  const auto regex = regex_at(evaluator, arguments, 1, 2);
  if (!regex) return {};
  evaluator.charge(text->size() / 4);
  bool gave_up = false;
  const bool found = regex->is_in(*text, gave_up);
  if (gave_up) return evaluator.problem("the pattern takes too many steps");
  return found;
}

// `$1` stands for a group, `$0` for the whole, `\$` and `\\` for themselves; anything else after them is wrong
// (XPath functions 7.6.3).
bool append_replacement(std::string& out, const std::string& replacement, const Regex& regex, const Regex::Match& match) {
  for (std::size_t at = 0; at < replacement.size(); ++at) {
    const char c = replacement[at];
    if (c == '\\') {
      if (++at >= replacement.size() || (replacement[at] != '\\' && replacement[at] != '$')) return false;
      out.push_back(replacement[at]);
    } else if (c == '$') {
      std::size_t group = 0;
      std::size_t digits = 0;
      while (at + 1 < replacement.size() && replacement[at + 1] >= '0' && replacement[at + 1] <= '9') {
        const std::size_t next = group * 10 + static_cast<std::size_t>(replacement[at + 1] - '0');
        if (digits > 0 && next > regex.group_count()) break;
        group = next;
        ++digits;
        ++at;
      }
      if (digits == 0) return false;
      if (group < match.groups.size() && match.groups[group]) out += *match.groups[group];
    } else {
      out.push_back(c);
    }
  }
  return true;
}

FeelValue replace_pattern(Evaluator& evaluator, Arguments arguments) {
  const auto* text = text_at(arguments, 0);
  const auto* replacement = text_at(arguments, 2);
  if (text == nullptr || replacement == nullptr) return needs_text(evaluator);
  const auto regex = regex_at(evaluator, arguments, 1, 3);
  if (!regex) return {};
  bool gave_up = false;
  if (const auto empty = regex->find("", 0, gave_up); empty || gave_up) {
    return evaluator.problem("the pattern matches nothing at all");  // XPath error FORX0003
  }
  std::string result;
  std::size_t at = 0;
  evaluator.charge(text->size());
  while (at <= text->size()) {
    const auto match = regex->find(*text, at, gave_up);
    if (gave_up) return evaluator.problem("the pattern takes too many steps");
    if (!match) break;
    result.append(*text, at, match->begin - at);
    if (!append_replacement(result, *replacement, *regex, *match)) return evaluator.problem("`$` or `\\` stands wrong in the replacement");
    evaluator.charge(8 + (match->end - match->begin + replacement->size()) / 8);
    at = match->end;
    if (match->end == match->begin) {
      if (at < text->size()) result.push_back((*text)[at]);
      ++at;
    }
  }
  if (at < text->size()) result.append(*text, at);
  evaluator.charge(result.size() / 16);
  return result;
}

FeelValue split(Evaluator& evaluator, Arguments arguments) {
  const auto* text = text_at(arguments, 0);
  if (text == nullptr || text_at(arguments, 1) == nullptr) return needs_text(evaluator);
  const auto regex = regex_at(evaluator, arguments, 1, 2);
  if (!regex) return {};
  FeelList parts;
  std::size_t at = 0;
  std::size_t from = 0;
  bool gave_up = false;
  evaluator.charge(text->size());
  while (from <= text->size()) {
    const auto match = regex->find(*text, from, gave_up);
    if (gave_up) return evaluator.problem("the pattern takes too many steps");
    if (!match) break;
    from = match->end;
    if (match->end == match->begin) {
      ++from;
      if (match->begin == 0 || match->begin == text->size()) continue;
    }
    parts.emplace_back(text->substr(at, match->begin - at));
    at = match->end;
    evaluator.charge(2);
  }
  parts.emplace_back(text->substr(at));
  return FeelValue::of(std::move(parts));
}

FeelValue join(Evaluator& evaluator, Arguments arguments) {
  FeelList single;
  const FeelList* items = arguments[0].list();
  if (items == nullptr && arguments[0].as<std::string>() != nullptr) {
    single.push_back(arguments[0]);
    items = &single;
  }
  if (items == nullptr) return evaluator.problem("`string join` needs a list of strings");
  std::string delimiter;
  if (arguments.size() > 1 && !arguments[1].is_null()) {
    if (text_at(arguments, 1) == nullptr) return needs_text(evaluator);
    delimiter = *text_at(arguments, 1);
  }
  std::string result;
  bool any = false;
  for (const FeelValue& item : *items) {
    if (item.is_null()) continue;
    const auto* text = item.as<std::string>();
    if (text == nullptr) return evaluator.problem("`string join` needs a list of strings");
    if (any) result += delimiter;
    any = true;
    result += *text;
    evaluator.charge(1 + (delimiter.size() + text->size()) / 16);
  }
  return result;
}

}  // namespace

std::span<const BuiltIn> string_functions() {
  static constexpr auto kFunctions = std::to_array<BuiltIn>({
      {"string", "from", to_text},
      {"substring", "string,start position,length?", substring},
      {"string length", "string", length},
      {"upper case", "string", upper},
      {"lower case", "string", lower},
      {"substring before", "string,match", before_match},
      {"substring after", "string,match", after_match},
      {"contains", "string,match", contains_text},
      {"starts with", "string,match", starts_with},
      {"ends with", "string,match", ends_with},
      {"matches", "input,pattern,flags?", matches_pattern},
      {"replace", "input,pattern,replacement,flags?", replace_pattern},
      {"split", "string,delimiter", split},
      {"string join", "list,delimiter?", join},
  });
  return kFunctions;
}

}  // namespace kitgap
