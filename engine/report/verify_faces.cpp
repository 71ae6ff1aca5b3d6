#include "report/verify.h"

#include <map>

#include "report/layout.h"
#include "text/json.h"

namespace kitgap {

std::string verify_text(const ReportProof& verification, int width) {
  const auto columns = static_cast<std::size_t>(width);
  std::string out;
  for (const Fault& fault : verification.faults) out += fault.where + "\n" + paragraph(fault.says, 2, columns);
  if (!verification.faults.empty()) out += "\n";
  const auto many = [](std::size_t count, std::string_view one, std::string_view more) {
    return std::to_string(count) + " " + std::string(count == 1 ? one : more);
  };
  out += paragraph(many(verification.lines, "line", "lines") + ": the need of " + std::to_string(verification.needs_proven) +
                       " follows from the rows they name, the gap of " + std::to_string(verification.gaps_proven) + " of " +
                       std::to_string(verification.gaps) + " from its rivals.", 0, columns);
  if (!verification.not_proven.empty()) {
    out += paragraph("Not proven from rows alone, only that figures go together and no hand changed them:", 0, columns);
    std::map<std::string, std::vector<std::string>> lines_of;
    for (const Fault& line : verification.not_proven) lines_of[line.says].push_back(line.where);
    for (const auto& [why, lines] : lines_of) {
      out += paragraph(why + ":", 2, columns);
      for (const std::string& line : lines) out += paragraph(line, 4, columns);
    }
  }
  out += verification.faults.empty() ? "Everything in the report follows.\n"
                                     : many(verification.faults.size(), "thing does", "things do") + " not follow.\n";
  return out;
}

std::string verify_json(const ReportProof& verification) {
  JsonWriter json;
  json.begin_object().key("format").string("verify/1");
  json.key("lines").number(static_cast<std::int64_t>(verification.lines));
  json.key("needs_proven").number(static_cast<std::int64_t>(verification.needs_proven));
  json.key("gaps").number(static_cast<std::int64_t>(verification.gaps));
  json.key("gaps_proven").number(static_cast<std::int64_t>(verification.gaps_proven));
  for (const auto& [name, entries] : {std::pair("faults", &verification.faults), std::pair("not_proven", &verification.not_proven)}) {
    json.key(name).begin_array();
    for (const Fault& fault : *entries) json.begin_object().key("where").string(fault.where).key("says").string(fault.says).end_object();
    json.end_array();
  }
  json.end_object();
  return json.take();
}

}  // namespace kitgap
