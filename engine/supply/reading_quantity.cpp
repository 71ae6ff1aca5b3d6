#include <re2/re2.h>

#include <algorithm>
#include <array>
#include <span>

#include "supply/reading_words.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

constexpr std::int64_t kMostPieces = 1'000'000'000;
constexpr std::size_t kLongestQuantity = 80;

// What is written for "no number": neither zero nor one.
constexpr auto kUnknown = std::to_array<std::string_view>(
    {"",        "?",        "??",        "???", "a/r",          "ar",           "as required",
     "as reqd", "as req'd", "as needed", "lot", "1 lot",        "a lot",        "job lot",
     "tbc",     "tba",      "tbd",       "n/k", "some",         "few",          "a few",
     "several", "various",  "-",         "--",  "\xe2\x80\x93", "\xe2\x80\x94", "...",
     "to suit", "count",    "enough",        "n/a", "na",        "unknown"});

using Figures = std::span<const Fraction>;

// A shape is the quantity with each figure as `N`; the figures are given in their order.
struct Shape {
  std::string_view shape;
  void (*read)(ReadQuantity& quantity, Figures figures);
};

void plain(ReadQuantity& q, Figures f) {
  q.amount = f[0];
}
void pieces_of_sets(ReadQuantity& q, Figures f) {
  q.amount = f[0] * f[1], q.counts = Counts::Pieces;
}
void one_set(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.counts = Counts::Pieces;
}
void pairs(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.counts = Counts::Pairs;
}
void one_pair(ReadQuantity& q, Figures) {
  q.amount = 1, q.counts = Counts::Pairs;
}
void packs(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.counts = Counts::Packs;
}
void packs_of(ReadQuantity& q, Figures f) {
  packs(q, f), q.pack_size = f[1];
}
void packs_after_size(ReadQuantity& q, Figures f) {
  q.amount = f[1], q.counts = Counts::Packs, q.pack_size = f[0];
}
void pack_fact(ReadQuantity& q, Figures f) {
  q.known = false, q.counts = Counts::Packs, q.pack_size = f[0];
}
void with_spare(ReadQuantity& q, Figures f) {
  q.amount = f[0] + f[1], q.spare = f[1];
}
void spare_inside(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.spare = f[1];
}
void all_spare(ReadQuantity& q, Figures f) {
  q.amount = q.spare = f[0];
}
void plain_in_packs(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.pack_size = f[1];
}
void back_ordered(ReadQuantity& q, Figures f) {
  q.amount = f[0], q.back_order = f[1];
}
void all_back_ordered(ReadQuantity& q, Figures f) {
  q.amount = q.back_order = f[0];
}
constexpr auto kShapes = std::to_array<Shape>({
    {"N", plain},
    {"x N", plain},
    {"N x", plain},
    {"N off", plain},
    {"N - off", plain},
    {"off N", plain},
    {"N :", plain},
    {": N", plain},
    {"= N", plain},
    {"+ N", plain},
    {"N set of N", pieces_of_sets},
    {"N x set of N", pieces_of_sets},
    {"set of N x N", pieces_of_sets},
    {"N x N", pieces_of_sets},
    {"N set", packs},
    {"N x set", packs},
    {"set of N", one_set},
    {"N pr", pairs},
    {"pr N", pairs},
    {"N x pr", pairs},
    {"pr x N", pairs},
    {"x N pr", pairs},
    {"N off pr", pairs},
    {"pr", one_pair},
    {"N bag", packs},
    {"N x bag", packs},
    {"bag x N", packs},
    {"N bag of N", packs_of},
    {"N bag / N", packs_of},
    {"N x bag of N", packs_of},
    {"N x bag / N", packs_of},
    {"N x bag N", packs_of},
    {"N bag N", packs_of},
    {"bag / N x N", packs_after_size},
    {"bag of N x N", packs_after_size},
    {"bag N x N", packs_after_size},
    {"N / bag x N", packs_after_size},
    {"N per bag x N", packs_after_size},
    {"N ( in N bag )", plain},
    {"N in N bag", plain},
    {"bag / N ( N )", packs_after_size},
    {"bag / N", pack_fact},
    {"bag of N", pack_fact},
    {"N / bag", pack_fact},
    {"N per bag", pack_fact},
    {"N ( bag / N )", plain_in_packs},
    {"N ( bag of N )", plain_in_packs},
    {"N ( N / bag )", plain_in_packs},
    {"N ( N per bag )", plain_in_packs},
    {"N + N spare", with_spare},
    {"N + spare N", with_spare},
    {"N ( + N spare )", with_spare},
    {"N ( N spare )", spare_inside},
    {"N inc N spare", spare_inside},
    {"N ( inc N spare )", spare_inside},
    {"N of which N spare", spare_inside},
    {"N , N spare", spare_inside},
    {"N spare", all_spare},
    {"N ( N bo )", back_ordered},
    {"N , N bo", back_ordered},
    {"N N bo", back_ordered},
    {"N - N bo", back_ordered},
    {"N of which N bo", back_ordered},
    {"N order , N bo", back_ordered},
    {"N , N to follow", back_ordered},
    {"N ( N to follow )", back_ordered},
    {"N bo", all_back_ordered},
    {"N ( bo )", all_back_ordered},
    {"bo N", all_back_ordered},
});

std::string shape_of(const QuantityTokens& found, std::vector<Fraction>& figures) {
  std::string shape;
  for (const QuantityToken& token : found.tokens) {
    if (!shape.empty()) shape += ' ';
    shape += token.word;
    if (token.word == "N") figures.push_back(token.figure);
  }
  return shape;
}

const Shape* find_shape(std::string_view shape) {
  const auto known =
      std::find_if(kShapes.begin(), kShapes.end(), [&](const Shape& each) { return each.shape == shape; });
  return known == kShapes.end() ? nullptr : &*known;
}

// What says that the amount goes back: round a shape, never inside it. A figure in brackets alone is below zero
// to who keeps books and a remark to others: it is none of these.
struct ReturnWords {
  std::string_view before;
  std::string_view after;
};
constexpr auto kReturnWords = std::to_array<ReturnWords>({{"- ", " ( return )"},
                                                          {"- ", " return"},
                                                          {"return - ", ""},
                                                          {"return ", ""},
                                                          {"", " ( return )"},
                                                          {"", " return"},
                                                          {"- ", ""},
                                                          {"", " -"}});

const Shape* find_returned_shape(std::string_view shape) {
  for (const ReturnWords& words : kReturnWords) {
    if (shape.size() <= words.before.size() + words.after.size()) continue;
    if (!shape.starts_with(words.before) || !shape.ends_with(words.after)) continue;
    const std::string_view inside =
        shape.substr(words.before.size(), shape.size() - words.before.size() - words.after.size());
    if (const Shape* known = find_shape(inside)) return known;
  }
  return nullptr;
}

// What stands before the price in `2 @ 3.20`; a price has two places or a sign of currency, a bag of 25 neither.
std::string_view before_price(std::string_view text) {
  if (text.find('@') == std::string_view::npos && text.find(" at ") == std::string_view::npos) return {};
  static const re2::RE2 kPriced(
      R"((.*\S) ?(?:@|at) ?(?:(?:\x{A3}|\x{20AC}|\$) ?\d{1,6}(?:[.,]\d\d)?|\d{1,6}[.,]\d\d)(?: ?(?:each|ea\.?))?)");
  re2::StringPiece before;
  if (!re2::RE2::FullMatch(re2::StringPiece(text.data(), text.size()), kPriced, &before)) return {};
  return {before.data(), before.size()};
}

class QuantityReader {
 public:
  QuantityReader(std::string_view text, bool decimal_comma, std::vector<std::string>& questions,
                 std::vector<std::string>& doubts)
      : typed_(text),
        plain_(with_plain_signs(text)),
        decimal_comma_(decimal_comma),
        questions_(questions),
        doubts_(doubts) {}

  ReadQuantity read() {
    if (std::find(kUnknown.begin(), kUnknown.end(), plain_) != kUnknown.end()) return {};
    if (typed_.size() > kLongestQuantity) return ask("the quantity is too long to be read");
    if (const std::string_view before = before_price(plain_); !before.empty()) {
      doubts_.push_back(in_ticks(typed_) + " is read as " + in_ticks(before) + " and a price");
      plain_ = std::string(before);
    }
    const QuantityTokens found = quantity_tokens(plain_, decimal_comma_);
    if (!found.mixed_up.empty()) {
      return ask(in_ticks(typed_) + " has a letter where a digit would stand: how many are meant?");
    }
    std::vector<Fraction> figures;
    const std::string shape = shape_of(found, figures);
    // `1.000` alone is one to some and a thousand to others; with a unit beside it nobody means a thousand.
    if (!found.two_ways.empty() || (shape == "N" && is_grouped_or_rounded()))
      return ask(in_ticks(found.two_ways.empty() ? plain_ : found.two_ways) + " can be read more than one way: how many are meant?");
    if (const Shape* known = find_shape(shape)) return read_shape(*known, found, figures);
    if (const auto quantity = read_remarks(shape, found, figures)) return *quantity;
    if (const Shape* known = find_returned_shape(shape)) return turned_back(read_shape(*known, found, figures));
    if (shape == "( N )")
      return ask(in_ticks(typed_) + " is below zero to who keeps books: are so many meant, or do they go back?");
    // `2 (two)`, `2 two`
    const bool said_twice = (shape == "N ( N )" || shape == "N N") && figures[0] == figures[1];
    if (said_twice) return read_shape(*find_shape("N"), found, figures);
    // `1 set (4)`; of `2 boxes (100)` nobody knows whether each holds a hundred or both do.
    const bool one_pack = (shape == "N set ( N )" || shape == "N bag ( N )") && figures[0] == Fraction(1);
    if (one_pack) return read_shape(*find_shape("N bag of N"), found, figures);
    return read_measure();
  }

 private:
  ReadQuantity ask(std::string question) {
    questions_.push_back(std::move(question));
    return {};
  }

  // `4 (1 b/o) (bag/25)`: an amount, and more than one thing in brackets that is known of it.
  std::optional<ReadQuantity> read_remarks(std::string_view shape, const QuantityTokens& found, std::vector<Fraction> figures) {
    std::optional<Fraction> spare, back_order, pack_size;
    const auto take = [&](std::string_view words, std::optional<Fraction>& remark) {
      if (remark || !shape.ends_with(words)) return false;
      shape.remove_suffix(words.size());
      remark = figures.back();
      figures.pop_back();
      return true;
    };
    while (take(" ( N spare )", spare) || take(" ( N bo )", back_order) || take(" ( bag / N )", pack_size)) {
    }
    const Shape* amount = find_shape(shape);
    if (amount == nullptr || (!spare && !back_order && !pack_size)) return std::nullopt;
    ReadQuantity quantity = read_shape(*amount, found, figures);
    const bool is_count = quantity.counts == Counts::Plain || quantity.counts == Counts::Pieces;
    if (!quantity.known) return quantity;
    // Of a pair that is spare nobody knows whether one or two are meant.
    const bool is_said_twice = !quantity.spare.is_zero() || !quantity.back_order.is_zero() || (quantity.pack_size && pack_size);
    if (is_said_twice || (!is_count && (spare || pack_size))) return ask("how many are meant by " + in_ticks(typed_) + "?");
    quantity.spare = spare.value_or(Fraction(0));
    quantity.back_order = back_order.value_or(Fraction(0));
    if (pack_size) quantity.pack_size = pack_size;
    return checked(quantity);
  }

  // What is asked of any reading: no more is spare or on back order than there is.
  ReadQuantity checked(const ReadQuantity& quantity) {
    if (quantity.spare > quantity.amount) return ask(in_ticks(typed_) + " has more spare than there are");
    if (quantity.back_order > quantity.amount) return ask(in_ticks(typed_) + " has more on back order than there are");
    return quantity;
  }

  // What goes back has neither spare nor back-ordered pieces.
  ReadQuantity turned_back(ReadQuantity quantity) {
    if (!quantity.known) return quantity;
    if (!quantity.spare.is_zero() || !quantity.back_order.is_zero())
      return ask("how many go back by " + in_ticks(typed_) + "?");
    quantity.amount = -quantity.amount;
    quantity.is_return = true;
    return quantity;
  }

  ReadQuantity read_shape(const Shape& shape, const QuantityTokens& found,
                          const std::vector<Fraction>& figures) {
    ReadQuantity quantity;
    quantity.known = true;
    shape.read(quantity, figures);
    const bool pieces = found.counts_pieces && quantity.counts == Counts::Plain;
    if (pieces) quantity.counts = Counts::Pieces;
    if (!quantity.known)
      questions_.push_back(in_ticks(typed_) + " says what one pack holds, not how many are meant");
    if (quantity.amount > Fraction(kMostPieces))
      return ask(in_ticks(typed_) + " is too many to be meant");
    if (const ReadQuantity within = checked(quantity); within != quantity) return within;
    if (!quantity.amount.is_whole()) {
      const bool decimal = shape.read == plain && !pieces && plain_.find('/') == std::string::npos;
      if (!decimal) return ask(in_ticks(typed_) + " is no whole number: how many, or in which unit?");
      doubts_.push_back(in_ticks(typed_) + " is no whole number: it is read in the part's own unit");
    }
    if (found.is_about) doubts_.push_back(in_ticks(typed_) + " is read as if it were exact");
    return quantity;
  }

  bool is_grouped_or_rounded() const {
    const std::size_t mark = plain_.find_first_of(".,");
    return mark != std::string::npos && mark > 0 && mark < 4 && plain_[0] != '0' &&
           std::string_view(plain_).substr(mark + 1) == "000";
  }

  ReadQuantity read_measure() {
    const std::size_t asked = questions_.size();
    const auto measured = stated_measure(plain_, decimal_comma_, questions_, doubts_);
    if (!measured) return questions_.size() != asked ? ReadQuantity{} : ask("how many are meant by " + in_ticks(typed_) + "?");
    ReadQuantity quantity;
    quantity.known = true;
    quantity.amount = measured->quantity;
    quantity.unit = measured->unit;
    quantity.counts = dimension_of(measured->unit) == Dimension::Count ? Counts::Pieces : Counts::Measure;
    quantity.is_return = plain_.starts_with('-');
    return quantity;
  }

  std::string_view typed_;
  std::string plain_;
  bool decimal_comma_;
  std::vector<std::string>& questions_;
  std::vector<std::string>& doubts_;
};

std::string counted(const Fraction& amount, std::string_view one, std::string_view many) {
  return amount.to_text() + " " + std::string(amount == Fraction(1) ? one : many);
}

}  // namespace

ReadQuantity read_quantity(std::string_view text, bool decimal_comma, std::vector<std::string>& questions,
                           std::vector<std::string>& doubts) {
  try {
    return QuantityReader(text, decimal_comma, questions, doubts).read();
  } catch (const FigureOverflow&) {
    questions.push_back(in_ticks(text) + " is too many to be meant");
    return {};
  }
}

std::string in_words(const ReadQuantity& quantity, std::string_view what) {
  std::string words;
  const Fraction amount = quantity.amount.sign() < 0 ? -quantity.amount : quantity.amount;
  switch (quantity.counts) {
    case Counts::Plain:
      words = amount.to_text();
      break;
    case Counts::Pieces:
      words = counted(amount, "piece", "pieces");
      break;
    case Counts::Pairs:
      words = counted(amount, "pair", "pairs");
      break;
    case Counts::Packs:
      words = counted(amount, "pack", "packs");
      break;
    case Counts::Measure:
      words = to_text(Measured{amount, quantity.unit});
      break;
  }
  if (!quantity.known) words = "an unknown number";
  words += " of " + in_ticks(what);
  if (quantity.is_return) words += ", to be returned";
  if (quantity.pack_size) words += ", " + quantity.pack_size->to_text() + " to a pack";
  if (!quantity.spare.is_zero()) words += ", " + quantity.spare.to_text() + " of them spare";
  if (!quantity.back_order.is_zero())
    words += ", " + quantity.back_order.to_text() + " of them on back order";
  return words;
}

}  // namespace kitgap
