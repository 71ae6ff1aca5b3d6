#include "report/workbook.h"

namespace kitgap {
namespace {

std::string joined(const std::vector<std::string>& texts) {
  std::string out;
  for (const std::string& text : texts) out += (out.empty() ? "" : "; ") + text;
  return out;
}

std::string sources_of(const ReportLine& line) {
  std::string out;
  for (const ReasonText& reason : line.because) {
    if (!reason.source.empty()) out += (out.empty() ? "" : "; ") + reason.source;
  }
  return out;
}

Sheet lines_sheet(const Report& report) {
  Sheet sheet{.name = "Needs",
              .columns = {{"position", 16}, {"parent", 16}, {"part", 18}, {"name", 34}, {"status", 12}, {"need lo", 9}, {"need hi", 9}, {"unit", 7},
                          {"have lo", 9}, {"have hi", 9}, {"gap lo", 9}, {"gap hi", 9}, {"in hand", 9}, {"on order", 9}, {"planned", 9},
                          {"from old", 9}, {"by work", 9}, {"basis", 20}, {"stops work", 11}, {"action", 44}, {"source", 44}},
              .rows = {}};
  sheet.rows.reserve(report.lines.size());
  for (const ReportLine& line : report.lines) {
    sheet.rows.push_back({text_cell(line.position), text_cell(line.parent), text_cell(line.part), text_cell(line.part_name), text_cell(word_of(line.status)),
                          number_cell(line.need.lo), number_cell(line.need.hi), text_cell(line.unit), number_cell(line.have.lo), number_cell(line.have.hi),
                          number_cell(line.gap.lo), number_cell(line.gap.hi), number_cell(line.in_hand), number_cell(line.on_order), number_cell(line.planned),
                          number_cell(line.from_old), number_cell(line.by_work), text_cell(word_of(line.basis)), yes_or_no(line.stops_work),
                          text_cell(line.action), text_cell(sources_of(line))});
  }
  return sheet;
}

Sheet look_sheet(const Report& report) {
  Sheet sheet{.name = "Look at the car", .columns = {{"about", 12}, {"fact", 20}, {"part", 20}, {"position", 16}, {"settles", 9}, {"ask", 50}, {"look at", 50}, {"distance", 30}}, .rows = {}};
  for (const SettleText& settle : report.to_settle) {
    sheet.rows.push_back({text_cell(settle.about), text_cell(settle.fact), text_cell(settle.part), text_cell(settle.position), count_cell(settle.settles),
                          text_cell(settle.ask), text_cell(settle.look_at), text_cell(settle.distance)});
  }
  return sheet;
}

Sheet ask_sheet(const Report& report) {
  Sheet sheet{.name = "Ask the supplier", .columns = {{"supplier", 18}, {"part number", 16}, {"question", 70}, {"lines", 9}}, .rows = {}};
  for (const SupplierQuestion& question : report.ask_supplier) {
    sheet.rows.push_back({text_cell(question.supplier), text_cell(question.part_number), text_cell(question.question), count_cell(question.lines.size())});
  }
  return sheet;
}

Sheet checks_sheet(const Report& report) {
  Sheet sheet{.name = "Checks", .columns = {{"kind", 10}, {"severity", 10}, {"part", 20}, {"position", 16}, {"says", 80}, {"source", 40}}, .rows = {}};
  for (const CheckText& check : report.checks) {
    sheet.rows.push_back({text_cell(check.kind), text_cell(check.severity), text_cell(check.part), text_cell(check.position), text_cell(check.says), text_cell(check.source)});
  }
  return sheet;
}

Sheet spare_sheet(const Report& report) {
  Sheet sheet{.name = "Spare", .columns = {{"part", 20}, {"name", 34}, {"hand", 8}, {"lo", 9}, {"hi", 9}, {"unit", 7}, {"meant", 9}, {"from bags", 10}, {"over", 9}}, .rows = {}};
  for (const SpareText& spare : report.spare) {
    sheet.rows.push_back({text_cell(spare.part), text_cell(spare.part_name), text_cell(spare.hand), number_cell(spare.quantity.lo), number_cell(spare.quantity.hi),
                          text_cell(spare.unit), number_cell(spare.meant), number_cell(spare.from_bags), number_cell(spare.over)});
  }
  return sheet;
}

std::string_view fit_word(const std::optional<Fit>& fit) {
  if (!fit) return "";
  return *fit == Fit::Yes ? "yes" : *fit == Fit::No ? "no" : "open";
}

Sheet reading_sheet(const Report& report) {
  Sheet sheet{.name = "List as read", .columns = {{"file", 24}, {"line", 7}, {"as typed", 60}, {"read as", 44}, {"quantity", 16}, {"fit", 7}, {"fails", 34}, {"hangs on", 24}, {"set aside", 34}}, .rows = {}};
  for (const ListText& row : report.list) {
    if (row.is_blank) continue;
    sheet.rows.push_back({text_cell(row.file), count_cell(row.line), text_cell(row.as_typed), text_cell(row.read_as), text_cell(row.quantity),
                          text_cell(fit_word(row.fit)), text_cell(joined(row.fails)), text_cell(joined(row.hangs_on)), text_cell(row.set_aside)});
  }
  return sheet;
}

Sheet cautions_sheet(const Report& report) {
  Sheet sheet{.name = "Cautions", .columns = {{"part or step", 26}, {"caution", 90}, {"source", 40}}, .rows = {}};
  for (const CautionText& caution : report.cautions) {
    sheet.rows.push_back({text_cell(caution.part.empty() ? caution.step : caution.part), text_cell(caution.text), text_cell(caution.source)});
  }
  if (!sheet.rows.empty()) sheet.rows.push_back({text_cell(""), text_cell("Local codes and licensed practice decide."), text_cell("")});
  return sheet;
}

Sheet car_sheet(const Report& report) {
  Sheet sheet{.name = "Car", .columns = {{"what", 22}, {"value", 50}, {"known", 8}}, .rows = {}};
  sheet.rows.push_back({text_cell("car"), text_cell(report.car), text_cell("")});
  for (const FactText& fact : report.facts) sheet.rows.push_back({text_cell(fact.name), text_cell(fact.value), yes_or_no(fact.is_known)});
  for (const PackText& pack : report.packs) sheet.rows.push_back({text_cell("pack of rules"), text_cell(pack.name + (pack.version.empty() ? "" : " " + pack.version)), text_cell("")});
  for (const ContradictionText& contradiction : report.contradictions) sheet.rows.push_back({text_cell("contradiction"), text_cell(contradiction.says), text_cell("")});
  return sheet;
}

}  // namespace

Workbook check_workbook(const Report& report) {
  Workbook workbook = {lines_sheet(report)};
  for (Sheet& sheet : std::vector<Sheet>{cautions_sheet(report), look_sheet(report), ask_sheet(report), checks_sheet(report), spare_sheet(report),
                                         reading_sheet(report), car_sheet(report)}) {
    if (!sheet.rows.empty()) workbook.push_back(std::move(sheet));
  }
  return workbook;
}

std::string check_csv(const Report& report) { return sheet_csv(lines_sheet(report)); }

}  // namespace kitgap
