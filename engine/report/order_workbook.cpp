#include "report/workbook.h"

namespace kitgap {
namespace {

Sheet buy_sheet(const PurchaseProblem& problem, const Plan& plan) {
  Sheet sheet{.name = "To buy",
              .columns = {{"id", 6}, {"supplier", 20}, {"part number", 18}, {"packs", 8}, {"contents", 60}, {"price", 11}, {"cost", 11}, {"lead time days", 14}, {"returnable", 11}},
              .rows = {}};
  for (const PurchaseLine& line : plan.buy) {
    const PurchaseOffer& offer = problem.offers[line.offer];
    sheet.rows.push_back({text_cell(line.id), text_cell(offer.supplier), text_cell(offer.part_number), number_cell(line.packs), text_cell(contents_of(offer)),
                          number_cell(offer.price), number_cell(line.cost), offer.lead_time_days ? number_cell(*offer.lead_time_days) : text_cell(""), yes_or_no(offer.returnable)});
  }
  return sheet;
}

Sheet cost_sheet(const Plan& plan) {
  const std::string_view proof = plan.status == PlanStatus::Optimal ? "proven: nothing cheaper covers as much"
                                 : plan.status == PlanStatus::Feasible ? "stopped before it was proven"
                                                                       : "no offer covers any need";
  Sheet sheet{.name = "Cost", .columns = {{"what", 20}, {"amount", 12}, {"note", 50}}, .rows = {}};
  sheet.rows.push_back({text_cell("goods"), number_cell(plan.goods), text_cell("")});
  sheet.rows.push_back({text_cell("shipping"), number_cell(plan.shipping), text_cell("")});
  sheet.rows.push_back({text_cell("total"), number_cell(plan.total), text_cell(proof)});
  return sheet;
}

Sheet purposes_sheet(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) {
  Sheet sheet{.name = "What it is for", .columns = {{"item", 60}, {"places", 80}}, .rows = {}};
  for (const Purpose& purpose : purposes_of(problem, plan, notes)) sheet.rows.push_back({text_cell(purpose.what), text_cell(purpose.places)});
  return sheet;
}

Sheet quantities_sheet(std::string name, const std::vector<ItemQuantity>& quantities, const OrderNotes& notes) {
  Sheet sheet{.name = std::move(name), .columns = {{"item", 40}, {"quantity", 10}, {"part", 30}, {"unit", 8}}, .rows = {}};
  for (const ItemQuantity& quantity : quantities) {
    const OrderReason* reason = find_reason(notes, quantity.item);
    sheet.rows.push_back({text_cell(quantity.item), number_cell(quantity.quantity), text_cell(reason != nullptr ? reason->part_name : ""), text_cell(reason != nullptr ? reason->unit : "")});
  }
  return sheet;
}

}  // namespace

Workbook order_workbook(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) {
  Workbook workbook = {buy_sheet(problem, plan), cost_sheet(plan)};
  for (Sheet& sheet : std::vector<Sheet>{purposes_sheet(problem, plan, notes), quantities_sheet("Not covered", plan.uncovered, notes), quantities_sheet("Left over", plan.spare, notes)}) {
    if (!sheet.rows.empty()) workbook.push_back(std::move(sheet));
  }
  return workbook;
}

}  // namespace kitgap
