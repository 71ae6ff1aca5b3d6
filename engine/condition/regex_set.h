#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <utility>
#include <vector>

namespace kitgap {

// A set of characters: sorted, disjoint ranges of code points, both ends in.
class CharacterSet {
 public:
  using Range = std::pair<std::uint32_t, std::uint32_t>;
  CharacterSet() = default;
  explicit CharacterSet(std::vector<Range> ranges);
  static CharacterSet one(std::uint32_t code) { return CharacterSet({{code, code}}); }
  const std::vector<Range>& ranges() const { return ranges_; }
  bool contains(std::uint32_t code) const;
  CharacterSet operator|(const CharacterSet& other) const;
  CharacterSet operator-(const CharacterSet& other) const;
  CharacterSet complement() const;
  // With the other letter case of each letter.
  CharacterSet in_any_case() const;

 private:
  std::vector<Range> ranges_;
};

// `\d`, `\w`, `\s`, `\i`, `\c` and their denials (XML Schema part 2, appendix F); nothing for another letter.
std::optional<CharacterSet> class_of_escape(char letter);
// `\p{Lu}`, `\p{IsBasicLatin}`: a category or a block of Unicode; nothing for an unknown one.
std::optional<CharacterSet> class_of_property(std::string_view name);

}  // namespace kitgap
