#include "purchase/order_sheets.h"

#include <algorithm>
#include <map>

#include "purchase/order_notes.h"

namespace kitgap {
namespace {

const PurchaseSupplier* supplier_of(const PurchaseProblem& problem, const std::string& name) {
  const auto found = std::ranges::find(problem.suppliers, name, &PurchaseSupplier::name);
  return found == problem.suppliers.end() ? nullptr : &*found;
}

OrderSheetLine line_of(const PurchaseProblem& problem, const PurchaseLine& bought) {
  const PurchaseOffer& offer = problem.offers[bought.offer];
  OrderSheetLine line{.part_number = offer.part_number, .contents = contents_of(offer), .says = offer.says, .is_kit = offer.contents.size() > 1, .packs = bought.packs, .price = offer.price,
                      .cost = bought.cost, .lead_time_days = offer.lead_time_days, .is_returnable = offer.returnable, .is_first = false};
  const PurchaseSupplier* supplier = supplier_of(problem, offer.supplier);
  if (!line.lead_time_days && supplier != nullptr) line.lead_time_days = supplier->lead_time_days;
  line.is_first = !line.is_returnable || (line.lead_time_days && *line.lead_time_days >= kLongLeadDays);
  return line;
}

}  // namespace

std::vector<OrderSheet> order_sheets_of(const PurchaseProblem& problem, const Plan& plan) {
  std::map<std::string, OrderSheet> by_supplier;
  for (const PurchaseLine& bought : plan.buy) {
    OrderSheet& sheet = by_supplier[problem.offers[bought.offer].supplier];
    sheet.lines.push_back(line_of(problem, bought));
    sheet.goods += bought.cost;
  }
  std::vector<OrderSheet> sheets;
  for (auto& [name, sheet] : by_supplier) {
    sheet.supplier = name;
    std::ranges::stable_sort(sheet.lines, std::ranges::greater{}, [](const OrderSheetLine& line) {
      return std::pair(!line.is_returnable, line.lead_time_days.value_or(-1));
    });
    if (const PurchaseSupplier* supplier = supplier_of(problem, name)) {
      sheet.is_shop = supplier->is_shop;
      const bool is_free = supplier->free_shipping_from && sheet.goods >= *supplier->free_shipping_from;
      sheet.shipping = is_free ? Fraction(0) : supplier->shipping_charge;
      if (is_free) sheet.free_from = supplier->free_shipping_from;
    }
    sheet.total = sheet.goods + sheet.shipping;
    sheets.push_back(std::move(sheet));
  }
  return sheets;
}

std::vector<std::string> first_in_words(const std::vector<OrderSheet>& sheets) {
  std::vector<std::string> all;
  for (const OrderSheet& sheet : sheets) {
    for (const OrderSheetLine& line : sheet.lines) {
      if (!line.is_first) continue;
      all.push_back(sheet.supplier + " " + line.part_number + ":" + (line.is_returnable ? "" : " cannot be sent back") +
                    (!line.is_returnable && line.lead_time_days ? "," : "") + (line.lead_time_days ? " takes " + std::to_string(*line.lead_time_days) + " days" : ""));
    }
  }
  return all;
}

}  // namespace kitgap
