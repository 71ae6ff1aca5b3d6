#include "measure/strip.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <random>

#include "text/file.h"
#include "text/json.h"

using namespace kitgap;

namespace {

Fraction f(const char* text) { return *Fraction::parse(text); }

std::string shown(const StripJob& job, const CutPlan& plan) {
  REQUIRE(check_plan(job, plan) == "");
  return (plan.status == CutStatus::Optimal ? "optimal " : "feasible ") + plan.length.to_text() + ", bound " + plan.bound.to_text();
}

std::string cut(const StripJob& job) { return shown(job, plan_cut(job)); }

// Tries every place of every panel, cell by cell: the second opinion for small rolls.
class EveryPlace {
 public:
  EveryPlace(int width, bool may_turn, std::vector<std::pair<int, int>> panels)
      : width_(width), may_turn_(may_turn), panels_(std::move(panels)) {}

  int least_length() {
    for (int length = 1;; ++length) {
      length_ = length;
      taken_.assign(static_cast<std::size_t>(length * width_), false);
      if (lay(0)) return length;
    }
  }

 private:
  bool lay(std::size_t index) {
    if (index == panels_.size()) return true;
    for (int way = 0; way < (may_turn_ ? 2 : 1); ++way) {
      const int across = way == 0 ? panels_[index].first : panels_[index].second;
      const int along = way == 0 ? panels_[index].second : panels_[index].first;
      for (int y = 0; y + along <= length_; ++y) {
        for (int x = 0; x + across <= width_; ++x) {
          if (!is_free(x, y, across, along)) continue;
          mark(x, y, across, along, true);
          if (lay(index + 1)) return true;
          mark(x, y, across, along, false);
        }
      }
    }
    return false;
  }
  bool is_free(int x, int y, int across, int along) const {
    for (int j = y; j < y + along; ++j) {
      for (int i = x; i < x + across; ++i) {
        if (taken_[static_cast<std::size_t>(j * width_ + i)]) return false;
      }
    }
    return true;
  }
  void mark(int x, int y, int across, int along, bool value) {
    for (int j = y; j < y + along; ++j) {
      for (int i = x; i < x + across; ++i) taken_[static_cast<std::size_t>(j * width_ + i)] = value;
    }
  }

  int width_;
  bool may_turn_;
  std::vector<std::pair<int, int>> panels_;
  int length_ = 0;
  std::vector<bool> taken_;
};

std::string message(std::string_view json) {
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("job.json", std::string(json));
  const auto job = read_strip_job(source, sources, diagnostics);
  if (job) return "read";
  std::string says;
  for (const Diagnostic& each : diagnostics.sorted()) {
    says += std::to_string(each.span.line) + ":" + std::to_string(each.span.column) + " " + each.says + "\n";
  }
  return says;
}

}  // namespace

TEST_CASE("cut: small rolls end optimal, as trying every place does") {
  std::mt19937 random(20250131);
  for (int trial = 0; trial < 150; ++trial) {
    const int width = 3 + static_cast<int>(random() % 4);
    const bool may_turn = random() % 2 == 0;
    std::vector<std::pair<int, int>> panels;
    StripJob job{.strip_width = width, .may_turn = may_turn, .panels = {}};
    for (std::size_t i = 0, count = 2 + random() % 4; i < count; ++i) {
      const int across = 1 + static_cast<int>(random() % static_cast<unsigned>(width));
      const int along = 1 + static_cast<int>(random() % 4);
      panels.emplace_back(across, along);
      job.panels.push_back({.panel = std::to_string(i), .width = across, .height = along});
    }
    CAPTURE(trial);
    const CutPlan plan = plan_cut(job);
    CHECK(check_plan(job, plan) == "");
    CHECK(plan.status == CutStatus::Optimal);
    CHECK(plan.length == Fraction(EveryPlace(width, may_turn, panels).least_length()));
  }
}

TEST_CASE("cut: a turn shortens the roll only where it is allowed") {
  StripJob job{.strip_width = f("1.4"), .may_turn = false, .panels = {{.panel = "pad", .width = f("0.5"), .height = f("1.3"), .quantity = 1}}};
  CHECK(cut(job) == "optimal 1.3, bound 1.3");
  job.may_turn = true;
  CHECK(cut(job) == "optimal 0.5, bound 0.5");
  CHECK(plan_cut(job).pieces.at(0).turned);
}

TEST_CASE("cut: door films of two sizes on a roll of 1.37 m") {
  const StripJob job{.strip_width = f("1.37"), .may_turn = false,
                     .panels = {{.panel = "front film", .width = f("0.68"), .height = f("1.1"), .quantity = 2},
                                {.panel = "rear film", .width = f("0.62"), .height = f("0.94"), .quantity = 2},
                                {.panel = "shelf", .width = f("1.29"), .height = f("0.4"), .quantity = 1}}};
  CHECK(cut(job) == "optimal 2.44, bound 2.44");
}

TEST_CASE("cut: the checker sees each kind of wrong plan") {
  const StripJob job{.strip_width = 4, .may_turn = false, .panels = {{.panel = "a", .width = 2, .height = 3, .quantity = 2}}};
  const CutPlan good = plan_cut(job);
  CHECK(check_plan(job, good) == "");
  CutPlan plan = good;
  plan.pieces[1].x = 1;
  CHECK(check_plan(job, plan) == "one panel lies over another");
  plan.pieces[1].x = f("2.5");
  CHECK(check_plan(job, plan) == "a panel lies over the right edge of the roll");
  plan = good;
  plan.pieces[0].turned = true;
  CHECK(check_plan(job, plan) == "a panel is turned where none may be");
  plan = good;
  plan.pieces.pop_back();
  CHECK(check_plan(job, plan) == "a panel is not laid");
  plan.pieces.push_back(plan.pieces[0]);
  plan.pieces.push_back(plan.pieces[0]);
  CHECK(check_plan(job, plan) == "one panel lies over another");
  plan = good;
  plan.length = 2;
  CHECK(check_plan(job, plan) == "a panel ends past the length");
  plan = good;
  plan.bound = 4;
  CHECK(check_plan(job, plan) == "the bound is above the length");
  plan = good;
  plan.bound = 2;
  CHECK(check_plan(job, plan) == "the status does not follow from length and bound");
}

TEST_CASE("cut: how many panels and how large") {
  const auto wrong = [](std::vector<StripPanel> panels, const Fraction& width = 1) { return what_is_wrong_with({.strip_width = width, .may_turn = false, .panels = std::move(panels)}); };
  const StripPanel one{.panel = "film", .width = f("0.5"), .height = f("0.5"), .quantity = 1};
  const auto so_many = [&](std::int64_t quantity) {
    StripPanel many = one;
    many.quantity = quantity;
    return many;
  };
  CHECK(wrong({so_many(2'000)}) == "");
  CHECK(wrong({so_many(2'001)}) != "");
  CHECK(wrong({so_many(1'000), so_many(1'000)}) == "");
  CHECK(wrong({so_many(1'000), so_many(1'001)}) != "");
  CHECK(wrong({so_many(0)}) == "");
  CHECK(wrong({so_many(-1)}) == "panel `film` has a quantity below zero");
  CHECK(wrong({one}, 0) == "the roll's width is not above zero");
  CHECK(wrong({one}, -1) == "the roll's width is not above zero");
  CHECK(wrong({one}, f("0.5")) == "");
  CHECK(wrong({one}, f("0.49")) != "");
  const StripPanel across{.panel = "film", .width = 2, .height = 1, .quantity = 1};
  CHECK(wrong({across}) == "panel `film` is wider than the roll; turned it would fit");
  CHECK(what_is_wrong_with({.strip_width = 1, .may_turn = true, .panels = {across}}) == "");
  CHECK(what_is_wrong_with({.strip_width = f("0.9"), .may_turn = true, .panels = {across}}) == "panel `film` is wider than the roll both ways");
  for (const char* const size : {"0", "-1"}) {
    StripPanel flat = one, narrow = one;
    flat.height = f(size);
    narrow.width = f(size);
    CHECK(wrong({one, flat}) == "panel `film` has a size that is not above zero");
    CHECK(wrong({narrow}) == "panel `film` has a size that is not above zero");
  }
}

TEST_CASE("cut: a wrong job says what and where") {
  CHECK(message(R"({"strip_width": 4, "rotation": true, "panels": [{"panel": 7, "width": 1, "height": 2, "quantity": 3}]})") == "read");
  CHECK(message(R"({"strip_width": 4, "rotation": "not needed", "panels": []})") == "read");
  CHECK(message("[]") == "1:1 this is no object\n");
  CHECK(message(R"({"strip_width": 0, "rotation": 1, "panels": [{"panel": "a", "width": -1, "height": "2", "quantity": 1.5}, 5]})") ==
        "1:17 `strip_width` is no size\n1:32 `rotation` is neither true nor false\n1:70 `width` is no size\n"
        "1:84 `height` is no size\n1:101 `quantity` is no number of panels\n1:107 this panel is no object\n");
  CHECK(message(R"({"panels": [{}]})") ==
        "1:1 this object has no `strip_width`\n1:13 this object has no `panel`\n1:13 this object has no `width`\n"
        "1:13 this object has no `height`\n");
  CHECK(message(R"({"strip_width": 1, "panels": [{"panel": "a", "width": 2, "height": 0.5}]})") ==
        "1:1 panel `a` is wider than the roll; turned it would fit\n");
  CHECK(message(R"({"strip_width": 1, "rotation": true, "panels": [{"panel": "a", "width": 2, "height": 3}]})") ==
        "1:1 panel `a` is wider than the roll both ways\n");
  CHECK(message(R"({"strip_width": 1, "panels": [{"panel": "a", "width": 1, "height": 3, "quantity": 1500}, {"panel": "b", "width": 1, "height": 3, "quantity": 1500}]})") ==
        "1:1 there are more than 2000 panels; lay them on several rolls\n");
  CHECK(message(R"({"strip_width": 1e9, "panels": [{"panel": "a", "width": 0.0000001, "height": 3}]})").find("too fine") != std::string::npos);
  CHECK(message(R"({"strip_width": 1e99, "panels": []})") == "1:17 `strip_width` is no size\n");
}

TEST_CASE("cut: the answer as JSON, text and picture") {
  const StripJob job{.strip_width = 2, .may_turn = false,
                     .panels = {{.panel = "left & right", .width = 1, .height = f("1.5"), .quantity = 2}, {.panel = "9", .is_number = true, .width = 2, .height = 1}}};
  const CutPlan plan = plan_cut(job);
  Sources sources;
  Diagnostics diagnostics;
  const auto json = parse_json(sources.add("answer", cut_json(job, plan)), sources, diagnostics);
  REQUIRE(json);
  CHECK(json->find("format")->text == "cut/1");
  CHECK(json->find("status")->text == "optimal");
  CHECK(json->find("length")->text == "2.5");
  CHECK(json->find("bound")->text == "2.5");
  CHECK(json->find("pieces")->items.size() == 3);
  const std::string picture = cut_svg(job, plan);
  CHECK(picture.starts_with("<svg xmlns="));
  CHECK(picture.find("left &amp; right") != std::string::npos);
  CHECK(cut_text(job, plan).starts_with("Roll 2 wide: 2.5 long, and no shorter length will do.\nUsed: 100 %"));
  CHECK(cut(StripJob{.strip_width = 2, .may_turn = false, .panels = {}}) == "optimal 0, bound 0");
}

TEST_CASE("cut: published strips with known heights, where they are at hand") {
  const std::filesystem::path folder = std::filesystem::path(KITGAP_SOURCE_DIR) / "../shared/suites/strips";
  if (!std::filesystem::is_directory(folder)) {
    MESSAGE("skipped: the published strips are not at hand");
    return;
  }
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    Sources sources;
    Diagnostics diagnostics;
    const auto source = read_file(entry.path(), sources, diagnostics);
    REQUIRE(source);
    const auto job = read_strip_job(*source, sources, diagnostics);
    const auto json = parse_json(*source, sources, diagnostics);
    REQUIRE(job);
    CAPTURE(entry.path().filename().string());
    const std::string known = json->find("known_height")->text;
    CHECK(cut(*job) == "optimal " + known + ", bound " + known);
  }
}
