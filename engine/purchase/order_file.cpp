#include "purchase/order_file.h"

#include <algorithm>
#include <map>
#include <set>

#include "text/codes.h"

namespace kitgap {
namespace {

const std::vector<std::string> kWholeMembers = {"needs", "suppliers", "offers", "rates", "budget", "max_suppliers",
                                                "excluded_suppliers", "preferred_suppliers",
                                                "assume_unstated_lead_time"};
const std::vector<std::string> kNeedMembers = {"item", "quantity", "needed_by_days", "one_batch", "lot"};
const std::vector<std::string> kSupplierMembers = {"name", "shipping_charge", "free_shipping_from", "minimum_order",
                                                   "currency", "lead_time_days"};
const std::vector<std::string> kOfferMembers = {"supplier", "part_number", "price", "contents", "available",
                                                "minimum_packs", "lead_time_days", "batch", "returnable"};
const std::vector<std::string> kContentsMembers = {"item", "quantity"};
// Members that say something of a thing to people, and may stand anywhere.
const std::vector<std::string> kSayingMembers = {"name", "note", "notes", "source"};

constexpr std::int64_t kMostPacks = 1'000'000'000;  // far beyond any order; keeps sums within 127 bits

class PurchaseReader {
 public:
  PurchaseReader(SourceId source, Diagnostics& diagnostics) : source_(source), diagnostics_(diagnostics) {}

  PurchaseProblem read(const Json& whole) {
    if (!is_object(whole, "an object with `needs`, `suppliers` and `offers`", kWholeMembers, true)) return {};
    rates(whole);
    for (const Json& supplier : items(whole, "suppliers")) read_supplier(supplier);
    for (const Json& need : items(whole, "needs")) read_need(need);
    for (const Json& offer : items(whole, "offers")) read_offer(offer);
    problem_.budget = amount(whole, "budget", false);
    problem_.max_suppliers = count(whole, "max_suppliers");
    problem_.excluded_suppliers = supplier_names(whole, "excluded_suppliers");
    problem_.preferred_suppliers = supplier_names(whole, "preferred_suppliers");
    problem_.assume_unstated_lead_time = flag(whole, "assume_unstated_lead_time", false);
    return std::move(problem_);
  }

 private:
  void add(Severity severity, std::string_view code, const Json& at, std::string says, std::string expected,
           std::string suggestion = {}) {
    Diagnostic diagnostic;
    diagnostic.severity = severity;
    diagnostic.code = code;
    diagnostic.span = {source_, at.line, at.column, 1, {}};
    diagnostic.says = std::move(says);
    diagnostic.expected = std::move(expected);
    diagnostic.suggestion = std::move(suggestion);
    diagnostics_.add(std::move(diagnostic));
  }

  void refuse(const Json& at, std::string says, std::string expected) {
    add(Severity::Error, code::kInvalidMember, at, std::move(says), std::move(expected));
  }

  // A member that nobody knows is refused, so that no slip changes an order. Only beside the lists of the whole file
  // a word that is like none of ours may stand: files carry remarks of their own there.
  bool is_object(const Json& json, const std::string& expected, const std::vector<std::string>& known, bool is_whole = false) {
    if (!json.is_object()) {
      refuse(json, "this is no object", expected);
      return false;
    }
    for (const auto& [name, value] : json.members) {
      const auto is_in = [&](const std::vector<std::string>& names) { return std::find(names.begin(), names.end(), name) != names.end(); };
      if (is_in(known) || is_in(kSayingMembers)) continue;
      const std::string near = nearest(name, known);
      if (is_whole && near.empty()) continue;
      add(Severity::Error, code::kUnknownMember, value, "`" + name + "` is no member that is read here", one_of(known), near);
    }
    return true;
  }

  static std::string one_of(const std::vector<std::string>& known) {
    std::string words;
    for (const std::string& name : known) words += (words.empty() ? "`" : ", `") + name + "`";
    return words;
  }

  const Json* required(const Json& object, std::string_view name) {
    const Json* found = object.find(name);
    if (found && !found->is_null()) return found;
    add(Severity::Error, code::kMissingMember, object, "this object has no `" + std::string(name) + "`", "");
    return nullptr;
  }

  static const Json* optional(const Json& object, std::string_view name) {
    const Json* found = object.find(name);
    return found && !found->is_null() ? found : nullptr;
  }

  const std::vector<Json>& items(const Json& object, std::string_view name) {
    static const std::vector<Json> kNone;
    const Json* found = required(object, name);
    if (!found) return kNone;
    if (found->is_array()) return found->items;
    refuse(*found, "`" + std::string(name) + "` is no list", "a list");
    return kNone;
  }

  std::string text(const Json& object, std::string_view name, bool must) {
    const Json* found = must ? required(object, name) : optional(object, name);
    if (!found) return {};
    if (found->is_string() && !(must && found->text.empty())) return found->text;
    refuse(*found, "`" + std::string(name) + "` is no text", "a text that is not empty");
    return {};
  }

  bool flag(const Json& object, std::string_view name, bool otherwise) {
    const Json* found = optional(object, name);
    if (!found) return otherwise;
    if (found->kind == Json::Kind::Boolean) return found->boolean;
    refuse(*found, "`" + std::string(name) + "` is neither true nor false", "`true` or `false`");
    return otherwise;
  }

  std::optional<Fraction> amount(const Json& object, std::string_view name, bool must, bool above_zero = false) {
    const Json* found = must ? required(object, name) : optional(object, name);
    if (!found) return std::nullopt;
    try {
      const auto value = found->is_number() ? Fraction::parse(found->text) : std::nullopt;
      if (value && value->sign() >= (above_zero ? 1 : 0)) return value;
    } catch (const FigureOverflow&) {
    }
    const std::string shown = found->is_number() ? " " + found->text : "";
    refuse(*found, "`" + std::string(name) + "`" + shown + " cannot be used",
           above_zero ? "a number above zero" : "a number, zero or more");
    return std::nullopt;
  }

  std::optional<std::int64_t> count(const Json& object, std::string_view name) {
    const auto value = amount(object, name, false);
    if (!value) return std::nullopt;
    const auto whole = value->to_integer();
    if (whole && *whole <= kMostPacks) return whole;
    refuse(*object.find(name), "`" + std::string(name) + "` " + value->to_text() + " cannot be used",
           "a whole number up to 1000000000");
    return std::nullopt;
  }

  void rates(const Json& whole) {
    const Json* found = optional(whole, "rates");
    if (!found) return;
    if (!found->is_object()) return refuse(*found, "this is no object", "an object of currencies and what one unit is worth");
    for (const auto& [currency, value] : found->members) {
      if (const auto rate = amount(*found, currency, true, true)) rates_[currency] = *rate;
    }
  }

  void read_supplier(const Json& json) {
    if (!is_object(json, "an object with `name`", kSupplierMembers)) return;
    PurchaseSupplier supplier;
    supplier.name = text(json, "name", true);
    if (!supplier.name.empty() && rate_of_.count(supplier.name)) {
      add(Severity::Error, code::kDuplicateKey, json, "a second supplier is called `" + supplier.name + "`", "");
    }
    Fraction rate(1);
    if (const std::string currency = text(json, "currency", false); !currency.empty()) {
      const auto known = rates_.find(currency);
      if (known != rates_.end()) rate = known->second;
      if (known == rates_.end() && !rates_.empty()) {
        add(Severity::Error, code::kUnknownName, *json.find("currency"), "`rates` states no rate for `" + currency + "`",
            "a currency of `rates`");
      }
    }
    const auto money = [&](std::string_view name) {
      auto value = amount(json, name, false);
      return value ? std::optional<Fraction>(*value * rate) : std::nullopt;
    };
    supplier.shipping_charge = money("shipping_charge").value_or(Fraction(0));
    supplier.free_shipping_from = money("free_shipping_from");
    supplier.minimum_order = money("minimum_order");
    supplier.lead_time_days = count(json, "lead_time_days");
    rate_of_[supplier.name] = rate;
    names_.push_back(supplier.name);
    problem_.suppliers.push_back(std::move(supplier));
  }

  void read_need(const Json& json) {
    if (!is_object(json, "an object with `item` and `quantity`", kNeedMembers)) return;
    PurchaseNeed need;
    need.item = text(json, "item", true);
    need.quantity = amount(json, "quantity", true).value_or(Fraction(0));
    need.needed_by_days = count(json, "needed_by_days");
    need.lot = text(json, "lot", false);
    need.one_batch = flag(json, "one_batch", false) || !need.lot.empty();
    const auto [known, is_new] = lot_of_.try_emplace(need.item, need.lot);
    if (!is_new && known->second != need.lot) {
      refuse(json, "`" + need.item + "` is of lot `" + need.lot + "` here and of `" + known->second + "` above", "one `lot` for all needs of an item");
    }
    problem_.needs.push_back(std::move(need));
  }

  void read_offer(const Json& json) {
    if (!is_object(json, "an object with `supplier`, `part_number`, `price` and `contents`", kOfferMembers)) return;
    PurchaseOffer offer;
    offer.supplier = text(json, "supplier", true);
    offer.part_number = text(json, "part_number", true);
    const auto rate = rate_of_.find(offer.supplier);
    if (!offer.supplier.empty() && rate == rate_of_.end()) {
      add(Severity::Error, code::kUnknownName, *json.find("supplier"),
          "`" + offer.supplier + "` is no supplier of this file", "a `name` of `suppliers`",
          nearest(offer.supplier, names_));
    }
    const Fraction price = amount(json, "price", true).value_or(Fraction(0));
    offer.price = rate == rate_of_.end() ? price : price * rate->second;
    for (const Json& content : items(json, "contents")) {
      if (!is_object(content, "an object with `item` and `quantity`", kContentsMembers)) continue;
      PackContents contents{text(content, "item", true), amount(content, "quantity", true, true).value_or(Fraction(1))};
      offer.contents.push_back(std::move(contents));
    }
    offer.available = count(json, "available");
    offer.minimum_packs = count(json, "minimum_packs").value_or(1);
    offer.lead_time_days = count(json, "lead_time_days");
    offer.batch = text(json, "batch", false);
    offer.returnable = flag(json, "returnable", true);
    problem_.offers.push_back(std::move(offer));
  }

  std::vector<std::string> supplier_names(const Json& whole, std::string_view name) {
    std::vector<std::string> found;
    if (!optional(whole, name)) return found;
    for (const Json& json : items(whole, name)) {
      if (json.is_string() && rate_of_.count(json.text)) {
        found.push_back(json.text);
      } else {
        add(Severity::Error, code::kUnknownName, json, "`" + json.text + "` is no supplier of this file",
            "a `name` of `suppliers`", nearest(json.text, names_));
      }
    }
    return found;
  }

  SourceId source_;
  Diagnostics& diagnostics_;
  PurchaseProblem problem_;
  std::map<std::string, Fraction> rates_;
  std::map<std::string, Fraction> rate_of_;  // per supplier
  std::vector<std::string> names_;
  std::map<std::string, std::string> lot_of_;  // per item
};

}  // namespace

std::optional<PurchaseProblem> read_purchase(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  const auto json = parse_json(source, sources, diagnostics);
  if (!json) return std::nullopt;
  const std::size_t before = diagnostics.error_count();
  PurchaseProblem problem = PurchaseReader(source, diagnostics).read(*json);
  if (diagnostics.error_count() != before) return std::nullopt;
  return problem;
}

}  // namespace kitgap
