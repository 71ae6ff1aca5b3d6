#include "supply/reading_words.h"

#include <re2/re2.h>

#include <algorithm>
#include <array>

#include "text/ascii.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

struct HandToken {
  std::string_view typed;  // lower case
  HandWord hand;
  std::string_view along;  // `front` or `rear`, where the token says so
};

// Longest first within one beginning. Trade words; common practice, no source.
constexpr auto kHandTokens = std::to_array<HandToken>({
    {"left and right", HandWord::Both, ""},
    {"left & right", HandWord::Both, ""},
    {"left + right", HandWord::Both, ""},
    {"right and left", HandWord::Both, ""},
    {"left/right", HandWord::Both, ""},
    {"l/h & r/h", HandWord::Both, ""},
    {"l/h and r/h", HandWord::Both, ""},
    {"l/h + r/h", HandWord::Both, ""},
    {"lh & rh", HandWord::Both, ""},
    {"lh and rh", HandWord::Both, ""},
    {"lh + rh", HandWord::Both, ""},
    {"lh/rh", HandWord::Both, ""},
    {"rh/lh", HandWord::Both, ""},
    {"l & r", HandWord::Both, ""},
    {"l and r", HandWord::Both, ""},
    {"l + r", HandWord::Both, ""},
    {"l+r", HandWord::Both, ""},
    {"l&r", HandWord::Both, ""},
    {"both sides", HandWord::Both, ""},
    {"both hands", HandWord::Both, ""},
    {"each side", HandWord::Both, ""},
    {"handed pair", HandWord::Both, ""},
    {"n/s & o/s", HandWord::Both, ""},
    {"n/s and o/s", HandWord::Both, ""},
    {"o/s & n/s", HandWord::Both, ""},
    {"o/s and n/s", HandWord::Both, ""},
    {"l/h/f", HandWord::Left, "front"},
    {"l/h/r", HandWord::Left, "rear"},
    {"r/h/f", HandWord::Right, "front"},
    {"r/h/r", HandWord::Right, "rear"},
    {"lhf", HandWord::Left, "front"},
    {"lhr", HandWord::Left, "rear"},
    {"rhf", HandWord::Right, "front"},
    {"rhr", HandWord::Right, "rear"},
    {"f/l/h", HandWord::Left, "front"},
    {"r/l/h", HandWord::Left, "rear"},
    {"f/r/h", HandWord::Right, "front"},
    {"r/r/h", HandWord::Right, "rear"},
    {"flh", HandWord::Left, "front"},
    {"rlh", HandWord::Left, "rear"},
    {"frh", HandWord::Right, "front"},
    {"rrh", HandWord::Right, "rear"},
    {"left-hand side", HandWord::Left, ""},
    {"left hand side", HandWord::Left, ""},
    {"left-hand", HandWord::Left, ""},
    {"left hand", HandWord::Left, ""},
    {"left side", HandWord::Left, ""},
    {"l/hand", HandWord::Left, ""},
    {"l/h/s", HandWord::Left, ""},
    {"l/h", HandWord::Left, ""},
    {"l.h.", HandWord::Left, ""},
    {"l.h", HandWord::Left, ""},
    {"lhs", HandWord::Left, ""},
    {"lh", HandWord::Left, ""},
    {"left", HandWord::Left, ""},
    {"right-hand side", HandWord::Right, ""},
    {"right hand side", HandWord::Right, ""},
    {"right-hand", HandWord::Right, ""},
    {"right hand", HandWord::Right, ""},
    {"right side", HandWord::Right, ""},
    {"r/hand", HandWord::Right, ""},
    {"r/h/s", HandWord::Right, ""},
    {"r/h", HandWord::Right, ""},
    {"r.h.", HandWord::Right, ""},
    {"r.h", HandWord::Right, ""},
    {"rhs", HandWord::Right, ""},
    {"rh", HandWord::Right, ""},
    {"right", HandWord::Right, ""},
    {"n/s/f", HandWord::Nearside, "front"},
    {"n/s/r", HandWord::Nearside, "rear"},
    {"nsf", HandWord::Nearside, "front"},
    {"nsr", HandWord::Nearside, "rear"},
    {"f/n/s", HandWord::Nearside, "front"},
    {"r/n/s", HandWord::Nearside, "rear"},
    {"nearside", HandWord::Nearside, ""},
    {"near side", HandWord::Nearside, ""},
    {"near-side", HandWord::Nearside, ""},
    {"kerbside", HandWord::Nearside, ""},
    {"kerb side", HandWord::Nearside, ""},
    {"n/side", HandWord::Nearside, ""},
    {"n/s", HandWord::Nearside, ""},
    {"n.s.", HandWord::Nearside, ""},
    {"o/s/f", HandWord::Offside, "front"},
    {"o/s/r", HandWord::Offside, "rear"},
    {"osf", HandWord::Offside, "front"},
    {"osr", HandWord::Offside, "rear"},
    {"f/o/s", HandWord::Offside, "front"},
    {"r/o/s", HandWord::Offside, "rear"},
    {"offside", HandWord::Offside, ""},
    {"off side", HandWord::Offside, ""},
    {"off-side", HandWord::Offside, ""},
    {"o/side", HandWord::Offside, ""},
    {"o/s", HandWord::Offside, ""},
    {"o.s.", HandWord::Offside, ""},
    {"driver's side", HandWord::DriversSide, ""},
    {"drivers side", HandWord::DriversSide, ""},
    {"drivers' side", HandWord::DriversSide, ""},
    {"driver side", HandWord::DriversSide, ""},
    {"driver's", HandWord::DriversSide, ""},
    {"drivers", HandWord::DriversSide, ""},
    {"driver", HandWord::DriversSide, ""},
    {"passenger's side", HandWord::PassengersSide, ""},
    {"passengers side", HandWord::PassengersSide, ""},
    {"passenger side", HandWord::PassengersSide, ""},
    {"passenger's", HandWord::PassengersSide, ""},
    {"passenger", HandWord::PassengersSide, ""},
});

struct ByLetter {
  constexpr bool operator()(const HandToken& a, const HandToken& b) const { return a.typed[0] < b.typed[0]; }
  constexpr bool operator()(const HandToken& token, char letter) const { return token.typed[0] < letter; }
  constexpr bool operator()(char letter, const HandToken& token) const { return letter < token.typed[0]; }
};

// The tokens again, those of one first letter side by side.
constexpr auto kByLetter = [] {
  auto sorted = kHandTokens;
  std::sort(sorted.begin(), sorted.end(), ByLetter{});
  return sorted;
}();

// A whole cell that is only this; too short to be trusted inside other words.
constexpr auto kWholeCells = std::to_array<HandToken>({
    {"l", HandWord::Left, ""},
    {"r", HandWord::Right, ""},
    {"ns", HandWord::Nearside, ""},
    {"os", HandWord::Offside, ""},
    {"fl", HandWord::Left, "front"},
    {"fr", HandWord::Right, "front"},
    {"rl", HandWord::Left, "rear"},
    {"rr", HandWord::Right, "rear"},
    {"l/r", HandWord::Both, ""},
    {"r/l", HandWord::Both, ""},
    {"lr", HandWord::Both, ""},
    {"pair", HandWord::Both, ""},
    {"pr", HandWord::Both, ""},
    {"both", HandWord::Both, ""},
    {"d/s", HandWord::DriversSide, ""},
    {"ds", HandWord::DriversSide, ""},
    {"p/s", HandWord::PassengersSide, ""},
    {"ps", HandWord::PassengersSide, ""},
});

// Words before or after which `left` or `right` is no hand.
constexpr auto kNoHand =
    std::to_array<std::string_view>({"left hand drive", "left-hand drive", "right hand drive", "right-hand drive", "right angle", "right angled", "right way", "left over", "left overs",
                                     "right side up", "left off", "all right", "left from", "what is left"});

char lower_byte(char byte) {
  return byte >= 'A' && byte <= 'Z' ? static_cast<char>(byte + 32) : byte;
}

bool is_word_byte(char byte) {
  return (byte >= 'a' && byte <= 'z') || is_digit(byte) || (byte & 0x80) != 0;
}

bool stands_alone(std::string_view text, std::size_t at, std::size_t length) {
  const bool before = at == 0 || (!is_word_byte(text[at - 1]) && text[at - 1] != '/' && text[at - 1] != '.');
  const std::size_t end = at + length;
  const bool after =
      end >= text.size() || (!is_word_byte(text[end]) && text[end] != '/' &&
                             !(text[end] == '.' && end + 1 < text.size() && is_word_byte(text[end + 1])));
  return before && after;
}

bool is_no_hand(std::string_view lower, std::size_t at, std::size_t length) {
  return std::any_of(kNoHand.begin(), kNoHand.end(), [&](std::string_view words) {
    const std::size_t end = at + length;
    return lower.find(words, end - std::min(end, words.size())) <= at;
  });
}

struct FoundHand {
  const HandToken* token = nullptr;
  std::size_t at = 0;
};

// The first hand in the text; of several that begin there, the longest.
FoundHand find_hand(std::string_view lower) {
  FoundHand best;
  for (std::size_t at = 0; at < lower.size() && best.token == nullptr; ++at) {
    const bool begins = is_word_byte(lower[at]) && (at == 0 || !is_word_byte(lower[at - 1]));
    if (!begins) continue;
    const auto [first, last] = std::equal_range(kByLetter.begin(), kByLetter.end(), lower[at], ByLetter{});
    for (auto known = first; known != last; ++known) {
      const HandToken& token = *known;
      const std::size_t length = token.typed.size();
      if (lower.substr(at, length) != token.typed) continue;
      if (!stands_alone(lower, at, length) || is_no_hand(lower, at, length)) continue;
      if (best.token == nullptr || length > best.token->typed.size()) best = {&token, at};
    }
  }
  return best;
}

std::string with_plain_apostrophes(std::string_view text) { return replaced(text, "\u2019", "'"); }

std::string ascii_lower(std::string_view text) {
  std::string out = with_plain_apostrophes(text);
  for (char& byte : out) byte = lower_byte(byte);
  return out;
}

// Blanks, commas and dashes that a taken-out word leaves behind.
std::string tidy(std::string_view text) {
  std::string out;
  for (const char byte : text) {
    const bool blank = byte == ' ' || byte == '\t' || byte == '\n';
    if (blank && (out.empty() || out.back() == ' ')) continue;
    out += blank ? ' ' : byte;
  }
  constexpr std::string_view kEdges = " ,;-/()";
  const std::size_t first = out.find_first_not_of(kEdges);
  if (first == std::string::npos) return {};
  return out.substr(first, out.find_last_not_of(kEdges) - first + 1);
}

// O, l and I look like 0 and 1: odd between two digits, after the last digit, and in a run of nothing but such letters
// and digits (`l2` of `l2-44`).
bool has_mixed_up_letter(std::string_view number) {
  const auto is_alike = [](char byte) { return std::string_view("OolI").find(byte) != std::string_view::npos; };
  for (std::size_t at = 0; at < number.size();) {
    std::size_t end = at, digits = 0, alike = 0, others = 0;
    for (; end < number.size() && is_word_byte(lower_byte(number[end])); ++end) {
      ++(is_digit(number[end]) ? digits : is_alike(number[end]) ? alike : others);
      const bool between = end > at && end + 1 < number.size() && is_digit(number[end - 1]) && is_digit(number[end + 1]);
      if (is_alike(number[end]) && between) return true;
    }
    if (digits > 0 && alike > 0 && others == 0) return true;
    const bool ends = end > at + 1 && end == number.size() && is_digit(number[end - 2]) && (number[end - 1] == 'O' || number[end - 1] == 'o');
    if (ends) return true;
    at = end + 1;
  }
  return false;
}

std::string_view along_of(std::string_view path) {
  std::string lower = ascii_lower(path);
  for (const std::string_view door : {" doors", " door"}) {
    if (lower.ends_with(door)) lower.resize(lower.size() - door.size());
  }
  if (lower == "front" || lower == "f" || lower == "frt" || lower == "fr") return "front";
  if (lower == "rear" || lower == "r" || lower == "back" || lower == "rr") return "rear";
  return {};
}

// `front` or `rear` as the word right before or after a hand; `rear view` is no place.
std::string_view along_beside(std::string_view lower, std::size_t at, std::size_t length) {
  const auto is_whole = [&](std::size_t start, std::string_view word) {
    return start <= lower.size() && lower.substr(start, word.size()) == word && stands_alone(lower, start, word.size());
  };
  for (const std::string_view word : {"front", "rear"}) {
    if (at > word.size() && is_whole(at - 1 - word.size(), word) && lower[at - 1] == ' ') return word;
    const std::size_t after = at + length + 1;
    if (is_whole(after, word) && lower[after - 1] == ' ' && !is_whole(after, "rear view")) return word;
  }
  return {};
}

// `1-Mar`, `Mar-71`: the forms in which spreadsheets show what they took for a date.
bool is_day_and_month(std::string_view number) {
  constexpr auto kMonths = std::to_array<std::string_view>(
      {"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"});
  const std::size_t dash = number.find('-');
  if (dash == std::string_view::npos) return false;
  const std::string first = ascii_lower(number.substr(0, dash)), last = ascii_lower(number.substr(dash + 1));
  const auto is_month = [&](const std::string& word) { return std::find(kMonths.begin(), kMonths.end(), word) != kMonths.end(); };
  const auto is_figure = [](const std::string& word) {
    return !word.empty() && word.size() <= 2 && word.find_first_not_of("0123456789") == std::string::npos;
  };
  return (is_month(first) && is_figure(last)) || (is_figure(first) && is_month(last));
}

bool is_dotted_path(std::string_view text) {
  return text.find('.') != std::string_view::npos && text.find(' ') == std::string_view::npos &&
         text.find('/') == std::string_view::npos && text.front() != '.' && text.back() != '.';
}

}  // namespace

ReadPlace read_place(std::string_view text) {
  const std::string typed = with_plain_apostrophes(text);
  const std::string lower = ascii_lower(typed);
  ReadPlace place;
  const auto whole = std::find_if(kWholeCells.begin(), kWholeCells.end(),
                                  [&](const HandToken& token) { return token.typed == lower; });
  if (whole != kWholeCells.end()) {
    place.hand = whole->hand;
    place.along = whole->along;
    return place;
  }
  if (typed.empty() || is_dotted_path(typed)) {
    place.path = typed;
    return place;
  }
  const FoundHand found = find_hand(lower);
  if (found.token == nullptr) {
    place.path = tidy(typed);
  } else {
    place.hand = found.token->hand;
    place.along = found.token->along;
    place.path = tidy(typed.substr(0, found.at) + " " + typed.substr(found.at + found.token->typed.size()));
  }
  if (place.along.empty()) place.along = along_of(place.path);
  return place;
}

ReadPlace hand_in(std::string_view text) {
  ReadPlace place;
  const std::string lower = ascii_lower(text);
  const FoundHand found = find_hand(lower);
  if (found.token == nullptr) return place;
  place.hand = found.token->hand;
  place.along = found.token->along;
  if (place.along.empty()) place.along = along_beside(lower, found.at, found.token->typed.size());
  place.from_description = true;
  return place;
}

ReadPlace place_in_heading(std::string_view text) {
  ReadPlace place = names_two_hands(text) ? ReadPlace{} : hand_in(text);
  if (!place.along.empty()) return place;
  const std::string lower = ascii_lower(text);
  for (const std::string_view word : {"front", "rear"}) {
    const std::size_t at = lower.find(word);
    if (at == std::string::npos || !stands_alone(lower, at, word.size())) continue;
    const bool is_second = !place.along.empty();
    place.along = is_second ? "" : word;
    if (is_second) return place;
  }
  return place;
}

bool names_two_hands(std::string_view text) {
  const std::string lower = ascii_lower(text);
  const FoundHand first = find_hand(lower);
  if (first.token == nullptr || first.token->hand == HandWord::Both) return false;
  const std::string_view rest = std::string_view(lower).substr(first.at + first.token->typed.size());
  const FoundHand second = find_hand(rest);
  return second.token != nullptr && second.token->hand != first.token->hand;
}

bool amount_of_each_hand(std::string_view text, std::string& amount) {
  const std::string lower = tidy(ascii_lower(text));
  for (const std::string_view words : {" of each side", " each side", " per side", " a side", "/side", " of each hand", " each hand", " per hand"}) {
    if (!lower.ends_with(words)) continue;
    amount = lower.substr(0, lower.size() - words.size());
    return !amount.empty();
  }
  // `1 L + 1 R`: beside an `R` the `L` is no litre.
  if (lower.ends_with('r')) {
    static const re2::RE2 kLetters(R"((\d{1,4}) ?l ?(?:[+/&,]|and) ?(\d{1,4}) ?r)");
    if (std::string right; re2::RE2::FullMatch(lower, kLetters, &amount, &right)) return amount == right;
  }
  // `1 LH + 1 RH`: two hands with one and the same number.
  const FoundHand first = find_hand(lower);
  if (first.token == nullptr) return false;
  const std::string_view rest = std::string_view(lower).substr(first.at + first.token->typed.size());
  const FoundHand second = find_hand(rest);
  if (second.token == nullptr || second.token->hand == first.token->hand) return false;
  const auto bare = [](std::string_view between) {
    std::string number = tidy(between);
    while (!number.empty() && (number.front() == '+' || number.front() == '&' ||
                               number.front() == '/' || number.front() == ',')) number = tidy(number.substr(1));
    if (number.starts_with("and ")) number.erase(0, 4);
    return number;
  };
  amount = bare(std::string_view(lower).substr(0, first.at));
  const std::string other = bare(rest.substr(0, second.at));
  const bool ends = tidy(rest.substr(second.at + second.token->typed.size())).empty();
  return ends && !amount.empty() && amount == other;
}

std::string_view word_of(HandWord hand) {
  constexpr auto kWords = std::to_array<std::string_view>(
      {"", "left", "right", "nearside", "offside", "driver's side", "passenger's side", "left and right"});
  return kWords.at(static_cast<std::size_t>(hand));
}

void check_number(std::string_view part_number, std::vector<std::string>& doubts) {
  bool power = false;
  for (std::size_t at = 1; at + 1 < part_number.size(); ++at) {
    power = power || (part_number[at] == 'E' && is_digit(part_number[at - 1]) && part_number[at + 1] == '+');
  }
  if (has_mixed_up_letter(part_number))
    doubts.push_back("`" + std::string(part_number) +
                     "` has a letter where a digit may be meant; it is taken as typed");
  if (is_day_and_month(part_number))
    doubts.push_back("`" + std::string(part_number) +
                     "` reads like a day and a month; a spreadsheet may have turned a part number into it");
  if (power)
    doubts.push_back("`" + std::string(part_number) +
                     "` looks like a number that a spreadsheet has shortened");
}

}  // namespace kitgap
