#include "condition/cell_message.h"

#include <algorithm>

#include "text/codes.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

std::string kind_of_fact(FactType type) {
  switch (type) {
    case FactType::Number: return "a number";
    case FactType::Text: return "text";
    case FactType::Boolean: return "true or false";
    case FactType::Date: return "a date";
  }
  return "";
}

}  // namespace

std::string listing(std::span<const FactValue> values, FactType type) {
  constexpr std::size_t kShown = 10;
  std::string result;
  const std::size_t count = std::min(values.size(), kShown);
  for (std::size_t index = 0; index < count; ++index) {
    if (index != 0) result += index + 1 == count && count == values.size() ? " or " : ", ";
    result += "`" + text_of(values[index], type) + "`";
  }
  return values.size() > kShown ? result + " or one of " + std::to_string(values.size() - kShown) + " more" : result;
}

// A quoted CSV cell has a quote before it, and each quote in it stands twice.
Span CellMessages::inside(std::size_t begin, std::size_t end) const {
  begin = std::min(begin, cell_.size());
  end = std::clamp(end, begin, cell_.size());
  Span span = span_;
  const std::size_t whole = characters(cell_);
  const std::string_view before = cell_.substr(0, begin);
  const std::string_view wrong = cell_.substr(begin, end - begin);
  const auto quotes = [](std::string_view text) { return static_cast<std::size_t>(std::count(text.begin(), text.end(), '"')); };
  const bool is_quoted = span_.length == whole + 2 + quotes(cell_);
  std::size_t offset = characters(before);
  std::size_t length = characters(wrong);
  if (is_quoted) {
    offset += 1 + quotes(before);
    length += quotes(wrong);
  }
  span.column += static_cast<std::uint32_t>(offset);
  span.length = static_cast<std::uint32_t>(std::max<std::size_t>(length, 1));
  return span;
}

void CellMessages::invalid(std::size_t begin, std::size_t end, std::string says, std::string expected) {
  Diagnostic diagnostic;
  diagnostic.code = code::kInvalidExpression;
  diagnostic.span = inside(begin, end);
  diagnostic.says = std::move(says);
  diagnostic.expected = std::move(expected);
  diagnostics_.add(std::move(diagnostic));
}

void CellMessages::syntax(const SyntaxError& error) {
  Diagnostic diagnostic;
  diagnostic.code = error.too_deep ? code::kTooDeep : code::kInvalidExpression;
  diagnostic.span = inside(error.begin, error.end);
  diagnostic.says = error.says;
  diagnostic.expected = error.expected;
  diagnostics_.add(std::move(diagnostic));
}

void CellMessages::unknown_value(std::size_t begin, std::size_t end, std::string_view value, const Fact& fact) {
  Diagnostic diagnostic;
  diagnostic.code = code::kUnknownValue;
  diagnostic.span = inside(begin, end);
  diagnostic.says = in_ticks_cut(value) + " is no value of the fact `" + fact.name + "`";
  diagnostic.expected = listing(fact.domain.allowed, fact.domain.type);
  if (fact.domain.type == FactType::Text && !fact.domain.allowed.empty()) {
    diagnostic.expected += ", or a test such as `not(" + literal_of(fact.domain.allowed.back(), FactType::Text) + ")`";
  }
  std::vector<std::string> candidates;
  for (const FactValue& allowed : fact.domain.allowed) candidates.push_back(text_of(allowed, fact.domain.type));
  diagnostic.suggestion = nearest(value, candidates);
  diagnostics_.add(std::move(diagnostic));
}

void CellMessages::unknown_name(const Expression& expression, const Node& node, const Fact* fact,
                                std::span<const std::string> more) {
  const std::string& name = expression.names[node.data];
  if (fact != nullptr && fact->domain.type == FactType::Text && !fact->domain.allowed.empty()) {
    return unknown_value(node.begin, node.end, name, *fact);
  }
  Diagnostic diagnostic;
  diagnostic.code = code::kUnknownName;
  diagnostic.span = inside(node.begin, node.end);
  diagnostic.says = in_ticks_cut(name) + " is no fact";
  if (!more.empty()) diagnostic.says += " and no size";
  std::vector<std::string> candidates(more.begin(), more.end());
  for (const Fact& known : facts_) {
    candidates.push_back(known.name);
    for (const FactValue& allowed : known.domain.allowed) {
      const auto* text = std::get_if<std::string>(&allowed);
      if (text != nullptr && *text == name) {
        diagnostic.help.push_back("write the value of `" + known.name + "` in quotes: `\"" + name + "\"`");
      }
    }
  }
  if (fact != nullptr) diagnostic.expected = "a test of `" + fact->name + "`, which is " + kind_of_fact(fact->domain.type);
  if (diagnostic.help.empty()) diagnostic.suggestion = nearest(name, candidates);
  diagnostics_.add(std::move(diagnostic));
}

void CellMessages::wrong_kind(std::size_t begin, std::size_t end, std::string_view kind, const Fact& fact) {
  invalid(begin, end,
          in_ticks_cut(cell_.substr(begin, end - begin)) + " is a " + std::string(kind) + ", but `" + fact.name + "` is " +
              kind_of_fact(fact.domain.type));
}

void CellMessages::write_instead(std::string_view write, std::string_view says, std::string_view help) {
  Diagnostic diagnostic;
  diagnostic.code = code::kWriteAsRange;
  diagnostic.span = inside(0, cell_.size());
  diagnostic.says = in_ticks_cut(cell_) + " " + std::string(says);
  diagnostic.expected = "a test such as `[1968..1971]`, `>= 1968` or `<= 1971`";
  diagnostic.suggestion = write;
  if (!help.empty()) diagnostic.help.emplace_back(help);
  diagnostics_.add(std::move(diagnostic));
}

}  // namespace kitgap
