#pragma once

#include <map>
#include <memory>
#include <sstream>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cover/answer.h"
#include "need/found_read.h"
#include "support/folder.h"

// A car, its packs and its parts from a short text, one thing to a line, `_` for a blank inside a word:
//
//     fact year number 1968..1972      or `fact body text saloon estate`
//     part door-panel assembly         further columns as `column=value`: `fits=hand handed=yes`
//     need car door-panel front.left 1 year=[1968..1970]
//     offer S K-1 door-panel complete
//     contents S K-1 clip 4
//     without S K-1 clip move_over     or `without - door-panel clip buy`
//     layer                            what follows lies above
//     car year=1970
//     stock K-1 2 front.left           also `list`, `order`
//     found door-panel front.left clip 4 old_part good
//
// The car's positions are front, rear (left, right each) and boot.
namespace kitgap::test {

inline std::string spaced(std::string text) {
  for (char& letter : text) letter = letter == '_' ? ' ' : letter;
  return text;
}

inline std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",\"") == std::string::npos) return text;
  std::string quoted = "\"";
  for (const char letter : text) quoted += letter == '"' ? std::string("\"\"") : std::string(1, letter);
  return quoted + "\"";
}

using CsvRow = std::map<std::string, std::string>;

inline std::string csv_of(const std::vector<CsvRow>& rows) {
  std::map<std::string, bool> columns;
  for (const CsvRow& row : rows) {
    for (const auto& [column, value] : row) columns[column] = true;
  }
  std::string text;
  for (const auto& [column, used] : columns) text += (text.empty() ? "" : ",") + csv_cell(column);
  for (const CsvRow& row : rows) {
    std::string line;
    for (const auto& [column, used] : columns) {
      const auto cell = row.find(column);
      line += std::string(&column == &columns.begin()->first ? "" : ",") + (cell == row.end() ? "" : csv_cell(cell->second));
    }
    text += "\n" + line;
  }
  return text + "\n";
}

struct Bench {
  Folder folder;
  Sources sources;
  Diagnostics diagnostics;
  std::optional<Rules> rules;
  std::optional<Car> car;
  std::optional<Knowledge> knowledge;
  Found found;
  std::optional<NeedModel> needs;
  std::optional<Supplies> supplies;
  std::optional<CoverModel> cover;
  Answer answer;
  // Everything that was found wrong, the folder's own path left out.
  std::string wrong() const {
    std::string text = layout(diagnostics, sources);
    const std::string path = folder.path().string() + "/";
    for (auto at = text.find(path); at != std::string::npos; at = text.find(path)) text.erase(at, path.size());
    return text;
  }
};

class BenchText {
 public:
  explicit BenchText(std::string_view text) {
    std::istringstream lines{std::string(text)};
    for (std::string line; std::getline(lines, line);) read(line);
  }

  void write(Bench& bench) const {
    std::vector<std::filesystem::path> packs;
    for (std::size_t layer = 0; layer < layers_.size(); ++layer) packs.push_back(write_pack(bench.folder, layer));
    // Twice: what is right is taken from the cache then.
    const Cache cache(bench.folder.path() / "cache");
    Sources unread;
    Diagnostics unsaid;
    (void)read_rules(packs, unread, unsaid, cache);
    bench.rules = read_rules(packs, bench.sources, bench.diagnostics, cache);
    if (!bench.rules) return;
    bench.car = read_car(bench.folder.write("car.json", "{\"name\": \"bench\", \"facts\": {" + car_ + "}}"), *bench.rules, bench.sources, bench.diagnostics);
    if (bench.car) bench.knowledge = Knowledge::of(*bench.car, *bench.rules, bench.diagnostics);
    if (!bench.knowledge) return;
    const std::map<std::string, ListKind> kinds{{"list", ListKind::List}, {"stock", ListKind::Stock}, {"order", ListKind::Order}};
    std::vector<ReadList> lists;
    for (const auto& [name, rows] : files_) {
      const std::string path = bench.folder.write(name + ".csv", csv_of(rows));
      if (name == "found") {
        if (auto found = read_found(path, *bench.rules, bench.sources, bench.diagnostics)) bench.found = std::move(*found);
      } else if (auto list = read_list(path, kinds.at(name), {}, bench.sources, bench.diagnostics)) {
        lists.push_back(std::move(*list));
      }
    }
    bench.needs = NeedModel::of(*bench.knowledge, *bench.car, bench.found);
    bench.supplies = Supplies::of(*bench.needs, std::move(lists));
    bench.cover.emplace(*bench.needs, *bench.supplies);
    Problems problems(bench.diagnostics);
    bench.answer = answer_of(*bench.cover, problems);
  }

 private:
  using Layer = std::map<std::string, std::vector<CsvRow>>;

  void read(const std::string& line) {
    std::istringstream words(line);
    std::string kind;
    if (!(words >> kind)) return;
    if (kind == "layer") return void(layers_.emplace_back());
    std::vector<std::string> plain;
    CsvRow row;
    for (std::string word; words >> word;) {
      const auto equals = word.find('=');
      const bool is_column = equals != std::string::npos && equals > 0 && word[equals - 1] != '<' && word[equals - 1] != '>';
      if (is_column) row[spaced(word.substr(0, equals))] = spaced(word.substr(equals + 1));
      else plain.push_back(kind == "list" || kind == "stock" || kind == "order" ? word : spaced(word));
    }
    if (kind == "fact") return add_fact(plain);
    if (kind == "car") return add_car(row);
    static const std::map<std::string, std::pair<std::string, std::vector<std::string>>> kForms{
        {"value", {"facts", {"fact", "value"}}},
        {"part", {"parts", {"part", "kind"}}},
        {"need", {"needs", {"parent", "part", "at", "quantity"}}},
        {"offer", {"offers", {"supplier", "part number", "part", "supplied as"}}},
        {"contents", {"contents", {"supplier", "part number", "part", "quantity"}}},
        {"without", {"supplied-without", {"supplier", "part number", "sub-part", "remedy"}}},
        {"replaces", {"replaces", {"from", "to", "kind"}}},
        {"move", {"move-over", {"assembly", "sub-part", "takes"}}},
        {"list", {"", {"part number", "quantity", "position"}}},
        {"stock", {"", {"part number", "quantity", "position"}}},
        {"order", {"", {"part number", "quantity", "position"}}},
        {"found", {"", {"parent", "position", "part", "count", "counted in", "condition"}}},
    };
    const auto& [table, columns] = kForms.at(kind);
    for (std::size_t at = 0; at < plain.size() && at < columns.size(); ++at) {
      if (plain[at] != "-") row[columns[at]] = plain[at];
    }
    if (kind == "without" && !row.contains("supplier")) {
      row["assembly"] = row["part number"];
      row.erase("part number");
    }
    if (table.empty() && kind != "found") row.try_emplace("quantity");
    if (table.empty()) files_[kind].push_back(row);
    else layers_.back()[table].push_back(row);
  }

  void add_fact(const std::vector<std::string>& words) {
    std::string fact = "{\"name\": \"" + words[0] + "\", \"type\": \"" + words[1] + "\"";
    if (words[1] == "number") {
      fact += ", \"range\": \"[" + words[2] + "]\"";
    } else {
      std::string allowed;
      for (std::size_t at = 2; at < words.size(); ++at) allowed += (at > 2 ? ", \"" : "\"") + words[at] + "\"";
      fact += ", \"allowed\": [" + allowed + "]";
    }
    facts_ += (facts_.empty() ? "" : ", ") + fact + ", \"ask\": \"Which?\"}";
  }

  void add_car(const CsvRow& row) {
    for (const auto& [fact, value] : row) {
      const bool is_number = value.find_first_not_of("0123456789") == std::string::npos;
      car_ += (car_.empty() ? "\"" : ", \"") + fact + "\": " + (is_number ? value : "\"" + value + "\"");
    }
  }

  std::filesystem::path write_pack(const Folder& folder, std::size_t layer) const {
    const std::string name = "pack" + std::to_string(layer);
    std::filesystem::create_directory(folder.path() / name);
    std::string resources;
    for (const auto& [kind, rows] : layers_[layer]) {
      folder.write(name + "/" + kind + ".csv", csv_of(rows));
      resources += (resources.empty() ? "" : ", ") + std::string("{\"name\": \"") + kind + "\", \"path\": \"" + kind + ".csv\", \"kitgap\": {\"kind\": \"" + kind + "\"}}";
    }
    const std::string positions = R"({"front": {"left": {}, "right": {}}, "rear": {"left": {}, "right": {}}, "boot": {}})";
    folder.write(name + "/datapackage.json", "{\"name\": \"" + name + "\", \"kitgap\": {\"format\": 1, \"facts\": [" + (layer == 0 ? facts_ : "") +
                                                 "], \"positions\": " + positions + "}, \"resources\": [" + resources + "]}");
    return folder.path() / name;
  }

  std::vector<Layer> layers_{1};
  std::map<std::string, std::vector<CsvRow>> files_;
  std::string facts_;
  std::string car_;
};

inline std::unique_ptr<Bench> given(std::string_view text) {
  auto bench = std::make_unique<Bench>();
  BenchText(text).write(*bench);
  return bench;
}

inline std::string range_text(const Range& range) {
  return range.lo == range.hi ? range.lo.to_text() : range.lo.to_text() + ".." + range.hi.to_text();
}

// `front.left/car/door-panel need 1 have 0 gap 1 missing`, a line each; what is wrong instead, where it is.
inline std::string gaps(const Bench& bench, bool with_status = true) {
  if (bench.diagnostics.has_errors() || !bench.needs) return bench.wrong();
  std::string text;
  for (const LineAnswer& line : bench.answer.lines) {
    text += bench.needs->id_of(line.line) + " need " + range_text(line.need) + " have " + range_text(line.have) + " gap " + range_text(line.gap);
    if (with_status) text += " " + std::string(word_of(line.status));
    text += line.is_exact ? "\n" : " bounds\n";
  }
  return text;
}
inline std::string gaps(const std::unique_ptr<Bench>& bench, bool with_status = true) { return gaps(*bench, with_status); }

}  // namespace kitgap::test
