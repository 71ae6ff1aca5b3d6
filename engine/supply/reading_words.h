#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "supply/reading.h"

namespace kitgap {

// One word or figure of a quantity as a person writes it.
struct QuantityToken {
  std::string word;  // `N` for a figure, else a plain form: `pcs`, `pr`, `bag`, `set`, `x`, `off`, `spare`,
                     // `bo`, `+`, `(`
  Fraction figure;
};
struct QuantityTokens {
  std::vector<QuantityToken> tokens;
  bool counts_pieces = false;  // `pcs`, `ea`, `doz`, `gross` stood there; they are folded into the figures
  bool is_about = false;       // `about`, `~`
  std::string mixed_up;        // a letter stands where a digit would: `1O`
  std::string two_ways;        // a figure that can be read two ways: `1,500`
};
// `text` is in plain signs (value/unit.h).
QuantityTokens quantity_tokens(std::string_view text, bool decimal_comma);

// What is measured, not counted: `4 ft 6`, `750 ml / 26 fl oz`, `2 x 750 ml`, `2 rolls of 10 m`. `text` is in plain
// signs; `questions` gets one where a measure can be read more than one way.
std::optional<Measured> stated_measure(std::string_view text, bool decimal_comma, std::vector<std::string>& questions,
                                       std::vector<std::string>& doubts);

// A hand in running text (`door panel L/H`), where only whole words of the trade count.
ReadPlace hand_in(std::string_view text);
// What a heading says for the rows under it: its hand, and `front` or `rear` where it names just one of them.
ReadPlace place_in_heading(std::string_view text);
// Whether two hands that differ stand in the text (`front left; front right`) but not as one of the words for both.
bool names_two_hands(std::string_view text);
// `4 each side`, `2 per hand`, `1 LH + 1 RH`: so many of each hand; `amount` gets that number as typed.
bool amount_of_each_hand(std::string_view text, std::string& amount);
// What a note or a description says of other numbers and of chassis or years.
std::vector<Substitute> substitutes_in(std::string_view text);
// Other numbers in the cell of a part number (`K-17 (alt K-18)`, `K-17 -> K-18`), which keeps the first alone.
std::vector<Substitute> split_number(std::string& part_number);
std::optional<SerialRange> serial_range_in(std::string_view text);
// The whole cell as a range: `48211 on`, `late '71`.
std::optional<SerialRange> read_serial_range(std::string_view text);
// A date as typed; `questions` gets one when day and month could change places or nothing could be read.
ReadDate read_date(std::string_view text, std::vector<std::string>& questions,
                   std::vector<std::string>& doubts);
// Odd looks of a part number: a letter between digits that may be one, a figure that a spreadsheet has
// changed.
void check_number(std::string_view part_number, std::vector<std::string>& doubts);

std::string_view word_of(HandWord hand);  // "left", "driver's side", ...; empty for None
// "12 pieces of `K-17`, 2 of them spare"; `what` stands after the amount.
std::string in_words(const ReadQuantity& quantity, std::string_view what);

}  // namespace kitgap
