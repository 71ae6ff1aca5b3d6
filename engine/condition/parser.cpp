#include "condition/parser.h"

#include <algorithm>
#include <array>

#include "text/ascii.h"

namespace kitgap {

Parser::Deeper::Deeper(Parser& parser) : parser_(parser) {
  if (++parser_.depth_ <= kMaxNesting) return;
  --parser_.depth_;
  SyntaxError error{parser_.scan_.at(), parser_.scan_.at() + 1,
                    "nested more than " + std::to_string(kMaxNesting) + " deep"};
  error.too_deep = true;
  throw error;
}

Parser::Parser(std::string_view source, const Scope& scope)
    : scan_(source), scope_(scope), tree_(std::make_shared<Expression>()) {
  if (source.size() > kMaxExpressionBytes) scan_.fail_at(0, 1, "an expression of more than 1,000,000 bytes");
  tree_->source = source;
}

std::uint32_t Parser::add(NodeKind kind, std::size_t begin, std::span<const std::uint32_t> children,
                          std::uint32_t data, std::uint8_t op) {
  Node node;
  node.kind = kind;
  node.op = op;
  node.first = static_cast<std::uint32_t>(tree_->children.size());
  node.count = static_cast<std::uint32_t>(children.size());
  node.data = data;
  node.begin = static_cast<std::uint32_t>(begin);
  node.end = static_cast<std::uint32_t>(scan_.at());
  int height = 0;
  for (const std::uint32_t child : children) height = std::max(height, tree_->nodes[child].height + 1);
  if (height > 2 * kMaxNesting) {
    SyntaxError error{begin, scan_.at(), "nested more than " + std::to_string(kMaxNesting) + " deep"};
    error.too_deep = true;
    throw error;
  }
  node.height = static_cast<std::uint16_t>(height);
  tree_->children.insert(tree_->children.end(), children.begin(), children.end());
  tree_->nodes.push_back(node);
  return static_cast<std::uint32_t>(tree_->nodes.size() - 1);
}

std::uint32_t Parser::constant(FeelValue value, std::size_t begin) {
  tree_->constants.push_back(std::move(value));
  return add(NodeKind::Constant, begin, {}, static_cast<std::uint32_t>(tree_->constants.size() - 1));
}

std::uint32_t Parser::add_name(std::string name) {
  tree_->names.push_back(std::move(name));
  return static_cast<std::uint32_t>(tree_->names.size() - 1);
}

std::shared_ptr<Expression> Parser::finished(std::uint32_t root) {
  scan_.skip_blanks();
  if (!scan_.is_at_end()) scan_.fail("found " + scan_.found() + " after the end of the expression", "an operator or the end");
  tree_->root = root;
  tree_->inverted.resize(tree_->children.size(), 0);
  std::sort(tree_->reads.begin(), tree_->reads.end());
  tree_->reads.erase(std::unique(tree_->reads.begin(), tree_->reads.end()), tree_->reads.end());
  return std::move(tree_);
}

std::shared_ptr<Expression> Parser::expression() { return finished(parse(kOr)); }

Parser::Operator Parser::look_at_operator() {
  scan_.skip_blanks();
  switch (scan_.peek()) {
    case '+': return {kAdd, 1, false};
    case '-': return {kAdd, 1, true};
    case '*': return scan_.peek(1) == '*' ? Operator{kPower, 2, false} : Operator{kMultiply, 1, false};
    case '/': return {kMultiply, 1, true};
    case '=':
    case '<':
    case '>': return {kComparison, 0, false};
    case '!': return scan_.peek(1) == '=' ? Operator{kComparison, 0, false} : Operator{};
    case 'o': return scan_.looking_at_word("or") ? Operator{kOr, 2, false} : Operator{};
    case 'a': return scan_.looking_at_word("and") ? Operator{kAnd, 3, false} : Operator{};
    case 'b': return scan_.looking_at_word("between") ? Operator{kComparison, 0, false} : Operator{};
    case 'i': return scan_.looking_at_word("in") ? Operator{kComparison, 0, false} : Operator{};
    default: return {};
  }
}

std::uint32_t Parser::parse(int least) {
  const Deeper deeper(*this);
  std::uint32_t left = unary();
  while (true) {
    const Operator op = look_at_operator();
    if (op.precedence == 0 || op.precedence < least) return left;
    const std::size_t begin = tree_->nodes[left].begin;
    if (op.precedence == kComparison) {
      left = comparison(left, begin);
    } else if (op.precedence == kPower) {
      scan_.go_to(scan_.at() + 2);
      const std::uint32_t right = unary();
      left = add(NodeKind::Power, begin, std::array{left, right});
    } else {
      left = chain(left, op);
    }
  }
}

// `a + b - c`, `a and b and c`: one node for all, so that a long one is not a deep one.
std::uint32_t Parser::chain(std::uint32_t first, const Operator& op) {
  std::vector<std::uint32_t> parts{first};
  std::vector<char> inverted{0};
  for (Operator next = op; next.precedence == op.precedence; next = look_at_operator()) {
    scan_.go_to(scan_.at() + next.length);
    inverted.push_back(next.inverted ? 1 : 0);
    parts.push_back(parse(op.precedence + 1));
  }
  constexpr std::array kKinds{NodeKind::Or, NodeKind::And, NodeKind::Compare, NodeKind::Add, NodeKind::Multiply};
  const std::uint32_t node = add(kKinds[static_cast<std::size_t>(op.precedence - 1)],
                                 tree_->nodes[first].begin, parts);
  tree_->inverted.resize(tree_->children.size(), 0);
  std::copy(inverted.begin(), inverted.end(), tree_->inverted.end() - static_cast<std::ptrdiff_t>(inverted.size()));
  return node;
}

bool Parser::take_comparison(Comparison& comparison) {
  constexpr std::array<std::pair<std::string_view, Comparison>, 6> kSymbols{{{"<=", Comparison::LessOrEqual},
                                                                             {">=", Comparison::GreaterOrEqual},
                                                                             {"!=", Comparison::NotEqual},
                                                                             {"<", Comparison::Less},
                                                                             {">", Comparison::Greater},
                                                                             {"=", Comparison::Equal}}};
  for (const auto& [symbol, meaning] : kSymbols) {
    if (!scan_.take(symbol)) continue;
    comparison = meaning;
    return true;
  }
  return false;
}

std::uint32_t Parser::comparison(std::uint32_t left, std::size_t begin) {
  if (scan_.take_word("between")) {
    const std::uint32_t from = parse(kAdd);
    if (!scan_.take_word("and")) scan_.fail("found " + scan_.found() + " in a `between`", "`and` and the upper end");
    const std::uint32_t to = parse(kAdd);
    return add(NodeKind::Between, begin, std::array{left, from, to});
  }
  if (scan_.take_word("in")) {
    const std::uint32_t right = in_right_side();
    return add(NodeKind::In, begin, std::array{left, right});
  }
  Comparison comparison{};
  take_comparison(comparison);
  scan_.skip_blanks();
  const std::uint32_t right = parse(kAdd);
  return add(NodeKind::Compare, begin, std::array{left, right}, 0, static_cast<std::uint8_t>(comparison));
}

// Unary minus binds tighter than `**` (OMG DMN 10.3.1.2).
std::uint32_t Parser::unary() {
  scan_.skip_blanks();
  if (scan_.peek() != '-') return postfix(primary());
  const Deeper deeper(*this);
  const std::size_t begin = scan_.at();
  scan_.go_to(begin + 1);
  const std::uint32_t operand = unary();
  const Node& node = tree_->nodes[operand];
  if (node.kind == NodeKind::Constant) {
    if (const auto* number = tree_->constants[node.data].as<Decimal>()) return constant(-*number, begin);
  }
  return add(NodeKind::Negate, begin, std::array{operand});
}

std::uint32_t Parser::postfix(std::uint32_t node) {
  while (true) {
    scan_.skip_blanks();
    const char c = scan_.peek();
    if (c == '.' && scan_.peek(1) != '.') {
      node = path(node);
    } else if (c == '[' && !closes_at_bracket_) {
      node = filter(node);
    } else if (c == '(') {
      node = call(node);
    } else if (c == 'i' && scan_.take_word("instance")) {
      if (!scan_.take_word("of")) scan_.fail("found " + scan_.found() + " after `instance`", "`of` and a type");
      tree_->types.push_back(type());
      node = add(NodeKind::InstanceOf, tree_->nodes[node].begin, std::array{node},
                 static_cast<std::uint32_t>(tree_->types.size() - 1));
    } else {
      return node;
    }
  }
}

std::uint32_t Parser::path(std::uint32_t node) {
  scan_.go_to(scan_.at() + 1);
  scan_.skip_blanks();
  const std::size_t begin = scan_.at();
  bool is_word = false;
  const std::size_t end = std::max(longest_name(true, is_word), scan_.end_of_word());
  if (end <= begin) scan_.fail("found " + scan_.found() + " after a dot", "a name");
  scan_.go_to(end);
  return add(NodeKind::Path, tree_->nodes[node].begin, std::array{node}, add_written(scan_.text(begin, end)));
}

std::uint32_t Parser::filter(std::uint32_t node) {
  const Deeper deeper(*this);
  scan_.go_to(scan_.at() + 1);
  ++filters_;
  const std::uint32_t by = parse(kOr);
  --filters_;
  scan_.expect("]", "in a filter");
  return add(NodeKind::Filter, tree_->nodes[node].begin, std::array{node, by});
}

std::uint32_t Parser::primary() {
  scan_.skip_blanks();
  const char c = scan_.peek();
  if (!scope_.words.empty()) {
    bool is_word = false;
    const std::size_t end = longest_name(false, is_word);
    if (is_word) {
      const std::size_t begin = scan_.at();
      std::string text(scan_.text(begin, end));
      for (std::size_t word = 0; word < scope_.words.size(); ++word) {
        if (scan_.end_of_name(scope_.words[word]) == end) text = scope_.words[word];
      }
      scan_.go_to(end);
      return constant(std::move(text), begin);
    }
  }
  if (scan_.at_number()) return number();
  switch (c) {
    case '"': {
      const std::size_t begin = scan_.at();
      std::string text = scan_.take_string();
      return constant(std::move(text), begin);
    }
    case '@': return at_literal();
    case '(': return parenthesis(false);
    case '[':
    case ']': return bracket();
    case '{': return context();
    default: return name_or_keyword();
  }
}

std::uint32_t Parser::number() {
  if (scope_.iso_dates) {
    if (const std::uint32_t date = date_literal(); date != kNotInScope) return date;
  }
  const std::size_t begin = scan_.at();
  const std::string_view digits = scan_.take_number();
  if (is_name_part(scan_.source(), scan_.at())) {
    while (is_name_part(scan_.source(), scan_.at())) scan_.go_to(scan_.at() + 1);
    scan_.fail_at(begin, scan_.at(), "`" + std::string(scan_.text(begin, scan_.at())) + "` is neither a number nor a name",
                  "a number, or text in quotes");
  }
  const auto value = Decimal::parse(digits);
  if (!value) {
    scan_.fail_at(begin, scan_.at(), "`" + std::string(digits.substr(0, 60)) + "` has more digits than are kept",
                  "a number of at most 34 digits");
  }
  return constant(*value, begin);
}

// `1970-03-01`, where the scope says so; kNotInScope when none stands here.
std::uint32_t Parser::date_literal() {
  const std::size_t begin = scan_.at();
  const std::string_view text = scan_.text(begin, std::min(begin + 10, scan_.source().size()));
  const bool is_shaped = text.size() == 10 && text[4] == '-' && text[7] == '-' &&
                         std::count_if(text.begin(), text.end(), is_digit) == 8 &&
                         !is_name_part(scan_.source(), begin + 10);
  if (!is_shaped) return kNotInScope;
  const auto date = parse_date(text);
  if (!date) scan_.fail_at(begin, begin + 10, "`" + std::string(text) + "` is no day of the calendar", "a date such as `1970-03-01`");
  scan_.go_to(begin + 10);
  return constant(*date, begin);
}

std::uint32_t Parser::at_literal() {
  const std::size_t begin = scan_.at();
  scan_.go_to(begin + 1);
  scan_.skip_blanks();
  if (scan_.peek() != '"') scan_.fail("found " + scan_.found() + " after `@`", "a date, time or duration in quotes");
  const std::string text = scan_.take_string();
  if (const auto date = parse_date(text)) return constant(*date, begin);
  if (auto moment = parse_date_and_time(text)) return constant(std::move(*moment), begin);
  if (auto time = parse_time(text)) return constant(std::move(*time), begin);
  if (const auto months = parse_months_duration(text)) return constant(*months, begin);
  if (const auto time = parse_time_duration(text)) return constant(*time, begin);
  scan_.fail_at(begin, scan_.at(), "`" + text.substr(0, 60) + "` is no date, time or duration");
}

}  // namespace kitgap
