#include "condition/regex.h"

#include <re2/re2.h>
#include <utf8proc.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <functional>

#include "condition/regex_tree.h"

namespace kitgap {

struct Regex::Program {
  RegexTree tree;
  std::unique_ptr<re2::RE2> engine;  // null where there is a back-reference
};

namespace {

constexpr std::int64_t kMaxMemory = 8 << 20;
// RE2 may have to follow every state of its program at every letter: some 10 ns each, 100 ms in all.
constexpr std::size_t kMaxStates = 10'000'000;
constexpr std::size_t kMaxTried = 200'000;  // steps of the search with back-references
constexpr int kMaxTriedDepth = 250;

void append_set(std::string& out, const CharacterSet& set) {
  if (set.ranges().empty()) {
    out += "[^\\x{0}-\\x{10FFFF}]";
    return;
  }
  out += "[";
  std::array<char, 40> text{};
  for (const auto& [first, last] : set.ranges()) {
    std::snprintf(text.data(), text.size(), "\\x{%X}-\\x{%X}", first, last);
    out += text.data();
  }
  out += "]";
}

void append_pattern(std::string& out, const RegexTree& tree, std::uint32_t index) {
  const RegexNode& node = tree.nodes[index];
  switch (node.kind) {
    case RegexNode::Kind::Set: append_set(out, tree.sets[node.set]); break;
    case RegexNode::Kind::Sequence:
      for (const std::uint32_t child : node.children) append_pattern(out, tree, child);
      break;
    case RegexNode::Kind::Choice:
      out += "(?:";
      for (std::size_t child = 0; child < node.children.size(); ++child) {
        if (child != 0) out += "|";
        append_pattern(out, tree, node.children[child]);
      }
      out += ")";
      break;
    case RegexNode::Kind::Group:
      out += node.number == 0 ? "(?:" : "(";
      append_pattern(out, tree, node.children[0]);
      out += ")";
      break;
    case RegexNode::Kind::Repeat:
      out += "(?:";
      append_pattern(out, tree, node.children[0]);
      out += "){" + std::to_string(node.least) + ",";
      if (node.most != RegexNode::kNoEnd) out += std::to_string(node.most);
      out += node.is_lazy ? "}?" : "}";
      break;
    case RegexNode::Kind::LineStart: out += tree.is_multiline ? "(?m:^)" : "\\A"; break;
    case RegexNode::Kind::LineEnd: out += tree.is_multiline ? "(?m:$)" : "\\z"; break;
    case RegexNode::Kind::Reference: break;
  }
}

// Finds by trying, for patterns with back-references.
class Trial {
 public:
  Trial(const RegexTree& tree, std::string_view text) : tree_(tree), text_(text), groups_(tree.groups + 1) {}

  std::optional<Regex::Match> find(std::size_t from, bool& gave_up) {
    for (std::size_t begin = from; begin <= text_.size(); ++begin) {
      std::size_t end = 0;
      std::fill(groups_.begin(), groups_.end(), std::nullopt);
      const bool found = run(tree_.root, begin, [&](std::size_t at) {
        end = at;
        return true;
      });
      gave_up = gave_up_;
      if (gave_up_) return std::nullopt;
      if (!found) continue;
      Regex::Match match{begin, end, {}};
      match.groups.push_back(text_.substr(begin, end - begin));
      for (std::size_t group = 1; group < groups_.size(); ++group) {
        match.groups.push_back(groups_[group] ? std::optional(text_.substr(groups_[group]->first, groups_[group]->second - groups_[group]->first)) : std::nullopt);
      }
      return match;
    }
    return std::nullopt;
  }

 private:
  using Then = std::function<bool(std::size_t)>;

  bool run(std::uint32_t index, std::size_t at, const Then& then) {
    if (++steps_ > kMaxTried || depth_ >= kMaxTriedDepth) gave_up_ = true;
    if (gave_up_) return false;
    ++depth_;
    const bool found = run_node(tree_.nodes[index], at, then);
    --depth_;
    return found;
  }

  bool run_node(const RegexNode& node, std::size_t at, const Then& then) {
    switch (node.kind) {
      case RegexNode::Kind::Set: {
        if (at >= text_.size()) return false;
        const bool fits = tree_.sets[node.set].contains(next_character(text_, at));
        return fits && then(at);
      }
      case RegexNode::Kind::Sequence: return run_sequence(node, 0, at, then);
      case RegexNode::Kind::Choice:
        return std::any_of(node.children.begin(), node.children.end(), [&](std::uint32_t child) { return run(child, at, then); });
      case RegexNode::Kind::Group: {
        const auto before = groups_[node.number];
        const bool found = run(node.children[0], at, [&](std::size_t end) {
          const auto inner = groups_[node.number];
          if (node.number != 0) groups_[node.number] = {at, end};
          if (then(end)) return true;
          groups_[node.number] = inner;
          return false;
        });
        if (!found) groups_[node.number] = before;
        return found;
      }
      case RegexNode::Kind::Repeat: return run_repeat(node, 0, at, then);
      case RegexNode::Kind::LineStart:
        return (at == 0 || (tree_.is_multiline && text_[at - 1] == '\n')) && then(at);
      case RegexNode::Kind::LineEnd:
        return (at == text_.size() || (tree_.is_multiline && text_[at] == '\n')) && then(at);
      case RegexNode::Kind::Reference: {
        const auto& group = groups_[node.number];
        const std::string_view wanted = group ? text_.substr(group->first, group->second - group->first) : std::string_view();
        return is_same(wanted, at) && then(at);
      }
    }
    return false;
  }

  bool is_same(std::string_view wanted, std::size_t& at) const {
    for (std::size_t place = 0; place < wanted.size();) {
      if (at >= text_.size()) return false;
      const std::uint32_t a = next_character(wanted, place);
      const std::uint32_t b = next_character(text_, at);
      const bool same = a == b || (tree_.ignores_case && utf8proc_tolower(static_cast<utf8proc_int32_t>(a)) ==
                                                             utf8proc_tolower(static_cast<utf8proc_int32_t>(b)));
      if (!same) return false;
    }
    return true;
  }

  bool run_sequence(const RegexNode& node, std::size_t child, std::size_t at, const Then& then) {
    if (child == node.children.size()) return then(at);
    return run(node.children[child], at, [&](std::size_t end) { return run_sequence(node, child + 1, end, then); });
  }

  bool run_repeat(const RegexNode& node, std::uint32_t times, std::size_t at, const Then& then) {
    const auto once_more = [&] {
      if (times >= node.most) return false;
      return run(node.children[0], at, [&](std::size_t end) {
        if (end == at && times >= node.least) return false;
        return run_repeat(node, times + 1, end, then);
      });
    };
    if (times < node.least) return once_more();
    return node.is_lazy ? then(at) || once_more() : once_more() || then(at);
  }

  const RegexTree& tree_;
  std::string_view text_;
  std::vector<std::optional<std::pair<std::size_t, std::size_t>>> groups_;
  std::size_t steps_ = 0;
  int depth_ = 0;
  bool gave_up_ = false;
};

}  // namespace

std::optional<Regex> Regex::parse(std::string_view pattern, std::string_view flags, std::string& error) {
  auto program = std::make_shared<Program>();
  try {
    program->tree = parse_regex(pattern, flags);
  } catch (const RegexError& wrong) {
    error = wrong.says;
    return std::nullopt;
  }
  if (!program->tree.has_reference) {
    std::string plain;
    append_pattern(plain, program->tree, program->tree.root);
    re2::RE2::Options options;
    options.set_log_errors(false);
    options.set_max_mem(kMaxMemory);
    program->engine = std::make_unique<re2::RE2>(plain, options);
    if (!program->engine->ok()) {
      error = "the pattern is too large";
      return std::nullopt;
    }
  }
  Regex regex;
  regex.program_ = std::move(program);
  return regex;
}

namespace {

bool is_too_long(const re2::RE2& engine, std::size_t letters) {
  return static_cast<std::size_t>(engine.ProgramSize()) * letters > kMaxStates;
}

}  // namespace

bool Regex::is_in(std::string_view text, bool& gave_up) const {
  if (program_->engine == nullptr) return Trial(program_->tree, text).find(0, gave_up).has_value();
  gave_up = is_too_long(*program_->engine, text.size());
  return !gave_up && program_->engine->Match(re2::StringPiece(text.data(), text.size()), 0, text.size(), re2::RE2::UNANCHORED, nullptr, 0);
}

std::optional<Regex::Match> Regex::find(std::string_view text, std::size_t from, bool& gave_up) const {
  if (program_->engine == nullptr) return Trial(program_->tree, text).find(from, gave_up);
  gave_up = is_too_long(*program_->engine, text.size() - from);
  if (gave_up) return std::nullopt;
  std::vector<re2::StringPiece> groups(group_count() + 1);
  const re2::StringPiece piece(text.data(), text.size());
  if (!program_->engine->Match(piece, from, text.size(), re2::RE2::UNANCHORED, groups.data(), static_cast<int>(groups.size()))) {
    return std::nullopt;
  }
  Match match;
  match.begin = static_cast<std::size_t>(groups[0].data() - text.data());
  match.end = match.begin + groups[0].size();
  for (const re2::StringPiece& group : groups) {
    match.groups.push_back(group.data() == nullptr ? std::nullopt : std::optional(std::string_view(group.data(), group.size())));
  }
  return match;
}

std::size_t Regex::group_count() const { return program_->tree.groups; }

}  // namespace kitgap
