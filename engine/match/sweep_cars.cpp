#include "match/sweep_cars.h"

#include <algorithm>
#include <numeric>

#include "text/codes.h"

namespace kitgap {
namespace {

// Whole, with room for the places around it.
bool has_room(const Fraction& value) {
  const auto whole = value.to_integer();
  return whole && *whole > kFirstPlace / 2 && *whole < kLastPlace / 2;
}

struct NaturalKey {
  std::optional<Fraction> number;
  std::string text;
};

bool comes_before(const NaturalKey& a, const NaturalKey& b) {
  if (a.number && b.number && *a.number != *b.number) return *a.number < *b.number;
  if (a.number.has_value() != b.number.has_value()) return a.number.has_value();
  return a.text < b.text;
}

}  // namespace

std::optional<std::int64_t> plain_number(std::string_view text) {
  if (text.empty() || text.size() > 17 || (text[0] == '0' && text.size() > 1)) return std::nullopt;
  std::int64_t number = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return std::nullopt;
    number = number * 10 + (c - '0');
  }
  return number;
}

std::vector<std::uint32_t> natural_order(std::size_t count, const std::function<std::string(std::size_t)>& text) {
  std::vector<std::uint32_t> order(count);
  std::iota(order.begin(), order.end(), 0U);
  std::vector<NaturalKey> keys(count);
  for (std::size_t at = 0; at < count; ++at) {
    keys[at].text = text(at);
    const bool plain = !keys[at].text.empty() && keys[at].text.size() <= 60 &&
                       keys[at].text.find_first_not_of("+-.0123456789") == std::string::npos;
    if (plain) keys[at].number = parse_sweep_value(keys[at].text, SweepType::Number);
  }
  std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return comes_before(keys[a], keys[b]); });
  return order;
}

void CarFact::add(std::string_view text) {
  if (text.empty()) {
    values_.push_back(kUnknown);
    return;
  }
  if (is_plain_) {
    if (const auto number = plain_number(text)) {
      values_.push_back(*number);
      return;
    }
    make_texts();
  }
  values_.push_back(id_of(std::string(text)));
}

// A plain number is written in one way only, so that nothing is lost by keeping the number.
void CarFact::make_texts() {
  is_plain_ = false;
  for (std::int64_t& value : values_) {
    if (value != kUnknown) value = id_of(std::to_string(value));
  }
}

std::uint32_t CarFact::id_of(std::string text) {
  const auto [place, is_new] = ids_.emplace(std::move(text), static_cast<std::uint32_t>(texts_.size()));
  if (is_new) texts_.push_back(place->first);
  return place->second;
}

bool CarFact::all_unknown() const {
  return std::all_of(values_.begin(), values_.end(), [](std::int64_t value) { return value == kUnknown; });
}

bool CarFact::any_unknown() const { return std::ranges::find(values_, kUnknown) != values_.end(); }

SweepType CarFact::type() const {
  if (is_plain_) return SweepType::Number;
  for (const SweepType type : {SweepType::Number, SweepType::Date}) {
    const auto reads = [&](const std::string& text) { return parse_sweep_value(text, type).has_value(); };
    if (std::all_of(texts_.begin(), texts_.end(), reads)) return type;
  }
  return SweepType::Text;
}

bool CarFact::is_whole(SweepType type) const {
  return is_plain_ || std::all_of(texts_.begin(), texts_.end(), [&](const std::string& text) {
           const auto value = parse_sweep_value(text, type);
           return !value || has_room(*value);
         });
}

std::optional<Fraction> CarFact::value(std::size_t car, SweepType type) const {
  if (is_unknown(car)) return std::nullopt;
  if (is_plain_ && type == SweepType::Number) return Fraction(values_[car]);
  return parse_sweep_value(text(car), type);
}

std::string CarFact::text(std::size_t car) const {
  if (is_unknown(car)) return {};
  return is_plain_ ? std::to_string(values_[car]) : texts_[static_cast<std::size_t>(values_[car])];
}

std::vector<std::uint32_t> CarFact::natural_order() const {
  if (!is_plain_) return kitgap::natural_order(size(), [&](std::size_t car) { return text(car); });
  std::vector<std::uint32_t> order(size());
  std::iota(order.begin(), order.end(), 0U);
  const auto is_before = [&](std::uint32_t a, std::uint32_t b) { return values_[a] < values_[b]; };
  if (!std::is_sorted(order.begin(), order.end(), is_before)) std::stable_sort(order.begin(), order.end(), is_before);
  return order;
}

void CarFact::reorder(const std::vector<std::uint32_t>& order) {
  std::vector<std::int64_t> moved(order.size());
  for (std::size_t at = 0; at < order.size(); ++at) moved[at] = values_[order[at]];
  values_ = std::move(moved);
}

const CarFact* SweepCars::find(std::string_view name) const {
  const auto found = std::find_if(facts.begin(), facts.end(), [&](const CarFact& fact) { return fact.name() == name; });
  return found == facts.end() ? nullptr : &*found;
}

std::unique_ptr<SweepCars> read_sweep_cars(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics) {
  auto scan = CsvScan::open(path, sources, diagnostics);
  if (!scan) return nullptr;
  const auto id = scan->find_column("car_id");
  if (!id) {
    scan->report_at(0, 0, code::kMissingColumn, "there is no column `car_id`", "`car_id`, then a column per fact");
    return nullptr;
  }
  auto cars = std::make_unique<SweepCars>();
  for (std::size_t column = 0; column < scan->header().size(); ++column) {
    if (column != *id) cars->facts.emplace_back(scan->header()[column]);
  }
  std::string scratch;
  while (scan->next_row()) {
    std::size_t next = 0;
    for (std::size_t column = 0; column < scan->header().size(); ++column) {
      CarFact& fact = column == *id ? cars->ids : cars->facts[next++];
      const std::string_view raw = scan->raw(column);
      if (const auto digits = digits_of(raw); digits && fact.is_plain() && (raw[0] != '0' || raw.size() == 1)) {
        fact.add_number(*digits);
      } else {
        fact.add(scan->text(column, scratch).value_or(""));
      }
    }
  }
  if (scan->failed()) return nullptr;
  const auto order = cars->ids.natural_order();
  if (!std::is_sorted(order.begin(), order.end())) {
    cars->ids.reorder(order);
    for (CarFact& fact : cars->facts) fact.reorder(order);
  }
  return cars;
}

}  // namespace kitgap
