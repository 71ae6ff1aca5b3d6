#include "report/arrival.h"

#include "report/layout.h"
#include "report/report.h"
#include "text/json.h"

namespace kitgap {

std::string arrival_text(const ArrivalAudit& audit, int width) {
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
  std::string letter;
  for (const ArrivalLine& line : audit.lines) {
    if (line.is_right()) continue;
    letter += paragraph(line.part_number + (line.part.empty() ? "" : " (" + line.part + ")") + ": " + line.says, 2, columns);
  }
  if (!letter.empty()) out += "\nTo send to the supplier\n\n  Of the parcel that came:\n" + letter + "  Please make this good, or say how to return it.\n";
  return out + (audit.is_right() ? "\nAll that was ordered came, and is right.\n" : "");
}

std::string arrival_json(const ArrivalAudit& audit) {
  JsonWriter json;
  json.begin_object().key("format").string("receive/1").key("lines").begin_array();
  for (const ArrivalLine& line : audit.lines) {
    json.begin_object().key("order_line");
    line.order_line ? json.number(static_cast<std::int64_t>(*line.order_line)) : json.null();
    json.key("part_number").string(line.part_number).key("part").string(line.part).key("position").string(line.position).key("unit").string(line.unit);
    json.key("expected").begin_object().key("lo").number(line.expected.lo.to_text()).key("hi").number(line.expected.hi.to_text()).end_object();
    json.key("counted");
    line.counted ? json.number(line.counted->to_text()) : json.null();
    json.key("damaged").number(line.damaged.to_text()).key("over").number(line.over.to_text()).key("short").number(line.lacking.to_text());
    json.key("wrong").number(line.wrong.to_text()).key("says").string(line.says).end_object();
  }
  json.end_array().key("pieces").begin_array();
  for (const std::string& says : audit.pieces) json.string(says);
  json.end_array().key("set_aside").begin_array();
  for (const CountedRow& row : audit.set_aside) {
    json.begin_object().key("line").number(static_cast<std::int64_t>(row.line)).key("as_typed").string(row.as_typed).key("reason").string(row.set_aside).end_object();
  }
  json.end_array().end_object();
  return json.take();
}

}  // namespace kitgap
