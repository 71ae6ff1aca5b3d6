#pragma once

#include <memory>
#include <optional>
#include <vector>

#include "purchase/car_purchase.h"
#include "purchase/plan.h"
#include "session.h"

namespace kitgap {

// The cars that an order is for, each read as `check` reads it; earlier ones take from the common stock first.
struct OrderedCars {
  SharedSupplies shared;
  std::vector<std::unique_ptr<Session>> sessions;
  std::vector<Answer> answers;

  std::vector<CarOfOrder> cars() const;
  std::vector<const CoverModel*> covers() const;
};

// CAR [LIST] [CAR [LIST]]..., or the cars of a job. False, with everything said, when something is refused.
bool read_cars(const Arguments& arguments, OrderedCars& cars, Terminal& terminal);
// One car of which only some facts are known: `fact,value` lines of a car file.
bool read_car_of(const std::string& name, const std::string& csv, const Arguments& arguments, OrderedCars& cars, Terminal& terminal);

// `--rate`, `--confidence`, `--assume`, `--least`, `--today`, `--hour`; nothing, said, when one cannot be used.
std::optional<CarPurchaseOptions> purchase_options(const Arguments& arguments, Terminal& terminal);
// A number, zero or more, after an option; `right` is cleared, said, when it is none.
std::optional<Fraction> figure_of(const Arguments& arguments, std::string_view option, Terminal& terminal, bool& right);
// What was left out and why, on standard error.
void say_left_out(const CarPurchase& purchase, const CarPurchaseOptions& options, Terminal& terminal);

}  // namespace kitgap
