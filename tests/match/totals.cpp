#include "match/totals.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <random>
#include <vector>

#include "value/fraction.h"

using namespace kitgap;

namespace {

struct Outcome {
  std::string csv;
  std::string messages;
};

std::filesystem::path written(const std::string& name, const std::string& text) {
  const auto folder = std::filesystem::temp_directory_path() / ("kitgap-totals-" + std::to_string(getpid()));
  std::filesystem::create_directories(folder);
  std::ofstream(folder / name, std::ios::binary) << text;
  return folder / name;
}

Outcome totals(const std::string& edges, const std::string& demand) {
  Sources sources;
  Diagnostics diagnostics;
  const auto csv = totals_csv(written("edges.csv", edges), written("demand.csv", demand), sources, diagnostics);
  std::string messages;
  for (const Diagnostic& diagnostic : diagnostics.sorted()) {
    messages += std::to_string(diagnostic.span.line) + ":" + std::to_string(diagnostic.span.column) + " " +
                diagnostic.says + "\n";
  }
  return {csv.value_or(""), messages};
}

struct Edge {
  int parent, child;
  std::string quantity;
};

}  // namespace

TEST_CASE("totals: multiplicities multiply down the kits and add up over all ways") {
  const auto got = totals("parent,child,quantity\nkit,bag,2\nbag,clip,25\nkit,clip,3\n", "item,quantity\nkit,4\n");
  CHECK(got.csv == "item,total\nclip,212\n");
  CHECK(got.messages.empty());
}

TEST_CASE("totals: an item that no kit holds, or nothing asks for, still has its line") {
  CHECK(totals("parent,child,quantity\na,b,2\n", "item,quantity\nz,3\n").csv == "item,total\nb,0\nz,3\n");
}

TEST_CASE("totals: sums stay exact past 64 and 128 bits, and with decimals") {
  std::string chain = "parent,child,quantity\n";
  for (int level = 0; level < 40; ++level) {
    chain += std::to_string(level) + "," + std::to_string(level + 1) + ",10\n";
  }
  CHECK(totals(chain, "item,quantity\n0,7\n").csv == "item,total\n40,7" + std::string(40, '0') + "\n");
  CHECK(totals("parent,child,quantity\na,b,4294967296\nb,c,4294967296\nc,d,3\n", "item,quantity\na,1\n").csv ==
        "item,total\nd,55340232221128654848\n");
  CHECK(totals("parent,child,quantity\na,b,0.1\nb,c,0.30\na,c,1e-3\n", "item,quantity\na,10\n").csv ==
        "item,total\nc,0.31\n");
  CHECK(totals("parent,child,quantity\na,b,0.5\n", "item,quantity\na,4\n").csv == "item,total\nb,2\n");
}

TEST_CASE("totals: a figure too long to be meant is refused, not made up") {
  std::string chain = "parent,child,quantity\n";
  for (int level = 0; level < 300; ++level) {
    chain += std::to_string(level) + "," + std::to_string(level + 1) + ",1e50\n";
  }
  const auto got = totals(chain, "item,quantity\n0,1\n");
  CHECK(got.csv.empty());
  CHECK(got.messages == "0:0 the total of `200` has more than 10000 digits\n");
}

TEST_CASE("totals: every cycle is named with its items") {
  const auto got = totals(
      "parent,child,quantity\nr,a,1\na,b,1\nb,c,1\nc,a,1\nx,x,1\nc,leaf,1\np,q,1\nq,p,1\nq,s,1\ns,p,1\ns,q,2\n",
      "item,quantity\nr,1\n");
  CHECK(got.csv.empty());
  CHECK(got.messages ==
        "0:0 a cycle: `a` -> `b` -> `c` -> `a`\n"
        "0:0 a cycle: `p`, `q`, `s` (each is part of each)\n"
        "0:0 a cycle: `x` -> `x`\n");
}

TEST_CASE("totals: what is wrong in a file is said with line and column") {
  struct Case {
    std::string edges;
    std::string says;
  };
  const std::vector<Case> cases = {
      {"parent,child,quantity\na,b,2\na,c,two\n", "3:5 `two` is no quantity\n"},
      {"parent,child,quantity\na,b,-2\n", "2:5 the quantity `-2` is negative\n"},
      {"parent,child,quantity\na,,2\n", "2:3 the cell is empty\n"},
      {"parent,child,quantity\na,b\n", "2:1 the row has 2 cells, the header 3\n"},
      {"parent,child\na,b\n", "1:1 there is no column `quantity`\n"},
      {"parent,child,quantity\na,\"b,2\n", "2:1 a quote is opened here and never closed\n"},
      {"parent,child,quantity\na,b\"c\",2\n", "2:3 a quote stands where none may be\n"},
      {"", "0:0 the file is empty\n"},
  };
  for (const Case& example : cases) {
    CAPTURE(example.edges);
    CHECK(totals(example.edges, "item,quantity\na,1\n").messages == example.says);
  }
}

TEST_CASE("totals: quotes, CRLF, a BOM and columns in another order are read as CSV means them") {
  CHECK(totals("\xEF\xBB\xBFquantity,note,child,parent\r\n\"2\",x,\"clip, \"\"small\"\"\",kit\r\n\r\n1,,a b,kit",
               "item,quantity\r\nkit,3\r\n").csv == "item,total\na b,3\n\"clip, \"\"small\"\"\",6\n");
}

TEST_CASE("totals: equal to walking every way through random graphs") {
  for (unsigned seed = 1; seed <= 400; ++seed) {
    CAPTURE(seed);
    std::mt19937 random(seed);
    const int nodes = 2 + static_cast<int>(random() % 9);
    const std::vector<std::string> figures = {"1", "2", "3", "0", "0.25", "12", "3000000000"};
    std::vector<Edge> edges;
    for (std::size_t count = random() % 20; count > 0; --count) {
      const int parent = static_cast<int>(random() % static_cast<unsigned>(nodes - 1));
      const int child = parent + 1 + static_cast<int>(random() % static_cast<unsigned>(nodes - parent - 1));
      edges.push_back({parent, child, figures[random() % (seed % 2 == 0 ? 4 : figures.size())]});
    }
    // Names, numbers with gaps from the top down and from below up, and both at once.
    const auto name = [&](int node) {
      const bool is_word = seed % 4 == 0 || (seed % 4 == 3 && node % 2 == 0);
      return is_word ? "n" + std::to_string(node) : std::to_string(seed % 4 == 2 ? 40 - 3 * node : 3 * node + 1);
    };
    std::string text = "parent,child,quantity\n";
    for (const Edge& edge : edges) {
      text += name(edge.parent) + "," + name(edge.child) + "," + edge.quantity + "\n";
    }
    std::map<int, Fraction> sums;
    const std::function<void(int, Fraction)> walk = [&](int node, const Fraction& taken) {
      sums[node] += taken;
      for (const Edge& edge : edges) {
        if (edge.parent == node) walk(edge.child, taken * *Fraction::parse(edge.quantity));
      }
    };
    walk(0, 5);
    std::map<std::string, std::string> expected;
    for (const Edge& edge : edges) expected[name(edge.child)] = sums[edge.child].to_text();
    expected[name(0)] = "5";
    for (const Edge& edge : edges) expected.erase(name(edge.parent));
    std::string csv = "item,total\n";
    for (const auto& [item, total] : expected) csv += item + "," + total + "\n";
    CHECK(totals(text, "item,quantity\n" + name(0) + ",5\n").csv == csv);
  }
}
