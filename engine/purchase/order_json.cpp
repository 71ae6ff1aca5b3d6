#include <array>
#include <string_view>

#include "purchase/order_file.h"
#include "purchase/plan_json.h"

namespace kitgap {
namespace {

constexpr std::array<std::string_view, 3> kChoiceWords = {"without kit", "without supplier", "fewer parcels"};
constexpr std::int64_t kBoundPlaces = 1'000'000;

void write_choices(JsonWriter& json, const Plan& plan) {
  json.key("next_best").begin_array();
  for (const NextBest& choice : plan.next_best) {
    json.begin_object().key("choice").string(kChoiceWords[static_cast<std::size_t>(choice.kind)]);
    json.key("name").string(choice.name).key("extra");
    if (choice.extra) {
      write_figure(json, *choice.extra);
    } else {
      json.null();
    }
    json.key("exact").boolean(choice.exact).end_object();
  }
  json.end_array().key("constraint_costs").begin_array();
  for (const ConstraintCost& cost : plan.constraint_costs) {
    json.begin_object().key("constraint").string(cost.constraint).key("cost");
    write_figure(json, cost.cost);
    json.key("exact").boolean(cost.exact).end_object();
  }
  json.end_array();
}

void write_notes(JsonWriter& json, const OrderNotes& notes) {
  if (!notes.currency.empty()) json.key("currency").string(notes.currency);
  if (notes.reasons.empty()) return;
  json.key("reasons").begin_array();
  for (const OrderReason& reason : notes.reasons) {
    json.begin_object().key("item").string(reason.item).key("car").string(reason.car).key("wanted");
    write_figure(json, reason.wanted);
    json.key("lacking");
    write_figure(json, reason.lacking);
    json.key("from_old");
    write_figure(json, reason.from_old);
    json.key("break_rate");
    if (reason.break_rate) write_figure(json, *reason.break_rate);
    else json.null();
    json.key("general_rate").boolean(reason.is_general_rate).key("lines").begin_array();
    for (const OrderReason::Place& place : reason.places) {
      json.begin_object().key("line").string(place.line).key("quantity");
      write_figure(json, place.quantity);
      json.end_object();
    }
    json.end_array().end_object();
  }
  json.end_array().key("answers").begin_array();
  for (const AnswerSaving& saving : notes.savings) {
    json.begin_object().key("question").string(saving.question).key("car").string(saving.car).key("saves_at_most");
    write_figure(json, saving.most);
    json.key("exact").boolean(saving.exact).end_object();
  }
  json.end_array();
}

}  // namespace

std::string_view word_of(PlanStatus status) {
  static constexpr std::array<std::string_view, 3> kWords = {"optimal", "feasible", "nothing covers"};
  return kWords[static_cast<std::size_t>(status)];
}

void write_figure(JsonWriter& json, const Fraction& figure) {
  if (const auto digits = figure.to_decimal()) json.number(*digits);
  else json.string(figure.to_text());
}

void write_bound(JsonWriter& json, const Fraction& bound) {
  write_figure(json, bound.to_decimal() ? bound : (bound * Fraction(kBoundPlaces)).floor() / Fraction(kBoundPlaces));
}

void write_quantities(JsonWriter& json, std::string_view key, const std::vector<ItemQuantity>& quantities) {
  json.key(key).begin_array();
  for (const ItemQuantity& quantity : quantities) {
    json.begin_object().key("item").string(quantity.item).key("quantity");
    write_figure(json, quantity.quantity);
    json.end_object();
  }
  json.end_array();
}

std::string order_json(const PurchaseProblem& problem, const Plan& plan, const OrderNotes& notes) {
  JsonWriter json;
  json.begin_object().key("format").string("order/1");
  json.key("status").string(word_of(plan.status));
  json.key("total");
  write_figure(json, plan.total);
  json.key("bound");
  write_bound(json, plan.bound);
  json.key("goods");
  write_figure(json, plan.goods);
  json.key("shipping");
  write_figure(json, plan.shipping);
  json.key("buy").begin_array();
  for (const PurchaseLine& line : plan.buy) {
    const PurchaseOffer& offer = problem.offers[line.offer];
    json.begin_object().key("id").string(line.id).key("supplier").string(offer.supplier);
    json.key("part_number").string(offer.part_number).key("packs").number(line.packs).key("cost");
    write_figure(json, line.cost);
    json.key("covers").begin_array();
    for (const PackContents& content : offer.contents) {
      json.begin_object().key("item").string(content.item).key("quantity");
      write_figure(json, content.quantity * Fraction(line.packs));
      json.end_object();
    }
    json.end_array().end_object();
  }
  json.end_array();
  write_quantities(json, "spare", plan.spare);
  write_quantities(json, "uncovered", plan.uncovered);
  json.key("conflict").begin_array();
  for (const std::string& constraint : plan.conflict) json.string(constraint);
  json.end_array();
  if (plan.greedy_total) {
    json.key("greedy_total");
    write_figure(json, *plan.greedy_total);
  }
  write_choices(json, plan);
  write_notes(json, notes);
  return json.end_object().take();
}

}  // namespace kitgap
