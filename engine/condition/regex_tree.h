#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "condition/regex_set.h"

namespace kitgap {

// A pattern as read: the nodes stand in one vector.
struct RegexNode {
  enum class Kind : std::uint8_t { Set, Sequence, Choice, Group, Repeat, LineStart, LineEnd, Reference };
  Kind kind = Kind::Sequence;
  std::vector<std::uint32_t> children;
  std::uint32_t set = 0;     // of Set
  std::uint32_t number = 0;  // of Group (0: not counted) and Reference
  std::uint32_t least = 0;   // of Repeat
  std::uint32_t most = 0;    // of Repeat; kNoEnd for any number
  bool is_lazy = false;
  static constexpr std::uint32_t kNoEnd = ~std::uint32_t{0};
};

struct RegexTree {
  std::vector<RegexNode> nodes;
  std::vector<CharacterSet> sets;
  std::uint32_t root = 0;
  std::uint32_t groups = 0;
  bool has_reference = false;
  bool ignores_case = false;
  bool is_multiline = false;
};

struct RegexError {
  std::string says;
};

// Reads a pattern; throws RegexError.
RegexTree parse_regex(std::string_view pattern, std::string_view flags);
// Decodes the character at `at` and steps past it; what is no UTF-8 counts byte by byte.
std::uint32_t next_character(std::string_view text, std::size_t& at);

}  // namespace kitgap
