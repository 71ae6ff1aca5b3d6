#include "pack/row_readers.h"
#include "text/codes.h"

namespace kitgap {
namespace {

const Words<SuppliedAs> kSuppliedAs = {{"complete", SuppliedAs::Complete}, {"bare", SuppliedAs::Bare},
                                       {"contents", SuppliedAs::Contents}, {"not stated", SuppliedAs::NotStated}};

std::optional<OfferId> offer_of(Cells& cells, Cells::Column supplier, Cells::Column number) {
  const auto found = cells.rules().offer_by_key.find(
      {cells.string(supplier), normalised_part_number(cells.text(number))});
  if (found != cells.rules().offer_by_key.end()) return found->second;
  std::vector<std::string> numbers;
  for (const OfferKey& key : cells.rules().offer_keys) {
    if (key.supplier == cells.text(supplier)) numbers.push_back(key.part_number);
  }
  cells.error(number, code::kUnknownOffer,
              "`" + cells.string(number) + "` is no offer of `" + cells.string(supplier) + "`",
              "a part number of an `offers` table", nearest(cells.text(number), numbers));
  return std::nullopt;
}

const Words<Remedy> kRemedies = {{"move over", Remedy::MoveOver}, {"cut", Remedy::Cut}, {"drill", Remedy::Drill},
                                 {"mark", Remedy::Mark}, {"buy", Remedy::Buy}};

}  // namespace

void read_suppliers(Cells& cells) {
  const auto supplier = cells.column("supplier"), shipping = cells.column("shipping"),
             free_from = cells.column("free shipping from"), minimum = cells.column("minimum order"),
             currency = cells.column("currency"), lead = cells.column("lead time days"), back = cells.column("return days");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto name = cells.filled(supplier, "supplier");
    if (!name) continue;
    cells.rules().suppliers.push_back({.supplier = std::string(*name),
                                       .shipping = cells.number(shipping).value_or(Fraction(0)),
                                       .free_shipping_from = cells.number(free_from),
                                       .minimum_order = cells.number(minimum),
                                       .currency = cells.string(currency),
                                       .lead_time_days = cells.number(lead),
                                       .return_days = cells.number(back),
                                       .condition = cells.condition(),
                                       .place = cells.place()});
  }
}

void read_offers(Cells& cells) {
  const auto supplier = cells.column("supplier"), number = cells.column("part number"), name = cells.column("name"),
             part = cells.column("part"), position = cells.column("position"), as = cells.column("supplied as"),
             outline = cells.column("outline"), openings = cells.column("openings"), holes = cells.column("holes"),
             hardware = cells.column("hardware"), pieces = cells.column("stated pieces"),
             pack = cells.column("pack size"), price = cells.column("price"), currency = cells.column("currency"),
             minimum = cells.column("minimum"), lead = cells.column("lead time days"),
             returnable = cells.column("returnable"), back = cells.column("return days"), state = cells.column("state");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto found = cells.rules().offer_by_key.find(
        {cells.string(supplier), normalised_part_number(cells.text(number))});
    if (found == cells.rules().offer_by_key.end()) continue;  // reported when the keys were declared
    OfferRow typed;
    typed.offer = found->second;
    typed.name = cells.string(name);
    typed.part = cells.part(part);
    if (!typed.part && !cells.is_empty(part)) continue;
    typed.position = cells.stated_place(position);
    typed.supplied_as = cells.word<SuppliedAs>(as, kSuppliedAs, SuppliedAs::NotStated);
    typed.promises = {cells.yes_no(outline), cells.yes_no(openings), cells.yes_no(holes), cells.yes_no(hardware)};
    typed.stated_pieces = cells.number(pieces);
    typed.pack_size = cells.number(pack).value_or(Fraction(1));
    if (typed.pack_size.is_zero()) cells.error(pack, code::kInvalidCell, "a pack of nothing", "a pack size above zero");
    typed.price = cells.number(price);
    typed.currency = cells.string(currency);
    typed.minimum = cells.number(minimum).value_or(Fraction(1));
    typed.lead_time_days = cells.number(lead);
    typed.returnable = cells.yes_no(returnable);
    typed.return_days = cells.number(back);
    typed.state = cells.word<std::string>(state, {{"new", "new"}, {"used", "used"}, {"remade", "remade"}}, "");
    typed.condition = cells.condition();
    typed.place = cells.place();
    cells.rules().offers.push_back(std::move(typed));
  }
}

void read_contents(Cells& cells) {
  const auto supplier = cells.column("supplier"), number = cells.column("part number"), part = cells.column("part"),
             inner = cells.column("inner number"), position = cells.column("position"), quantity = cells.column("quantity");
  const std::vector<Unit> units = units_of_parts(cells.rules());
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto offer = offer_of(cells, supplier, number);
    ContentsRow typed;
    typed.part = cells.part(part);
    if (!cells.is_empty(inner)) typed.inner = offer_of(cells, supplier, inner);
    typed.position = cells.stated_place(position);
    if (cells.is_empty(part) == cells.is_empty(inner)) {
      cells.error(part, code::kMissingCell, "a row of contents names a part or an inner number, and only one of them",
                  "one of `part` and `inner number`");
      continue;
    }
    if (!cells.filled(quantity, "quantity") || !offer || (!typed.part && !typed.inner)) continue;
    const FigureId figure = cells.figure(quantity, typed.part ? unit_of(*typed.part, units) : Unit::Each, {});
    const Quantity& read = cells.rules().figures[figure.index].quantity;
    if (!read.constant) {
      cells.error(quantity, code::kInvalidCell, "`" + cells.string(quantity) + "` depends on the car", "a plain figure");
      continue;
    }
    typed.offer = *offer;
    typed.quantity = *read.constant;
    typed.condition = cells.condition();
    typed.place = cells.place();
    cells.rules().contents.push_back(std::move(typed));
  }
}

void read_supplied_without(Cells& cells) {
  const auto supplier = cells.column("supplier"), number = cells.column("part number"), assembly = cells.column("assembly"),
             sub_part = cells.column("sub-part"), remedy = cells.column("remedy"), minutes = cells.column("minutes");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    SuppliedWithoutRow typed;
    typed.supplier = cells.string(supplier);
    if (cells.is_empty(number) == cells.is_empty(assembly)) {
      cells.error(sub_part, code::kMissingCell, "the row names neither or both of `part number` and `assembly`",
                  "one of them: this very offer, or any such assembly");
      continue;
    }
    if (!cells.is_empty(number)) typed.offer = offer_of(cells, supplier, number);
    typed.assembly = cells.part(assembly);
    const auto sub = cells.filled(sub_part, "sub-part") ? cells.part(sub_part) : std::nullopt;
    if (!sub || (!typed.offer && !typed.assembly)) continue;
    typed.sub_part = *sub;
    typed.remedy = cells.word<Remedy>(remedy, kRemedies, Remedy::None);
    typed.minutes = cells.number(minutes);
    typed.condition = cells.condition();
    typed.place = cells.place();
    cells.rules().supplied_without.push_back(std::move(typed));
  }
}

void declare_offers(Cells& cells) {
  const auto supplier = cells.column("supplier"), number = cells.column("part number");
  for (std::size_t row = 0; row < cells.row_count(); ++row) {
    cells.go_to(row);
    const auto name = cells.filled(supplier, "supplier");
    const auto typed = cells.filled(number, "part number");
    if (!name || !typed) continue;
    Rules& rules = cells.rules();
    const auto [entry, is_new] = rules.offer_by_key.try_emplace({std::string(*name), normalised_part_number(*typed)},
                                                                OfferId{static_cast<std::uint32_t>(rules.offer_keys.size())});
    if (is_new) rules.offer_keys.push_back({.supplier = std::string(*name), .part_number = std::string(*typed)});
  }
}

}  // namespace kitgap
