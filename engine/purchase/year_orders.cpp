#include "purchase/year_orders.h"

#include <algorithm>
#include <map>

#include "purchase/plan_json.h"
#include "text/csv.h"

namespace kitgap {
namespace {

std::string words_of_contents(const PurchaseOffer& offer) {
  std::string text;
  for (const PackContents& content : offer.contents) text += (text.empty() ? "" : ", ") + content.quantity.to_text() + " " + content.item;
  return text;
}

std::string status_word(const Plan& plan) {
  if (plan.status == PlanStatus::Optimal) return "proven";
  return plan.status == PlanStatus::Feasible ? "not proven" : "nothing covers";
}

// `text` broken at blanks, further lines indented.
std::string wrapped(const std::string& text, std::size_t indent, std::size_t width) {
  std::string out;
  std::string line(indent, ' ');
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    if (line.size() > indent && line.size() + 1 + word.size() > width) {
      out += line + "\n";
      line = std::string(indent + 2, ' ');
    } else if (line.find_first_not_of(' ') != std::string::npos) {
      line += ' ';
    }
    line += word;
    at = end + 1;
  }
  return out + line + "\n";
}

std::string uncovered_words(const Plan& plan) {
  std::string words;
  for (const ItemQuantity& gap : plan.uncovered) words += (words.empty() ? "" : ", ") + gap.quantity.to_text() + " " + gap.item;
  return words;
}

}  // namespace

std::vector<YearPacks> packs_by_year(const std::vector<YearOrder>& orders) {
  std::map<std::pair<std::string, std::string>, YearPacks> packs;
  for (std::size_t year = 0; year < orders.size(); ++year) {
    for (const PurchaseLine& line : orders[year].plan.buy) {
      const PurchaseOffer& offer = orders[year].purchase.problem.offers[line.offer];
      YearPacks& row = packs[{offer.supplier, offer.part_number}];
      row.supplier = offer.supplier;
      row.part_number = offer.part_number;
      if (row.contents.empty()) row.contents = words_of_contents(offer);
      row.beyond.resize(orders.size());
      row.beyond[year] = line.packs;
    }
  }
  std::vector<YearPacks> out;
  for (auto& [key, row] : packs) {
    row.common = *std::ranges::min_element(row.beyond);
    for (std::int64_t& count : row.beyond) count -= row.common;
    out.push_back(std::move(row));
  }
  return out;
}

std::string year_orders_text(const std::vector<YearOrder>& orders, int width) {
  const auto columns = static_cast<std::size_t>(std::max(40, width));
  const std::vector<YearPacks> packs = packs_by_year(orders);
  const auto line = [&](const YearPacks& row, std::int64_t count) {
    return wrapped(std::to_string(count) + " x " + row.supplier + " " + row.part_number + " (" + row.contents + ")", 2, columns);
  };
  std::string out = "In the order of every year\n";
  const auto has_common = [](const YearPacks& row) { return row.common > 0; };
  if (std::ranges::none_of(packs, has_common)) out += "  nothing\n";
  for (const YearPacks& row : packs) {
    if (row.common > 0) out += line(row, row.common);
  }
  for (std::size_t year = 0; year < orders.size(); ++year) {
    const Plan& plan = orders[year].plan;
    out += "\n" + orders[year].year + ": " + plan.total.to_text() + " in all (goods " + plan.goods.to_text() + ", shipping " + plan.shipping.to_text() + "), " +
           status_word(plan) + "\n";
    const auto is_beyond = [&](const YearPacks& row) { return row.beyond[year] > 0; };
    if (std::ranges::none_of(packs, is_beyond)) out += "  nothing beyond\n";
    for (const YearPacks& row : packs) {
      if (row.beyond[year] > 0) out += line(row, row.beyond[year]);
    }
    if (!plan.uncovered.empty()) out += wrapped("not covered: " + uncovered_words(plan), 2, columns);
  }
  return out;
}

std::string year_orders_csv(const std::vector<YearOrder>& orders) {
  std::string out = "supplier,part number,contents,common";
  for (const YearOrder& order : orders) out += "," + order.year;
  out += "\n";
  for (const YearPacks& row : packs_by_year(orders)) {
    append_csv_cell(out, row.supplier);
    out += ',';
    append_csv_cell(out, row.part_number);
    out += ',';
    append_csv_cell(out, row.contents);
    out += "," + std::to_string(row.common);
    for (const std::int64_t count : row.beyond) out += "," + std::to_string(row.common + count);
    out += "\n";
  }
  out += "total,,,";
  for (const YearOrder& order : orders) out += "," + order.plan.total.to_text();
  return out + "\n";
}

std::string year_orders_json(const std::vector<YearOrder>& orders) {
  JsonWriter json;
  json.begin_object().key("format").string("order-years/1").key("years").begin_array();
  for (const YearOrder& order : orders) {
    json.begin_object().key("year").string(order.year).key("status").string(word_of(order.plan.status)).key("total");
    write_figure(json, order.plan.total);
    json.key("bound");
    write_bound(json, order.plan.bound);
    write_quantities(json, "uncovered", order.plan.uncovered);
    json.end_object();
  }
  json.end_array().key("buy").begin_array();
  for (const YearPacks& row : packs_by_year(orders)) {
    json.begin_object().key("supplier").string(row.supplier).key("part_number").string(row.part_number).key("common").number(row.common);
    json.key("packs").begin_array();
    for (const std::int64_t count : row.beyond) json.number(row.common + count);
    json.end_array().end_object();
  }
  json.end_array();
  return json.end_object().take();
}

}  // namespace kitgap
