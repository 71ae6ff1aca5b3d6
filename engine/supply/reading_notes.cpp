#include <algorithm>
#include <array>
#include <chrono>
#include <utility>

#include "supply/reading_words.h"
#include "text/ascii.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

std::vector<std::string> words_of(std::string_view text) {
  std::vector<std::string> words;
  std::string word;
  for (const char byte : text) {
    const bool gap = byte == ' ' || byte == '\t' || byte == '\n' || byte == ',' || byte == ';' ||
                     byte == '(' || byte == ')';
    if (!gap)
      word += byte;
    else if (!word.empty())
      words.push_back(std::move(word)), word.clear();
  }
  if (!word.empty()) words.push_back(std::move(word));
  return words;
}

bool is_like_number(std::string_view word) {
  return word.size() >= 2 && std::any_of(word.begin(), word.end(), is_digit);
}

std::string without_stops(std::string_view word) {
  while (!word.empty() &&
         (word.back() == '.' || word.back() == ':' || word.back() == '?' || word.back() == '!'))
    word.remove_suffix(1);
  return std::string(word);
}

// `alt K-18, K-19 or K-20`: the numbers that follow with nothing but a comma, a stroke or `or` between.
void take_further(std::string_view text, const std::vector<std::string>& words, std::size_t& at, std::vector<Substitute>& found) {
  std::size_t end = text.find(words[at]) + words[at].size();
  for (std::size_t next = at + 1; next < words.size(); ++next) {
    const std::string lower = folded(words[next]);
    if (lower == "or" || lower == "and" || lower == "/" || lower == "&") continue;
    const std::size_t start = text.find(words[next], end);
    const bool listed = start != std::string_view::npos && (text.substr(end, start - end).find(',') != std::string_view::npos || next > at + 1);
    const bool has_letter = std::any_of(lower.begin(), lower.end(), [](char byte) { return byte >= 'a' && byte <= 'z'; });
    if (!listed || !is_like_number(words[next]) || !(has_letter || words[next].size() > 3)) return;
    found.push_back({SubstituteKind::Alternative, without_stops(words[next])});
    end = start + words[next].size();
    at = next;
  }
}

struct SubstituteWords {
  std::vector<std::string_view> words;
  SubstituteKind kind;
};

// What stands before the other number. Trade words; common practice, no source.
const std::vector<SubstituteWords>& substitute_words() {
  static const std::vector<SubstituteWords> kWords = {
      {{"superseded", "by"}, SubstituteKind::Replaced},
      {{"superceded", "by"}, SubstituteKind::Replaced},
      {{"superseded", "to"}, SubstituteKind::Replaced},
      {{"replaced", "by"}, SubstituteKind::Replaced},
      {{"replaced", "with"}, SubstituteKind::Replaced},
      {{"s/s", "by"}, SubstituteKind::Replaced},
      {{"s/s", "to"}, SubstituteKind::Replaced},
      {{"s/s"}, SubstituteKind::Replaced},
      {{"now"}, SubstituteKind::Replaced},
      {{"if", "nla"}, SubstituteKind::IfNone},
      {{"if", "none"}, SubstituteKind::IfNone},
      {{"alternatively"}, SubstituteKind::Alternative},
      {{"alternative"}, SubstituteKind::Alternative},
      {{"alt"}, SubstituteKind::Alternative},
      {{"or", "use"}, SubstituteKind::Alternative},
      {{"or"}, SubstituteKind::Alternative},
  };
  return kWords;
}

bool matches(const std::vector<std::string>& words, std::size_t at,
             const std::vector<std::string_view>& wanted) {
  if (at + wanted.size() >= words.size()) return false;
  for (std::size_t index = 0; index < wanted.size(); ++index) {
    if (folded(without_stops(words[at + index])) != wanted[index]) return false;
  }
  return true;
}

// Most notes name no other number: this costs less than taking them apart.
bool may_name_another(std::string_view text) {
  constexpr auto kSigns = std::to_array<std::string_view>(
      {"uperse", "UPERSE", "uperce", "UPERCE", "epl", "EPL", "s/s", "S/S", "now", "Now",
       "NOW",    "alt",    "Alt",    "ALT",    "use", "Use", "USE", "or ", "Or ", "OR ",
       "none",   "nla",    "NLA"});
  return std::any_of(kSigns.begin(), kSigns.end(),
                     [&](std::string_view sign) { return text.find(sign) != std::string_view::npos; });
}

bool says_not_available(std::string_view lower) {
  return lower.find("nla") != std::string_view::npos || lower.find("no longer") != std::string_view::npos ||
         lower.find("not available") != std::string_view::npos ||
         lower.find("unavailable") != std::string_view::npos ||
         lower.find("if none") != std::string_view::npos ||
         lower.find("out of stock") != std::string_view::npos;
}

// A year of the trade: `1971`, `71`, `'71`.
std::optional<std::int64_t> year_of(std::string_view word) {
  const bool short_form = word.starts_with('\'');
  if (short_form) word.remove_prefix(1);
  if (!std::all_of(word.begin(), word.end(), is_digit)) return std::nullopt;
  if (word.size() == 2 && short_form) return 1900 + (word[0] - '0') * 10 + (word[1] - '0');
  if (word.size() != 4) return std::nullopt;
  std::int64_t year = 0;
  for (const char byte : word) year = year * 10 + (byte - '0');
  if (year < 1885 || year > 2035) return std::nullopt;
  return year;
}

struct SerialWord {
  std::int64_t number = 0;
  bool is_year = false;
  bool doubtful = false;
};

std::optional<SerialWord> serial_of(std::string_view word) {
  SerialWord serial;
  serial.doubtful = word.ends_with('?');
  std::string plain = without_stops(word);
  if (const auto year = year_of(plain)) return SerialWord{*year, true, serial.doubtful};
  // `A1/48211`: the letters of a series before the running number.
  if (const std::size_t stroke = plain.rfind('/'); stroke != std::string::npos && stroke < 6) plain.erase(0, stroke + 1);
  if (plain.size() < 4 || plain.size() > 12 || !std::all_of(plain.begin(), plain.end(), is_digit))
    return std::nullopt;
  for (const char byte : plain) serial.number = serial.number * 10 + (byte - '0');
  return serial;
}

bool one_of(std::string_view word, std::initializer_list<std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

// Reads `from`, `up to`, `on`, `late` round one or two numbers, from the first word that belongs to it.
class SerialReader {
 public:
  explicit SerialReader(std::string_view text) : text_(text) {
    std::string spread;
    for (const char byte : replaced(replaced(text, "\u2019", "'"), "\u2013", "-")) {
      if (byte == '-' || byte == '<' || byte == '>' || byte == '+')
        spread.append(1, ' ').append(1, byte).append(1, ' ');
      else
        spread += byte;
    }
    words_ = words_of(spread);
    // `1968/69` is two years; a stroke in anything else is part of the word.
    for (std::size_t at = 0; at < words_.size(); ++at) {
      const std::size_t stroke = words_[at].find('/');
      if (stroke != 4 || !year_of(words_[at].substr(0, stroke)) || words_[at].size() > 9) continue;
      std::string second = words_[at].substr(stroke + 1);
      words_[at].erase(stroke);
      words_.insert(words_.begin() + static_cast<std::ptrdiff_t>(at) + 1, {"/", std::move(second)});
    }
  }

  // `strict`: the text is about other things too, so that a bare number is none.
  std::optional<SerialRange> read(bool strict) {
    SerialRange range;
    range.as_typed = text_;
    bool to_next = false, from_next = false, any = false, said = false;
    bool exact = false, soft = text_.find('?') != std::string_view::npos;
    std::optional<SerialWord> last;
    for (const std::string& word : words_) {
      const std::string lower = folded(without_stops(word));
      auto serial = serial_of(word);
      if (!serial) serial = short_year(word, last);
      if (serial) {
        if (any && range.is_year != serial->is_year) continue;
        const bool second = last && (to_next || dash_);
        if (second)
          range.to = serial->number, range.from = range.from ? range.from : last->number;
        else if (to_next)
          range.to = serial->number;
        else if (from_next)
          range.from = serial->number;
        else if (last)
          continue;
        last = serial, any = true;
        range.is_year = serial->is_year;
        said = said || second || to_next || from_next;
        to_next = from_next = dash_ = false;
      } else if (one_of(lower, {"on", "onwards", "onward", "upwards", "up", "+"}) && last) {
        range.from = last->number, said = true;
      } else if (one_of(lower, {"to", "until", "till", "thru", "through", "before", "<", "pre", "prior", "below", "under"}) ||
                 (lower == "up" && !last)) {
        to_next = true;
      } else if (one_of(lower, {"from", "after", "since", ">", "post", "over", "above"})) {
        from_next = true;
      } else if (lower == "-" || lower == "/") {
        dash_ = last.has_value();
      } else if (one_of(lower, {"late", "early", "mid", "about", "approx", "circa", "around"})) {
        soft = true, season_ = true;
      } else if (one_of(lower, {"incl", "inclusive", "including"})) {
        exact = true;
      }
    }
    if (!any || (strict && !said && !season_) || (strict && season_ && !range.is_year)) return std::nullopt;
    if (!range.from && !range.to) range.from = range.to = last->number;
    if (range.from && range.to && *range.from > *range.to) std::swap(range.from, range.to);
    // An end that nobody called inclusive may lie on either side of its number.
    range.from_soft = range.from && (soft || !exact);
    range.to_soft = range.to && (soft || !exact);
    return range;
  }

 private:
  // `71` after `1968-`, and after `mid`.
  std::optional<SerialWord> short_year(std::string_view word, const std::optional<SerialWord>& last) const {
    const std::string plain = without_stops(word);
    const bool is_short = plain.size() <= 2 && !plain.empty() && std::all_of(plain.begin(), plain.end(), is_digit);
    const bool after_year = last && last->is_year && dash_;
    if (!is_short || !(after_year || (season_ && !last && plain.size() == 2))) return std::nullopt;
    const std::int64_t number = std::stoi(plain);
    if (!after_year) return SerialWord{1900 + number, true, false};
    const std::int64_t size = plain.size() == 1 ? 10 : 100;
    const std::int64_t year = last->number - last->number % size + number;
    if (year < last->number) return std::nullopt;
    return SerialWord{year, true, word.ends_with('?')};
  }

  std::string_view text_;
  std::vector<std::string> words_;
  bool dash_ = false;
  bool season_ = false;
};

constexpr auto kMonths = std::to_array<std::string_view>(
    {"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"});

std::optional<std::string> iso_date(int year, int month, int day) {
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok() || year < 1000 || year > 9999) return std::nullopt;
  const auto two = [](int number) { return std::string(number < 10 ? "0" : "") + std::to_string(number); };
  return std::to_string(year) + "-" + two(month) + "-" + two(day);
}

struct DatePart {
  int number = -1;  // a month named in letters has its number in `month`
  int month = 0;
  std::size_t digits = 0;
};

std::optional<std::vector<DatePart>> date_parts(std::string_view text) {
  std::vector<DatePart> parts;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t start = at;
    const auto is_letter = [&](std::size_t place) {
      return place < text.size() && text[place] >= 'a' && text[place] <= 'z';
    };
    while (at < text.size() && is_digit(text[at])) ++at;
    if (at != start) {
      if (at - start > 4) return std::nullopt;
      parts.push_back({std::stoi(std::string(text.substr(start, at - start))), 0, at - start});
      for (const std::string_view ordinal : {"st", "nd", "rd", "th"}) {
        if (text.substr(at, 2) == ordinal && !is_letter(at + 2)) at += 2;
      }
      continue;
    }
    while (is_letter(at)) ++at;
    if (at == start) {
      if (std::string_view(" ./-,'").find(text[at++]) == std::string_view::npos) return std::nullopt;
      continue;
    }
    const std::string_view word = text.substr(start, at - start);
    const auto month = std::find_if(kMonths.begin(), kMonths.end(),
                                    [&](std::string_view name) { return word.starts_with(name); });
    if (month == kMonths.end()) {
      if (word == "of" || word == "the" || word == "due" || word == "eta" || word == "t") continue;
      if (word.ends_with("day") || one_of(word, {"mon", "tue", "wed", "thu", "fri", "sat", "sun"})) continue;
      return std::nullopt;
    }
    parts.push_back({-1, static_cast<int>(month - kMonths.begin()) + 1, 0});
  }
  return parts;
}

// Two-digit years as POSIX reads them (strptime %y): 69 to 99 are of the twentieth century.
int full_year(const DatePart& part) {
  return part.digits > 2 ? part.number : part.number + (part.number < 69 ? 2000 : 1900);
}

}  // namespace

std::vector<Substitute> substitutes_in(std::string_view text) {
  std::vector<Substitute> found;
  if (std::none_of(text.begin(), text.end(), is_digit) || !may_name_another(text)) return found;
  const auto words = words_of(text.substr(0, 2'000));
  const std::string lower = folded(text.substr(0, 2'000));
  for (std::size_t at = 0; at < words.size(); ++at) {
    const std::string word = folded(without_stops(words[at]));
    if (word == "use" && says_not_available(lower) && at + 1 < words.size() &&
        is_like_number(words[at + 1])) {
      found.push_back({SubstituteKind::IfNone, without_stops(words[at + 1])});
      ++at;
      continue;
    }
    for (const auto& [wanted, kind] : substitute_words()) {
      if (!matches(words, at, wanted) || !is_like_number(words[at + wanted.size()])) continue;
      at += wanted.size();
      found.push_back({kind, without_stops(words[at])});
      if (kind == SubstituteKind::Alternative) take_further(text, words, at, found);
      break;
    }
  }
  return found;
}

// `K-17 (alt K-18)`, `K-17 superseded by K-18`, `K-17 -> K-18`, `K-17 / K-18` in the cell of the part number.
std::vector<Substitute> split_number(std::string& part_number) {
  std::vector<Substitute> found;
  const auto take = [&](std::size_t at, std::size_t sign, SubstituteKind kind) {
    const auto words = words_of(std::string_view(part_number).substr(at + sign));
    const std::string first = std::string(trimmed(std::string_view(part_number).substr(0, at)));
    if (words.size() != 1 || !is_like_number(words[0]) || !is_like_number(first)) return false;
    found.push_back({kind, words[0]});
    part_number = first;
    return true;
  };
  for (const std::string_view sign : {"->", "=>", "\xe2\x86\x92", " > "}) {
    if (const std::size_t at = part_number.find(sign); at != std::string::npos && take(at, sign.size(), SubstituteKind::Replaced)) return found;
  }
  if (const std::size_t at = part_number.find(" / "); at != std::string::npos && take(at, 3, SubstituteKind::Alternative)) return found;
  found = substitutes_in(part_number);
  if (found.empty()) return found;
  const std::string lower = folded(part_number);
  std::size_t end = lower.find('(');
  for (const std::string_view word : {"superseded", "superceded", "replaced", "s/s", "now ", "alt", "or ", "use ", "nla"}) {
    if (const std::size_t at = lower.find(word, 1); at != std::string::npos && lower[at - 1] == ' ') end = std::min(end, at);
  }
  if (end == std::string::npos || lower.size() != part_number.size()) return {};
  std::string first(trimmed(std::string_view(part_number).substr(0, end)));
  while (!first.empty() && std::string_view(",;-: ").find(first.back()) != std::string_view::npos) first.pop_back();
  if (!is_like_number(first)) return {};
  part_number = first;
  return found;
}

std::optional<SerialRange> serial_range_in(std::string_view text) {
  if (text.size() > 400 || std::none_of(text.begin(), text.end(), is_digit)) return std::nullopt;
  return SerialReader(text).read(true);
}

std::optional<SerialRange> read_serial_range(std::string_view text) {
  if (text.empty() || text.size() > 400) return std::nullopt;
  return SerialReader(text).read(false);
}

ReadDate read_date(std::string_view text, std::vector<std::string>& questions,
                   std::vector<std::string>& doubts) {
  ReadDate date;
  if (text.empty() || text == "-" || text == "?") return date;
  const auto ask = [&] {
    questions.push_back("which day is `" + std::string(text.substr(0, 60)) + "`?");
    return date;
  };
  if (text.size() > 40) return ask();
  // ISO 8601 basic format.
  if (text.size() == 8 && std::all_of(text.begin(), text.end(), is_digit)) {
    const auto figure = [&](std::size_t at, std::size_t size) { return std::stoi(std::string(text.substr(at, size))); };
    const auto iso = iso_date(figure(0, 4), figure(4, 2), figure(6, 2));
    if (!iso || figure(0, 4) < 1900 || figure(0, 4) > 2099) return ask();
    date.date = *iso;
    doubts.push_back("`" + std::string(text) + "` is read as " + *iso);
    return date;
  }
  const auto parts = date_parts(folded(text));
  if (!parts || parts->size() != 3) return ask();
  const auto& part = *parts;
  const auto settle = [&](int year, int month, int day, bool short_year) {
    const auto iso = iso_date(year, month, day);
    if (!iso) return ask();
    date.date = *iso;
    if (short_year) doubts.push_back("`" + std::string(text) + "` is read as " + *iso);
    return date;
  };
  if (part[0].digits == 4 && part[1].number >= 0 && part[2].number >= 0)
    return settle(part[0].number, part[1].number, part[2].number, false);
  const bool month_named =
      std::count_if(part.begin(), part.end(), [](const DatePart& each) { return each.month != 0; }) == 1;
  const DatePart& year = part[2];
  if (year.number < 0) return ask();
  if (month_named) {
    const int month = part[0].month + part[1].month;
    const int day = part[0].month != 0 ? part[1].number : part[0].number;
    return settle(full_year(year), month, day, year.digits <= 2);
  }
  if (part[0].number < 0 || part[1].number < 0) return ask();
  const auto day_first = iso_date(full_year(year), part[1].number, part[0].number);
  const auto month_first = iso_date(full_year(year), part[0].number, part[1].number);
  if (day_first && month_first && day_first != month_first) {
    date.could_be = {*day_first, *month_first};
    questions.push_back("is `" + std::string(text) + "` " + *day_first + " or " + *month_first + "?");
    return date;
  }
  if (!day_first && !month_first) return ask();
  date.date = day_first ? *day_first : *month_first;
  if (year.digits <= 2) doubts.push_back("`" + std::string(text) + "` is read as " + date.date);
  return date;
}

}  // namespace kitgap
