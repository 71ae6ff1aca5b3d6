#include <algorithm>

#include "purchase/order_sheets.h"
#include "report/line_rows.h"
#include "report/page.h"
#include "report/pages.h"

namespace kitgap {
namespace {

class OrderPage {
 public:
  OrderPage(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) : problem_(problem), plan_(plan), notes_(notes), sheets_(order_sheets_of(problem, plan)) {}

  std::string write() {
    begin_main(page_);
    summary();
    rows("first", "Settle and order first", first_in_words(sheets_));
    quantities("Not covered", plan_.uncovered);
    quantities("Left over", plan_.spare);
    rows("else", "What else could be done, and what it costs more", choices_in_words(plan_));
    rows("terms", "What each wish or term costs", terms_in_words(plan_));
    rows("answers", "What an answer could save, at most", savings_in_words(notes_));
    purposes();
    for (std::size_t index = 0; index < sheets_.size(); ++index) sheet(sheets_[index], "s" + std::to_string(index));
    page_.close();
    return page_of({.title = "What to order"}, page_);
  }

 private:
  void summary() {
    page_.open("header", {{"class", "top"}}).put("h1", "What to order");
    if (plan_.buy.empty()) {
      page_.put("p", {{"class", "lead"}}, plan_.status == PlanStatus::NothingCovers ? "Nothing to buy: no offer covers any need." : "Nothing to buy.");
    } else {
      page_.put("p", {{"class", "lead"}}, plan_.total.to_text() + (notes_.currency.empty() ? "" : " " + notes_.currency) + " in all: goods " + plan_.goods.to_text() + ", shipping " + plan_.shipping.to_text() + "; " +
                                              plural(static_cast<std::size_t>(std::ranges::count_if(sheets_, &OrderSheet::is_shop)), "parcel.", "parcels."));
    }
    if (const std::string rates = rates_in_words(notes_); !rates.empty()) page_.put("p", rates);
    for (const std::string& sentence : proof_in_words(plan_)) page_.put("p", sentence);
    for (std::size_t at = 0; at < plan_.conflict.size(); ++at) page_.put("p", (at == 0 ? "Cannot hold together with all needs: " : "and ") + plan_.conflict[at]);
    if (sheets_.size() > 1) contents();
    page_.close();
  }

  void contents() {
    page_.open("table", {{"class", "counts"}}).open("thead").open("tr").put("th", {{"scope", "col"}}, "supplier");
    for (const std::string_view head : {"goods", "shipping", "together"}) page_.put("th", {{"scope", "col"}, {"class", "number"}}, head);
    page_.close().close().open("tbody");
    for (std::size_t index = 0; index < sheets_.size(); ++index) {
      const OrderSheet& sheet = sheets_[index];
      page_.open("tr").open("th", {{"scope", "row"}}).put("a", {{"href", "#s" + std::to_string(index)}}, sheet.supplier).close();
      for (const Fraction* amount : {&sheet.goods, &sheet.shipping, &sheet.total}) page_.put("td", {{"class", "number"}}, amount->to_text());
      page_.close();
    }
    page_.close().close();
  }

  void quantities(std::string_view title, const std::vector<ItemQuantity>& quantities) {
    if (quantities.empty()) return;
    const std::string id = title == "Left over" ? "left-over" : "not-covered";
    page_.open("section", {{"aria-labelledby", id}}).put("h2", {{"id", id}}, title).open("ul", {{"class", "sums"}});
    for (const ItemQuantity& quantity : quantities) {
      page_.open("li").put("span", {{"class", "sum"}}, quantity.quantity.to_text()).put("span", item_in_words(notes_, quantity.item)).close();
    }
    page_.close().close();
  }

  void rows(const std::string& id, std::string_view title, const std::vector<std::string>& rows) {
    if (rows.empty()) return;
    page_.open("section", {{"aria-labelledby", id}}).put("h2", {{"id", id}}, title).open("ul");
    for (const std::string& row : rows) page_.put("li", row);
    page_.close().close();
  }

  void purposes() {
    const std::vector<Purpose> purposes = purposes_of(problem_, plan_, notes_);
    if (purposes.empty()) return;
    page_.open("details", {{"class", "purposes"}}).put("summary", "What it is for").open("dl");
    for (const Purpose& purpose : purposes) page_.put("dt", purpose.what).put("dd", purpose.places);
    page_.close().close();
  }

  void sheet(const OrderSheet& sheet, const std::string& id) {
    page_.open("section", {{"class", "order-sheet"}, {"aria-labelledby", id}}).put("h2", {{"id", id}}, "Order to " + sheet.supplier);
    page_.put("p", {{"class", "paper-line"}}, "For: ______________________________   Date: ______________");
    page_.open("table", {{"class", "counts order"}}).open("thead").open("tr");
    page_.put("th", {{"scope", "col"}, {"class", "number"}}, "packs").put("th", {{"scope", "col"}}, "part number and what a pack holds");
    page_.put("th", {{"scope", "col"}, {"class", "number"}}, "each").put("th", {{"scope", "col"}, {"class", "number"}}, "cost").close().close().open("tbody");
    for (const OrderSheetLine& line : sheet.lines) {
      page_.open("tr").open("td", {{"class", "number"}}).put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").text(std::to_string(line.packs)).close();
      page_.open("th", {{"scope", "row"}}).put("b", line.part_number).text(" ").put("span", {{"class", "act"}}, (line.is_kit ? "a kit of " : "") + line.contents);
      if (!line.says.empty()) page_.text(" ").put("span", {{"class", "act"}}, line.says);
      if (!line.is_returnable) page_.text(" ").put("span", {{"class", "status"}}, "cannot be sent back");
      if (line.lead_time_days) page_.text(" ").put("span", {{"class", "status"}}, "takes " + std::to_string(*line.lead_time_days) + " days");
      page_.close().put("td", {{"class", "number"}}, line.price.to_text()).put("td", {{"class", "number"}}, line.cost.to_text()).close();
    }
    page_.close().open("tfoot");
    const auto sum = [&](const std::string& word, const Fraction& amount) {
      page_.open("tr").put("th", {{"scope", "row"}, {"colspan", "3"}, {"class", "number"}}, word).put("td", {{"class", "number"}}, amount.to_text()).close();
    };
    sum("goods", sheet.goods);
    sum(sheet.free_from ? "shipping, free from " + sheet.free_from->to_text() : "shipping", sheet.shipping);
    sum("together", sheet.total);
    page_.close().close().close();
  }

  const PurchaseProblem& problem_;
  const Plan& plan_;
  const OrderNotes& notes_;
  std::vector<OrderSheet> sheets_;
  Markup page_;
};

}  // namespace

std::string order_html(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) { return OrderPage(problem, plan, notes).write(); }

}  // namespace kitgap
