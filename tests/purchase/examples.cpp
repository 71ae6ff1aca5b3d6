#include <doctest/doctest.h>

#include "purchase/given.h"

namespace kitgap {
namespace {

// Each example is small enough to be checked by hand; the arithmetic stands above it.

// 46 clips: two bags of 25 cost 25; one bag and 21 singles cost 12.5 + 21.
TEST_CASE("order: whole bags are bought and the rest is spare") {
  CHECK(planned(R"({
    "needs": [{"item": "clip", "quantity": 46}],
    "suppliers": [{"name": "S1", "shipping_charge": 4}],
    "offers": [{"supplier": "S1", "part_number": "bag", "price": 12.5, "contents": [{"item": "clip", "quantity": 25}]},
               {"supplier": "S1", "part_number": "one", "price": 1, "contents": [{"item": "clip", "quantity": 1}]}]})") ==
        "S1 bag x2: 25 + 4 = 29; spare clip 4");
}

// 26 clips: a bag and a single cost 13.5, two bags 25.
TEST_CASE("order: a single piece beside the bag where that is less") {
  CHECK(planned(R"({
    "needs": [{"item": "clip", "quantity": 26}],
    "suppliers": [{"name": "S1", "shipping_charge": 4}],
    "offers": [{"supplier": "S1", "part_number": "bag", "price": 12.5, "contents": [{"item": "clip", "quantity": 25}]},
               {"supplier": "S1", "part_number": "one", "price": 1, "contents": [{"item": "clip", "quantity": 1}]}]})") ==
        "S1 bag x1, S1 one x1: 13.5 + 4 = 17.5");
}

// A present is worth the postage, and fills no order that has a least amount: 5 singles at 2 do.
TEST_CASE("order: what costs nothing is taken, where the order is large enough") {
  CHECK(planned(R"({
    "needs": [{"item": "clip", "quantity": 3}, {"item": "seal", "quantity": 1}],
    "suppliers": [{"name": "S1", "shipping_charge": 4, "minimum_order": 10, "free_shipping_from": 50}],
    "offers": [{"supplier": "S1", "part_number": "sample", "price": 0, "contents": [{"item": "seal", "quantity": 1}]},
               {"supplier": "S1", "part_number": "one", "price": 2, "contents": [{"item": "clip", "quantity": 1}]}]})") ==
        "S1 one x5, S1 sample x1: 10 + 4 = 14; spare clip 2");
}

// Panel 30 + seal 8 + clips 6 = 44; the kit of all three costs 40.
TEST_CASE("order: a kit against single pieces") {
  CHECK(planned(R"({
    "needs": [{"item": "panel", "quantity": 1}, {"item": "seal", "quantity": 1}, {"item": "clip", "quantity": 9}],
    "suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "K", "price": 40, "contents": [{"item": "panel", "quantity": 1},
                 {"item": "seal", "quantity": 1}, {"item": "clip", "quantity": 9}]},
               {"supplier": "S1", "part_number": "P", "price": 30, "contents": [{"item": "panel", "quantity": 1}]},
               {"supplier": "S1", "part_number": "L", "price": 8, "contents": [{"item": "seal", "quantity": 1}]},
               {"supplier": "S1", "part_number": "C", "price": 6, "contents": [{"item": "clip", "quantity": 10}]}]})") ==
        "S1 K x1: 40 + 0 = 40");
}

// S1: 18 + 5 = 23. With one more clip at 2 the goods reach 20 and nothing is paid for shipping: 20.
TEST_CASE("order: one piece more reaches free shipping") {
  CHECK(planned(R"({
    "needs": [{"item": "clip", "quantity": 9}],
    "suppliers": [{"name": "S1", "shipping_charge": 5, "free_shipping_from": 20}],
    "offers": [{"supplier": "S1", "part_number": "one", "price": 2, "contents": [{"item": "clip", "quantity": 1}]}]})") ==
        "S1 one x10: 20 + 0 = 20; spare clip 1");
}

// At the limit exactly shipping is free; a cent above it is not.
TEST_CASE("order: the free shipping limit counts as reached at its value") {
  const auto with_limit = [](const std::string& limit) {
    return planned(R"({"needs": [{"item": "clip", "quantity": 1}],
      "suppliers": [{"name": "S1", "shipping_charge": 5, "free_shipping_from": )" + limit + R"(}],
      "offers": [{"supplier": "S1", "part_number": "one", "price": 20.00001, "available": 1,
                  "contents": [{"item": "clip", "quantity": 1}]}]})");
  };
  CHECK(with_limit("20.00001") == "S1 one x1: 20.00001 + 0 = 20.00001");
  CHECK(with_limit("20.00002") == "S1 one x1: 20.00001 + 5 = 25.00001");
}

// S1 sells from 30 on: 15 pairs of 2 for 30. S2 asks 3 each and 4 for shipping: 10 x 3 + 4 = 34.
TEST_CASE("order: a minimum order is filled up when that is less") {
  const std::string text = R"({
    "needs": [{"item": "clip", "quantity": 10}],
    "suppliers": [{"name": "S1", "minimum_order": LIMIT}, {"name": "S2", "shipping_charge": 4}],
    "offers": [{"supplier": "S1", "part_number": "one", "price": 2, "contents": [{"item": "clip", "quantity": 1}]},
               {"supplier": "S2", "part_number": "one", "price": 3, "contents": [{"item": "clip", "quantity": 1}]}]})";
  const auto with_limit = [&](const std::string& limit) { return std::string(text).replace(text.find("LIMIT"), 5, limit); };
  CHECK(planned(with_limit("30")) == "S1 one x15: 30 + 0 = 30; spare clip 5");
  CHECK(planned(with_limit("36")) == "S2 one x10: 30 + 4 = 34");
}

// Mixed batches would cost 3 + 3 = 6; one batch costs 8 from A (two bags) or 10 from B.
TEST_CASE("order: pieces of one batch come from one purchase of one offer") {
  const std::string text = R"({
    "needs": [{"item": "fabric", "quantity": 2.5, "one_batch": BATCH}],
    "suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "A", "price": 4, "available": 3, "contents": [{"item": "fabric", "quantity": 1.5}]},
               {"supplier": "S1", "part_number": "B", "price": 2, "available": 1, "contents": [{"item": "fabric", "quantity": 1}]},
               {"supplier": "S1", "part_number": "C", "price": 10, "contents": [{"item": "fabric", "quantity": 5}]}]})";
  const auto with_batch = [&](const std::string& word) { return std::string(text).replace(text.find("BATCH"), 5, word); };
  CHECK(planned(with_batch("false")) == "S1 A x1, S1 B x1: 6 + 0 = 6");
  CHECK(planned(with_batch("true")) == "S1 A x2: 8 + 0 = 8; spare fabric 0.5");
}

TEST_CASE("order: offers of one batch word count as one batch") {
  CHECK(planned(R"({
    "needs": [{"item": "fabric", "quantity": 3, "one_batch": true}],
    "suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "A", "price": 4, "available": 1, "batch": "red 7", "contents": [{"item": "fabric", "quantity": 2}]},
               {"supplier": "S1", "part_number": "B", "price": 2, "available": 1, "batch": "red 7", "contents": [{"item": "fabric", "quantity": 1}]},
               {"supplier": "S1", "part_number": "C", "price": 1, "available": 2, "contents": [{"item": "fabric", "quantity": 1}]}]})") ==
        "S1 A x1, S1 B x1: 6 + 0 = 6");
}

// Each car alone: 13 clips, two bags of 10 for 20, twice: 40. Pooled 26 clips: three bags, 30.
// Cloth and binding apart are 10 + 4; of one batch only the kit has both at S1 (17), and S2's lot of both costs 16 + 2.
TEST_CASE("order: parts of one lot come from one batch together") {
  const auto lot = [](const std::string& of_binding, const std::string& kit) {
    return planned(R"({"needs": [{"item": "cloth", "quantity": 2, "lot": "grey"}, {"item": "binding", "quantity": 1)" + of_binding + R"(}],
      "suppliers": [{"name": "S1"}, {"name": "S2", "shipping_charge": 2}],
      "offers": [
        {"supplier": "S1", "part_number": "C", "price": 5, "contents": [{"item": "cloth", "quantity": 1}]},
        {"supplier": "S1", "part_number": "B", "price": 4, "contents": [{"item": "binding", "quantity": 1}]},)" + kit + R"(
        {"supplier": "S2", "part_number": "C2", "price": 6, "batch": "lot 7", "contents": [{"item": "cloth", "quantity": 1}]},
        {"supplier": "S2", "part_number": "B2", "price": 4, "batch": "lot 7", "contents": [{"item": "binding", "quantity": 1}]}]})");
  };
  const std::string kit = R"({"supplier": "S1", "part_number": "K", "price": 17, "contents": [{"item": "cloth", "quantity": 2}, {"item": "binding", "quantity": 1}]},)";
  CHECK(lot("", kit) == "S1 B x1, S1 C x2: 14 + 0 = 14");
  CHECK(lot(R"(, "lot": "grey")", kit) == "S1 K x1: 17 + 0 = 17");
  CHECK(lot(R"(, "lot": "grey")", "") == "S2 B2 x1, S2 C2 x2: 16 + 2 = 18");
}

TEST_CASE("order: two cars share a bag") {
  const std::string rest = R"("suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "bag", "price": 10, "contents": [{"item": "clip", "quantity": 10}]}]})";
  CHECK(planned(R"({"needs": [{"item": "clip", "quantity": 13}],)" + rest) == "S1 bag x2: 20 + 0 = 20; spare clip 7");
  CHECK(planned(R"({"needs": [{"item": "clip", "quantity": 13}, {"item": "clip", "quantity": 13}],)" + rest) ==
        "S1 bag x3: 30 + 0 = 30; spare clip 4");
}

// 4 clips by day 5 come only from the dear one; the other 6 may wait.
TEST_CASE("order: what a step needs early is bought where it comes early") {
  const std::string text = R"({
    "needs": [{"item": "clip", "quantity": 4, "needed_by_days": 5}, {"item": "clip", "quantity": 6}],
    "suppliers": [{"name": "S1", "lead_time_days": 30}, {"name": "S2", "lead_time_days": 3}],
    "offers": [{"supplier": "S1", "part_number": "slow", "price": 1, "contents": [{"item": "clip", "quantity": 1}]},
               {"supplier": "S2", "part_number": "fast", "price": 2, "contents": [{"item": "clip", "quantity": 1}]}]})";
  CHECK(planned(text) == "S1 slow x6, S2 fast x4: 14 + 0 = 14");
}

TEST_CASE("order: at least so many packs or none") {
  CHECK(planned(R"({
    "needs": [{"item": "clip", "quantity": 2}],
    "suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "few", "price": 5, "contents": [{"item": "clip", "quantity": 1}]},
               {"supplier": "S1", "part_number": "many", "price": 2, "minimum_packs": 4, "contents": [{"item": "clip", "quantity": 1}]}]})") ==
        "S1 many x4: 8 + 0 = 8; spare clip 2");
}

// 10 of a currency at 1.1 are 11, and its shipping of 2 is 2.2.
TEST_CASE("order: another currency counts at its stated rate") {
  CHECK(planned(R"({
    "rates": {"XA": 1.1},
    "needs": [{"item": "seal", "quantity": 1}],
    "suppliers": [{"name": "S1", "shipping_charge": 2, "currency": "XA"}],
    "offers": [{"supplier": "S1", "part_number": "L", "price": 10, "contents": [{"item": "seal", "quantity": 1}]}]})") ==
        "S1 L x1: 11 + 2.2 = 13.2");
}

TEST_CASE("order: a need that nothing covers is named and the rest is planned") {
  const std::string rest = R"("suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "L", "price": 10, "available": 2, "contents": [{"item": "seal", "quantity": 1}]}]})";
  CHECK(planned(R"({"needs": [{"item": "seal", "quantity": 5}, {"item": "horn", "quantity": 1}],)" + rest) ==
        "S1 L x2: 20 + 0 = 20; uncovered horn 1; uncovered seal 3");
  const PurchaseProblem nothing = given(R"({"needs": [{"item": "horn", "quantity": 1}],)" + rest);
  CHECK(plan_purchase(nothing).status == PlanStatus::NothingCovers);
  const PurchaseProblem none = given(R"({"needs": [],)" + rest);
  CHECK(plan_purchase(none).status == PlanStatus::Optimal);
}

// Both seals cost 20, the horn 7. A budget of 26.99 leaves one piece out, the dearer; one of 12 pays for one
// piece; one supplier brings two pieces at best.
TEST_CASE("order: constraints that conflict are named, as few as possible, and the rest is planned") {
  const std::string text = R"({WISH
    "needs": [{"item": "seal", "quantity": 2}, {"item": "horn", "quantity": 1}],
    "suppliers": [{"name": "S1"}, {"name": "S2"}],
    "offers": [{"supplier": "S1", "part_number": "L", "price": 10, "contents": [{"item": "seal", "quantity": 1}]},
               {"supplier": "S2", "part_number": "H", "price": 7, "contents": [{"item": "horn", "quantity": 1}]}]})";
  const auto with = [&](const std::string& wish) { return planned(std::string(text).replace(text.find("WISH"), 4, wish)); };
  CHECK(with("") == "S1 L x2, S2 H x1: 27 + 0 = 27");
  CHECK(with(R"("budget": 27,)") == "S1 L x2, S2 H x1: 27 + 0 = 27");
  CHECK(with(R"("budget": 26.99,)") == "S1 L x1, S2 H x1: 17 + 0 = 17; uncovered seal 1; conflict budget 26.99");
  CHECK(with(R"("max_suppliers": 1,)") == "S1 L x2: 20 + 0 = 20; uncovered horn 1; conflict at most 1 supplier");
  CHECK(with(R"("max_suppliers": 1, "budget": 12,)") ==
        "S2 H x1: 7 + 0 = 7; uncovered seal 2; conflict budget 12");
  CHECK(with(R"("excluded_suppliers": ["S2"], "max_suppliers": 2,)") ==
        "S1 L x2: 20 + 0 = 20; uncovered horn 1; conflict without S2");
}

TEST_CASE("order: of two constraints of one kind the one that conflicts is named") {
  const std::string text = R"({"budget": 30,
    "needs": [{"item": "seal", "quantity": 1}, {"item": "horn", "quantity": 1}],
    "suppliers": [{"name": "S1", "minimum_order": MIN1}, {"name": "S2", "minimum_order": MIN2}],
    "offers": [{"supplier": "S1", "part_number": "L", "price": 10, "available": 2, "contents": [{"item": "seal", "quantity": 1}]},
               {"supplier": "S2", "part_number": "H", "price": 7, "contents": [{"item": "horn", "quantity": 1}]}]})";
  const auto with = [&](const std::string& first, const std::string& second) {
    std::string all = text;
    all.replace(all.find("MIN1"), 4, first);
    return planned(all.replace(all.find("MIN2"), 4, second));
  };
  CHECK(with("10", "7") == "S1 L x1, S2 H x1: 17 + 0 = 17");
  CHECK(with("10", "21") == "S1 L x1: 10 + 0 = 10; uncovered horn 1; conflict budget 30; conflict minimum order of S2");
  CHECK(with("11", "7") == "S1 L x2, S2 H x1: 27 + 0 = 27; spare seal 1");
  CHECK(with("21", "7") == "S2 H x1: 7 + 0 = 7; uncovered seal 1; conflict minimum order of S1");
}

TEST_CASE("order: equally cheap plans: fewer parcels, fewer spares, names, and preferred suppliers first") {
  const std::string text = R"({WISH
    "needs": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}],
    "suppliers": [{"name": "S1"}, {"name": "S2"}, {"name": "S3"}],
    "offers": [{"supplier": "S1", "part_number": "A", "price": 5, "contents": [{"item": "a", "quantity": 1}]},
               {"supplier": "S2", "part_number": "B", "price": 5, "contents": [{"item": "b", "quantity": 1}]},
               {"supplier": "S2", "part_number": "A", "price": 5, "contents": [{"item": "a", "quantity": 1}]},
               {"supplier": "S3", "part_number": "AA", "price": 5, "contents": [{"item": "a", "quantity": 2}]},
               {"supplier": "S3", "part_number": "B", "price": 5, "contents": [{"item": "b", "quantity": 1}]}]})";
  const auto with = [&](const std::string& wish) { return planned(std::string(text).replace(text.find("WISH"), 4, wish)); };
  CHECK(with("") == "S2 A x1, S2 B x1: 10 + 0 = 10");
  CHECK(with(R"("preferred_suppliers": ["S3"],)") == "S3 AA x1, S3 B x1: 10 + 0 = 10; spare a 1");
}

// One supplier only: the kit at S2 is 15 + 3 = 18.
TEST_CASE("order: next best choices and what constraints cost") {
  const PurchaseProblem problem = given(R"({"max_suppliers": 1,
    "needs": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}],
    "suppliers": [{"name": "S1", "shipping_charge": 2}, {"name": "S2", "shipping_charge": 3}],
    "offers": [{"supplier": "S1", "part_number": "A", "price": 4, "contents": [{"item": "a", "quantity": 1}]},
               {"supplier": "S1", "part_number": "B", "price": 20, "contents": [{"item": "b", "quantity": 1}]},
               {"supplier": "S2", "part_number": "A", "price": 8, "contents": [{"item": "a", "quantity": 1}]},
               {"supplier": "S2", "part_number": "B", "price": 8, "contents": [{"item": "b", "quantity": 1}]},
               {"supplier": "S2", "part_number": "AB", "price": 15, "contents": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}]}]})");
  PlanOptions options;
  options.explain = true;
  const Plan plan = plan_purchase(problem, options);
  CHECK(dump(problem, plan) == "S2 AB x1: 15 + 3 = 18");
  REQUIRE(plan.next_best.size() == 2);
  CHECK(plan.next_best[0].kind == NextBest::Kind::WithoutSupplier);
  CHECK(plan.next_best[0].extra == std::optional<Fraction>(8));  // S1: 4 + 20 + 2 = 26
  CHECK(plan.next_best[1].kind == NextBest::Kind::WithoutKit);
  CHECK(plan.next_best[1].extra == std::optional<Fraction>(1));  // S2: 8 + 8 + 3 = 19
  REQUIRE(plan.constraint_costs.size() == 1);
  CHECK(plan.constraint_costs[0].constraint == "at most 1 supplier");
  CHECK(plan.constraint_costs[0].cost == Fraction(1));  // free: S1 A 4 + 2, S2 B 8 + 3 = 17
}

// Need by need: a at S1 for 4 + 2; then b at S2 for 8 + 3: 17 in all. The kit: 12 + 3.
TEST_CASE("order: the plan beats a greedy shopper") {
  PurchaseProblem problem = given(R"({
    "needs": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}],
    "suppliers": [{"name": "S1", "shipping_charge": 2}, {"name": "S2", "shipping_charge": 3}],
    "offers": [{"supplier": "S1", "part_number": "A", "price": 4, "contents": [{"item": "a", "quantity": 1}]},
               {"supplier": "S2", "part_number": "B", "price": 8, "contents": [{"item": "b", "quantity": 1}]},
               {"supplier": "S2", "part_number": "AB", "price": 12, "contents": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}]}]})");
  PlanOptions options;
  options.explain = true;
  const Plan plan = plan_purchase(problem, options);
  CHECK(plan.total == Fraction(15));
  CHECK(plan.greedy_total == std::optional<Fraction>(17));
}

// There are two of P. For a the greedy shopper buys one; for the two b that are then missing one more P is too few: 2 Q.
TEST_CASE("order: a greedy shopper buys no more than there are") {
  const PurchaseProblem problem = given(R"({
    "needs": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 3}],
    "suppliers": [{"name": "S1"}],
    "offers": [{"supplier": "S1", "part_number": "P", "price": 1, "available": 2, "contents": [{"item": "a", "quantity": 1}, {"item": "b", "quantity": 1}]},
               {"supplier": "S1", "part_number": "Q", "price": 10, "contents": [{"item": "b", "quantity": 1}]}]})");
  PlanOptions options;
  options.explain = true;
  const Plan plan = plan_purchase(problem, options);
  CHECK(plan.total == Fraction(12));
  CHECK(plan.greedy_total == std::optional<Fraction>(21));
}

}  // namespace
}  // namespace kitgap
