#include <algorithm>
#include <functional>
#include <optional>
#include <set>

#include "scene.h"

// DESIGN 3 worked out by trying everything: no component is told apart, nothing is left unasked.
namespace kitgap::test {
namespace {

constexpr std::int64_t kEnough = 1'000;
constexpr std::size_t kMostPlacings = 60'000;
constexpr std::size_t kMostCompletions = 4'000;

struct TooLong {};
struct Refused {};

// Answers in a fixed order; `next` goes on to the completion that was not tried.
class Oracle {
 public:
  using Key = std::tuple<char, int, int>;
  int choose(Key key, int options) {
    if (options <= 1) return 0;
    const auto [entry, is_new] = chosen_.try_emplace(key, 0);
    if (!is_new) return entry->second;
    if (at_ == path_.size()) path_.push_back({0, options});
    return entry->second = path_[at_++].first;
  }
  bool next() {
    while (!path_.empty() && path_.back().first + 1 == path_.back().second) path_.pop_back();
    if (path_.empty()) return false;
    ++path_.back().first;
    at_ = 0;
    chosen_.clear();
    return true;
  }

 private:
  std::vector<std::pair<int, int>> path_;
  std::size_t at_ = 0;
  std::map<Key, int> chosen_;
};

struct LineId3 {
  int place, parent, part;
  friend auto operator<=>(const LineId3&, const LineId3&) = default;
};

class Slow {
 public:
  Slow(const Scene& scene, const std::array<int, kFactCount>& facts, Oracle& oracle) : scene_(scene), facts_(facts), oracle_(oracle) { find_lines(); }

  struct Figure {
    std::int64_t need = 0, have = 0;
  };

  std::map<LineKey, Figure> answer() {
    for (const LineId3& line : lines_) need(line);
    open_supplies();
    for (int level = 1; level <= 4; ++level) {
      place_all([&](const LineId3& line) { return is_assembly(line.part) && levels_.at(line) == level; });
    }
    place_all([&](const LineId3& line) { return !is_assembly(line.part); });
    std::map<LineKey, Figure> result;
    for (const LineId3& line : lines_) {
      result[{line.place, scene_.parts[static_cast<std::size_t>(line.parent)].name, scene_.parts[static_cast<std::size_t>(line.part)].name}] = {need(line), have_[line]};
    }
    return result;
  }

 private:
  const Scene::Part& part(int index) const { return scene_.parts[static_cast<std::size_t>(index)]; }
  bool holds(const When& when) const {
    for (std::size_t fact = 0; fact < kFactCount; ++fact) {
      if ((when[fact] >> facts_[fact] & 1u) == 0) return false;
    }
    return true;
  }
  bool can_hold(const When& when) const {
    for (std::size_t fact = 0; fact < kFactCount; ++fact) {
      if ((when[fact] & scene_.known[fact]) == 0) return false;
    }
    return true;
  }
  bool is_assembly(int index) const {
    return part(index).kind == Piece::Assembly || std::ranges::any_of(scene_.needs, [&](const Scene::Need& row) { return row.parent == index; });
  }
  static bool selects(const Scene::Need& row, int place) { return row.at.empty() || std::ranges::find(row.at, place) != row.at.end(); }

  void find_lines() {
    const std::function<void(int, int, int)> grow = [&](int parent, int place, int level) {
      const auto add = [&](int at, int child) {
        int& known = levels_[{at, parent, child}];
        known = std::max(known, level);
        lines_.insert({at, parent, child});
        grow(child, at, level + 1);
      };
      for (const Scene::Need& row : scene_.needs) {
        if (row.parent != parent || !can_hold(row.when)) continue;
        for (int at = 0; at < kPlaces; ++at) {
          if (selects(row, at) && (parent == 0 || at == place)) add(at, row.part);
        }
      }
      for (const Scene::Record& record : scene_.records) {
        if (record.parent == parent && record.in != 0 && (parent == 0 || record.place == place)) add(record.place, record.part);
      }
    };
    grow(0, -1, 1);
  }

  struct Count {
    std::optional<std::int64_t> counted;
    bool is_recorded = false;
    std::int64_t usable = 0, unseen = 0, present = 0;
  };
  Count count(const LineId3& line) const {
    Count result;
    std::map<int, std::int64_t> shell, old_part, pieces;  // per state the later row holds
    for (const Scene::Record& record : scene_.records) {
      if (record.parent != line.parent || record.place != line.place || record.part != line.part) continue;
      if (record.in == 1) shell[record.state] = record.count;
      if (record.in == 2) old_part[record.state] = record.count;
      if (record.in != 1) pieces[record.state] = record.count;
    }
    const auto& counting = shell.empty() ? old_part : shell;
    for (const auto& [state, number] : counting) result.counted = result.counted.value_or(0) + number;
    for (const auto& [state, number] : pieces) {
      result.is_recorded = true;
      if (state == 1 || state == 2) result.usable += number;
      if (state == 0) result.unseen += number;
      if (state >= 1 && state <= 3) result.present += number;
    }
    return result;
  }

  std::int64_t per_parent(const LineId3& line) {
    if (const auto known = per_parent_.find(line); known != per_parent_.end()) return known->second;
    std::int64_t figure = 0;
    if (const auto counted = count(line).counted) return per_parent_[line] = *counted;
    std::vector<const Scene::Need*> rows;
    int lowest = 0;
    for (const Scene::Need& row : scene_.needs) {
      if (row.parent != line.parent || row.part != line.part || !selects(row, line.place) || !holds(row.when)) continue;
      rows.push_back(&row);
      if (row.act == Act::Sets || row.act == Act::Drops) lowest = std::max(lowest, row.layer);
    }
    for (int layer = lowest; layer < scene_.layers; ++layer) {
      std::vector<const Scene::Need*> sets;
      std::int64_t change = 0;
      bool drops = false;
      for (const Scene::Need* row : rows) {
        if (row->layer != layer) continue;
        if (row->act == Act::Sets) sets.push_back(row);
        if (row->act == Act::Adds) change += row->quantity;
        if (row->act == Act::Takes) change -= row->quantity;
        drops = drops || row->act == Act::Drops;
      }
      if (!sets.empty()) figure = chosen(sets, line);
      figure += change;
      if (drops) figure = 0;
    }
    if (figure < 0) throw Refused();
    return per_parent_[line] = figure;
  }

  std::int64_t chosen(const std::vector<const Scene::Need*>& sets, const LineId3& line) {
    std::map<int, std::int64_t> by_practice;
    bool differs = false;
    for (const Scene::Need* a : sets) {
      for (const Scene::Need* b : sets) {
        if (a->quantity == b->quantity) continue;
        differs = true;
        if (a->practice == 0 || b->practice == 0 || a->practice == b->practice) throw Refused();
      }
      by_practice[a->practice] = a->quantity;
    }
    if (!differs) return sets.front()->quantity;
    const int taken = oracle_.choose({'p', line.parent, line.part}, 2) + 1;
    return by_practice.at(taken);
  }

  std::int64_t need(const LineId3& line) {
    if (const auto known = needs_.find(line); known != needs_.end()) return known->second;
    std::int64_t parents = line.parent == 0 ? 1 : 0;
    for (const LineId3& above : lines_) {
      if (line.parent != 0 && above.part == line.parent && above.place == line.place) parents += need(above);
    }
    return needs_[line] = per_parent(line) * parents;
  }

  Old old_use(const LineId3& line) const {
    const Scene::Need* top = top_row(line);
    return top == nullptr ? Old::May : top->old;
  }
  bool stops(const LineId3& line) const {
    const Scene::Need* top = top_row(line);
    return top == nullptr || top->stops;
  }
  const Scene::Need* top_row(const LineId3& line) const {
    const Scene::Need* top = nullptr;
    for (const Scene::Need& row : scene_.needs) {
      if (row.parent != line.parent || row.part != line.part || !selects(row, line.place) || !holds(row.when)) continue;
      if (top == nullptr || row.layer >= top->layer) top = &row;
    }
    return top;
  }

  // Supplies.
  struct Node {
    int part = 0, line = -1;
    int offer = -1, kit = -1, pack = 1;
    std::optional<LineId3> old{};
    std::set<int> places{};
    Side side = Side::None;
    bool is_open = false;
    std::int64_t left = 0;
  };

  // Place and hand are each those of the first that states them; a place of the other hand is none.
  static void state_place(Node& node, const std::vector<std::string>& stated) {
    for (const std::string& place : stated) {
      std::set<int> places;
      Side side = place == "left" ? Side::Left : place == "right" ? Side::Right : Side::None;
      for (int at = 0; at < kPlaces; ++at) {
        const std::string& name = kPlaceNames[static_cast<std::size_t>(at)];
        const Side here = kSides[static_cast<std::size_t>(at)];
        const bool is_other = node.side != Side::None && here != Side::None && here != node.side;
        if (!is_other && !place.empty() && (name == place || name.starts_with(place + "."))) places.insert(at);
      }
      if (node.places.empty()) node.places = places;
      if (side == Side::None && places.size() == 1) side = kSides[static_cast<std::size_t>(*places.begin())];
      if (node.side == Side::None) node.side = side;
    }
  }

  void open_supplies() {
    for (int source = 0; source < 3; ++source) {
      for (std::size_t index = 0; index < scene_.lines.size(); ++index) {
        if (scene_.lines[index].source == source) open_line(static_cast<int>(index));
      }
    }
    for (const LineId3& line : lines_) {
      const std::int64_t there = old_pieces(line);
      if (there <= 0) continue;
      Node node{.part = line.part, .line = -1, .old = line, .places = {line.place}, .side = kSides[static_cast<std::size_t>(line.place)], .left = there};
      nodes_.push_back(node);
    }
  }

  void open_line(int index) {
    const Scene::Line& line = scene_.lines[static_cast<std::size_t>(index)];
    const Scene::Offer& offer = scene_.offers[static_cast<std::size_t>(line.offer)];
    if (!holds(offer.when)) return;
    std::int64_t packs = line.quantity;
    if (line.quantity < 0) packs = oracle_.choose({'q', index, 0}, 2) == 0 ? 0 : kEnough;
    const int pieces = offer.place == "pair" && offer.pack == 1 ? 2 : offer.pack;
    // A plain quantity counts what the number buys; in stock single pieces, kits of a kit's number.
    const bool is_single = line.source == 0 && offer.part >= 0;
    if (offer.part >= 0) {
      Node node{.part = offer.part, .line = index, .offer = line.offer, .pack = pieces, .left = is_single ? packs : packs * pieces};
      add(node, {offer.place, line.place});
    }
    for (const Scene::Content& row : scene_.contents) {
      if (row.offer != line.offer || !holds(row.when)) continue;
      if (offer.part >= 0) continue;  // scenes list only sub-parts in an assembly
      Node node{.part = row.part, .line = index, .kit = line.offer, .left = packs * row.quantity};
      add(node, {row.place, offer.place, line.place});
    }
  }

  void add(Node node, std::vector<std::string> stated) {
    const auto first = std::ranges::find_if(stated, [](const std::string& place) { return !place.empty(); });
    if (first != stated.end() && *first == "pair" && part(node.part).handed) {
      for (const Side side : {Side::Left, Side::Right}) {
        Node half = node;
        half.side = side;
        state_place(half, stated);
        half.left = side == Side::Left ? (node.left + 1) / 2 : node.left / 2;
        add_node(half);
      }
      return;
    }
    state_place(node, stated);
    add_node(node);
  }

  void add_node(Node node) {
    const Where fits = part(node.part).fits;
    node.is_open = (fits == Where::Position && node.places.empty()) || (fits == Where::Hand && node.side == Side::None);
    if (node.left == 0) return;
    if (!node.is_open) return nodes_.push_back(node);
    std::vector<int> places;
    for (const LineId3& line : lines_) {
      const bool is_side = node.side == Side::None || kSides[static_cast<std::size_t>(line.place)] == Side::None || kSides[static_cast<std::size_t>(line.place)] == node.side;
      if (line.part == node.part && need(line) > 0 && is_side && std::ranges::find(places, line.place) == places.end()) places.push_back(line.place);
    }
    if (places.empty()) return;
    if (node.left > 4) throw TooLong();
    // Each piece for itself, in any order: more ways than differ, none left out.
    std::vector<std::int64_t> spread(kPlaces, 0);
    for (std::int64_t piece = 0; piece < node.left; ++piece) {
      const int to = oracle_.choose({'w', static_cast<int>(nodes_.size()) * 100 + node.line, static_cast<int>(piece)}, static_cast<int>(places.size()));
      ++spread[static_cast<std::size_t>(places[static_cast<std::size_t>(to)])];
    }
    for (int place = 0; place < kPlaces; ++place) {
      Node settled = node;
      settled.left = spread[static_cast<std::size_t>(place)];
      settled.places = {place};
      settled.side = kSides[static_cast<std::size_t>(place)];
      nodes_.push_back(settled);  // none of them too, so that the number of nodes names the choice
    }
  }

  std::int64_t old_pieces(const LineId3& line) {
    const Count counted = count(line);
    const auto looks = [&] { return oracle_.choose({'o', line.place * 100 + line.parent, line.part}, 2) == 1; };
    if (counted.is_recorded) return counted.usable + (counted.unseen > 0 && looks() ? counted.unseen : 0);
    if (need(line) == 0) return 0;
    bool may_be_there = old_use(line) == Old::Must;
    for (const Scene::Without& row : scene_.without) {
      if (row.sub != line.part || row.mend != Mend::MoveOver || !holds(row.when)) continue;
      if (row.offer < 0) {
        may_be_there = may_be_there || row.assembly == line.parent;
        continue;
      }
      const bool is_here = std::ranges::any_of(scene_.lines, [&](const Scene::Line& list) {
        return list.offer == row.offer && can_hold(scene_.offers[static_cast<std::size_t>(row.offer)].when);
      });
      may_be_there = may_be_there || (is_here && scene_.offers[static_cast<std::size_t>(row.offer)].part == line.parent);
    }
    return may_be_there && looks() ? need(line) : 0;
  }

  // What one piece of an assembly covers below its line.
  struct Below {
    std::map<LineId3, std::int64_t> pieces;
    std::int64_t old = 0;
  };
  struct Brought {
    std::int64_t bundle = 0, work = 0, old = 0;
  };

  void cover_below(const Node& node, const LineId3& line, std::int64_t times, Below& below) {
    for (const LineId3& child : lines_) {
      if (child.parent != line.part || child.place != line.place || per_parent(child) == 0) continue;
      Brought gives = brought(node, line, child);
      if (old_use(child) == Old::Must) gives.bundle = gives.work = 0;
      if (old_use(child) == Old::MustNot) gives.old = 0;
      if (const std::int64_t sum = gives.bundle + gives.work + gives.old; sum > 0) below.pieces[child] += sum * times;
      below.old += gives.old * times;
      if (gives.bundle > 0) cover_below(node, child, times * gives.bundle, below);
    }
  }

  Brought brought(const Node& node, const LineId3& line, const LineId3& child) {
    const Piece kind = part(child.part).kind;
    const bool is_made_in = kind == Piece::Opening || kind == Piece::Hole;
    const std::int64_t wanted = per_parent(child);
    if (node.old) return {.old = is_made_in ? wanted : 0};
    const auto without = [&](int offer, int assembly) -> std::optional<Mend> {
      for (const Scene::Without& row : scene_.without) {
        if (row.sub == child.part && holds(row.when) && (offer >= 0 ? row.offer == offer : row.offer < 0 && row.assembly == assembly)) return row.mend;
      }
      return std::nullopt;
    };
    const auto instead = [&](Mend mend) -> Brought {
      if (!is_made_in) return {};
      if (mend == Mend::Cut) return {.work = wanted};
      if (mend != Mend::Mark) return {};
      const Count counted = count(line);
      bool is_there = counted.is_recorded && counted.present > 0;
      const bool may_be_there = !counted.is_recorded || counted.unseen > 0;
      if (!is_there && may_be_there) is_there = oracle_.choose({'o', line.place * 100 + line.parent, line.part}, 2) == 1;
      return {.old = is_there ? wanted : 0};
    };
    const int said = node.offer >= 0 ? node.offer : node.kit;
    if (const auto mend = without(said, 0)) return instead(*mend);
    if (node.offer >= 0) {
      std::optional<std::int64_t> listed;
      for (const Scene::Content& row : scene_.contents) {
        if (row.offer == node.offer && row.part == child.part && holds(row.when)) listed = listed.value_or(0) + row.quantity / node.pack;
      }
      if (listed) return {.bundle = std::min(*listed, wanted)};
    }
    const Scene::Offer& offer = scene_.offers[static_cast<std::size_t>(said)];
    const auto any_such = without(-1, line.part);
    if (offer.as == Supplied::Contents) return instead(any_such.value_or(Mend::None));
    const int promise = offer.promises[kind == Piece::Opening ? 0 : kind == Piece::Hole ? 1 : 2];
    if (promise == 1) return {.bundle = wanted};
    if (promise == 0) return instead(any_such.value_or(Mend::None));
    if (any_such) return instead(*any_such);
    if (offer.as == Supplied::Complete) return {.bundle = wanted};
    if (offer.as == Supplied::Bare && !is_made_in) return {};
    return oracle_.choose({'a', said, child.part}, 2) == 1 ? Brought{.bundle = wanted} : Brought{};
  }

  // Placing.
  bool replaces(int wanted, int covers, bool& is_stand_in) const {
    is_stand_in = false;
    if (wanted == covers) return true;
    for (const Scene::Replace& row : scene_.replaces) {
      if (row.from == wanted && row.to == covers && holds(row.when)) {
        is_stand_in = row.allowed;
        return true;
      }
    }
    return false;
  }

  bool may_go(const Node& node, int place) const {
    const Side side = kSides[static_cast<std::size_t>(place)];
    const Where fits = part(node.part).fits;
    if (fits == Where::Anywhere) return true;
    if (node.side != Side::None && side != Side::None && node.side != side) return false;
    return fits == Where::Hand || node.places.contains(place);
  }

  struct Way {
    std::size_t node;
    LineId3 line;
    bool is_stand_in;
    Below below;
  };

  template <class Chosen>
  void place_all(Chosen is_chosen) {
    // Parts that no replacement joins are placed apart.
    std::vector<int> group(scene_.parts.size());
    for (std::size_t index = 0; index < group.size(); ++index) group[index] = static_cast<int>(index);
    for (const Scene::Replace& row : scene_.replaces) {
      const int from = group[static_cast<std::size_t>(row.from)];
      for (int& other : group) other = other == from ? group[static_cast<std::size_t>(row.to)] : other;
    }
    for (int which = 0; which < static_cast<int>(group.size()); ++which) {
      std::vector<LineId3> lines;
      for (const LineId3& line : lines_) {
        if (is_chosen(line) && group[static_cast<std::size_t>(line.part)] == which && need(line) > have_[line]) lines.push_back(line);
      }
      if (!lines.empty()) place(lines);
    }
  }

  void place(const std::vector<LineId3>& lines) {
    std::vector<Way> ways;
    for (std::size_t node = 0; node < nodes_.size(); ++node) {
      for (const LineId3& line : lines) {
        bool is_stand_in = false;
        if (nodes_[node].left == 0 || !replaces(line.part, nodes_[node].part, is_stand_in) || !may_go(nodes_[node], line.place)) continue;
        const Old old = old_use(line);
        if (nodes_[node].old ? old == Old::MustNot : old == Old::Must) continue;
        Way way{.node = node, .line = line, .is_stand_in = is_stand_in, .below = {}};
        cover_below(nodes_[node], line, 1, way.below);
        ways.push_back(std::move(way));
      }
    }
    std::vector<std::int64_t> amounts(ways.size(), 0), best_amounts(ways.size(), 0);
    std::optional<std::vector<std::int64_t>> best;
    std::map<std::size_t, std::int64_t> left;
    std::map<LineId3, std::int64_t> open;
    for (const Way& way : ways) left[way.node] = nodes_[way.node].left;
    for (const LineId3& line : lines) open[line] = need(line) - have_[line];
    std::size_t tried = 0;
    const std::function<void(std::size_t)> try_from = [&](std::size_t at) {
      if (at == ways.size()) {
        if (++tried > kMostPlacings) throw TooLong();
        std::vector<std::int64_t> worth = worth_of(ways, amounts);
        if (best && !(worth > *best)) return;
        best = std::move(worth);
        best_amounts = amounts;
        return;
      }
      std::int64_t& there = left[ways[at].node];
      std::int64_t& wanted = open[ways[at].line];
      for (std::int64_t amount = std::min(there, wanted); amount >= 0; --amount) {
        amounts[at] = amount;
        there -= amount;
        wanted -= amount;
        try_from(at + 1);
        there += amount;
        wanted += amount;
      }
    };
    try_from(0);
    for (std::size_t at = 0; at < ways.size(); ++at) {
      nodes_[ways[at].node].left -= best_amounts[at];
      have_[ways[at].line] += best_amounts[at];
      for (const auto& [below, pieces] : ways[at].below.pieces) have_[below] += pieces * best_amounts[at];
    }
  }

  // In the order in which DESIGN 3.7 lets them decide; more is better.
  std::vector<std::int64_t> worth_of(const std::vector<Way>& ways, const std::vector<std::int64_t>& amounts) {
    std::vector<std::int64_t> worth(6, 0);
    std::map<LineId3, std::int64_t> had;
    std::vector<std::int64_t> used(nodes_.size(), 0);
    for (std::size_t at = 0; at < ways.size(); ++at) {
      const Way& way = ways[at];
      const Node& node = nodes_[way.node];
      had[way.line] += amounts[at];
      for (const auto& [below, pieces] : way.below.pieces) had[below] += pieces * amounts[at];
      if (way.is_stand_in) worth[2] -= amounts[at];
      worth[3] -= (way.below.old + (node.old ? 1 : 0)) * amounts[at];
      if (node.places.contains(way.line.place)) worth[4] += amounts[at];
      if (node.side != Side::None && node.side == kSides[static_cast<std::size_t>(way.line.place)]) worth[5] += amounts[at];
      used[way.node] += amounts[at];
    }
    for (const auto& [line, pieces] : had) {
      if (stops(line)) worth[0] += pieces;
      worth[1] += pieces;
    }
    std::vector<std::tuple<LineKey, std::int64_t>> by_line;
    for (const LineId3& line : lines_) {
      by_line.push_back({{line.place, part(line.parent).name, part(line.part).name}, had.contains(line) ? had[line] : 0});
    }
    std::ranges::sort(by_line);
    for (const auto& [key, pieces] : by_line) worth.push_back(pieces);
    worth.insert(worth.end(), used.begin(), used.end());
    return worth;
  }

  const Scene& scene_;
  std::array<int, kFactCount> facts_;
  Oracle& oracle_;
  std::set<LineId3> lines_;
  std::map<LineId3, int> levels_;
  std::map<LineId3, std::int64_t> per_parent_, needs_, have_;
  std::vector<Node> nodes_;
};

}  // namespace

SlowAnswer slow_answer(const Scene& scene) {
  SlowAnswer answer;
  try {
    for (int first = 0; first < kValues; ++first) {
      for (int second = 0; second < kValues; ++second) {
        if ((scene.known[0] >> first & 1u) == 0 || (scene.known[1] >> second & 1u) == 0) continue;
        Oracle oracle;
        do {
          if (++answer.completions > kMostCompletions) throw TooLong();
          for (const auto& [key, figure] : Slow(scene, {first, second}, oracle).answer()) {
            const std::int64_t now[3] = {figure.need, figure.have, figure.need - figure.have};
            Span3& span = answer.lines[key];
            for (int which = 0; which < 3; ++which) {
              span.lo[which] = span.met ? std::min(span.lo[which], now[which]) : now[which];
              span.hi[which] = span.met ? std::max(span.hi[which], now[which]) : now[which];
            }
            span.met = true;
          }
        } while (oracle.next());
      }
    }
  } catch (const TooLong&) {
    answer.is_too_long = true;
  } catch (const Refused&) {
    answer.is_refused = true;
  }
  return answer;
}

}  // namespace kitgap::test
