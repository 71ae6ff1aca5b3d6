#include "condition/regex_tree.h"

#include <algorithm>

namespace kitgap {
namespace {

constexpr std::size_t kMaxPattern = 10'000;
constexpr std::uint32_t kMaxCount = 1000;  // what RE2 takes in `{n}`
constexpr int kMaxRegexNesting = 50;

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

// The flag x: blanks outside a class in brackets are not there.
std::string without_blanks(std::string_view pattern) {
  std::string result;
  int depth = 0;
  for (std::size_t at = 0; at < pattern.size(); ++at) {
    const char c = pattern[at];
    if (c == '\\') {
      result.push_back(c);
      while (at + 1 < pattern.size() && depth == 0 && is_blank(pattern[at + 1])) ++at;
      if (at + 1 < pattern.size()) result.push_back(pattern[++at]);
      continue;
    }
    if (c == '[') ++depth;
    if (c == ']' && depth > 0) --depth;
    if (depth == 0 && is_blank(c)) continue;
    result.push_back(c);
  }
  return result;
}

class RegexParser {
 public:
  RegexParser(std::string_view pattern, RegexTree& tree, bool dot_takes_all, bool literal)
      : pattern_(pattern), tree_(tree), dot_takes_all_(dot_takes_all), literal_(literal) {}

  void parse() {
    tree_.root = literal_ ? all_literal() : choice();
    if (at_ < pattern_.size()) fail("`" + std::string(1, pattern_[at_]) + "` stands wrong");
  }

 private:
  [[noreturn]] void fail(const std::string& what) const { throw RegexError{"the pattern is wrong: " + what}; }
  bool at_end() const { return at_ >= pattern_.size(); }
  char peek() const { return at_end() ? '\0' : pattern_[at_]; }
  bool take(char c) {
    if (at_end() || pattern_[at_] != c) return false;
    ++at_;
    return true;
  }

  std::uint32_t add(RegexNode node) {
    tree_.nodes.push_back(std::move(node));
    return static_cast<std::uint32_t>(tree_.nodes.size() - 1);
  }
  std::uint32_t add_set(CharacterSet set) {
    RegexNode node;
    node.kind = RegexNode::Kind::Set;
    node.set = static_cast<std::uint32_t>(tree_.sets.size());
    tree_.sets.push_back(std::move(set));
    return add(std::move(node));
  }
  CharacterSet cased(CharacterSet set) const { return tree_.ignores_case ? set.in_any_case() : set; }

  std::uint32_t all_literal() {
    RegexNode sequence;
    while (!at_end()) sequence.children.push_back(add_set(cased(CharacterSet::one(next_character(pattern_, at_)))));
    return add(std::move(sequence));
  }

  std::uint32_t choice() {
    if (++depth_ > kMaxRegexNesting) fail("it is nested too deep");
    RegexNode node;
    node.kind = RegexNode::Kind::Choice;
    do {
      node.children.push_back(sequence());
    } while (take('|'));
    --depth_;
    return node.children.size() == 1 ? node.children[0] : add(std::move(node));
  }

  std::uint32_t sequence() {
    RegexNode node;
    while (!at_end() && peek() != '|' && peek() != ')') node.children.push_back(piece());
    return add(std::move(node));
  }

  std::uint32_t piece() {
    const std::uint32_t what = atom();
    RegexNode node;
    node.kind = RegexNode::Kind::Repeat;
    node.most = RegexNode::kNoEnd;
    if (take('?')) {
      node.most = 1;
    } else if (take('+')) {
      node.least = 1;
    } else if (take('{')) {
      counts(node);
    } else if (!take('*')) {
      return what;
    }
    node.is_lazy = take('?');
    if (peek() == '*' || peek() == '+' || peek() == '?' || peek() == '{') fail("two quantifiers stand together");
    node.children.push_back(what);
    return add(std::move(node));
  }

  std::uint32_t count() {
    std::uint32_t value = 0;
    const std::size_t begin = at_;
    while (peek() >= '0' && peek() <= '9') {
      value = std::min<std::uint32_t>(value * 10 + static_cast<std::uint32_t>(pattern_[at_++] - '0'), 100'000);
    }
    if (at_ == begin) fail("a number is missing after `{`");
    if (value > kMaxCount) fail("a count past 1000");
    return value;
  }

  void counts(RegexNode& node) {
    node.least = count();
    node.most = node.least;
    if (take(',')) node.most = peek() == '}' ? RegexNode::kNoEnd : count();
    if (!take('}')) fail("`{` has no `}`");
    if (node.most < node.least) fail("a count that ends before it begins");
  }

  std::uint32_t atom() {
    RegexNode node;
    switch (peek()) {
      case '(': return group();
      case '[':
        ++at_;
        return add_set(bracket_class());
      case '.': {
        ++at_;
        const CharacterSet none;
        return add_set(dot_takes_all_ ? none.complement() : CharacterSet({{'\n', '\n'}, {'\r', '\r'}}).complement());
      }
      case '^':
        ++at_;
        node.kind = RegexNode::Kind::LineStart;
        return add(std::move(node));
      case '$':
        ++at_;
        node.kind = RegexNode::Kind::LineEnd;
        return add(std::move(node));
      case '\\': return escape_atom();
      case '*':
      case '+':
      case '?':
      case '{':
      case '}':
      case ']': fail("`" + std::string(1, peek()) + "` stands wrong");
      default: return add_set(cased(CharacterSet::one(next_character(pattern_, at_))));
    }
  }

  std::uint32_t group() {
    ++at_;
    RegexNode node;
    node.kind = RegexNode::Kind::Group;
    if (take('?')) {
      if (!take(':')) fail("`(?` is not known");
    } else {
      node.number = ++tree_.groups;
    }
    node.children.push_back(choice());
    if (!take(')')) fail("`(` has no `)`");
    if (node.number != 0) closed_.push_back(node.number);
    return add(std::move(node));
  }

  std::uint32_t escape_atom() {
    const char next = at_ + 1 < pattern_.size() ? pattern_[at_ + 1] : '\0';
    if (next < '0' || next > '9') return add_set(cased(escape()));
    ++at_;
    RegexNode node;
    node.kind = RegexNode::Kind::Reference;
    node.number = static_cast<std::uint32_t>(pattern_[at_++] - '0');
    // As many digits as name a group.
    while (peek() >= '0' && peek() <= '9' && node.number * 10 + static_cast<std::uint32_t>(peek() - '0') <= tree_.groups) {
      node.number = node.number * 10 + static_cast<std::uint32_t>(pattern_[at_++] - '0');
    }
    if (std::find(closed_.begin(), closed_.end(), node.number) == closed_.end()) fail("a reference to no group before it");
    tree_.has_reference = true;
    return add(std::move(node));
  }

  // At a backslash: one character or a class of them.
  CharacterSet escape() {
    ++at_;
    if (at_end()) fail("it ends in a backslash");
    const char c = pattern_[at_++];
    switch (c) {
      case 'n': return CharacterSet::one('\n');
      case 'r': return CharacterSet::one('\r');
      case 't': return CharacterSet::one('\t');
      case 'p':
      case 'P': return property(c == 'P');
      default: break;
    }
    if (std::string_view("\\|.-^?*+{}()[]$").find(c) != std::string_view::npos) {
      return CharacterSet::one(static_cast<unsigned char>(c));
    }
    if (auto known = class_of_escape(c)) return *known;
    fail("`\\" + std::string(1, c) + "` is not known");
  }

  CharacterSet property(bool denied) {
    const std::size_t end = pattern_.find('}', at_);
    if (!take('{') || end == std::string_view::npos) fail("`\\p` needs a name in braces");
    const auto set = class_of_property(pattern_.substr(at_, end - at_));
    if (!set) fail("`" + std::string(pattern_.substr(at_, end - at_)) + "` is no category of characters");
    at_ = end + 1;
    return denied ? set->complement() : *set;
  }

  CharacterSet bracket_class() {
    if (++depth_ > kMaxRegexNesting) fail("it is nested too deep");
    const bool denied = take('^');
    CharacterSet set;
    CharacterSet taken_away;
    bool any = false;
    while (!take(']')) {
      if (at_end()) fail("`[` has no `]`");
      if (any && peek() == '-' && at_ + 1 < pattern_.size() && pattern_[at_ + 1] == '[') {
        at_ += 2;
        taken_away = bracket_class();
        if (!take(']')) fail("a subtraction stands before the end of its class");
        break;
      }
      any = true;
      set = set | class_part();
    }
    if (!any) fail("a class is empty");
    --depth_;
    set = cased(std::move(set));
    return (denied ? set.complement() : set) - taken_away;
  }

  CharacterSet class_part() {
    if (peek() == '[') fail("`[` stands in a class");
    const bool is_escape = peek() == '\\';
    const CharacterSet first = is_escape ? escape() : CharacterSet::one(next_character(pattern_, at_));
    const bool is_range = peek() == '-' && at_ + 1 < pattern_.size() && pattern_[at_ + 1] != ']' && pattern_[at_ + 1] != '[';
    if (!is_range) return first;
    ++at_;
    const CharacterSet last = peek() == '\\' ? escape() : CharacterSet::one(next_character(pattern_, at_));
    const auto is_single = [](const CharacterSet& set) {
      return set.ranges().size() == 1 && set.ranges()[0].first == set.ranges()[0].second;
    };
    if (!is_single(first) || !is_single(last) || first.ranges()[0].first > last.ranges()[0].first) fail("a range of characters has no order");
    return CharacterSet({{first.ranges()[0].first, last.ranges()[0].first}});
  }

  std::string_view pattern_;
  RegexTree& tree_;
  bool dot_takes_all_;
  bool literal_;
  std::size_t at_ = 0;
  int depth_ = 0;
  std::vector<std::uint32_t> closed_;
};

}  // namespace

std::uint32_t next_character(std::string_view text, std::size_t& at) {
  const auto byte = [&](std::size_t ahead) {
    return at + ahead < text.size() ? static_cast<std::uint32_t>(static_cast<unsigned char>(text[at + ahead])) : 0U;
  };
  const std::uint32_t lead = byte(0);
  std::size_t length = lead < 0x80 ? 1 : lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (at + length > text.size()) length = 1;
  std::uint32_t code = length == 1 ? lead : lead & (0x7FU >> length);
  for (std::size_t ahead = 1; ahead < length; ++ahead) code = code << 6 | (byte(ahead) & 0x3F);
  at += length;
  return code;
}

RegexTree parse_regex(std::string_view pattern, std::string_view flags) {
  RegexTree tree;
  bool dot_takes_all = false;
  bool is_literal = false;
  bool drops_blanks = false;
  for (const char flag : flags) {
    switch (flag) {
      case 's': dot_takes_all = true; break;
      case 'm': tree.is_multiline = true; break;
      case 'i': tree.ignores_case = true; break;
      case 'x': drops_blanks = true; break;
      case 'q': is_literal = true; break;
      default: throw RegexError{"a flag is none of s, m, i, x, q"};
    }
  }
  if (pattern.size() > kMaxPattern) throw RegexError{"the pattern is longer than 10,000 characters"};
  const std::string plain = drops_blanks && !is_literal ? without_blanks(pattern) : std::string(pattern);
  RegexParser(plain, tree, dot_takes_all, is_literal).parse();
  return tree;
}

}  // namespace kitgap
