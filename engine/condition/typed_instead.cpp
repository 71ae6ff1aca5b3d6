#include "condition/typed_instead.h"

#include <algorithm>
#include <array>
#include <vector>

#include "text/ascii.h"

namespace kitgap {
namespace {

struct Word {
  std::string text;  // lower case
  bool is_number = false;
};

// Numbers, words and symbols; nothing when something else stands in the cell. The apostrophe of `'68` is passed over.
std::optional<std::vector<Word>> words_of(std::string_view cell) {
  std::vector<Word> words;
  for (std::size_t at = 0; at < cell.size();) {
    const char c = cell[at];
    if (c == ' ' || c == '\t' || c == '\'') {
      ++at;
    } else if (is_digit(c)) {
      std::size_t end = at;
      while (end < cell.size() && is_digit(cell[end])) ++end;
      words.push_back({std::string(cell.substr(at, end - at)), true});
      at = end;
    } else if (is_letter(c)) {
      std::string word;
      while (at < cell.size() && is_letter(cell[at])) word.push_back(static_cast<char>(cell[at++] | 0x20));
      words.push_back({std::move(word), false});
    } else if (cell.substr(at).starts_with("\xE2\x80\x93") || cell.substr(at).starts_with("\xE2\x80\x94")) {
      words.push_back({"-", false});  // the dashes that word processors make
      at += 3;
    } else if (cell.substr(at).starts_with("..")) {
      words.push_back({"..", false});
      at += 2;
    } else if (c == '-' || c == '/' || c == '+' || c == ':' || c == '.') {
      words.push_back({std::string(1, c), false});
      ++at;
    } else {
      return std::nullopt;
    }
    if (words.size() > 12) return std::nullopt;
  }
  return words;
}

template <std::size_t N>
bool is_one_of(std::string_view word, const std::array<std::string_view, N>& list) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

// 1 for `jan` or `january`, 12 for `december`; 0 for no month.
int month_of(std::string_view word) {
  constexpr std::array<std::string_view, 12> kMonths{"january", "february", "march",     "april",   "may",      "june",
                                                     "july",    "august",   "september", "october", "november", "december"};
  if (word.size() < 3) return 0;
  for (std::size_t month = 0; month < kMonths.size(); ++month) {
    if (kMonths[month].starts_with(word)) return static_cast<int>(month) + 1;
  }
  return word == "sept" ? 9 : 0;
}

class Reading {
 public:
  Reading(const Fact& fact, std::vector<Word> words) : fact_(fact), words_(std::move(words)) {}

  std::optional<TypedInstead> find() const {
    for (const auto reading : {&Reading::range, &Reading::from_on, &Reading::up_to, &Reading::part_of_year,
                               &Reading::date_made_by_spreadsheet, &Reading::lone_year}) {
      if (auto found = (this->*reading)()) return found;
    }
    return std::nullopt;
  }

 private:
  bool is_date() const { return fact_.domain.type == FactType::Date; }
  bool is_number(std::size_t word) const { return word < words_.size() && words_[word].is_number; }
  const std::string& text(std::size_t word) const { return words_[word].text; }

  // The words from `from` on, with a blank between.
  std::string rest(std::size_t from, std::size_t until) const {
    std::string result;
    for (std::size_t word = from; word < until; ++word) result += (result.empty() ? "" : " ") + words_[word].text;
    return result;
  }

  // `68` is 1968 where the fact's range says which century; other numbers are themselves.
  std::string full(const std::string& digits) const {
    if (digits.size() != 2 || is_date()) return digits;
    const auto least = fact_.domain.least ? fact_.domain.least->to_integer() : std::nullopt;
    const auto greatest = fact_.domain.greatest ? fact_.domain.greatest->to_integer() : std::nullopt;
    if (!least || !greatest || *least < 1000) return digits;
    for (std::int64_t century = *least / 100; century <= *greatest / 100; ++century) {
      const std::int64_t year = century * 100 + std::stoi(digits);
      if (year >= *least && year <= *greatest) return std::to_string(year);
    }
    return digits;
  }

  // `1971` of `1968-71`: the second number with the first one's leading digits.
  std::string completed(const std::string& first, const std::string& second) const {
    if (second.size() >= first.size()) return second;
    const std::string whole = first.substr(0, first.size() - second.size()) + second;
    return whole > first ? whole : second;
  }

  std::string first_day(const std::string& year) const { return is_date() ? year + "-01-01" : year; }
  std::string last_day(const std::string& year) const { return is_date() ? year + "-12-31" : year; }
  bool is_year_if_date(const std::string& digits) const { return !is_date() || digits.size() == 4; }

  std::optional<TypedInstead> range() const {
    constexpr std::array<std::string_view, 8> kBetween{"-", "..", "to", "through", "thru", "until", "till", "/"};
    std::size_t at = !words_.empty() && (text(0) == "from" || text(0) == "between") ? 1 : 0;
    const bool begins_with_word = at == 1;
    if (words_.size() != at + 3 || !is_number(at) || !is_number(at + 2)) return std::nullopt;
    const std::string& between = text(at + 1);
    if (!is_one_of(between, kBetween) && !(begins_with_word && between == "and")) return std::nullopt;
    if (between == "/" && !fact_.domain.whole && !is_date()) return std::nullopt;
    if (text(at).size() > 18 || text(at + 2).size() > 18) return std::nullopt;
    std::string low = full(text(at));
    std::string high = full(completed(low, text(at + 2)));
    if (!is_year_if_date(low) || !is_year_if_date(high)) return std::nullopt;
    if (std::stoll(low) > std::stoll(high)) {
      if (between == "/") return std::nullopt;
      std::swap(low, high);
    }
    return TypedInstead{"[" + first_day(low) + ".." + last_day(high) + "]", "is no range of the condition language"};
  }

  std::optional<TypedInstead> from_on() const {
    constexpr std::array<std::string_view, 10> kOn{"on", "onward", "onwards", "+", "-", "and later", "and up",
                                                   "and on", "or later", "upwards"};
    constexpr std::array<std::string_view, 4> kFrom{"from", "since", "starting", "from about"};
    const std::size_t count = words_.size();
    std::string number;
    if (count >= 2 && is_number(0) && is_one_of(rest(1, count), kOn)) number = text(0);
    if (count >= 2 && is_number(count - 1) && is_one_of(rest(0, count - 1), kFrom)) number = text(count - 1);
    if (count >= 3 && text(0) == "from" && is_number(1) && is_one_of(rest(2, count), kOn)) number = text(1);
    std::string sign = ">= ";
    bool after = false;
    if (count == 2 && is_number(1) && (text(0) == "after" || text(0) == "post")) after = true;
    if (count == 3 && is_number(2) && text(0) == "post" && text(1) == "-") after = true;
    if (after) {
      number = text(count - 1);
      sign = "> ";
    }
    if (number.empty()) return std::nullopt;
    number = full(number);
    if (!is_year_if_date(number)) return std::nullopt;
    return TypedInstead{sign + (after ? last_day(number) : first_day(number)), "is no test of the condition language"};
  }

  std::optional<TypedInstead> up_to() const {
    constexpr std::array<std::string_view, 9> kUpTo{"up to", "to", "until", "till", "through", "thru", "up until",
                                                    "up to and including", "not after"};
    constexpr std::array<std::string_view, 5> kEarlier{"and earlier", "and before", "or earlier", "and older", "or before"};
    constexpr std::array<std::string_view, 4> kBefore{"before", "pre", "pre -", "prior to"};
    const std::size_t count = words_.size();
    if (count < 2) return std::nullopt;
    std::string number;
    std::string sign = "<= ";
    bool before = false;
    if (is_number(count - 1) && is_one_of(rest(0, count - 1), kUpTo)) number = text(count - 1);
    if (is_number(0) && is_one_of(rest(1, count), kEarlier)) number = text(0);
    if (is_number(count - 1) && is_one_of(rest(0, count - 1), kBefore)) {
      number = text(count - 1);
      before = true;
      sign = "< ";
    }
    if (number.empty()) return std::nullopt;
    number = full(number);
    if (!is_year_if_date(number)) return std::nullopt;
    return TypedInstead{sign + (before ? first_day(number) : last_day(number)), "is no test of the condition language"};
  }

  // `late 1968`: a part of a year. A number cannot say it; the whole year is the nearest that is surely right.
  std::optional<TypedInstead> part_of_year() const {
    constexpr std::array<std::string_view, 9> kParts{"early", "mid", "late", "spring", "summer", "autumn", "fall", "winter", "end of"};
    std::size_t count = words_.size();
    if (count < 2) return std::nullopt;
    std::string number;
    std::string part;
    if (is_number(count - 1)) {
      number = text(count - 1);
      part = rest(0, count - 1);
    } else if (is_number(0)) {
      number = text(0);
      part = rest(1, count);
    }
    if (part.ends_with(" -")) part.resize(part.size() - 2);
    if (number.empty() || !is_one_of(part, kParts)) return std::nullopt;
    number = full(number);
    if (!is_date()) {
      return TypedInstead{number, "is a part of a year, which a number cannot say",
                          "the whole year is sure to take it in; a chassis number or a build date can say more"};
    }
    if (number.size() != 4) return std::nullopt;
    if (part == "early") return TypedInstead{"[" + number + "-01-01.." + number + "-06-30]", "is no range of days"};
    if (part == "late") return TypedInstead{"[" + number + "-07-01.." + number + "-12-31]", "is no range of days"};
    return TypedInstead{"[" + number + "-01-01.." + number + "-12-31]", "is no range of days"};
  }

  bool has_value(const std::string& number) const {
    const auto value = Fraction::parse(number);
    return value && ValueSet::all(fact_.domain).contains(FactValue(*value));
  }

  // The words from `at` on are `00:00` or `t 00:00:00.000 z`, as spreadsheets and databases put them behind a day.
  bool is_time(std::size_t at) const {
    std::size_t end = words_.size();
    if (end > at && text(end - 1) == "z") --end;
    if (end > at && text(at) == "t") ++at;
    if (end < at + 3 || (end - at) % 2 == 0) return false;
    for (std::size_t word = at; word < end; ++word) {
      const bool is_right = (word - at) % 2 == 0 ? is_number(word) : text(word) == ":" || text(word) == ".";
      if (!is_right) return false;
    }
    return true;
  }

  // `01/03/1968`, `1968-03-01`, `03-May`, `May-68`: in a column of numbers a spreadsheet's doing.
  std::optional<TypedInstead> date_made_by_spreadsheet() const {
    const std::size_t count = words_.size();
    const bool is_day = count >= 5 && is_number(0) && is_number(2) && is_number(4) && text(1) == text(3);
    if (is_day && (text(1) == "-" || text(1) == "/" || text(1) == ".") && (count == 5 || is_time(5))) {
      return full_date(text(0), text(2), text(4));
    }
    if (count != 3 || (text(1) != "-" && text(1) != "/")) return std::nullopt;
    const int first_month = month_of(text(0));
    const int last_month = month_of(text(2));
    if (is_date()) return std::nullopt;
    std::string says = "is a date that a spreadsheet made of two numbers";
    if (is_number(0) && last_month != 0) {
      const std::string day = std::to_string(std::stoi(text(0).substr(0, 4)));
      const int low = std::stoi(day);
      if (low > last_month) return TypedInstead{"[" + std::to_string(last_month) + ".." + day + "]", says};
      return TypedInstead{"[" + day + ".." + std::to_string(last_month) + "]", says};
    }
    if (first_month != 0 && is_number(2)) {
      const std::string year = full(text(2));
      if (has_value(year)) return TypedInstead{year, "is a month of a year, which a number cannot say"};
      return TypedInstead{"", std::move(says)};
    }
    return std::nullopt;
  }

  std::optional<TypedInstead> full_date(const std::string& first, const std::string& second, const std::string& third) const {
    const bool year_first = first.size() == 4;
    const std::string& year = year_first ? first : third;
    if (!is_date()) {
      const std::string whole = full(year);
      return TypedInstead{has_value(whole) ? whole : "", "is a date, perhaps made by a spreadsheet, and `" + fact_.name + "` is a number"};
    }
    const auto two = [](const std::string& digits) { return digits.size() == 1 ? "0" + digits : digits; };
    if (year_first) {
      const std::string iso = first + "-" + two(second) + "-" + two(third);
      const bool is_iso = words_.size() == 5 && text(1) == "-" && second.size() == 2 && third.size() == 2;
      if (!day_number_of(iso) || is_iso) return std::nullopt;
      return TypedInstead{iso, "is no ISO date"};
    }
    if (third.size() != 4) return TypedInstead{"", "is no ISO date"};
    // Day or month first cannot be told where both are months.
    const std::string day_first = third + "-" + two(second) + "-" + two(first);
    const std::string month_first = third + "-" + two(first) + "-" + two(second);
    const bool is_day_first = day_number_of(day_first).has_value();
    const bool is_month_first = day_number_of(month_first).has_value();
    if (is_day_first && is_month_first && first != second) {
      return TypedInstead{"", "is no ISO date, and may be read day first or month first"};
    }
    return TypedInstead{is_day_first ? day_first : is_month_first ? month_first : "", "is no ISO date"};
  }

  // A year alone in a column of dates.
  std::optional<TypedInstead> lone_year() const {
    if (!is_date() || words_.size() != 1 || !is_number(0) || text(0).size() != 4) return std::nullopt;
    return TypedInstead{"[" + text(0) + "-01-01.." + text(0) + "-12-31]", "is a year, and `" + fact_.name + "` is a date"};
  }

  const Fact& fact_;
  std::vector<Word> words_;
};

}  // namespace

std::optional<TypedInstead> find_typed_instead(std::string_view cell, const Fact& fact) {
  if (fact.domain.type != FactType::Number && fact.domain.type != FactType::Date) return std::nullopt;
  if (cell.size() > 80) return std::nullopt;
  auto words = words_of(cell);
  if (!words || words->empty()) return std::nullopt;
  if (words->size() == 3 && (*words)[0].is_number && (*words)[1].text == "." && (*words)[2].is_number) return std::nullopt;
  return Reading(fact, std::move(*words)).find();
}

std::optional<std::string> rewritten_cell(std::string_view cell, const Fact& fact) {
  const auto found = find_typed_instead(cell, fact);
  if (!found || found->write.empty()) return std::nullopt;
  return found->write;
}

}  // namespace kitgap
