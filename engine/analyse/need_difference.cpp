#include <algorithm>
#include <map>
#include <set>

#include "analyse/difference.h"
#include "analyse/years_profile.h"
#include "analyse/years_rows.h"

namespace kitgap {
namespace {

// What cars of a box call for on one line, by one set of packs.
struct Region {
  JointFacts::Box box;
  Range need;
  bool stops = true;
  OldUse old = OldUse::May;
  std::vector<RowPlace> because;
};
struct LineRegions {
  std::vector<Region> regions;  // disjoint
  bool is_exact = true;
};

bool say_the_same(const Region& a, const Region& b) {
  if (a.need != b.need) return false;
  return a.need.hi.is_zero() || (a.stops == b.stops && a.old == b.old);
}

class NeedSide {
 public:
  NeedSide(const Rules& rules, const JointFacts& facts, JointFacts::Side side)
      : facts_(facts), side_(side), knowledge_(*Knowledge::of(Car{}, rules, ignored_)), model_(NeedModel::of(knowledge_, Car{}, Found{})) {
    for (std::uint32_t index = 0; index < model_.lines().size(); ++index) {
      if (!model_.lines()[index].is_small) lines_.emplace(model_.id_of(LineId{index}), LineId{index});
    }
  }

  const Knowledge& knowledge() const { return knowledge_; }
  const NeedModel& model() const { return model_; }
  const std::map<std::string, LineId>& lines() const { return lines_; }

  LineRegions regions_of(const std::string& id) const {
    LineRegions result;
    const auto line = lines_.find(id);
    if (line == lines_.end()) {
      result.regions.push_back({});
      return result;
    }
    Diagnostics diagnostics;
    Problems problems(diagnostics);
    Recall recall(knowledge_);
    Remembered<LineFigure> figures(Asked::Kind::Figure);
    const bool is_whole = Explorer(recall).explore([&](Completion& completion) {
      Needs needs(model_, completion, problems, figures);
      Region region;
      if (const LineFigure* figure = find_figure(model_, needs, line->second)) {
        region.need = {figure->need, figure->need};
        region.stops = figure->stops;
        region.old = figure->old;
        for (const Contribution& contribution : figure->because) region.because.push_back(contribution.place);
      }
      result.is_exact = result.is_exact && completion.is_exact();
      const auto box = facts_.box_of(side_, narrowed_of(completion, knowledge_));
      if (!box) return;
      region.box = *box;
      // Rival practices speak of the same cars: their figures are the ends of a range.
      if (completion.choices().empty()) result.regions.push_back(std::move(region));
      else add_rival(std::move(region), result.regions);
    });
    result.is_exact = result.is_exact && is_whole && !problems.any();
    return result;
  }

 private:
  void add_rival(Region region, std::vector<Region>& regions) const {
    std::vector<JointFacts::Box> rest{region.box};
    for (std::size_t at = 0, end = regions.size(); at < end; ++at) {
      const auto both = JointFacts::common(regions[at].box, region.box);
      if (!both) continue;
      const Region known = regions[at];
      for (JointFacts::Box& piece : facts_.minus({known.box}, {*both})) {
        regions.push_back(known);
        regions.back().box = std::move(piece);
      }
      regions[at].box = *both;
      regions[at].need = {std::min(known.need.lo, region.need.lo), std::max(known.need.hi, region.need.hi)};
      for (const RowPlace place : region.because) {
        if (std::ranges::find(regions[at].because, place) == regions[at].because.end()) regions[at].because.push_back(place);
      }
      rest = facts_.minus(rest, {*both});
    }
    for (JointFacts::Box& piece : rest) {
      regions.push_back(region);
      regions.back().box = std::move(piece);
    }
  }

  const JointFacts& facts_;
  JointFacts::Side side_;
  Diagnostics ignored_;
  Knowledge knowledge_;
  NeedModel model_;
  std::map<std::string, LineId> lines_;
};

class NeedDifference {
 public:
  NeedDifference(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out)
      : facts_(facts), before_(before, facts, JointFacts::Side::Before), after_(after, facts, JointFacts::Side::After), out_(out) {}

  void run() {
    std::set<std::string> ids;
    for (const auto& [id, line] : before_.lines()) ids.insert(id);
    for (const auto& [id, line] : after_.lines()) ids.insert(id);
    for (const std::string& id : ids) compare(id);
    for (PackDifference::NeedChange& change : out_.needs) change.follows = follows(change);
  }

 private:
  struct Group {
    const Region* was;
    const Region* now;
    std::vector<JointFacts::Box> boxes;
  };

  void compare(const std::string& id) {
    const LineRegions was = before_.regions_of(id);
    const LineRegions now = after_.regions_of(id);
    std::vector<Group> groups;
    for (const Region& a : was.regions) {
      for (const Region& b : now.regions) {
        if (say_the_same(a, b)) continue;
        const auto box = JointFacts::common(a.box, b.box);
        if (!box || !facts_.find_car(*box, before_.knowledge(), after_.knowledge())) continue;
        const auto same = std::ranges::find_if(groups, [&](const Group& group) {
          return say_the_same(*group.was, a) && say_the_same(*group.now, b) && group.was->because == a.because && group.now->because == b.because;
        });
        if (same == groups.end()) groups.push_back({&a, &b, {*box}});
        else same->boxes.push_back(*box);
      }
    }
    for (const Group& group : groups) {
      for (const JointFacts::Box& box : facts_.merged(group.boxes)) add(id, group, box, was.is_exact && now.is_exact);
    }
  }

  void add(const std::string& id, const Group& group, const JointFacts::Box& box, bool is_exact) {
    const auto car = facts_.find_car(box, before_.knowledge(), after_.knowledge());
    if (!car) return;
    if (out_.needs.size() == kMostChanges) {
      ++out_.left_out;
      return;
    }
    const bool is_new = after_.lines().contains(id);
    const NeedModel& model = is_new ? after_.model() : before_.model();
    const Line& line = model.line(is_new ? after_.lines().at(id) : before_.lines().at(id));
    PackDifference::NeedChange change{.id = id,
                                      .part = model.rules().part_keys[line.part.index],
                                      .part_name = model.part_row(line.part).name,
                                      .position = std::string(model.rules().positions.path(line.position)),
                                      .parent = model.rules().part_keys[line.parent.index],
                                      .unit = std::string(word_of(model.part_row(line.part).unit)),
                                      .box = tests_in_words(facts_, box),
                                      .witness = car_in_words(facts_, *car),
                                      .was = figure_of(before_.model().rules(), *group.was),
                                      .now = figure_of(after_.model().rules(), *group.now),
                                      .is_exact = is_exact};
    if (change.part_name.empty()) change.part_name = change.part;
    out_.needs.push_back(std::move(change));
    boxes_.push_back(box);
  }

  static PackDifference::Figure figure_of(const Rules& rules, const Region& region) {
    PackDifference::Figure figure{.need = region.need, .stops = region.stops, .old = region.old, .because = {}};
    for (const RowPlace place : region.because) figure.because.push_back(years_row(rules, place));
    return figure;
  }

  // Whether a line of its parent at its place changes for some of the same cars.
  bool follows(const PackDifference::NeedChange& change) const {
    if (change.parent == "car") return false;
    const auto& box = boxes_[static_cast<std::size_t>(&change - out_.needs.data())];
    for (std::size_t at = 0; at < out_.needs.size(); ++at) {
      const PackDifference::NeedChange& other = out_.needs[at];
      if (other.part == change.parent && other.position == change.position && JointFacts::common(box, boxes_[at])) return true;
    }
    return false;
  }

  const JointFacts& facts_;
  NeedSide before_, after_;
  PackDifference& out_;
  std::vector<JointFacts::Box> boxes_;  // of `out_.needs`
};

}  // namespace

void find_need_changes(const Rules& before, const Rules& after, const JointFacts& facts, PackDifference& out) {
  NeedDifference(before, after, facts, out).run();
}

}  // namespace kitgap
