#include "supply/reading_cells.h"

#include <algorithm>
#include <array>

#include "supply/reading_words.h"

namespace kitgap {
namespace {

bool reads_as(const std::string& text, const ReadQuantity& quantity) {
  std::vector<std::string> questions, doubts;
  return read_quantity(text, false, questions, doubts) == quantity;
}

std::string counted(const ReadQuantity& quantity) {
  std::string words = quantity.amount.to_text();
  switch (quantity.counts) {
    case Counts::Plain:
      break;
    case Counts::Pieces:
      words += " pcs";
      break;
    case Counts::Pairs:
      words += " pr";
      break;
    case Counts::Packs:
      words += " bags" + (quantity.pack_size ? " of " + quantity.pack_size->to_text() : "");
      break;
    case Counts::Measure:
      return to_text(Measured{quantity.amount, quantity.unit});
  }
  if (!quantity.spare.is_zero()) words += " (" + quantity.spare.to_text() + " spare)";
  if (!quantity.back_order.is_zero()) words += " (" + quantity.back_order.to_text() + " b/o)";
  if (quantity.pack_size && quantity.counts != Counts::Packs) words += " (bag/" + quantity.pack_size->to_text() + ")";
  return words;
}

std::string quantity_of(const ReadLine& line) {
  if (!line.quantity.known || reads_as(line.quantity_typed, line.quantity)) return line.quantity_typed;
  std::string words = counted(line.quantity);
  return reads_as(words, line.quantity) ? words : line.quantity_typed;
}

bool same_place(const ReadPlace& one, const ReadPlace& other) {
  return one.path == other.path && one.along == other.along && one.hand == other.hand;
}

std::string position_of(const ReadLine& line) {
  ReadPlace place = line.place;
  if (place.from_description) place.hand = HandWord::None;
  std::string words = place.path;
  if (place.hand != HandWord::None) words += (words.empty() ? "" : " ") + std::string(word_of(place.hand));
  if (same_place(read_place(words), place) || place.along.empty()) return words;
  constexpr auto kTokens = std::to_array<std::string_view>({"", "l/h/", "r/h/", "n/s/", "o/s/", "", "", ""});
  const std::string_view token = kTokens.at(static_cast<std::size_t>(place.hand));
  if (place.path.empty() && !token.empty()) return std::string(token) + place.along.front();
  return place.along + (words.empty() ? "" : " ") + words;
}

void add_words(std::string& note, const std::string& words) {
  note += (note.empty() ? "" : "; ") + words;
}

void add_substitutes(const ReadLine& line, std::string& note) {
  constexpr auto kBefore = std::to_array<std::string_view>({"superseded by ", "if NLA use ", "alt "});
  std::vector<Substitute> said = substitutes_in(line.note);
  for (Substitute& other : substitutes_in(line.description)) said.push_back(std::move(other));
  for (const Substitute& other : line.substitutes) {
    const bool is_said = std::any_of(said.begin(), said.end(), [&](const Substitute& each) {
      return each.kind == other.kind && each.part_number == other.part_number;
    });
    if (!is_said) add_words(note, std::string(kBefore.at(static_cast<std::size_t>(other.kind))) + other.part_number);
  }
}

void add_serial(const ReadLine& line, std::string& note) {
  if (!line.serial || serial_range_in(line.note) || serial_range_in(line.description)) return;
  const SerialRange& range = *line.serial;
  std::string words = range.is_year ? "" : "chassis ";
  if (range.from && range.to) words += "from " + std::to_string(*range.from) + " to " + std::to_string(*range.to);
  else if (range.from) words += std::to_string(*range.from) + " on";
  else if (range.to) words += "up to " + std::to_string(*range.to);
  if (!range.from_soft && !range.to_soft) words += " incl";
  add_words(note, words);
}

}  // namespace

ListCells cells_of(const ReadLine& line) {
  ListCells cells{.part_number = line.part_number, .description = line.description, .quantity = quantity_of(line),
                  .position = position_of(line), .supplier = line.supplier, .bag = line.bag, .due = line.due.as_typed,
                  .note = line.note, .id = line.id};
  add_substitutes(line, cells.note);
  add_serial(line, cells.note);
  for (const std::string& question : line.questions) {
    if (question.starts_with("the row says")) add_words(cells.note, question);
  }
  return cells;
}

}  // namespace kitgap
