#include "report/plain_rows.h"

#include <algorithm>

#include "report/layout.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostPrinted = 20;  // holes in the text

std::string with_commas(std::uint64_t number) {
  std::string text = std::to_string(number);
  for (std::size_t at = text.size(); at > 3; at -= 3) text.insert(at - 3, ",");
  return text;
}

std::string counted(std::uint64_t number, std::string_view one, std::string_view many) {
  return with_commas(number) + " " + std::string(number == 1 ? one : many);
}

std::string in_words(const PlainRowsFindings::Tests& tests) {
  std::string text;
  for (const auto& [name, test] : tests) text += (text.empty() ? "" : "; ") + printable(name) + " " + printable(test);
  return text.empty() ? "everything" : text;
}

void write_tests(JsonWriter& writer, const PlainRowsFindings::Tests& tests) {
  writer.begin_object();
  for (const auto& [name, test] : tests) writer.key(name).string(test);
  writer.end_object();
}

}  // namespace

std::string plain_rows_text(const PlainRowsFindings& findings, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string rows = counted(findings.rows, "row", "rows");
  if (findings.never_apply > 0) rows += ", of which " + with_commas(findings.never_apply) + " can never apply";
  std::string text = paragraph(rows, 0, columns);
  if (findings.overlaps) text += paragraph(counted(*findings.overlaps, "pair of rows applies", "pairs of rows apply") + " to some car together", 0, columns);
  if (!findings.holes) return text;
  if (*findings.holes == 0) return text + paragraph("nothing is left out within " + in_words(findings.within), 0, columns);
  text += paragraph(std::string(findings.is_cut_short ? "at least " : "") + counted(*findings.holes, "hole", "holes") + " within " + in_words(findings.within), 0, columns);
  for (std::size_t box = 0; box < std::min(kMostPrinted, findings.boxes.size()); ++box) {
    text += beside(padded_left(std::to_string(box + 1), 2), 2, 2, in_words(findings.boxes[box]), columns);
  }
  if (findings.boxes.size() > kMostPrinted) text += paragraph("... and " + with_commas(findings.boxes.size() - kMostPrinted) + " more; `--format json` has them", 2, columns);
  return text;
}

std::string plain_rows_json(const PlainRowsFindings& findings) {
  JsonWriter writer;
  writer.plain().begin_object();
  writer.key("rows").number(static_cast<std::int64_t>(findings.rows));
  writer.key("never_apply").number(static_cast<std::int64_t>(findings.never_apply));
  if (findings.overlaps) writer.key("overlaps").number(static_cast<std::int64_t>(*findings.overlaps));
  if (findings.holes) {
    writer.key("holes").number(static_cast<std::int64_t>(*findings.holes));
    writer.key("truncated").boolean(findings.is_cut_short);
    writer.key("within");
    write_tests(writer, findings.within);
    writer.key("boxes").begin_array();
    for (const PlainRowsFindings::Tests& box : findings.boxes) write_tests(writer, box);
    writer.end_array();
  }
  writer.end_object();
  return writer.take();
}

}  // namespace kitgap
