#include <algorithm>
#include <array>
#include <utility>
#include <vector>

#include "supply/reading_words.h"
#include "text/ascii.h"

namespace kitgap {
namespace {

struct PlainWord {
  std::string_view typed;
  std::string_view plain;
};

// Trade words for counting; common practice, no source. An empty plain form says nothing and is dropped.
constexpr auto kPlainWords = std::to_array<PlainWord>({
    {"pcs", "pcs"},
    {"pc", "pcs"},
    {"piece", "pcs"},
    {"pieces", "pcs"},
    {"ea", "pcs"},
    {"each", "pcs"},
    {"singles", "pcs"},
    {"single", "pcs"},
    {"doz", "doz"},
    {"dozen", "doz"},
    {"dz", "doz"},
    {"gross", "gross"},
    {"gr", "gross"},
    {"pr", "pr"},
    {"prs", "pr"},
    {"pair", "pr"},
    {"pairs", "pr"},
    {"bag", "bag"},
    {"bags", "bag"},
    {"box", "bag"},
    {"boxes", "bag"},
    {"pack", "bag"},
    {"packs", "bag"},
    {"pk", "bag"},
    {"pks", "bag"},
    {"pkt", "bag"},
    {"pkts", "bag"},
    {"packet", "bag"},
    {"packets", "bag"},
    {"card", "bag"},
    {"cards", "bag"},
    {"carton", "bag"},
    {"cartons", "bag"},
    {"roll", "bag"},
    {"rolls", "bag"},
    {"tube", "bag"},
    {"tubes", "bag"},
    {"tin", "bag"},
    {"tins", "bag"},
    {"can", "bag"},
    {"cans", "bag"},
    {"set", "set"},
    {"sets", "set"},
    {"kit", "set"},
    {"kits", "set"},
    {"x", "x"},
    {"*", "x"},
    {"\xc3\x97", "x"},
    {"times", "x"},
    {"@", "per"},
    {"per", "per"},
    {"off", "off"},
    {"no", "off"},
    {"nos", "off"},
    {"nr", "off"},
    {"spare", "spare"},
    {"spares", "spare"},
    {"extra", "spare"},
    {"extras", "spare"},
    {"b/o", "bo"},
    {"b.o", "bo"},
    {"bo", "bo"},
    {"b/ordered", "bo"},
    {"backorder", "bo"},
    {"backordered", "bo"},
    {"back", "back"},
    {"order", "order"},
    {"ordered", "order"},
    {"on", ""},
    {"to", "to"},
    {"come", "follow"},
    {"or", "or"},
    {"plus", "+"},
    {"and", "+"},
    {"&", "+"},
    {"inc", "inc"},
    {"incl", "inc"},
    {"including", "inc"},
    {"of", "of"},
    {"return", "return"},
    {"returns", "return"},
    {"returned", "return"},
    {"rtn", "return"},
    {"ret", "return"},
    {"credit", "return"},
    {"credited", "return"},
    {"refunded", "return"},
    {"refund", "return"},
    {"about", "about"},
    {"approx", "about"},
    {"ca", "about"},
    {"circa", "about"},
    {"roughly", "about"},
    {"~", "about"},
    {"qty", ""},
    {"quantity", ""},
    {"need", ""},
    {"needed", ""},
    {"reqd", ""},
    {"req", ""},
    {"required", ""},
    {"only", ""},
    {"wanted", ""},
});

constexpr auto kNumberWords =
    std::to_array<std::string_view>({"zero", "one", "two", "three", "four", "five", "six", "seven", "eight",
                                     "nine", "ten", "eleven", "twelve"});

bool is_word_letter(char byte) {
  return (byte >= 'a' && byte <= 'z') || (byte & 0x80) != 0;
}

std::size_t skip_digits(std::string_view text, std::size_t at) {
  while (at < text.size() && is_digit(text[at])) ++at;
  return at;
}

class Tokeniser {
 public:
  Tokeniser(std::string_view text, bool decimal_comma) : text_(text), decimal_comma_(decimal_comma) {}

  QuantityTokens run() {
    while (at_ < text_.size()) {
      const char byte = text_[at_];
      if (byte == ' ')
        ++at_;
      else if (is_digit(byte) || (byte == '.' && at_ + 1 < text_.size() && is_digit(text_[at_ + 1])))
        add_figure();
      else if (is_word_letter(byte))
        add_word();
      else
        add_word_of(text_.substr(at_++, 1));
    }
    fold();
    return std::move(found_);
  }

 private:
  void add_figure() {
    const std::size_t start = at_;
    at_ = skip_digits(text_, at_);
    std::string digits(text_.substr(start, at_ - start));
    if (at_ + 1 < text_.size() && text_[at_] == '/' && is_digit(text_[at_ + 1])) return add_fraction(digits);
    std::string marks;
    std::vector<std::size_t> places;  // digits after each mark
    while (at_ + 1 < text_.size() && (text_[at_] == '.' || text_[at_] == ',') && is_digit(text_[at_ + 1])) {
      const std::size_t end = skip_digits(text_, at_ + 1);
      marks += text_[at_];
      places.push_back(end - at_ - 1);
      digits += text_.substr(at_ + 1, end - at_ - 1);
      at_ = end;
    }
    if (!marks.empty() && !place_marks(marks, places, digits)) found_.two_ways = text_.substr(start, at_ - start);
    if (digits.starts_with('.')) digits.insert(0, "0");
    push_figure(digits.size() > 15 ? std::nullopt : Fraction::parse(digits),
                text_.substr(start, at_ - start));
    check_letter(start);
  }

  // Takes `digits` without their marks and puts the decimal point in, where there can be only one reading: `1,000.50`
  // and `1.234.567` have one, `1,500` is one and a half to some and fifteen hundred to others.
  bool place_marks(std::string_view marks, const std::vector<std::size_t>& places, std::string& digits) const {
    const char last = marks.back();
    const bool grouped = marks.size() > 1 && std::all_of(places.begin(), places.end() - 1, [](std::size_t count) { return count == 3; });
    if (marks.size() > 1 && (!grouped || marks.substr(0, marks.size() - 1).find_first_not_of(marks[0]) != std::string_view::npos)) return false;
    if (marks.size() > 1 && last == marks[0]) return places.back() == 3;
    const bool could_group = marks.size() == 1 && places[0] == 3 && digits.size() <= 6 && digits.size() > 3 && digits[0] != '0';
    if (could_group && last == ',' && !decimal_comma_) return false;
    if (could_group && last == '.' && decimal_comma_) return false;
    digits.insert(digits.size() - places.back(), ".");
    return true;
  }

  void add_fraction(const std::string& top) {
    const std::size_t start = ++at_;
    at_ = skip_digits(text_, at_);
    const std::string_view bottom = text_.substr(start, at_ - start);
    std::optional<Fraction> figure;
    if (top.size() < 6 && bottom.size() < 6 && bottom.find_first_not_of('0') != std::string_view::npos) {
      figure = *Fraction::parse(top) / *Fraction::parse(bottom);
    }
    // `2 1/2` is one figure.
    auto& tokens = found_.tokens;
    const bool mixed = figure && *figure < Fraction(1) && !tokens.empty() && tokens.back().word == "N" &&
                       tokens.back().figure.is_whole();
    if (mixed)
      tokens.back().figure += *figure;
    else
      push_figure(figure, top + "/" + std::string(bottom));
  }

  void push_figure(std::optional<Fraction> figure, std::string_view typed) {
    if (!figure) found_.two_ways = typed;
    found_.tokens.push_back({"N", figure.value_or(Fraction())});
  }

  // A letter right beside a digit, alone: O and l and I look like 0 and 1.
  void check_letter(std::size_t start) {
    const auto looks_alike = [&](std::size_t at) {
      return at < text_.size() && (text_[at] == 'o' || text_[at] == 'l' || text_[at] == 'i') &&
             (at + 1 >= text_.size() || !is_word_letter(text_[at + 1])) && (at == 0 || !is_word_letter(text_[at - 1]));
    };
    if (looks_alike(at_) || (start > 0 && looks_alike(start - 1))) found_.mixed_up = std::string(text_);
  }

  void add_word() {
    const std::size_t start = at_;
    while (at_ < text_.size() && (is_word_letter(text_[at_]) || text_[at_] == '\'' || is_inner_sign())) ++at_;
    add_words_of(text_.substr(start, at_ - start));
    if (at_ < text_.size() && text_[at_] == '.') ++at_;
  }
  bool is_inner_sign() const {
    return (text_[at_] == '/' || text_[at_] == '.') && at_ + 1 < text_.size() && is_word_letter(text_[at_ + 1]);
  }

  // `b/o` is one word, `pcs/bag` is two.
  void add_words_of(std::string_view typed) {
    const std::size_t stroke = typed.find('/');
    if (stroke == std::string_view::npos || is_plain_word(typed)) return add_word_of(typed);
    add_word_of(typed.substr(0, stroke));
    add_word_of("/");
    add_words_of(typed.substr(stroke + 1));
  }
  static bool is_plain_word(std::string_view typed) {
    return std::any_of(kPlainWords.begin(), kPlainWords.end(),
                       [&](const PlainWord& each) { return each.typed == typed; });
  }

  void add_word_of(std::string_view typed) {
    const auto number = std::find(kNumberWords.begin(), kNumberWords.end(), typed);
    if (number != kNumberWords.end()) return push_figure(Fraction(number - kNumberWords.begin()), typed);
    if (typed == "none" || typed == "nil") return push_figure(Fraction(), typed);
    if (typed == "half") return push_figure(Fraction::of(1, 2), typed);
    if (typed == "a" || typed == "an") return;
    const auto word = std::find_if(kPlainWords.begin(), kPlainWords.end(),
                                   [&](const PlainWord& each) { return each.typed == typed; });
    const std::string_view plain = word == kPlainWords.end() ? typed : word->plain;
    if (plain == "about")
      found_.is_about = true;
    else if (!plain.empty())
      found_.tokens.push_back({std::string(plain), {}});
  }

  void erase(std::size_t index) {
    found_.tokens.erase(found_.tokens.begin() + static_cast<std::ptrdiff_t>(index));
  }

  // `2 doz` becomes 24, `pcs` goes into a flag, `back order` becomes `bo`.
  void fold() {
    auto& tokens = found_.tokens;
    for (std::size_t index = 0; index < tokens.size(); ++index) {
      const std::string word = tokens[index].word;
      if (word == "back" && index + 1 < tokens.size() && tokens[index + 1].word == "order") {
        tokens[index].word = "bo";
        erase(index + 1);
      } else if (word == "doz" || word == "gross") {
        found_.counts_pieces = true;
        const Fraction dozen = word == "doz" ? 12 : 144;
        const bool counted = index > 0 && tokens[index - 1].word == "N";
        if (counted)
          tokens[index - 1].figure *= dozen, erase(index--);
        else
          tokens[index] = {"N", dozen};
      } else if (word == "pcs") {
        found_.counts_pieces = true;
        erase(index--);
      }
    }
  }

  std::string_view text_;
  bool decimal_comma_;
  std::size_t at_ = 0;
  QuantityTokens found_;
};

}  // namespace

QuantityTokens quantity_tokens(std::string_view text, bool decimal_comma) {
  return Tokeniser(text, decimal_comma).run();
}

}  // namespace kitgap
