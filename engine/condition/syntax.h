#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "condition/feel_value.h"

namespace kitgap {

// Nesting that is refused past this depth, so that neither reading nor working out an expression can exhaust a stack
// of 256 kB.
inline constexpr int kMaxNesting = 64;
inline constexpr std::size_t kMaxExpressionBytes = 1'000'000;

enum class NodeKind : std::uint8_t {
  Constant,     // data: index of the constant
  Name,         // data: index of the name; first: index in the scope, or kNotInScope
  Input,        // `?`, the value that a unary test is about
  Path,         // child 0; data: name
  Filter,       // children: what, by what
  List,         // children
  Context,      // children: the values; data: index of the first of `count` key names
  Call,         // children: what is called, arguments
  NamedCall,    // children: what is called, arguments; data: index of the first of the argument names
  Function,     // child: body; data: index of the first of `op` parameter names
  If,           // children: condition, then, else
  For,          // children: lists (and ends of ranges), body; see Iteration
  Some,
  Every,
  Between,      // children: value, from, to
  In,           // children: value, tests
  InstanceOf,   // child; data: index of the type
  And,          // children, two or more
  Or,
  Compare,      // children: left, right; op: Comparison
  Add,          // children, two or more; op of each after the first: see `signs`
  Multiply,
  Power,        // children: base, exponent
  Negate,
  Interval,     // children: start, end; op: bit 0 start included, bit 1 end included
  Test,         // child; op: Comparison: a unary test that begins with an operator
  Tests,        // children: tests, any of which may hold
  NotTests,     // the same, denied
  Any,          // `-`
};

enum class Comparison : std::uint8_t { Equal, NotEqual, Less, LessOrEqual, Greater, GreaterOrEqual };

inline constexpr std::uint32_t kNotInScope = ~std::uint32_t{0};

struct Node {
  NodeKind kind = NodeKind::Constant;
  std::uint8_t op = 0;
  std::uint16_t height = 0;
  std::uint32_t first = 0;  // of its children in Expression::children
  std::uint32_t count = 0;
  std::uint32_t data = 0;
  std::uint32_t begin = 0;  // bytes of the source
  std::uint32_t end = 0;
};

// What `for`, `some` and `every` run over: a list, or numbers or dates from one end to the other.
struct Iteration {
  std::string variable;
  std::uint32_t from = 0;  // node
  std::uint32_t to = kNotInScope;  // node, for `1..10`
};

struct FeelType {
  enum class Kind : std::uint8_t { Simple, List, Range, Context, Function };
  Kind kind = Kind::Simple;
  std::string name;                // of Simple: `number`, `date and time`, `Any`
  std::vector<FeelType> inner;     // element; fields; parameters and last the result
  std::vector<std::string> fields;
};

// A parsed expression: immutable, shared. The nodes stand in one vector; `root` is the last.
class Expression {
 public:
  std::string source;
  std::vector<Node> nodes;
  std::vector<std::uint32_t> children;
  std::vector<FeelValue> constants;
  std::vector<std::string> names;
  std::vector<std::vector<Iteration>> iterations;  // data of For, Some, Every
  std::vector<FeelType> types;
  // As long as `children`: those of Add that are taken away, those of Multiply that are divided by.
  std::vector<char> inverted;
  std::vector<std::uint32_t> unknown;  // Name nodes that nothing in sight explains
  std::vector<std::uint32_t> reads;    // indexes in the scope, in order, each once
  bool reads_input = false;            // `?` stands somewhere
  std::uint32_t input = kNotInScope;   // the fact that a cell's unary tests are about
  std::uint32_t root = 0;

  std::span<const std::uint32_t> children_of(const Node& node) const {
    if (node.count == 0) return {};  // `first` of a name is its place in the scope
    return std::span(children).subspan(node.first, node.count);
  }
  const Node& child(const Node& node, std::size_t index) const { return nodes[children[node.first + index]]; }
};

// Names that stand somewhere else: strings, facts, values of a fact. What they stand in must outlive the view.
class NameView {
 public:
  NameView() = default;
  NameView(std::span<const std::string> names)  // NOLINT: a row of strings is a row of names
      : data_(names.data()), size_(names.size()), at_([](const void* data, std::size_t index) {
          return std::string_view(static_cast<const std::string*>(data)[index]);
        }) {}
  NameView(const void* data, std::size_t size, std::string_view (*at)(const void*, std::size_t))
      : data_(data), size_(size), at_(at) {}
  std::size_t size() const { return size_; }
  bool empty() const { return size_ == 0; }
  std::string_view operator[](std::size_t index) const { return at_(data_, index); }

 private:
  const void* data_ = nullptr;
  std::size_t size_ = 0;
  std::string_view (*at_)(const void*, std::size_t) = nullptr;
};

// What an expression may name.
struct Scope {
  NameView names;              // found by index when evaluated
  NameView more_names = {};    // the same, counted on after `names`
  NameView properties = {};    // keys that may follow a dot or stand in a filter
  NameView words = {};         // bare words that stand for strings (the values of a text fact)
  bool iso_dates = false;                          // `1970-03-01` is a date, as in the cells of a pack
  bool any_word = false;                           // a word that nothing else explains stands for its string
};

struct SyntaxError {
  std::size_t begin = 0;  // bytes of the source
  std::size_t end = 0;
  std::string says;
  std::string expected = {};
  bool too_deep = false;
};

// Is the byte at `at` part of a name (a letter, digit, `_` or any character past ASCII that is no blank)?
bool is_name_part(std::string_view source, std::size_t at);
// Names of the standard's functions that hold a blank, longest first; the others are plain words.
std::span<const std::string_view> function_names_with_blanks();
bool is_function_name(std::string_view name);

// Both give a tree or fill `error`. A name that nothing explains is no error here: see Expression::unknown.
std::shared_ptr<const Expression> parse_expression(std::string_view source, const Scope& scope, SyntaxError& error);
std::shared_ptr<const Expression> parse_unary_tests(std::string_view source, const Scope& scope, SyntaxError& error);

}  // namespace kitgap
