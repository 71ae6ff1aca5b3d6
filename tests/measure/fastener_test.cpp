#include "measure/fastener.h"

#include <doctest/doctest.h>

#include <filesystem>

using namespace kitgap;

namespace {

const FastenerTables& tables() {
  static const FastenerTables read = [] {
    Sources sources;
    Diagnostics diagnostics;
    auto all = read_fastener_tables(std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards", sources, diagnostics);
    REQUIRE_MESSAGE(all.has_value(), layout(diagnostics, sources));
    return std::move(*all);
  }();
  return read;
}

std::string found(std::string_view text) {
  const auto typed = parse_thread(text);
  return typed ? find_thread(tables(), *typed).says : "no thread";
}

std::size_t index_of(std::string_view text) {
  const ThreadFinding finding = find_thread(tables(), *parse_thread(text));
  REQUIRE(finding.kind == ThreadFinding::Kind::Known);
  return finding.candidates.front();
}

std::string near_to(std::string_view text) {
  std::string names;
  for (const NearMiss& miss : near_misses(tables(), index_of(text))) {
    names += (names.empty() ? "" : ", ") + tables().threads[miss.thread].name;
  }
  return names;
}

}  // namespace

TEST_CASE("fasteners: a thread reads however it is written") {
  struct Case {
    const char* typed;
    const char* says;
  };
  for (const Case& each :
       {Case{"M5", "M5"}, Case{"M5x0.8", "M5"}, Case{"m5 x 0,8", "M5"}, Case{"M5×0.8", "M5"}, Case{"M5x0.8-6g", "M5"},
        Case{"M8x1", "M8x1"}, Case{"10-32 UNF", "No.10-32 UNF"}, Case{"#10-32", "No.10-32 UNF"}, Case{"No. 10-32", "No.10-32 UNF"},
        Case{"7/16-20 UNF-2A", "7/16-20 UNF"}, Case{"7/16\" UNF", "7/16-20 UNF"}, Case{"1/4 NC", "1/4-20 UNC"}, Case{"2 BA", "2 BA"},
        Case{"2ba", "2 BA"}, Case{"1/2-13 UNC", "1/2-13 UNC"}}) {
    CAPTURE(each.typed);
    CHECK(found(each.typed) == each.says);
  }
  for (const char* typed : {"", "M", "M5x", "Mx0.8", "10", "7/16", "screw", "M5x0.8 zinc", "1/0-20", "99 UNF", "M5x0.8-6g6g6g", "UNF", "-", ",", ",5", "5,", "M,5"}) {
    CAPTURE(typed);
    CHECK(found(typed) == "no thread");
  }
}

TEST_CASE("fasteners: a pitch that the standard does not know is named") {
  CHECK(found("M5x0.9") == "the standard has no M5 with a pitch of 0.9 mm; it has M5 or M5x0.5");
  CHECK(found("M12x1.6") == "the standard has no M12 with a pitch of 1.6 mm; it has M12, M12x1.5, M12x1.25 or M12x1");
  CHECK(found("1/4-24") == "the standard has no 1/4 with 24 threads per inch; it has 1/4-20 UNC or 1/4-28 UNF");
  CHECK(found("M13") == "no table here has a thread of the size M13");
  CHECK(found("M5.5") == "the standard has no M5.5; it has M5.5x0.5");
}

// The pairs are those that published thread tables give by arithmetic; that they start by hand is common practice, no source.
TEST_CASE("fasteners: threads that start by hand in each other and strip") {
  CHECK(near_to("10-32 UNF") == "M4.5, M5, No.10-24 UNC, 2 BA");
  CHECK(near_to("M5") == "M5x0.5, No.8-32 UNC, No.10-32 UNF, 2 BA");
  CHECK(near_to("7/16-20") == "M12x1.25, 7/16-14 UNC");
  CHECK(near_to("1/4-28 UNF") == "1/4-20 UNC");
  for (std::size_t i = 0; i < tables().threads.size(); ++i) {
    for (const NearMiss& miss : near_misses(tables(), i)) {  // near is near both ways
      bool back = false;
      for (const NearMiss& other : near_misses(tables(), miss.thread)) back = back || other.thread == i;
      CHECK(back);
    }
  }
}

TEST_CASE("fasteners: a spanner never identifies a thread") {
  CHECK(says_of_spanner(tables(), 11).find("M7") != std::string::npos);
  for (const FlatsRow& row : tables().flats) {
    CHECK(says_of_spanner(tables(), row.across_flats_mm).ends_with("A spanner does not identify a thread: measure the diameter and count the pitch"));
  }
  CHECK(says_of_spanner(tables(), 99) ==
        "a spanner of 99 mm is in none of the tables here. A spanner does not identify a thread: measure the diameter and count the pitch");
  CHECK(threads_for_spanner(tables(), 13, Fraction::of(3, 10)).size() > threads_for_spanner(tables(), 13).size());
}

TEST_CASE("fasteners: belts get the clauses and the caution, never a verdict") {
  const BeltAdvice advice = belt_advice(tables());
  CHECK(advice.caution.find("licensed") != std::string::npos);
  CHECK(advice.clauses.size() >= 20);
  for (const RegulationRow& clause : advice.clauses) {
    CAPTURE(clause.topic);
    CHECK(!clause.source.empty());
    CHECK((clause.basis == "read" || clause.basis == "memory"));
  }
}

TEST_CASE("fasteners: a damaged table is reported with its cell") {
  const auto folder = std::filesystem::temp_directory_path() / "kitgap-damaged-standards";
  std::filesystem::remove_all(folder);
  std::filesystem::copy(std::filesystem::path(KITGAP_SOURCE_DIR) / "data/standards", folder);
  std::FILE* file = std::fopen((folder / "metric-threads.csv").c_str(), "w");
  std::fputs("thread,diameter_mm,series,note,source,basis\nM3,three,coarse,,x,read\n", file);
  std::fclose(file);
  Sources sources;
  Diagnostics diagnostics;
  CHECK_FALSE(read_fastener_tables(folder, sources, diagnostics));
  CHECK(diagnostics.sorted().size() == 2);
  const std::string says = layout(diagnostics, sources);
  CHECK(says.find("the column `pitch_mm` is missing") != std::string::npos);
  CHECK(says.find("`three` is no figure") != std::string::npos);
  std::filesystem::remove_all(folder);
}
