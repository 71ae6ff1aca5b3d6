#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace kitgap {

// Regular expressions as `matches`, `replace` and `split` know them (XQuery 1.0 and XPath 2.0 Functions, 7.6.1: those
// of XML Schema with anchors, reluctant quantifiers, back-references and the flags s, m, i, x).
//
// They are read into a form of our own, and found by RE2 in time proportional to the text and bounded memory. Only one
// with a back-reference, which no such engine has, is found by trying, with a bound on the steps.
class Regex {
 public:
  // Nothing, with `error` filled, for a pattern or flags that are wrong.
  static std::optional<Regex> parse(std::string_view pattern, std::string_view flags, std::string& error);

  struct Match {
    std::size_t begin = 0;
    std::size_t end = 0;
    std::vector<std::optional<std::string_view>> groups;  // [0] is the whole
  };
  // The first match at or after byte `from`. Sets `gave_up` past the bounds.
  std::optional<Match> find(std::string_view text, std::size_t from, bool& gave_up) const;
  // Whether it matches anywhere; quicker than `find`.
  bool is_in(std::string_view text, bool& gave_up) const;
  std::size_t group_count() const;

  struct Program;

 private:
  std::shared_ptr<const Program> program_;
};

}  // namespace kitgap
