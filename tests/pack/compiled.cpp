#include <doctest/doctest.h>
#include <re2/re2.h>

#include <fstream>
#include <random>
#include <thread>

#include "pack/compiled_packs.h"
#include "support/folder.h"

using namespace kitgap;

namespace {

constexpr std::string_view kManifest = R"json({"name": "small", "version": "2", "kitgap": {"format": 1, "facts": [
  {"name": "year", "type": "number", "range": "[1968..1972]", "ask": "Which year?", "look_at": "the plate"},
  {"name": "first year", "type": "number"},
  {"name": "body", "type": "text", "allowed": ["saloon", "estate"]},
  {"name": "maker's plate", "type": "text", "pattern": "[]A(]\\(?(?P<body>saloon|estate)-(?P<year>\\d{4})"},
  {"name": "lined", "type": "boolean"}],
  "positions": {"front": {"left": {}, "right": {}}, "boot": {}}}, "resources": [
  {"path": "parts.csv", "kitgap": {"kind": "parts"}, "schema": {"fields": [{"name": "thickness", "unit": "um"}, {"name": "thread", "unit": "text"}]}},
  {"path": "needs.csv", "kitgap": {"kind": "needs"}}, {"path": "limits.csv", "kitgap": {"kind": "limits"}},
  {"path": "consumes.csv", "kitgap": {"kind": "consumes"}}, {"path": "offers.csv", "kitgap": {"kind": "offers"}},
  {"path": "facts.csv", "kitgap": {"kind": "facts"}}]})json";

// A pack that has one of everything that is not kept as it is.
class SmallPack {
 public:
  explicit SmallPack(const test::Folder& folder) : folder_(folder.path() / "small"), cache(folder.path() / "cache") {
    std::filesystem::create_directory(folder_);
    write("datapackage.json", kManifest);
    write("parts.csv", "part,kind,fits,thickness,thread,unit\nboard,assembly,,2 mm,,\nclip,,,,M5,\nfilm,consumable,,,,m2\n");
    write("needs.csv",
          "parent,at,part,quantity,year,body,when,source,note\ncar,front,board,1,,,,\"a \"\"quoted\"\" source\",noted\n"
          "board,,clip,if lined then 4 else 2 * 3,< first year,,,x,\nboard,front.left,clip,7,>= 1970,not(estate),year > first year + 1 or lined,x,\n");
    write("limits.csv", "part,property,test,severity,message\nfilm,thickness,\">= 100, 50.5\",error,thin\nclip,thread,\"not(\"\"M5\"\")\",note,thread\n");
    write("consumes.csv", "assembly,part,quantity,waste\nboard,film,width * height + 0.1,5 %\n");
    write("offers.csv", "supplier,part number,name,part,price\nS,K-1,film by the metre,film,2.50\n");
    write("facts.csv", "fact,value,body\nyear,\"1970, 1971\",estate\n");
  }
  void write(std::string_view name, std::string_view bytes) const { std::ofstream(folder_ / name, std::ios::binary) << bytes; }
  std::filesystem::path path_of_entry(std::string_view extension) const {
    for (const auto& entry : std::filesystem::directory_iterator(cache_folder())) {
      if (entry.path().extension() == extension) return entry.path();
    }
    return {};
  }
  std::filesystem::path cache_folder() const { return folder_.parent_path() / "cache"; }
  const std::filesystem::path& folder() const { return folder_; }

  struct Reading {
    Sources sources;
    Diagnostics diagnostics;
    std::optional<Rules> rules;
  };
  std::unique_ptr<Reading> read() const {
    auto reading = std::make_unique<Reading>();
    reading->rules = read_rules(std::array{folder_}, reading->sources, reading->diagnostics, cache);
    return reading;
  }
  bool is_kept() const {
    Sources sources;
    return CompiledPacks(cache, std::array{folder_}).find(sources).has_value();
  }

 private:
  std::filesystem::path folder_;

 public:
  Cache cache;
};

std::string text_of(const Span& span, const Sources& sources) {
  return std::string(sources.name(span.source)) + ":" + std::to_string(span.line) + ":" + std::to_string(span.column) + " " + span.cell;
}

// What the rules say, by the questions that the layers above ask.
std::string text_of(const Rules& rules, const Sources& sources) {
  std::string text = rules.packs[0].directory + " " + rules.packs[0].name + " " + rules.packs[0].version + " " + rules.packs[0].hash + "\n";
  for (const Fact& fact : rules.facts) text += fact.name + ": " + fact.ask + " " + fact.look_at + " " + ValueSet::all(fact.domain).to_unary_test() + "\n";
  for (const ValueSet& space : rules.fact_spaces) text += space.to_unary_test() + "\n";
  for (const FactPattern& pattern : rules.patterns) {
    text += pattern.text + " " + std::to_string(pattern.pattern->NumberOfCapturingGroups());
    for (const auto& [group, fact] : pattern.groups) text += " " + std::to_string(group) + " " + rules.facts[fact.index].name;
    text += std::string(re2::RE2::FullMatch("](saloon-1970", *pattern.pattern) ? " matches\n" : " does not match\n");
  }
  for (const std::string& path : rules.positions.paths()) {
    const PositionId id = *rules.positions.find(path);
    text += path + " " + std::to_string(id.index) + " " + std::to_string(rules.positions.leaves(id).size()) + "\n";
  }
  for (const TableInfo& table : rules.tables) {
    text += table.path + " " + table.file + "\n";
    for (std::size_t row = 0; row < table.table.row_count(); ++row) {
      for (std::size_t column = 0; column < table.table.column_count(); ++column) {
        text += "[" + std::string(table.table.cell(row, column)) + "]" + text_of(table.table.span(row, column), sources) + "\n";
      }
    }
  }
  // A car of 1971 with the first year 1969, about which nothing else is known.
  FactSets sets = rules.fact_spaces;
  sets[rules.find_fact("year")->index] = ValueSet::of(sets[0].domain(), FactValue(Fraction(1971)));
  const std::uint32_t first = rules.find_fact("first year")->index;
  sets[first] = ValueSet::of(sets[first].domain(), FactValue(Fraction(1969)));
  for (const Condition& condition : rules.conditions) {
    for (const Condition::Test& test : condition.tests) text += rules.facts[test.fact.index].name + " " + test.values.to_unary_test() + " " + text_of(test.span, sources) + "\n";
    for (const Condition::Residue& residue : condition.residues) text += std::to_string(residue.facts.size()) + " facts, " + text_of(residue.span, sources) + "\n";
    text += std::to_string(static_cast<int>(holds(condition, sets, rules.facts))) + "\n";
  }
  for (const Figure& figure : rules.figures) {
    const std::vector<Fraction> sizes{Fraction(2), Fraction(3), Fraction(10), Fraction(6)};
    const auto value_of = [](FactId) { return FactValue(false); };
    text += figure.quantity.constant ? figure.quantity.constant->to_text() : evaluate(figure.quantity, value_of, sizes).value.value_or(Fraction(-1)).to_text();
    text += " times " + figure.scale.to_text() + "\n";
  }
  for (const PartRow& part : rules.parts) {
    text += part.name + " " + std::to_string(rules.find_part(rules.part_keys[part.part.index])->index);
    for (const Property& property : part.properties) text += " " + property.name + " " + property.value.to_text() + property.unit + property.text;
    text += "\n";
  }
  for (const NeedRow& need : rules.needs) text += std::string(rules.source_of(need.place)) + std::string(rules.note_of(need.place)) + std::to_string(need.condition.index) + "\n";
  for (const LimitRow& limit : rules.limits) text += limit.property + " " + limit.values.to_unary_test() + " " + limit.message + "\n";
  for (const FactRow& row : rules.fact_rows) text += row.values.to_unary_test() + "\n";
  for (const auto& [key, offer] : rules.offer_by_key) text += key.first + " " + key.second + " " + rules.offer_keys[offer.index].part_number + "\n";
  for (const OfferRow& offer : rules.offers) text += offer.name + " " + offer.price->to_text() + "\n";
  return text;
}

}  // namespace

TEST_CASE("compiled packs: what is taken from the cache says what the tables say") {
  const test::Folder folder;
  const SmallPack pack(folder);
  CHECK(!pack.is_kept());
  const auto from_text = pack.read();
  REQUIRE(from_text->rules);
  CHECK(pack.is_kept());
  const auto from_cache = pack.read();
  REQUIRE(from_cache->rules);
  const std::string expected = text_of(*from_text->rules, from_text->sources);
  CHECK(text_of(*from_cache->rules, from_cache->sources) == expected);
  CHECK(expected.find(" matches") != std::string::npos);
  // After other files were read, as in a comparison of two packs.
  SmallPack::Reading later;
  later.sources.add("a list", "1\n");
  later.rules = read_rules(std::array{pack.folder()}, later.sources, later.diagnostics, pack.cache);
  REQUIRE(later.rules);
  CHECK(text_of(*later.rules, later.sources) == expected);
}

TEST_CASE("compiled packs: whatever changes in a file is seen, and what was before is found again") {
  const test::Folder folder;
  const SmallPack pack(folder);
  const auto name_of_offer = [&] {
    const auto reading = pack.read();
    return reading->rules ? reading->rules->offers[0].name : "refused";
  };
  const std::string offers = "supplier,part number,name,part,price\nS,K-1,film by the metre,film,2.50\n";
  CHECK(name_of_offer() == "film by the metre");
  pack.write("offers.csv", "supplier,part number,name,part,price\nS,K-1,film by the sheet,film,2.50\n");  // as long as before
  CHECK(!pack.is_kept());
  CHECK(name_of_offer() == "film by the sheet");
  pack.write("offers.csv", offers);
  CHECK(pack.is_kept());
  CHECK(name_of_offer() == "film by the metre");
  // A table more, and one less.
  std::string manifest(kManifest);
  manifest.replace(manifest.find(R"({"path": "facts.csv")"), 0, R"({"path": "more.csv", "kitgap": {"kind": "offers"}}, )");
  pack.write("more.csv", "supplier,part number,name,part\nS,K-2,more film,film\n");
  pack.write("datapackage.json", manifest);
  CHECK(pack.read()->rules->offers.size() == 2);
  CHECK(pack.read()->rules->offers.size() == 2);
  pack.write("datapackage.json", kManifest);
  CHECK(pack.read()->rules->offers.size() == 1);
  // What is wrong is never kept, and refused every time.
  pack.write("offers.csv", "supplier,part number,name,part,price\nS,K-1,film by the metre,flim,2.50\n");
  for (int time = 0; time < 2; ++time) {
    const auto reading = pack.read();
    CHECK(!reading->rules);
    CHECK(layout(reading->diagnostics, reading->sources).find("did you mean `film`?") != std::string::npos);
  }
  std::filesystem::remove(pack.folder() / "offers.csv");
  CHECK(name_of_offer() == "refused");
  pack.write("offers.csv", offers);
  CHECK(name_of_offer() == "film by the metre");
}

TEST_CASE("compiled packs: files that lie long enough are known by their stamps, and a change after that is seen") {
  const test::Folder folder;
  const SmallPack pack(folder);
  std::this_thread::sleep_for(std::chrono::milliseconds(2'100));
  CHECK(pack.read()->rules->offers[0].name == "film by the metre");
  CHECK(pack.is_kept());
  CHECK(pack.read()->rules->offers[0].name == "film by the metre");
  pack.write("offers.csv", "supplier,part number,name,part,price\nS,K-1,film by the sheet,film,2.50\n");
  CHECK(pack.read()->rules->offers[0].name == "film by the sheet");
}

TEST_CASE("compiled packs: a damaged entry is made again") {
  const test::Folder folder;
  const SmallPack pack(folder);
  const std::string expected = [&] {
    const auto reading = pack.read();
    return text_of(*reading->rules, reading->sources);
  }();
  std::mt19937 random(20261128);
  std::size_t unread = 0;
  for (int round = 0; round < 400; ++round) {
    CAPTURE(round);
    const std::filesystem::path entry = pack.path_of_entry(round % 4 == 0 ? ".packs" : ".rules");
    std::string bytes;
    {
      std::ifstream file(entry, std::ios::binary);
      bytes.assign(std::istreambuf_iterator<char>(file), {});
    }
    REQUIRE(!bytes.empty());
    if (round % 10 == 9) bytes.resize(random() % bytes.size());
    else bytes[random() % bytes.size()] ^= static_cast<char>(1 + random() % 255);
    std::ofstream(entry, std::ios::binary) << bytes;
    unread += !pack.is_kept();
    const auto reading = pack.read();
    REQUIRE(reading->rules);
    CHECK(text_of(*reading->rules, reading->sources) == expected);
    CHECK(pack.is_kept());
  }
  MESSAGE("seed 20261128: " << unread << " of 400 damages made the entry useless; the others lie in what fills it up");
  CHECK(unread > 300);
}

TEST_CASE("compiled packs: a job's own copy is read, not what the cache keeps of the folder") {
  const test::Folder folder;
  const SmallPack pack(folder);
  REQUIRE(pack.read()->rules);
  SmallPack::Reading reading;
  reading.sources.lay_in((pack.folder() / "offers.csv").string(), "supplier,part number,name,part,price\nS,K-1,as it was,film,2.50\n");
  reading.rules = read_rules(std::array{pack.folder()}, reading.sources, reading.diagnostics, pack.cache);
  REQUIRE(reading.rules);
  CHECK(reading.rules->offers[0].name == "as it was");
  CHECK(pack.read()->rules->offers[0].name == "film by the metre");
}

TEST_CASE("compiled packs: group names are taken out of a pattern, and nothing else") {
  const std::pair<std::string, std::string> kCases[] = {
      {"(?P<body>[a-z]+)-(?P<year>\\d+)", "([a-z]+)-(\\d+)"},
      {"\\(?P<a>", "\\(?P<a>"},
      {"[(?P<a>]+(?P<b>x)", "[(?P<a>]+(x)"},
      {"[](?P<a>]+(?P<b>x)", "[](?P<a>]+(x)"},
      {"[^](?P<a>]+(?P<b>x)", "[^](?P<a>]+(x)"},
      {"[[:alpha:](?P<a>]+(?P<b>x)", "[[:alpha:](?P<a>]+(x)"},
      {"[\\](?P<a>]+(?P<b>x)", "[\\](?P<a>]+(x)"},
      {"\\Q(?P<a>[\\E(?P<b>x)", "\\Q(?P<a>[\\E(x)"},
      {"(?:a|(?P<b>x)|(c))", "(?:a|(x)|(c))"},
      {"(?i)(?P<b>x)", "(?i)(x)"},
  };
  for (const auto& [pattern, expected] : kCases) {
    CAPTURE(pattern);
    CHECK(without_group_names(pattern) == expected);
    const re2::RE2 named(pattern), plain(expected);
    REQUIRE(named.ok());
    REQUIRE(plain.ok());
    CHECK(named.NumberOfCapturingGroups() == plain.NumberOfCapturingGroups());
  }
}
