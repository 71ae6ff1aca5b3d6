#include <algorithm>
#include <array>

#include "condition/parser.h"

// Calls, functions, types and unary tests.
namespace kitgap {

// Whether a name and a colon stand here: `start position: 2`.
bool Parser::at_argument_name() {
  const std::size_t begin = scan_.at();
  scan_.skip_blanks();
  bool any = false;
  while (true) {
    const std::size_t end = scan_.end_of_word();
    if (end == scan_.at() && !(any && is_name_part(scan_.source(), scan_.at()))) break;
    any = true;
    scan_.go_to(std::max(end, scan_.at() + 1));
    scan_.skip_blanks();
  }
  const bool result = any && scan_.peek() == ':';
  scan_.go_to(begin);
  return result;
}

std::uint32_t Parser::call(std::uint32_t callee) {
  const Deeper deeper(*this);
  const bool was_closing = std::exchange(closes_at_bracket_, false);
  const int was_filters = std::exchange(filters_, filters_);
  scan_.go_to(scan_.at() + 1);
  std::vector<std::uint32_t> parts{callee};
  std::vector<std::string> names;
  if (!scan_.take(")")) {
    const bool is_named = at_argument_name();
    do {
      if (is_named) {
        names.push_back(key());
        scan_.expect(":", "after the name of an argument");
      }
      parts.push_back(parse(kOr));
    } while (scan_.take(","));
    scan_.expect(")", "in a call");
  }
  closes_at_bracket_ = was_closing;
  filters_ = was_filters;
  const std::size_t begin = tree_->nodes[callee].begin;
  if (names.empty()) return add(NodeKind::Call, begin, parts);
  const auto first = static_cast<std::uint32_t>(tree_->names.size());
  for (std::string& name : names) add_name(std::move(name));
  return add(NodeKind::NamedCall, begin, parts, first);
}

std::uint32_t Parser::function() {
  const Deeper deeper(*this);
  const std::size_t begin = scan_.at();
  const std::size_t outer = locals_.size();
  scan_.expect("(", "after `function`");
  std::vector<std::string> parameters;
  if (!scan_.take(")")) {
    do {
      scan_.skip_blanks();
      const std::size_t name_begin = scan_.at();
      std::size_t name_end = name_begin;
      while (scan_.end_of_word() != scan_.at()) {
        name_end = scan_.end_of_word();
        scan_.go_to(name_end);
        scan_.skip_blanks();
      }
      if (name_end == name_begin) scan_.fail("found " + scan_.found() + " among the parameters", "a name");
      parameters.emplace_back(scan_.text(name_begin, name_end));
      if (scan_.take(":")) type();
    } while (scan_.take(","));
    scan_.expect(")", "after the parameters");
  }
  if (parameters.size() > 100) scan_.fail("a function with more than 100 parameters");
  if (scan_.take_word("external")) scan_.fail("`external`: functions from outside are not called");
  locals_.insert(locals_.end(), parameters.begin(), parameters.end());
  const std::uint32_t body = parse(kOr);
  locals_.resize(outer);
  const auto first = static_cast<std::uint32_t>(tree_->names.size());
  const auto count = static_cast<std::uint8_t>(parameters.size());
  for (std::string& name : parameters) add_name(std::move(name));
  return add(NodeKind::Function, begin, std::array{body}, first, count);
}

std::vector<FeelType> Parser::types_until(std::string_view end, FeelType* fields_of) {
  std::vector<FeelType> result;
  if (scan_.take(end)) return result;
  do {
    if (fields_of != nullptr) {
      fields_of->fields.push_back(key());
      scan_.expect(":", "after the name of a field");
    }
    result.push_back(type());
  } while (scan_.take(","));
  scan_.expect(end, "in a type");
  return result;
}

FeelType Parser::type() {
  const Deeper deeper(*this);
  FeelType result;
  scan_.skip_blanks();
  constexpr std::array<std::string_view, 14> kNames{
      "years and months duration", "days and time duration", "date and time", "number", "string", "boolean", "date",
      "time", "Any", "Null", "list", "range", "context", "function"};
  for (const std::string_view name : kNames) {
    const std::size_t end = scan_.end_of_name(name);
    if (end == 0) continue;
    result.name = name;
    scan_.go_to(end);
    break;
  }
  if (result.name.empty()) scan_.fail("found " + scan_.found() + " where a type should stand", "a type such as `number`");
  if (result.name == "list" && scan_.take("<")) {
    result.kind = FeelType::Kind::List;
    result.inner = types_until(">", nullptr);
  } else if (result.name == "range" && scan_.take("<")) {
    result.kind = FeelType::Kind::Range;
    result.inner = types_until(">", nullptr);
  } else if (result.name == "context" && scan_.take("<")) {
    result.kind = FeelType::Kind::Context;
    result.inner = types_until(">", &result);
  } else if (result.name == "function" && scan_.take("<")) {
    result.kind = FeelType::Kind::Function;
    result.inner = types_until(">", nullptr);
    scan_.expect("->", "in the type of a function");
    result.inner.push_back(type());
  }
  return result;
}

// What `in` is asked about: one test, several in parentheses, or an expression.
std::uint32_t Parser::in_right_side() {
  scan_.skip_blanks();
  const std::size_t begin = scan_.at();
  Comparison comparison{};
  if (take_comparison(comparison)) {
    const std::uint32_t end = parse(kAdd);
    return add(NodeKind::Test, begin, std::array{end}, 0, static_cast<std::uint8_t>(comparison));
  }
  if (scan_.peek() != '(') return parse(kAdd);
  const std::uint32_t tests = postfix(parenthesis(true));
  const Operator op = look_at_operator();
  return op.precedence > kComparison ? chain(tests, op) : tests;
}

std::uint32_t Parser::test() {
  scan_.skip_blanks();
  const std::size_t begin = scan_.at();
  Comparison comparison{};
  if (!take_comparison(comparison)) return parse(kOr);
  const std::uint32_t end = parse(kAdd);
  return add(NodeKind::Test, begin, std::array{end}, 0, static_cast<std::uint8_t>(comparison));
}

std::uint32_t Parser::test_list(NodeKind kind, std::size_t begin) {
  std::vector<std::uint32_t> tests;
  do {
    tests.push_back(test());
  } while (scan_.take(","));
  if (kind == NodeKind::NotTests) scan_.expect(")", "after the tests of `not`");
  return add(kind, begin, tests);
}

// OMG DMN 9.2 rules 7 and 17: `-`, `not(` tests `)`, or tests with commas between.
std::shared_ptr<Expression> Parser::unary_tests() {
  scan_.skip_blanks();
  const std::size_t begin = scan_.at();
  if (scan_.peek() == '-') {
    scan_.go_to(begin + 1);
    scan_.skip_blanks();
    if (scan_.is_at_end()) return finished(add(NodeKind::Any, begin));
    scan_.go_to(begin);
  }
  if (scan_.looking_at_word("not")) {
    bool is_word = false;
    if (longest_name(false, is_word) <= begin + 3) {
      scan_.go_to(begin + 3);
      if (scan_.take("(")) {
        const std::uint32_t node = test_list(NodeKind::NotTests, begin);
        scan_.skip_blanks();
        // `not(a) and ?`: the whole is an expression after all.
        if (scan_.is_at_end()) return finished(node);
        *tree_ = Expression();
        tree_->source = scan_.source();
      }
      scan_.go_to(begin);
    }
  }
  return finished(test_list(NodeKind::Tests, begin));
}

namespace {

template <class Read>
std::shared_ptr<const Expression> read(std::string_view source, const Scope& scope, SyntaxError& error, Read&& read_it) {
  try {
    Parser parser(source, scope);
    return read_it(parser);
  } catch (const SyntaxError& found) {
    error = found;
    return nullptr;
  }
}

}  // namespace

std::shared_ptr<const Expression> parse_expression(std::string_view source, const Scope& scope, SyntaxError& error) {
  return read(source, scope, error, [](Parser& parser) { return parser.expression(); });
}

std::shared_ptr<const Expression> parse_unary_tests(std::string_view source, const Scope& scope, SyntaxError& error) {
  return read(source, scope, error, [](Parser& parser) { return parser.unary_tests(); });
}

}  // namespace kitgap
