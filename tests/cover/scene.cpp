#include "scene.h"

#include <algorithm>
#include <random>

namespace kitgap::test {
namespace {

class SceneMaker {
 public:
  explicit SceneMaker(std::uint64_t seed) : random_(seed) {}

  Scene make() {
    add_parts();
    scene_.layers = below(3) == 0 ? 2 : 1;
    for (unsigned& known : scene_.known) known = below(2) == 0 ? 1u << below(3) : below(2) == 0 ? kAny : 3u << below(2);
    for (int parent = 0; parent < static_cast<int>(scene_.parts.size()); ++parent) add_needs(parent);
    add_offers();
    for (int line = 1 + below(3); line > 0; --line) add_line();
    for (int record = below(3); record > 0; --record) add_record();
    return std::move(scene_);
  }

 private:
  int below(int bound) { return static_cast<int>(random_() % static_cast<std::uint64_t>(bound)); }
  bool one_in(int count) { return below(count) == 0; }
  Scene::Part& part(int index) { return scene_.parts[static_cast<std::size_t>(index)]; }
  bool is_assembly(int index) { return part(index).kind == Piece::Assembly; }

  When when(int rarity) {
    When result{kAny, kAny};
    if (one_in(rarity)) result[static_cast<std::size_t>(below(kFactCount))] = 1u + static_cast<unsigned>(below(6));
    return result;
  }

  void add_parts() {
    scene_.parts = {{"car"}, {"panel", Piece::Assembly}, {"tray", Piece::Assembly}, {"clip"}, {"strip"}, {"mouth", Piece::Opening}, {"bore", Piece::Hole}};
    for (int index = 1; index < 5; ++index) {
      Scene::Part& chosen = part(index);
      chosen.handed = one_in(4);
      const int fits = below(5);
      chosen.fits = fits == 0 ? Where::Position : fits == 1 ? Where::Hand : fits == 2 ? Where::Anywhere
                    : chosen.kind == Piece::Assembly ? Where::Position : chosen.handed ? Where::Hand : Where::Anywhere;
    }
    part(5).fits = part(6).fits = Where::Anywhere;
  }

  void add_needs(int parent) {
    if (parent != 0 && !is_assembly(parent)) return;
    for (int child = parent + 1; child < static_cast<int>(scene_.parts.size()); ++child) {
      const bool is_made_in = part(child).kind == Piece::Opening || part(child).kind == Piece::Hole;
      if (parent == 0 && is_made_in) continue;
      if (!one_in(parent == 0 ? 2 : 3)) continue;
      std::vector<int> at;
      if (parent == 0) {
        for (int place = 0; place < kPlaces; ++place) {
          if (one_in(2) && (part(child).fits != Where::Hand || place != 0)) at.push_back(place);
        }
        if (at.empty()) at = {1};
      }
      if (parent != 0 && part(child).fits == Where::Hand) at = {1, 2};  // a hand needs a side
      for (int layer = 0; layer < scene_.layers; ++layer) add_rows(parent, child, at, layer);
    }
  }

  void add_rows(int parent, int child, const std::vector<int>& at, int layer) {
    if (layer > 0 && one_in(2)) return;
    Scene::Need row{.layer = layer, .parent = parent, .part = child, .quantity = 1 + below(is_assembly(child) ? 2 : 3), .at = at,
                    .old = one_in(6) ? (one_in(2) ? Old::Must : Old::MustNot) : Old::May, .stops = !one_in(3), .when = when(2)};
    if (one_in(5)) {
      row.practice = 1;
      scene_.needs.push_back(row);
      row.practice = 2;
      row.quantity += 1;
      scene_.needs.push_back(row);
      return;
    }
    if (layer > 0) row.act = std::array{Act::Sets, Act::Adds, Act::Takes, Act::Drops}[static_cast<std::size_t>(below(4))];
    scene_.needs.push_back(row);
    if (one_in(4)) {
      row.act = one_in(2) ? Act::Adds : Act::Sets;
      row.quantity = 1 + below(2);
      row.when = when(1);
      scene_.needs.push_back(row);
    }
  }

  std::string place() {
    return std::array<std::string, 6>{"", "", "left", "right", "front.left", "front"}[static_cast<std::size_t>(below(6))];
  }

  void add_offers() {
    for (int child = 1; child < 5; ++child) {
      for (int offers = one_in(4) ? 2 : 1; offers > 0; --offers) add_offer(child);
    }
    if (!one_in(2)) return;
    Scene::Offer kit{.part = -1, .as = static_cast<Supplied>(below(3)), .when = when(4)};
    for (int& promise : kit.promises) promise = below(3) - 1;
    scene_.offers.push_back(kit);
    for (int child = 1; child < 5; ++child) {
      if (one_in(2)) scene_.contents.push_back({.offer = static_cast<int>(scene_.offers.size()) - 1, .part = child, .quantity = 1 + below(2), .place = place(), .when = when(4)});
    }
  }

  void add_offer(int child) {
    Scene::Offer offer{.part = child, .as = is_assembly(child) ? static_cast<Supplied>(below(4)) : Supplied::NotStated, .pack = one_in(4) ? 2 : 1,
                       .place = one_in(6) && part(child).handed ? "pair" : place(), .when = when(3)};
    if (is_assembly(child)) {
      for (int& promise : offer.promises) promise = std::max(-1, below(4) - 2);
    }
    scene_.offers.push_back(offer);
    const int index = static_cast<int>(scene_.offers.size()) - 1;
    if (!is_assembly(child)) return;
    for (int sub = child + 1; sub < static_cast<int>(scene_.parts.size()); ++sub) {
      int parents = 0;
      bool is_own = false;
      std::vector<bool> of(scene_.parts.size(), false);
      for (const Scene::Need& row : scene_.needs) {
        if (row.part != sub || row.parent == 0 || of[static_cast<std::size_t>(row.parent)]) continue;
        of[static_cast<std::size_t>(row.parent)] = true;
        ++parents;
        is_own = is_own || row.parent == child;
      }
      const int pieces = offer.place == "pair" && offer.pack == 1 ? 2 : offer.pack;
      if (is_own && parents == 1 && one_in(4)) scene_.contents.push_back({.offer = index, .part = sub, .quantity = pieces * (1 + below(2)), .when = when(4)});
      const auto mend = static_cast<Mend>(below(4));
      if (is_own && one_in(5)) scene_.without.push_back({.offer = index, .sub = sub, .mend = mend, .when = when(4)});
      const bool is_known = std::ranges::any_of(scene_.without, [&](const Scene::Without& row) { return row.offer < 0 && row.assembly == child && row.sub == sub; });
      if (is_own && !is_known && one_in(5)) scene_.without.push_back({.offer = -1, .assembly = child, .sub = sub, .mend = mend, .when = when(4)});
    }
  }

  void add_line() {
    const int offer = below(static_cast<int>(scene_.offers.size()));
    scene_.lines.push_back({.source = below(3), .offer = offer, .quantity = one_in(8) ? -1 : 1 + below(4), .place = place()});
  }

  void add_record() {
    if (scene_.needs.empty()) return;
    const Scene::Need& row = scene_.needs[static_cast<std::size_t>(below(static_cast<int>(scene_.needs.size())))];
    const int at = row.at.empty() ? below(kPlaces) : row.at.front();
    if (part(row.part).fits == Where::Hand && at == 0) return;
    scene_.records.push_back({.parent = row.parent, .place = at, .part = row.part, .count = 1 + below(3), .in = below(3), .state = below(5)});
  }

  std::mt19937_64 random_;
  Scene scene_;
};

std::string when_text(const When& when) {
  std::string text;
  for (std::size_t fact = 0; fact < kFactCount; ++fact) {
    if (when[fact] == kAny) continue;
    text += " f" + std::to_string(fact) + "=";
    std::string values;
    for (int value = 0; value < kValues; ++value) {
      if (when[fact] >> value & 1u) values += (values.empty() ? "" : ",") + std::to_string(value);
    }
    text += values;
  }
  return text;
}

std::string yes_no(std::string_view column, int value) {
  return value < 0 ? "" : " " + std::string(column) + (value == 1 ? "=yes" : "=no");
}

}  // namespace

Scene random_scene(std::uint64_t seed) { return SceneMaker(seed).make(); }

std::string text_of(const Scene& scene) {
  const auto name = [&](int part) { return scene.parts[static_cast<std::size_t>(part)].name; };
  const auto number = [](int offer) { return "K-" + std::to_string(offer); };
  std::string text = "fact f0 number 0..2\nfact f1 number 0..2\n";
  for (std::size_t index = 1; index < scene.parts.size(); ++index) {
    const Scene::Part& part = scene.parts[index];
    text += "part " + part.name + " " + std::array{"assembly", "piece", "opening", "hole"}[static_cast<std::size_t>(part.kind)] +
            (part.handed ? " handed=yes" : "") + " fits=" + std::array{"anywhere", "hand", "position"}[static_cast<std::size_t>(part.fits)] + "\n";
  }
  for (std::size_t index = 0; index < scene.offers.size(); ++index) {
    const Scene::Offer& offer = scene.offers[index];
    const bool has_supply = offer.as != Supplied::NotStated;
    text += "offer S " + number(static_cast<int>(index)) + " " + (offer.part < 0 ? "-" : name(offer.part)) + " " +
            (has_supply ? std::array{"", "complete", "bare", "contents"}[static_cast<std::size_t>(offer.as)] : "-") + yes_no("openings", offer.promises[0]) +
            yes_no("holes", offer.promises[1]) + yes_no("hardware", offer.promises[2]) + (offer.pack > 1 ? " pack_size=" + std::to_string(offer.pack) : "") +
            (offer.place.empty() ? "" : " position=" + offer.place) + when_text(offer.when) + "\n";
  }
  for (const Scene::Content& row : scene.contents) {
    text += "contents S " + number(row.offer) + " " + name(row.part) + " " + std::to_string(row.quantity) + (row.place.empty() ? "" : " position=" + row.place) + when_text(row.when) + "\n";
  }
  for (const Scene::Without& row : scene.without) {
    text += "without " + (row.offer < 0 ? "- " + name(row.assembly) : "S " + number(row.offer)) + " " + name(row.sub) + " " +
            std::array{"-", "move_over", "cut", "mark"}[static_cast<std::size_t>(row.mend)] + when_text(row.when) + "\n";
  }
  for (const Scene::Replace& row : scene.replaces) {
    text += "replaces " + name(row.from) + " " + name(row.to) + (row.allowed ? " allowed" : " replaces") + when_text(row.when) + "\n";
  }
  for (int layer = 0; layer < scene.layers; ++layer) {
    if (layer > 0) text += "layer\n";
    for (const Scene::Need& row : scene.needs) {
      if (row.layer != layer) continue;
      std::string at;
      for (const int place : row.at) at += (at.empty() ? "" : ";") + kPlaceNames[static_cast<std::size_t>(place)];
      text += "need " + name(row.parent) + " " + name(row.part) + " " + (at.empty() ? "-" : at) + (row.act == Act::Drops ? " -" : " " + std::to_string(row.quantity)) +
              " effect=" + std::array{"sets", "adds", "takes_away", "drops"}[static_cast<std::size_t>(row.act)] +
              (row.practice == 0 ? "" : row.practice == 1 ? " practice=plain" : " practice=wide") +
              " old=" + std::array{"may", "must", "must_not"}[static_cast<std::size_t>(row.old)] + " stops=" + (row.stops ? "yes" : "no") + when_text(row.when) + "\n";
    }
  }
  if (scene.known[0] != kAny || scene.known[1] != kAny) text += "car" + when_text(scene.known) + "\n";
  for (const Scene::Line& line : scene.lines) {
    text += std::string(std::array{"stock ", "order ", "list "}[static_cast<std::size_t>(line.source)]) + number(line.offer) + " " +
            (line.quantity < 0 ? "-" : std::to_string(line.quantity)) + (line.place.empty() ? "" : " " + line.place) + "\n";
  }
  for (const Scene::Record& row : scene.records) {
    text += "found " + name(row.parent) + " " + kPlaceNames[static_cast<std::size_t>(row.place)] + " " + name(row.part) + " " + std::to_string(row.count) + " " +
            std::array{"-", "shell", "old_part"}[static_cast<std::size_t>(row.in)] + " " + std::array{"-", "good", "restorable", "broken", "absent"}[static_cast<std::size_t>(row.state)] + "\n";
  }
  return text;
}

}  // namespace kitgap::test
