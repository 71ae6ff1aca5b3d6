#pragma once

#include <string>
#include <vector>

#include "purchase/car_purchase.h"
#include "purchase/plan.h"

namespace kitgap {

// The order for a car of one model year.
struct YearOrder {
  std::string year;
  CarPurchase purchase;
  Plan plan;
};

// Packs of one offer that the orders of all years hold, and what each year takes beyond.
struct YearPacks {
  std::string supplier;
  std::string part_number;
  std::string contents;
  std::int64_t common = 0;               // in every year's order
  std::vector<std::int64_t> beyond;      // by year
};
std::vector<YearPacks> packs_by_year(const std::vector<YearOrder>& orders);

// What is common to all years first, then what each takes beyond, with totals and what nothing covers.
std::string year_orders_text(const std::vector<YearOrder>& orders, int width);
std::string year_orders_csv(const std::vector<YearOrder>& orders);   // a row per offer, a column per year
std::string year_orders_json(const std::vector<YearOrder>& orders);  // `order-years/1`

}  // namespace kitgap
