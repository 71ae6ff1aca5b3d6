#include "report/report.h"
#include "report/years.h"
#include "text/csv.h"
#include "text/json.h"

namespace kitgap {
namespace {

void add_row(std::string& out, const std::vector<std::string>& cells) {
  for (std::size_t cell = 0; cell < cells.size(); ++cell) {
    if (cell != 0) out += ',';
    append_csv_cell(out, cells[cell]);
  }
  out += '\n';
}

class YearsJson {
 public:
  explicit YearsJson(const Years& years) : years_(years) {}

  std::string run() {
    json_.begin_object().key("format").string("years/1").key("packs").begin_array();
    for (const Years::Pack& pack : years_.packs) {
      json_.begin_object().key("name").string(pack.name).key("version").string(pack.version).key("hash").string(pack.hash).end_object();
    }
    json_.end_array().key("across").begin_array();
    for (const FactId fact : years_.across) json_.string(fact_name(fact));
    json_.end_array().key("held").begin_object();
    for (const auto& [fact, test] : years_.held) json_.key(fact).string(test);
    json_.end_object();
    rows("contradictions", years_.clashes);
    json_.key("lines").begin_array();
    for (const YearsLine& line : years_.lines) add_line(line);
    json_.end_array().key("orders").begin_array();
    for (const YearsOrder& order : years_.orders) add_order(order);
    json_.end_array().end_object();
    return json_.take();
  }

 private:
  const std::string& fact_name(FactId fact) const { return years_.rules->facts[fact.index].name; }

  JsonWriter& range(std::string_view key, const Range& range) {
    json_.key(key).begin_object().key("lo").number(range.lo.to_text()).key("hi").number(range.hi.to_text());
    return json_.end_object();
  }

  void facts(std::string_view key, const std::vector<ValueSet>& values) {
    json_.key(key).begin_object();
    for (std::size_t at = 0; at < values.size(); ++at) json_.key(fact_name(years_.across[at])).string(years_.test_of(at, values[at]));
    json_.end_object();
  }

  void rows(std::string_view key, const std::vector<YearsRow>& rows) {
    json_.key(key).begin_array();
    for (const YearsRow& row : rows) {
      json_.begin_object().key("pack").string(row.pack).key("file").string(row.file).key("line").number(std::int64_t{row.line});
      json_.key("says").string(row.says).key("source");
      if (row.source.empty()) json_.null();
      else json_.string(row.source);
      json_.end_object();
    }
    json_.end_array();
  }

  void add_line(const YearsLine& line) {
    json_.begin_object().key("id").string(line.id).key("part").string(line.part).key("name").string(line.part_name);
    json_.key("position").string(line.position).key("parent").string(line.parent).key("kind").string(word_of(line.kind));
    json_.key("unit").string(line.unit).key("exact").boolean(line.is_exact);
    if (line.same) range("same", *line.same);
    else json_.key("same").null();
    json_.key("cells").begin_array();
    for (const YearsCell& cell : line.cells) {
      json_.begin_object();
      facts("facts", cell.values);
      range("need", cell.need);
      json_.end_object();
    }
    json_.end_array().key("changes").begin_array();
    for (const YearsChange& change : line.changes) add_change(change);
    json_.end_array().key("hangs_on").begin_array();
    for (const std::string& fact : line.hangs_on) json_.string(fact);
    json_.end_array();
    rows("because", line.because);
    json_.end_object();
  }

  void add_change(const YearsChange& change) {
    const Fact& fact = years_.rules->facts[change.fact.index];
    json_.begin_object().key("fact").string(fact.name).key("at");
    const auto* number = std::get_if<Fraction>(&change.at);
    if (number != nullptr && fact.domain.type == FactType::Number && number->to_decimal()) json_.number(*number->to_decimal());
    else json_.string(text_of(change.at, fact.domain.type));
    facts("where", change.where);
    range("was", change.was);
    range("now", change.now);
    rows("because", change.because);
    rows("was_because", change.was_because);
    json_.key("follows").begin_array();
    for (const std::string& line : change.follows) json_.string(line);
    json_.end_array().key("mirrors");
    if (change.mirrors) json_.string(fact_name(*change.mirrors));
    else json_.null();
    json_.end_object();
  }

  void add_order(const YearsOrder& order) {
    json_.begin_object().key("part").string(order.part).key("name").string(order.part_name).key("place");
    if (order.place.empty()) json_.null();
    else json_.string(order.place);
    json_.key("unit").string(order.unit).key("exact").boolean(order.is_exact).key("same").boolean(order.is_same);
    json_.key("cells").begin_array();
    for (const YearsOrderCell& cell : order.cells) {
      json_.begin_object();
      facts("facts", cell.values);
      range("quantity", cell.quantity);
      json_.key("offers").begin_array();
      for (const YearsOffer& offer : cell.offers) add_offer(offer);
      json_.end_array().end_object();
    }
    json_.end_array().key("kits").begin_array();
    for (const std::string& kit : order.kits) json_.string(kit);
    json_.end_array().end_object();
  }

  void add_offer(const YearsOffer& offer) {
    json_.begin_object().key("supplier").string(offer.supplier).key("part_number").string(offer.part_number);
    json_.key("pack_size").number(offer.pack_size.to_text());
    range("packs", offer.packs);
    json_.key("price");
    if (offer.price) json_.number(offer.price->to_text());
    else json_.null();
    json_.key("currency");
    if (offer.currency.empty()) json_.null();
    else json_.string(offer.currency);
    json_.key("fit").string(offer.is_open ? "open" : "yes").end_object();
  }

  const Years& years_;
  JsonWriter json_;
};

}  // namespace

std::string years_json(const Years& years) { return YearsJson(years).run(); }

std::string years_csv(const Years& years) {
  std::string out;
  std::vector<std::string> header = {"what", "position", "parent", "part", "name", "unit"};
  for (const FactId fact : years.across) header.push_back(years.rules->facts[fact.index].name);
  for (const char* name : {"lo", "hi", "exact", "supplier", "part number", "pack size", "packs lo", "packs hi", "source"}) header.emplace_back(name);
  add_row(out, header);
  const auto add_values = [&](std::vector<std::string>& cells, const std::vector<ValueSet>& values) {
    for (std::size_t at = 0; at < values.size(); ++at) cells.push_back(years.test_of(at, values[at]));
  };
  for (const YearsLine& line : years.lines) {
    std::string source;
    for (const YearsRow& row : line.because) {
      if (!row.source.empty() && source.find(row.source) == std::string::npos) source += (source.empty() ? "" : "; ") + row.source;
    }
    for (const YearsCell& cell : line.cells) {
      std::vector<std::string> cells = {"need", line.position, line.parent, line.part, line.part_name, line.unit};
      add_values(cells, cell.values);
      cells.insert(cells.end(), {cell.need.lo.to_text(), cell.need.hi.to_text(), line.is_exact ? "yes" : "no", "", "", "", "", "", source});
      add_row(out, cells);
    }
  }
  for (const YearsOrder& order : years.orders) {
    for (const YearsOrderCell& cell : order.cells) {
      std::vector<std::string> cells = {"buy", order.place, "", order.part, order.part_name, order.unit};
      add_values(cells, cell.values);
      cells.insert(cells.end(), {cell.quantity.lo.to_text(), cell.quantity.hi.to_text(), order.is_exact ? "yes" : "no"});
      if (cell.offers.empty()) {
        cells.insert(cells.end(), {"", "", "", "", "", ""});
      } else {
        const YearsOffer& offer = cell.offers.front();
        cells.insert(cells.end(), {offer.supplier, offer.part_number, offer.pack_size.to_text(), offer.packs.lo.to_text(), offer.packs.hi.to_text(), ""});
      }
      add_row(out, cells);
    }
  }
  return out;
}

}  // namespace kitgap
