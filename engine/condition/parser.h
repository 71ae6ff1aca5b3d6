#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "condition/scanner.h"
#include "condition/syntax.h"

namespace kitgap {

// Reads one expression by the grammar of OMG DMN 10.3.1.2, of which the S-FEEL of 9.2 is a part: by precedence, with
// one look ahead, and never going back, so that the time is in proportion to the text. Throws SyntaxError.
class Parser {
 public:
  Parser(std::string_view source, const Scope& scope);
  std::shared_ptr<Expression> expression();
  std::shared_ptr<Expression> unary_tests();

 private:
  // Counts nesting and gives it back when left.
  class Deeper {
   public:
    explicit Deeper(Parser& parser);
    ~Deeper() { --parser_.depth_; }
    Deeper(const Deeper&) = delete;
    Deeper& operator=(const Deeper&) = delete;

   private:
    Parser& parser_;
  };
  enum Precedence : int { kOr = 1, kAnd, kComparison, kAdd, kMultiply, kPower };
  struct Operator {
    int precedence = 0;
    std::size_t length = 0;
    bool inverted = false;
  };

  // Expressions.
  std::uint32_t parse(int least);
  Operator look_at_operator();
  std::uint32_t chain(std::uint32_t first, const Operator& op);
  std::uint32_t comparison(std::uint32_t left, std::size_t begin);
  std::uint32_t unary();
  std::uint32_t postfix(std::uint32_t node);
  std::uint32_t path(std::uint32_t node);
  std::uint32_t filter(std::uint32_t node);
  std::uint32_t primary();
  std::uint32_t number();
  std::uint32_t date_literal();
  std::uint32_t at_literal();
  std::uint32_t parenthesis(bool tests_allowed);
  std::uint32_t bracket();
  std::uint32_t interval(std::uint32_t start, bool start_included, std::size_t begin);
  std::uint32_t context();
  std::string key();
  std::uint32_t name_or_keyword();
  std::uint32_t resolved(std::string_view name, std::size_t begin);
  std::uint32_t unknown_name(std::size_t begin);
  std::uint32_t call(std::uint32_t callee);
  bool at_argument_name();
  std::uint32_t function();
  std::uint32_t conditional(std::size_t begin);
  std::uint32_t loop(NodeKind kind, std::size_t begin);
  Iteration iteration(std::vector<std::uint32_t>& parts);
  // Tests.
  std::uint32_t in_right_side();
  std::uint32_t test();
  std::uint32_t test_list(NodeKind kind, std::size_t begin);
  bool take_comparison(Comparison& comparison);
  // Types.
  FeelType type();
  std::vector<FeelType> types_until(std::string_view end, FeelType* fields_of);

  // The longest name in sight that stands here: its end, 0 for none. `word` is set when it stands for a string.
  std::size_t longest_name(bool after_dot, bool& is_word) const;
  std::uint32_t add(NodeKind kind, std::size_t begin, std::span<const std::uint32_t> children = {},
                    std::uint32_t data = 0, std::uint8_t op = 0);
  std::uint32_t constant(FeelValue value, std::size_t begin);
  std::uint32_t add_name(std::string name);
  // A name as it is written: blanks of any kind and number are one.
  std::uint32_t add_written(std::string_view name);
  std::shared_ptr<Expression> finished(std::uint32_t root);

  Scanner scan_;
  const Scope& scope_;
  std::shared_ptr<Expression> tree_;
  std::vector<std::string> locals_;      // variables, parameters and keys seen so far, innermost last
  std::vector<std::string> properties_;  // keys of the contexts written in the expression
  int depth_ = 0;
  int filters_ = 0;           // inside so many: a plain name may be a key of the item
  bool closes_at_bracket_ = false;  // the end of a range: `[` closes it
};

}  // namespace kitgap
