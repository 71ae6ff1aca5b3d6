#include <algorithm>
#include <array>

#include "condition/parser.h"

// The parts of an expression that stand in brackets or begin with a word.
namespace kitgap {
namespace {

constexpr auto kNamesWithBlanks = std::to_array<std::string_view>(
    {"years and months duration", "day of month", "day of week", "day of year", "month of year", "week of year",
     "date and time", "string length", "upper case", "lower case", "substring before", "substring after",
     "starts with", "ends with", "string join", "list contains", "list replace", "insert before", "index of",
     "distinct values", "duplicate values", "get value", "get entries", "context put", "context merge", "round up",
     "round down", "round half up", "round half down", "met by", "overlaps before", "overlaps after", "finished by",
     "started by"});

constexpr auto kPlainNames = std::to_array<std::string_view>(
    {"date",   "time",    "duration", "number", "string",  "not",     "substring", "contains", "replace",   "matches",
     "split",  "count",   "min",      "max",    "sum",     "mean",    "all",       "any",      "sublist",   "append",
     "concatenate", "remove", "reverse", "union", "flatten", "product", "median",  "stddev",   "mode",      "decimal",
     "floor",  "ceiling", "abs",      "modulo", "sqrt",    "log",     "exp",       "odd",      "even",      "is",
     "now",    "today",   "context",  "before", "after",   "meets",   "overlaps",  "finishes", "includes",  "during",
     "starts", "coincides", "range",  "sort",   "list contains"});

// What a date, a time, a duration or a range has (OMG DMN 10.3.2.3 and 10.3.2.7), where the name holds a blank.
constexpr auto kPropertiesWithBlanks = std::to_array<std::string_view>({"time offset", "start included", "end included"});

}  // namespace

std::span<const std::string_view> function_names_with_blanks() { return kNamesWithBlanks; }

bool is_function_name(std::string_view name) {
  return std::find(kPlainNames.begin(), kPlainNames.end(), name) != kPlainNames.end() ||
         std::find(kNamesWithBlanks.begin(), kNamesWithBlanks.end(), name) != kNamesWithBlanks.end();
}

std::size_t Parser::longest_name(bool after_dot, bool& is_word) const {
  std::size_t longest = 0;
  const auto try_all = [&](const auto& names) {
    for (std::size_t index = 0; index < names.size(); ++index) {
      longest = std::max(longest, scan_.end_of_name(names[index]));
    }
  };
  if (after_dot || filters_ > 0) {
    try_all(scope_.properties);
    try_all(properties_);
    try_all(kPropertiesWithBlanks);
  }
  if (after_dot) return longest;
  try_all(locals_);
  try_all(scope_.names);
  try_all(scope_.more_names);
  try_all(kNamesWithBlanks);
  // A word of the fact's own values stands before a name of the same length.
  for (std::size_t word = 0; word < scope_.words.size(); ++word) {
    const std::size_t end = scan_.end_of_name(scope_.words[word]);
    if (end != 0 && end >= longest) {
      longest = end;
      is_word = true;
    }
  }
  return longest;
}

std::uint32_t Parser::name_or_keyword() {
  const std::size_t begin = scan_.at();
  bool is_word = false;
  const std::size_t known = longest_name(false, is_word);
  const std::size_t end = scan_.end_of_word();
  const std::string_view word = scan_.text(begin, end);
  if (known > end) {
    scan_.go_to(known);
    return resolved(scan_.text(begin, known), begin);
  }
  if (scan_.peek() == '?' && !is_name_part(scan_.source(), begin + 1)) {
    scan_.go_to(begin + 1);
    tree_->reads_input = true;
    return add(NodeKind::Input, begin);
  }
  if (end == begin) scan_.fail("found " + scan_.found(), "a value, a name or `(`");
  scan_.go_to(end);
  if (word == "true" || word == "false") return constant(word == "true", begin);
  if (word == "null") return constant(FeelValue(), begin);
  if (word == "if") return conditional(begin);
  if (word == "for") return loop(NodeKind::For, begin);
  if (word == "some") return loop(NodeKind::Some, begin);
  if (word == "every") return loop(NodeKind::Every, begin);
  if (word == "function") return function();
  if (known == end || is_function_name(word) || filters_ > 0) return resolved(word, begin);
  return unknown_name(begin);
}

std::uint32_t Parser::add_written(std::string_view name) {
  std::string text;
  for (std::size_t at = 0; at < name.size();) {
    const std::size_t blank = blank_length(name, at);
    if (blank == 0) {
      text.push_back(name[at++]);
    } else {
      if (text.back() != ' ') text.push_back(' ');
      at += blank;
    }
  }
  return add_name(std::move(text));
}

std::uint32_t Parser::resolved(std::string_view name, std::size_t begin) {
  const std::uint32_t written = add_written(name);
  const std::string& text = tree_->names[written];
  std::uint32_t place = kNotInScope;
  if (std::find(locals_.begin(), locals_.end(), text) == locals_.end()) {
    const std::size_t count = scope_.names.size();
    const auto at = [&](std::size_t index) { return index < count ? scope_.names[index] : scope_.more_names[index - count]; };
    for (std::size_t index = 0; index < count + scope_.more_names.size() && place == kNotInScope; ++index) {
      if (at(index) == text) place = static_cast<std::uint32_t>(index);
    }
  }
  const std::uint32_t node = add(NodeKind::Name, begin, {}, written);
  tree_->nodes[node].first = place;
  if (place != kNotInScope) tree_->reads.push_back(place);
  return node;
}

// All words up to the next keyword or symbol are taken for the name that was meant, for the sake of the message.
std::uint32_t Parser::unknown_name(std::size_t begin) {
  constexpr std::array<std::string_view, 12> kKeywords{"and", "or",     "between",  "in",     "instance", "then",
                                                       "else", "return", "satisfies", "of",   "if",       "for"};
  std::size_t end = scan_.at();
  while (true) {
    scan_.skip_blanks();
    const std::size_t word_end = scan_.end_of_word();
    const std::string_view word = scan_.text(scan_.at(), word_end);
    if (word.empty() || std::find(kKeywords.begin(), kKeywords.end(), word) != kKeywords.end()) break;
    end = word_end;
    scan_.go_to(word_end);
  }
  scan_.go_to(end);
  if (scope_.any_word) return constant(std::string(scan_.text(begin, end)), begin);
  const std::uint32_t node = resolved(scan_.text(begin, end), begin);
  tree_->unknown.push_back(node);
  return node;
}

std::uint32_t Parser::parenthesis(bool tests_allowed) {
  const Deeper deeper(*this);
  const bool was_closing = std::exchange(closes_at_bracket_, false);
  const std::size_t begin = scan_.at();
  scan_.go_to(begin + 1);
  std::vector<std::uint32_t> parts{test()};
  if (scan_.take("..")) {
    const std::uint32_t node = interval(parts[0], false, begin);
    closes_at_bracket_ = was_closing;
    return node;
  }
  while (tests_allowed && scan_.take(",")) parts.push_back(test());
  scan_.expect(")", "in parentheses");
  closes_at_bracket_ = was_closing;
  if (parts.size() > 1) return add(NodeKind::Tests, begin, parts);
  tree_->nodes[parts[0]].begin = static_cast<std::uint32_t>(begin);
  tree_->nodes[parts[0]].end = static_cast<std::uint32_t>(scan_.at());
  return parts[0];
}

std::uint32_t Parser::interval(std::uint32_t start, bool start_included, std::size_t begin) {
  const bool was_closing = std::exchange(closes_at_bracket_, true);
  const std::uint32_t end = parse(kAdd);
  closes_at_bracket_ = was_closing;
  bool end_included = false;
  if (scan_.take("]")) {
    end_included = true;
  } else if (!scan_.take(")") && !scan_.take("[")) {
    scan_.fail("found " + scan_.found() + " in a range", "`]` or `)`");
  }
  const int op = (start_included ? 1 : 0) | (end_included ? 2 : 0);
  return add(NodeKind::Interval, begin, std::array{start, end}, 0, static_cast<std::uint8_t>(op));
}

std::uint32_t Parser::bracket() {
  const Deeper deeper(*this);
  const bool was_closing = std::exchange(closes_at_bracket_, false);
  const std::size_t begin = scan_.at();
  const bool opens_list = scan_.peek() == '[';
  scan_.go_to(begin + 1);
  std::vector<std::uint32_t> items;
  std::uint32_t node = kNotInScope;
  if (!opens_list || !scan_.take("]")) {
    items.push_back(parse(kOr));
    if (scan_.take("..")) {
      node = interval(items[0], opens_list, begin);
    } else if (opens_list) {
      while (scan_.take(",")) items.push_back(parse(kOr));
      scan_.expect("]", "in a list");
    } else {
      scan_.fail("found " + scan_.found() + " in a range", "`..`");
    }
  }
  closes_at_bracket_ = was_closing;
  return node != kNotInScope ? node : add(NodeKind::List, begin, items);
}

std::uint32_t Parser::context() {
  const Deeper deeper(*this);
  const bool was_closing = std::exchange(closes_at_bracket_, false);
  const std::size_t begin = scan_.at();
  const std::size_t outer = locals_.size();
  scan_.go_to(begin + 1);
  std::vector<std::uint32_t> values;
  std::vector<std::string> keys;
  if (!scan_.take("}")) {
    do {
      const std::size_t key_begin = scan_.at();
      std::string name = key();
      scan_.expect(":", "after the key of a context");
      if (std::find(keys.begin(), keys.end(), name) != keys.end()) {
        scan_.fail_at(key_begin, scan_.at(), "the key `" + name + "` stands twice in one context");
      }
      keys.push_back(name);
      properties_.push_back(name);
      values.push_back(parse(kOr));
      locals_.push_back(std::move(name));
    } while (scan_.take(","));
    scan_.expect("}", "in a context");
  }
  locals_.resize(outer);
  closes_at_bracket_ = was_closing;
  const auto first = static_cast<std::uint32_t>(tree_->names.size());
  for (std::string& name : keys) add_name(std::move(name));
  return add(NodeKind::Context, begin, values, first);
}

// A string, or a name: everything up to the colon, blanks taken as one.
std::string Parser::key() {
  scan_.skip_blanks();
  if (scan_.peek() == '"') return scan_.take_string();
  const std::size_t begin = scan_.at();
  std::string name;
  if (scan_.end_of_word() == begin) scan_.fail("found " + scan_.found() + " in a context", "a key");
  while (!scan_.is_at_end() && scan_.peek() != ':') {
    const std::size_t blank = blank_length(scan_.source(), scan_.at());
    if (blank != 0) {
      if (name.back() != ' ') name.push_back(' ');
      scan_.go_to(scan_.at() + blank);
      continue;
    }
    if (!is_name_part(scan_.source(), scan_.at()) && std::string_view("./-'+*").find(scan_.peek()) == std::string_view::npos) {
      scan_.fail("found " + scan_.found() + " in the key of a context", "`:`");
    }
    name.push_back(scan_.peek());
    scan_.go_to(scan_.at() + 1);
  }
  if (!name.empty() && name.back() == ' ') name.pop_back();
  return name;
}

std::uint32_t Parser::conditional(std::size_t begin) {
  const Deeper deeper(*this);
  const std::uint32_t condition = parse(kOr);
  if (!scan_.take_word("then")) scan_.fail("found " + scan_.found() + " in an `if`", "`then`");
  const std::uint32_t yes = parse(kOr);
  if (!scan_.take_word("else")) scan_.fail("found " + scan_.found() + " in an `if`", "`else`");
  const std::uint32_t no = parse(kOr);
  return add(NodeKind::If, begin, std::array{condition, yes, no});
}

Iteration Parser::iteration(std::vector<std::uint32_t>& parts) {
  Iteration result;
  result.variable = [&] {
    scan_.skip_blanks();
    const std::size_t begin = scan_.at();
    while (!scan_.is_at_end()) {  // the name ends before the word `in`
      const std::size_t word_end = scan_.end_of_word();
      if (word_end == scan_.at()) break;
      scan_.go_to(word_end);
      const std::size_t end = word_end;
      scan_.skip_blanks();
      if (scan_.looking_at_word("in")) return std::string(scan_.text(begin, end));
    }
    scan_.fail("found " + scan_.found() + " in a loop", "a name and `in`");
  }();
  scan_.take_word("in");
  result.from = parse(kOr);
  parts.push_back(result.from);
  if (scan_.take("..")) {
    result.to = parse(kOr);
    parts.push_back(result.to);
  }
  locals_.push_back(result.variable);
  return result;
}

std::uint32_t Parser::loop(NodeKind kind, std::size_t begin) {
  const Deeper deeper(*this);
  const std::size_t outer = locals_.size();
  std::vector<std::uint32_t> parts;
  std::vector<Iteration> iterations;
  do {
    iterations.push_back(iteration(parts));
  } while (scan_.take(","));
  const std::string_view word = kind == NodeKind::For ? "return" : "satisfies";
  if (!scan_.take_word(word)) scan_.fail("found " + scan_.found() + " in a loop", "`" + std::string(word) + "`");
  if (kind == NodeKind::For) locals_.push_back("partial");
  parts.push_back(parse(kOr));
  locals_.resize(outer);
  tree_->iterations.push_back(std::move(iterations));
  return add(kind, begin, parts, static_cast<std::uint32_t>(tree_->iterations.size() - 1));
}

}  // namespace kitgap
