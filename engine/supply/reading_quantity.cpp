#include <re2/re2.h>

#include <algorithm>
#include <array>
#include <span>

#include "supply/reading_words.h"

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

std::string ticked(std::string_view text) {
  return "`" + std::string(text) + "`";
}

// The measure, or each that it may be where the unit has more than one size.
std::vector<Measured> measures_meant(std::string_view text, DecimalMark mark) {
  const MeasuredReading read = read_measured(text, mark);
  if (read.value) return {*read.value};
  std::vector<Measured> meant;
  const std::string plain = with_plain_signs(text);
  const std::string_view figure =
      std::string_view(plain).substr(0, plain.find_first_not_of(" 0123456789.,/"));
  const auto number = parse_mixed_number(figure.substr(0, figure.find_last_not_of(' ') + 1), mark);
  for (const Unit unit : read.could_be) {
    if (number) meant.push_back({*number, unit});
  }
  return meant;
}

// Two measures of one amount, such as `750 ml / 26 fl oz`: the first is used when the second agrees with it
// within 5 %.
std::optional<Measured> read_twice(std::string_view text, DecimalMark mark,
                                   std::vector<std::string>& questions) {
  for (std::size_t stroke = text.find('/'); stroke != std::string_view::npos;
       stroke = text.find('/', stroke + 1)) {
    std::string_view one = text.substr(0, stroke), other_one = text.substr(stroke + 1);
    auto first = parse_measured(one, mark);
    // Where only the second has one size, it is the one that counts.
    if (!first) std::swap(one, other_one), first = parse_measured(one, mark);
    const std::vector<Measured> seconds = measures_meant(other_one, mark);
    if (!first || seconds.empty()) continue;
    const bool agrees = std::any_of(seconds.begin(), seconds.end(), [&](const Measured& other) {
      const auto same = in_unit(other, first->unit);
      if (!same) return false;
      const Fraction off = same->quantity < first->quantity ? first->quantity - same->quantity
                                                            : same->quantity - first->quantity;
      return off * 20 <= first->quantity;
    });
    if (agrees) return first;
    questions.push_back("the two measures in " + ticked(text) + " do not agree: which holds?");
    return std::nullopt;
  }
  return std::nullopt;
}

// `2 x 750 ml` multiplies; `3/8" x 54 in` is a width and a length.
std::optional<Measured> read_product(std::string_view text, DecimalMark mark,
                                     std::vector<std::string>& doubts) {
  for (const std::string_view sign : {" x ", "x ", "\xc3\x97"}) {
    const std::size_t at = text.find(sign);
    if (at == std::string_view::npos) continue;
    const std::string_view before = text.substr(0, at);
    const auto length = parse_measured(text.substr(at + sign.size()), mark);
    if (!length) continue;
    if (const auto times = parse_mixed_number(before, mark))
      return Measured{length->quantity * *times, length->unit};
    if (const auto width = parse_measured(before, mark);
        width && dimension_of(width->unit) == Dimension::Length) {
      doubts.push_back(ticked(text) + " is read as a length of " + to_text(*length) + ", " + to_text(*width) +
                       " wide");
      return length;
    }
  }
  return std::nullopt;
}

// `2 rolls of 10 m`, `10 m roll`, `1 roll (10 m)`, `2 off 1.2 m`: so many times the measure.
std::optional<Measured> read_packed(std::string_view text, DecimalMark mark, std::vector<std::string>& doubts) {
  static const re2::RE2 kBefore(
      R"((?:(\d{1,4}) ?(?:x ?)?|an? )?(?:rolls?|tins?|cans?|tubes?|lengths?|pieces?|pcs?|off|bottles?|cartridges?|bags?|packs?|reels?)(?: of|/| x)? ?\(?([^()]+)\)?)");
  static const re2::RE2 kAfter(
      R"((?:(\d{1,4}) ?x ?)?(.+?) (?:rolls?|tins?|cans?|tubes?|lengths?|bottles?|cartridges?|bags?|packs?|reels?))");
  for (const re2::RE2* pattern : {&kBefore, &kAfter}) {
    std::string count, each;
    if (!re2::RE2::FullMatch(re2::StringPiece(text.data(), text.size()), *pattern, &count, &each)) continue;
    const auto measured = parse_measured(each, mark);
    if (!measured) continue;
    const Measured all{measured->quantity * (count.empty() ? Fraction(1) : *Fraction::parse(count)),
                       measured->unit};
    doubts.push_back(ticked(text) + " is read as " + to_text(all) + " in all");
    return all;
  }
  return std::nullopt;
}

// A comma between digits, with other than three digits after it, can only be a decimal mark.
DecimalMark mark_in(std::string_view text, bool decimal_comma) {
  if (decimal_comma && text.find('.') == std::string_view::npos) return DecimalMark::Comma;
  const std::size_t comma = text.find(',');
  if (comma == std::string_view::npos || text.find('.') != std::string_view::npos) return DecimalMark::Point;
  const std::size_t end = std::min(text.find_first_not_of("0123456789", comma + 1), text.size());
  return end - comma - 1 != 3 && end != comma + 1 ? DecimalMark::Comma : DecimalMark::Point;
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

// `4 ft 6` means inches; read only where no unit stands after the second figure.
std::string with_inches(std::string_view text) {
  if (text.find_first_of("f'") == std::string_view::npos) return std::string(text);
  static const re2::RE2 kFeetAndFigure(R"(\d{1,4} ?(?:ft\.?|foot|feet|') ?\d{1,2}(?: \d/\d{1,2})?)");
  const bool lacks = re2::RE2::FullMatch(re2::StringPiece(text.data(), text.size()), kFeetAndFigure);
  return std::string(text) + (lacks ? " in" : "");
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
      doubts_.push_back(ticked(typed_) + " is read as " + ticked(before) + " and a price");
      plain_ = std::string(before);
    }
    const QuantityTokens found = quantity_tokens(plain_, decimal_comma_);
    if (!found.mixed_up.empty()) {
      return ask(ticked(typed_) + " has a letter where a digit would stand: how many are meant?");
    }
    std::vector<Fraction> figures;
    const std::string shape = shape_of(found, figures);
    // `1.000` alone is one to some and a thousand to others; with a unit beside it nobody means a thousand.
    if (!found.two_ways.empty() || (shape == "N" && is_grouped_or_rounded()))
      return ask(ticked(found.two_ways.empty() ? plain_ : found.two_ways) + " can be read more than one way: how many are meant?");
    if (const Shape* known = find_shape(shape)) return read_shape(*known, found, figures);
    if (const auto quantity = read_remarks(shape, found, figures)) return *quantity;
    if (const Shape* known = find_returned_shape(shape)) return turned_back(read_shape(*known, found, figures));
    if (shape == "( N )")
      return ask(ticked(typed_) + " is below zero to who keeps books: are so many meant, or do they go back?");
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
    if (is_said_twice || (!is_count && (spare || pack_size))) return ask("how many are meant by " + ticked(typed_) + "?");
    quantity.spare = spare.value_or(Fraction(0));
    quantity.back_order = back_order.value_or(Fraction(0));
    if (pack_size) quantity.pack_size = pack_size;
    return checked(quantity);
  }

  // What is asked of any reading: no more is spare or on back order than there is.
  ReadQuantity checked(const ReadQuantity& quantity) {
    if (quantity.spare > quantity.amount) return ask(ticked(typed_) + " has more spare than there are");
    if (quantity.back_order > quantity.amount) return ask(ticked(typed_) + " has more on back order than there are");
    return quantity;
  }

  // What goes back has neither spare nor back-ordered pieces.
  ReadQuantity turned_back(ReadQuantity quantity) {
    if (!quantity.known) return quantity;
    if (!quantity.spare.is_zero() || !quantity.back_order.is_zero())
      return ask("how many go back by " + ticked(typed_) + "?");
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
      questions_.push_back(ticked(typed_) + " says what one pack holds, not how many are meant");
    if (quantity.amount > Fraction(kMostPieces))
      return ask(ticked(typed_) + " is too many to be meant");
    if (const ReadQuantity within = checked(quantity); within != quantity) return within;
    if (!quantity.amount.is_whole()) {
      const bool decimal = shape.read == plain && !pieces && plain_.find('/') == std::string::npos;
      if (!decimal) return ask(ticked(typed_) + " is no whole number: how many, or in which unit?");
      doubts_.push_back(ticked(typed_) + " is no whole number: it is read in the part's own unit");
    }
    if (found.is_about) doubts_.push_back(ticked(typed_) + " is read as if it were exact");
    return quantity;
  }

  bool is_grouped_or_rounded() const {
    const std::size_t mark = plain_.find_first_of(".,");
    return mark != std::string::npos && mark > 0 && mark < 4 && plain_[0] != '0' &&
           std::string_view(plain_).substr(mark + 1) == "000";
  }

  ReadQuantity read_measure() {
    plain_ = with_inches(plain_);
    const DecimalMark mark = mark_in(plain_, decimal_comma_);
    const bool minus = plain_.starts_with('-');
    const MeasuredReading whole = read_measured(plain_, mark);
    std::optional<Measured> measured = whole.value;
    const std::size_t asked = questions_.size();
    if (!measured) measured = read_twice(plain_, mark, questions_);
    if (!measured && questions_.size() == asked) measured = read_product(plain_, mark, doubts_);
    if (!measured && questions_.size() == asked) measured = read_packed(plain_, mark, doubts_);
    if (measured) {
      ReadQuantity quantity;
      quantity.known = true;
      quantity.amount = measured->quantity;
      quantity.unit = measured->unit;
      quantity.counts = dimension_of(measured->unit) == Dimension::Count ? Counts::Pieces : Counts::Measure;
      quantity.is_return = minus;
      return quantity;
    }
    if (questions_.size() != asked) return {};
    if (!whole.could_be.empty()) return ask(whole.wrong);
    return ask("how many are meant by " + ticked(typed_) + "?");
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
    questions.push_back(ticked(text) + " is too many to be meant");
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
  words += " of " + ticked(what);
  if (quantity.is_return) words += ", to be returned";
  if (quantity.pack_size) words += ", " + quantity.pack_size->to_text() + " to a pack";
  if (!quantity.spare.is_zero()) words += ", " + quantity.spare.to_text() + " of them spare";
  if (!quantity.back_order.is_zero())
    words += ", " + quantity.back_order.to_text() + " of them on back order";
  return words;
}

}  // namespace kitgap
