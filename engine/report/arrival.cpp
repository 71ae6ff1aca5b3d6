#include "report/arrival.h"

#include <algorithm>

#include "pack/fact_value.h"
#include "report/layout.h"
#include "report/report.h"
#include "text/csv.h"
#include "text/file.h"
#include "text/json.h"
#include "value/value_set.h"

namespace kitgap {
namespace {

// What is wrong with one supplier's part of the parcel.
struct Letter {
  std::string supplier;  // empty: not known
  std::vector<const ArrivalLine*> lines;
  std::string text;
  std::optional<std::string> last_day;
};

std::string name_of(const ArrivalLine& line) {
  if (line.part_number.empty()) return line.part;
  return line.part_number + (line.part.empty() ? "" : " (" + line.part + ")");
}

// The last day on which a line can go back, where its terms and the day of the parcel are known.
std::optional<std::string> last_day_of(const ArrivalLine& line, const std::string& day) {
  const auto arrived = parse_iso_date(day);
  const auto days = line.return_days ? line.return_days->floor().to_integer() : std::nullopt;
  if (!arrived || !days || !line.is_returnable) return std::nullopt;
  return iso_date_of(*arrived + *days);
}

std::string window_of(const Letter& letter, const std::string& day) {
  std::string says;
  const bool is_any_returnable = std::ranges::any_of(letter.lines, [](const ArrivalLine* line) { return line->is_returnable; });
  const bool is_stated = std::ranges::any_of(letter.lines, [](const ArrivalLine* line) { return line->return_days.has_value(); });
  if (!is_any_returnable) {
    says = "";
  } else if (letter.last_day) {
    says = "By your terms goods can go back until " + *letter.last_day + ".";
  } else if (is_stated && day.empty()) {
    const auto stated = std::ranges::find_if(letter.lines, [](const ArrivalLine* line) { return line->return_days.has_value(); });
    says = "By your terms goods can go back within " + (*stated)->return_days->to_text() + " days of arrival.";
  } else {
    says = "Please say until when goods can go back.";
  }
  std::string kept;
  for (const ArrivalLine* line : letter.lines) {
    if (!line->is_returnable) kept += (kept.empty() ? "" : ", ") + name_of(*line);
  }
  if (kept.empty()) return says;
  return says + (says.empty() ? "" : " ") + "Not to be returned by your terms: " + kept + ".";
}

std::vector<Letter> letters_of(const ArrivalAudit& audit, const ArrivalNotes& notes) {
  std::vector<Letter> letters;
  for (const ArrivalLine& line : audit.lines) {
    if (line.is_right() || !line.counted) continue;  // what nobody counted is no complaint yet
    auto known = std::ranges::find(letters, line.supplier, &Letter::supplier);
    if (known == letters.end()) known = letters.insert(letters.end(), Letter{.supplier = line.supplier, .lines = {}, .text = {}, .last_day = {}});
    known->lines.push_back(&line);
    const auto last = last_day_of(line, notes.day);
    if (last && (!known->last_day || *last < *known->last_day)) known->last_day = last;
  }
  for (Letter& letter : letters) {
    letter.text = "Of the parcel that came" + (notes.day.empty() ? "" : " on " + notes.day) + (notes.slip.empty() ? "" : " with your note " + notes.slip) + ":\n";
    for (const ArrivalLine* line : letter.lines) letter.text += name_of(*line) + (line->position.empty() ? "" : ", " + line->position) + ": " + line->says + "\n";
    letter.text += "Please make this good, or say how to return it. " + window_of(letter, notes.day) + "\n";
  }
  return letters;
}

std::string lines_of(std::string_view text, std::size_t columns) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out += paragraph(text.substr(0, end), 2, columns);
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

}  // namespace

std::string arrival_text(const ArrivalAudit& audit, const ArrivalNotes& notes, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out = "Counted against what was ordered\n\n";
  out += "  " + padded("part number", 14) + " " + padded("part", 24) + padded_left("wanted", 8) + padded_left("came", 8) + "  what of it\n";
  for (const ArrivalLine& line : audit.lines) {
    const std::string part = line.part + (line.position.empty() ? "" : ", " + line.position);
    const std::string left = padded(line.part_number, 14) + " " + padded(part, 24) + padded_left(range_text(line.expected), 8) +
                             padded_left(line.counted ? line.counted->to_text() : "?", 8);
    out += beside(left, 2, 55, line.says, columns);
  }
  for (const std::string& says : audit.pieces) out += paragraph(says, 2, columns);
  for (const CountedRow& row : audit.set_aside) out += paragraph("line " + std::to_string(row.line) + " is set aside: " + row.set_aside + " (" + row.as_typed + ")", 2, columns);
  if (!notes.sampling.empty()) out += "\nLarge lots\n\n";
  for (const std::string& says : notes.sampling) out += paragraph(says, 2, columns);
  for (const Letter& letter : letters_of(audit, notes)) {
    out += "\nTo send to " + (letter.supplier.empty() ? "the supplier" : printable(letter.supplier)) + "\n\n" + lines_of(letter.text, columns);
  }
  return out + (audit.is_right() ? "\nAll that was counted is right.\n" : "");
}

std::string arrival_json(const ArrivalAudit& audit, const ArrivalNotes& notes) {
  JsonWriter json;
  json.begin_object().key("format").string("receive/1").key("lines").begin_array();
  for (const ArrivalLine& line : audit.lines) {
    json.begin_object().key("order_line");
    line.order_line ? json.number(static_cast<std::int64_t>(*line.order_line)) : json.null();
    json.key("supplier");
    line.supplier.empty() ? json.null() : json.string(line.supplier);
    json.key("part_number").string(line.part_number).key("part").string(line.part).key("position").string(line.position).key("unit").string(line.unit);
    json.key("expected").begin_object().key("lo").number(line.expected.lo.to_text()).key("hi").number(line.expected.hi.to_text()).end_object();
    json.key("counted");
    line.counted ? json.number(line.counted->to_text()) : json.null();
    json.key("damaged").number(line.damaged.to_text()).key("over").number(line.over.to_text()).key("short").number(line.lacking.to_text());
    json.key("wrong").number(line.wrong.to_text()).key("last_day_to_return");
    const auto last = last_day_of(line, notes.day);
    last ? json.string(*last) : json.null();
    json.key("says").string(line.says).end_object();
  }
  json.end_array().key("pieces").begin_array();
  for (const std::string& says : audit.pieces) json.string(says);
  json.end_array().key("set_aside").begin_array();
  for (const CountedRow& row : audit.set_aside) {
    json.begin_object().key("line").number(static_cast<std::int64_t>(row.line)).key("as_typed").string(row.as_typed).key("reason").string(row.set_aside).end_object();
  }
  json.end_array().key("sampling").begin_array();
  for (const std::string& says : notes.sampling) json.string(says);
  json.end_array().key("letters").begin_array();
  for (const Letter& letter : letters_of(audit, notes)) {
    json.begin_object().key("supplier");
    letter.supplier.empty() ? json.null() : json.string(letter.supplier);
    json.key("last_day_to_return");
    letter.last_day ? json.string(*letter.last_day) : json.null();
    json.key("text").string(letter.text).end_object();
  }
  json.end_array().key("records").begin_array();
  for (const std::int64_t record : notes.records) json.number(record);
  json.end_array().end_object();
  return json.take();
}

std::string tick_sheet_text(const ArrivalAudit& expected, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::vector<std::string> suppliers;
  for (const ArrivalLine& line : expected.lines) {
    if (std::ranges::find(suppliers, line.supplier) == suppliers.end()) suppliers.push_back(line.supplier);
  }
  std::string out = "Tick sheet: count each, write what came and what is damaged\n";
  if (suppliers.empty()) out += "\n  Nothing is on its way.\n";
  for (const std::string& supplier : suppliers) {
    out += "\n" + (supplier.empty() ? "Supplier not known" : printable(supplier)) + "\n";
    for (const ArrivalLine& line : expected.lines) {
      if (line.supplier != supplier) continue;
      const std::string part = line.part + (line.position.empty() ? "" : ", " + line.position);
      const std::string left = "[ ] " + padded(line.part_number, 14) + " " + padded(part, 22) + padded_left(range_text(line.expected) + (line.unit == "each" ? "" : " " + line.unit), 8);
      out += beside(left, 2, 52, "came ____ damaged ____", columns);
    }
  }
  return out + "\nDelivery note ____________  day ____________  counted by ____________\n";
}

std::string tick_sheet_csv(const ArrivalAudit& expected) {
  std::string out = "part number,part,position,counted,damaged,bag,note\n";
  for (const ArrivalLine& line : expected.lines) {
    for (const std::string& cell : {line.part_number, line.part, line.position}) {
      append_csv_cell(out, cell);
      out += ",";
    }
    std::string note = range_text(line.expected) + (line.unit == "each" ? "" : " " + line.unit) + " expected";
    out += ",,,";
    append_csv_cell(out, note);
    out += "\n";
  }
  return out;
}

}  // namespace kitgap
