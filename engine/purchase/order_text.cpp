#include "purchase/order_text.h"

#include <algorithm>
#include <map>
#include <vector>

#include "text/file.h"

namespace kitgap {
namespace {

constexpr std::int64_t kLongLeadDays = 14;  // common practice, no source: order such things first

std::string padded_left(const std::string& text, std::size_t width) {
  const std::size_t has = display_width(text);
  return has < width ? std::string(width - has, ' ') + text : text;
}

class OrderText {
 public:
  OrderText(const PurchaseProblem& problem, const Plan& plan, int width, const OrderNotes& notes)
      : problem_(problem), plan_(plan), notes_(notes), width_(static_cast<std::size_t>(std::max(40, width))) {
    for (const PurchaseLine& line : plan.buy) lines_of_[offer(line).supplier].push_back(&line);
    for (auto& [supplier, lines] : lines_of_) {
      std::stable_sort(lines.begin(), lines.end(), [this](auto* a, auto* b) { return haste(*a) > haste(*b); });
    }
  }

  std::string run() {
    summary();
    if (!plan_.conflict.empty()) conflict();
    quantities("Not covered", plan_.uncovered);
    order_first();
    for (const auto& [supplier, lines] : lines_of_) block(supplier, lines);
    quantities("Left over", plan_.spare);
    covers();
    choices();
    costs();
    savings();
    return std::move(out_);
  }

 private:
  const PurchaseOffer& offer(const PurchaseLine& line) const { return problem_.offers[line.offer]; }

  std::optional<std::int64_t> lead_days(const PurchaseOffer& of) const {
    if (of.lead_time_days) return of.lead_time_days;
    for (const PurchaseSupplier& supplier : problem_.suppliers) {
      if (supplier.name == of.supplier) return supplier.lead_time_days;
    }
    return std::nullopt;
  }

  bool is_shop(const std::string& supplier) const {
    return std::any_of(problem_.suppliers.begin(), problem_.suppliers.end(),
                       [&](const PurchaseSupplier& of) { return of.name == supplier && of.is_shop; });
  }

  // What cannot be sent back comes first, then what takes longest.
  std::pair<bool, std::int64_t> haste(const PurchaseLine& line) const {
    return {!offer(line).returnable, lead_days(offer(line)).value_or(-1)};
  }

  // One sentence or row, broken at blanks, further lines indented.
  void say(const std::string& text, std::size_t indent = 0) {
    std::size_t column = 0;
    std::string line;
    std::string word;
    const auto flush = [&] {
      if (word.empty()) return;
      const std::size_t length = display_width(word);
      if (column > 0 && column + 1 + length > width_) {
        out_ += line + "\n";
        line = std::string(indent + 2, ' ');
        column = indent + 2;
      } else if (column > 0) {
        line += " ";
        ++column;
      } else {
        line = std::string(indent, ' ');
        column = indent;
      }
      line += word;
      column += length;
      word.clear();
    };
    for (const char c : printable(text)) {
      if (c == ' ') {
        flush();
      } else {
        word += c;
      }
    }
    flush();
    out_ += line + "\n";
  }

  void summary() {
    if (plan_.buy.empty()) {
      say(plan_.status == PlanStatus::NothingCovers ? "Nothing to buy: no offer covers any need." : "Nothing to buy.");
    } else {
      const auto parcels = static_cast<std::size_t>(std::count_if(lines_of_.begin(), lines_of_.end(), [this](const auto& of) { return is_shop(of.first); }));
      const std::string currency = notes_.currency.empty() ? "" : " " + notes_.currency;
      say("To buy: " + plan_.total.to_text() + currency + " in all (goods " + plan_.goods.to_text() + ", shipping " +
          plan_.shipping.to_text() + "), " + std::to_string(parcels) + (parcels == 1 ? " parcel." : " parcels."));
    }
    if (!notes_.rates.empty()) {
      std::string words;
      for (const std::string& rate : notes_.rates) words += (words.empty() ? "" : ", ") + rate;
      say("All amounts are brought together at the stated rates: " + words + ".");
    }
    if (plan_.status == PlanStatus::Optimal) say("Proven in exact arithmetic: nothing cheaper covers as much.");
    if (plan_.status == PlanStatus::Feasible) {
      say("Stopped before it was proven: nothing below " + bound_text() + " covers as much.");
    }
    if (plan_.greedy_total && *plan_.greedy_total > plan_.total) {
      say("Buying one need after the other, each where it is cheapest then, comes to " + plan_.greedy_total->to_text() +
          ": " + (*plan_.greedy_total - plan_.total).to_text() + " more.");
    }
  }

  // Rounded down, so that it stays true.
  std::string bound_text() const {
    constexpr std::int64_t kPlaces = 100;
    return ((plan_.bound * Fraction(kPlaces)).floor() / Fraction(kPlaces)).to_text();
  }

  void conflict() {
    std::string words;
    for (const std::string& constraint : plan_.conflict) words += (words.empty() ? "" : ", ") + constraint;
    say("Cannot hold together with all needs: " + words + ". The rest is planned.");
  }

  void quantities(const std::string& title, const std::vector<ItemQuantity>& quantities) {
    if (quantities.empty()) return;
    out_ += "\n" + title + "\n";
    for (const ItemQuantity& quantity : quantities) say(quantity_in_words(notes_, quantity), 2);
  }

  void order_first() {
    bool any = false;
    for (const auto& [supplier, lines] : lines_of_) {
      for (const PurchaseLine* line : lines) {
        const auto days = lead_days(offer(*line));
        const bool is_long = days && *days >= kLongLeadDays;
        if (offer(*line).returnable && !is_long) continue;
        if (!any) out_ += "\nSettle and order first\n";
        any = true;
        say(supplier + " " + offer(*line).part_number + ":" + (offer(*line).returnable ? "" : " cannot be sent back") +
                (!offer(*line).returnable && days ? "," : "") + (days ? " takes " + std::to_string(*days) + " days" : ""),
            2);
      }
    }
  }

  void block(const std::string& name, const std::vector<const PurchaseLine*>& lines) {
    out_ += "\n";
    say(name);
    std::size_t packs_width = 1;
    std::size_t cost_width = 1;
    Fraction goods;
    for (const PurchaseLine* line : lines) {
      packs_width = std::max(packs_width, std::to_string(line->packs).size());
      cost_width = std::max(cost_width, line->cost.to_text().size());
      goods += line->cost;
    }
    for (const PurchaseLine* line : lines) {
      const PurchaseOffer& of = offer(*line);
      out_ += "  " + padded_left(std::to_string(line->packs), packs_width) + " x " + printable(of.part_number) + "  " +
              of.price.to_text() + " each  " + padded_left(line->cost.to_text(), cost_width) + "\n";
      say((of.contents.size() == 1 ? "holds " : "kit of ") + contents_of(of), packs_width + 5);
      if (!of.says.empty()) say(of.says, packs_width + 5);
    }
    say("goods " + goods.to_text() + ", " + shipping_of(name, goods), 2);
  }

  std::string shipping_of(const std::string& name, const Fraction& goods) const {
    for (const PurchaseSupplier& supplier : problem_.suppliers) {
      if (supplier.name != name) continue;
      const bool is_free = supplier.free_shipping_from && goods >= *supplier.free_shipping_from;
      const Fraction charge = is_free ? Fraction(0) : supplier.shipping_charge;
      return "shipping " + charge.to_text() + (is_free ? " (free from " + supplier.free_shipping_from->to_text() + ")" : "") +
             ": " + (goods + charge).to_text();
    }
    return {};
  }

  // Per item that is bought: which lines it is for, and why spares are among it.
  void covers() {
    std::map<std::string, Fraction> bought;
    for (const PurchaseLine& line : plan_.buy) {
      for (const PackContents& content : offer(line).contents) bought[content.item] += content.quantity * Fraction(line.packs);
    }
    std::map<std::string, Fraction> needed;
    for (const PurchaseNeed& need : problem_.needs) needed[need.item] += need.quantity;
    bool any = false;
    for (const OrderReason& reason : notes_.reasons) {
      const auto of_item = bought.find(reason.item);
      if (of_item == bought.end() || reason.places.empty()) continue;
      if (!any) out_ += "\nWhat it is for\n";
      any = true;
      say(reason.item + (has_several_cars() ? ", " + reason.car : "") + ": " + reason.lacking.to_text() + " lacking of " + reason.wanted.to_text() +
              (reason.from_old.sign() > 0 ? ", " + reason.from_old.to_text() + " from old parts" : "") + spare_words(reason, needed[reason.item]),
          2);
      std::string places;
      for (const OrderReason::Place& place : reason.places) places += (places.empty() ? "" : ", ") + place.line + " " + place.quantity.to_text();
      say(places, 6);
    }
  }

  bool has_several_cars() const {
    return std::any_of(notes_.reasons.begin(), notes_.reasons.end(), [this](const OrderReason& reason) { return reason.car != notes_.reasons.front().car; });
  }

  std::string spare_words(const OrderReason& reason, const Fraction& needed) const {
    Fraction lacking;
    for (const OrderReason& other : notes_.reasons) {
      if (other.item == reason.item) lacking += other.lacking;
    }
    if (!reason.break_rate || needed <= lacking) return {};
    return "; " + (needed - lacking).to_text() + " spare, as " + (*reason.break_rate * Fraction(100)).to_text() + " % break in fitting" +
           (reason.is_general_rate ? " (a general pack's rate)" : "");
  }

  void savings() {
    if (notes_.savings.empty()) return;
    out_ += "\nWhat an answer could save, at most\n";
    for (const AnswerSaving& saving : notes_.savings) {
      say(saving.question + (has_several_cars() ? " (" + saving.car + ")" : "") + ": " + (saving.exact ? "" : "no more than ") + saving.most.to_text(), 2);
    }
  }

  void choices() {
    if (plan_.next_best.empty()) return;
    out_ += "\nWhat else could be done, and what it costs more\n";
    for (const NextBest& choice : plan_.next_best) {
      std::string words = choice.kind == NextBest::Kind::OneParcelLess ? "at most " + choice.name + " parcels"
                                                                      : "without " + choice.name;
      if (choice.kind == NextBest::Kind::WithoutKit) words = "without the kit " + choice.name;
      say(words + ": " + (choice.extra ? (choice.exact ? "" : "at least ") + choice.extra->to_text() : "not all is covered"),
          2);
    }
  }

  void costs() {
    // A date that costs nothing is not told: each item has one.
    const auto is_told = [](const ConstraintCost& cost) { return cost.cost.sign() > 0 || !cost.constraint.ends_with("by its date"); };
    if (std::none_of(plan_.constraint_costs.begin(), plan_.constraint_costs.end(), is_told)) return;
    out_ += "\nWhat each wish or term costs\n";
    for (const ConstraintCost& cost : plan_.constraint_costs) {
      if (!is_told(cost)) continue;
      say(cost.constraint + ": " + (cost.exact ? "" : "at most ") + cost.cost.to_text(), 2);
    }
  }

  const PurchaseProblem& problem_;
  const Plan& plan_;
  const OrderNotes& notes_;
  std::size_t width_;
  std::map<std::string, std::vector<const PurchaseLine*>> lines_of_;  // per supplier
  std::string out_;
};

}  // namespace

std::string order_text(const PurchaseProblem& problem, const Plan& plan, int width, const OrderNotes& notes) {
  return OrderText(problem, plan, width, notes).run();
}

std::string quantity_in_words(const OrderNotes& notes, const ItemQuantity& quantity) {
  const auto reason = std::ranges::find(notes.reasons, quantity.item, &OrderReason::item);
  const std::string figure = quantity.quantity.to_text();
  if (reason == notes.reasons.end()) return figure + " " + quantity.item;
  std::string as_key = reason->part_name;
  std::ranges::replace(as_key, ' ', '-');
  const bool adds_nothing = quantity.item.starts_with(as_key);
  return figure + " " + (reason->unit.empty() ? "" : reason->unit + " ") + quantity.item + (adds_nothing ? "" : ": " + reason->part_name);
}

std::string contents_of(const PurchaseOffer& offer) {
  std::string text;
  for (const PackContents& content : offer.contents) {
    text += (text.empty() ? "" : ", ") + content.quantity.to_text() + " " + content.item;
  }
  return text;
}

}  // namespace kitgap
