#include "analyse/fixed_cells.h"

#include <doctest/doctest.h>

#include "condition/condition.h"
#include "text/csv.h"

using namespace kitgap;

TEST_CASE("fixed cells: only what people typed changes, quotes and other cells stay byte for byte") {
  const std::string bytes = "part,model year,note\r\nclip,1968-71,\"a, \xC3\xA9 b\"\r\nseal,\"1970 on\",\"x\"\r\nfoam,[1968..1971],\r\nfelt,19x,\r\n";
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_pack_table(sources.add("needs.csv", bytes), sources, diagnostics);
  REQUIRE(table.has_value());
  const std::vector<Fact> facts{{"model year", {FactType::Number, true, {}, Fraction(1966), Fraction(1974)}}};
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    Condition condition;
    static_cast<void>(add_cell(condition, FactId{0}, table->cell(row, 1), table->span(row, 1), facts, diagnostics));
  }
  const auto files = fixed_cells(diagnostics, sources);
  REQUIRE(files.size() == 1);
  CHECK(files[0].bytes ==
        "part,model year,note\r\nclip,[1968..1971],\"a, \xC3\xA9 b\"\r\nseal,\">= 1970\",\"x\"\r\nfoam,[1968..1971],\r\nfelt,19x,\r\n");
  REQUIRE(files[0].changes.size() == 2);
  CHECK(files[0].changes[0] == "needs.csv:2:6: 1968-71 becomes [1968..1971]");
}
