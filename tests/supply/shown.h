#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "supply/reading_words.h"

// What the readers of words make of a text, as short texts to compare.
namespace kitgap::test {

// `rear door,rear,left`: path, along, hand.
inline std::string shown(const ReadPlace& read) { return read.path + "," + read.along + "," + std::string(word_of(read.hand)); }

// `48211~..*`: a `~` after a soft end, `*` for none; `none`.
inline std::string shown(const std::optional<SerialRange>& range) {
  if (!range) return "none";
  const auto end = [](const std::optional<std::int64_t>& number, bool soft) { return number ? std::to_string(*number) + (soft ? "~" : "") : std::string("*"); };
  return (range->is_year ? "year " : "") + end(range->from, range->from_soft) + ".." + end(range->to, range->to_soft);
}

inline std::string_view word_of(SubstituteKind kind) {
  constexpr auto kWords = std::to_array<std::string_view>({"now ", "else ", "or "});
  return kWords.at(static_cast<std::size_t>(kind));
}

// `now K-18; or K-19`.
inline std::string substitutes(std::string_view text) {
  std::string out;
  for (const Substitute& found : substitutes_in(text)) out += (out.empty() ? "" : "; ") + std::string(word_of(found.kind)) + found.part_number;
  return out;
}

// The cell of a part number, and what was taken out of it.
inline std::string split(std::string_view typed) {
  std::string number(typed);
  const auto found = split_number(number);
  for (const Substitute& other : found) number += " " + std::string(word_of(other.kind)) + other.part_number;
  return number;
}

// The day, those it could be, ` ?` per question and ` !` per doubt.
inline std::string day(std::string_view text) {
  std::vector<std::string> questions, doubts;
  const ReadDate read = read_date(text, questions, doubts);
  std::string out = read.date;
  for (const std::string& could : read.could_be) out += could + "|";
  return out.append(questions.size(), '?').append(doubts.size(), '!');
}

// The number of each hand, or `none`.
inline std::string of_each_hand(std::string_view text) {
  std::string amount;
  return amount_of_each_hand(text, amount) ? amount : std::string("none");
}

}  // namespace kitgap::test
