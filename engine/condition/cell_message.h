#pragma once

#include <string>
#include <string_view>

#include "condition/condition.h"
#include "condition/syntax.h"

namespace kitgap {

// Messages about the text of a cell: each points at the wrong characters inside it.
class CellMessages {
 public:
  CellMessages(std::string_view cell, const Span& span, std::span<const Fact> facts, Diagnostics& diagnostics)
      : cell_(cell), span_(span), facts_(facts), diagnostics_(diagnostics) {}

  void syntax(const SyntaxError& error);
  // A name in no scope. `fact` is the column's fact, if the cell stands in one; `more` are further names in scope.
  void unknown_name(const Expression& expression, const Node& node, const Fact* fact,
                    std::span<const std::string> more = {});
  void unknown_value(std::size_t begin, std::size_t end, std::string_view value, const Fact& fact);
  void wrong_kind(std::size_t begin, std::size_t end, std::string_view kind, const Fact& fact);
  void write_instead(std::string_view write, std::string_view says, std::string_view help);
  void invalid(std::size_t begin, std::size_t end, std::string says, std::string expected = {});

 private:
  // The place of bytes `begin` to `end` of the cell in its line.
  Span inside(std::size_t begin, std::size_t end) const;
  std::string_view cell_;
  const Span& span_;
  std::span<const Fact> facts_;
  Diagnostics& diagnostics_;
};

// "`saloon`, `estate` or `drophead`"; the first ten of many.
std::string listing(std::span<const FactValue> values, FactType type);

}  // namespace kitgap
