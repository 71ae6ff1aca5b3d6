#include "report/pictures.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "text/file.h"

namespace kitgap {

std::string coordinate(double value) {
  char digits[32];
  std::snprintf(digits, sizeof digits, "%.1f", value);
  return digits;
}

std::string_view state_word(PlaceText::State state) {
  static constexpr auto kWords = std::to_array<std::string_view>({"right", "keep", "open", "lack", "stop"});
  return kWords[static_cast<std::size_t>(state)];
}

void picture_patterns(Markup& page) {
  page.open("svg", {{"width", "0"}, {"height", "0"}, {"class", "patterns"}, {"aria-hidden", "true"}, {"focusable", "false"}}).open("defs");
  const auto pattern = [&](std::string_view id, std::string_view size, std::string_view path) {
    page.open("pattern", {{"id", id}, {"width", size}, {"height", size}, {"patternUnits", "userSpaceOnUse"}});
    page.empty("path", {{"d", path}, {"class", "ink-line"}}).close();
  };
  pattern("p-stop", "8", "M0 8L8 0M0 0L8 8");
  pattern("p-lack", "9", "M-2 2L2 -2M0 9L9 0M7 11L11 7");
  pattern("p-open", "9", "M4 4.5h1.4");
  pattern("p-keep", "9", "M0 4.5h9");
  page.close().close();
}

namespace {

// The same shape for the same row, in the table and round the panel.
void shape_at(Markup& page, double x, double y, std::size_t shape, double r, std::string_view style) {
  const auto at = [&](double dx, double dy) { return coordinate(x + dx * r) + " " + coordinate(y + dy * r); };
  if (shape == 0) {
    page.empty("circle", {{"cx", coordinate(x)}, {"cy", coordinate(y)}, {"r", coordinate(r * 0.9)}, {"class", style}});
    return;
  }
  std::string path;
  switch (shape) {
    case 1: path = "M" + at(0, -1) + "L" + at(1, 0.85) + "L" + at(-1, 0.85) + "Z"; break;
    case 2: path = "M" + at(-0.8, -0.8) + "L" + at(0.8, -0.8) + "L" + at(0.8, 0.8) + "L" + at(-0.8, 0.8) + "Z"; break;
    case 3: path = "M" + at(0, -1.1) + "L" + at(1.1, 0) + "L" + at(0, 1.1) + "L" + at(-1.1, 0) + "Z"; break;
    default: path = "M" + at(-1, -0.85) + "L" + at(1, -0.85) + "L" + at(0, 1) + "Z"; break;
  }
  page.empty("path", {{"d", path}, {"class", style}});
}

void mark_at(Markup& page, double x, double y, std::size_t shape, double r, const Tally& tally, std::int64_t index) {
  if (index < tally.there) return shape_at(page, x, y, shape, r, "m-there");
  if (index < tally.there + tally.open) return shape_at(page, x, y, shape, r, "m-open");
  const std::string left = coordinate(x - r * 0.8), right = coordinate(x + r * 0.8), top = coordinate(y - r * 0.8), bottom = coordinate(y + r * 0.8);
  page.empty("path", {{"d", "M" + left + " " + top + "L" + right + " " + bottom + "M" + left + " " + bottom + "L" + right + " " + top}, {"class", "m-lack"}});
}

std::string tally_words(const Tally& tally) {
  std::string words;
  const auto say = [&](std::int64_t count, std::string_view word) {
    if (count != 0) words += (words.empty() ? "" : ", ") + std::to_string(count) + " " + std::string(word);
  };
  say(tally.there, "there");
  say(tally.open, "open");
  say(tally.lacking, "lacking");
  return words.empty() ? "none" : words;
}

}  // namespace

void tally_picture(Markup& page, const Tally& tally, std::size_t shape) {
  const std::int64_t count = tally.there + tally.open + tally.lacking;
  constexpr std::int64_t kToARow = 20;
  const std::int64_t rows = (count + kToARow - 1) / kToARow;
  const double width = 12.0 * static_cast<double>(std::min(count, kToARow));
  page.open("svg", {{"class", "tally"}, {"role", "img"}, {"aria-label", tally_words(tally)}, {"width", coordinate(width)},
                    {"height", coordinate(12.0 * static_cast<double>(rows))}});
  for (std::int64_t index = 0; index < count; ++index) {
    mark_at(page, 6.0 + 12.0 * static_cast<double>(index % kToARow), 6.0 + 12.0 * static_cast<double>(index / kToARow), shape, 4.2, tally, index);
  }
  page.close();
}

namespace {

struct Spot {
  double x = 0, y = 0, outward_x = 0, outward_y = 0;
};

// A panel laid into the picture: corners in picture units, y downward.
class PanelPicture {
 public:
  PanelPicture(Markup& page, const Report& report, const PanelText& panel) : page_(page), report_(report), panel_(panel) { lay(); }

  void draw() {
    page_.open("figure", {{"class", "panel-picture"}});
    page_.open("svg", {{"viewBox", "0 0 " + coordinate(kWide) + " " + coordinate(high_)}, {"role", "img"}, {"aria-label", label()}});
    std::string points;
    for (const Spot& corner : corners_) points += (points.empty() ? "" : " ") + coordinate(corner.x) + "," + coordinate(corner.y);
    page_.empty("polygon", {{"points", points}, {"class", is_to_scale_ ? "board" : "board plain"}});
    fixings();
    openings();
    page_.close();
    page_.open("figcaption").text(caption()).close().close();
  }

 private:
  static constexpr double kWide = 600, kMargin = 84, kRing = 20;

  void lay() {
    std::vector<std::pair<double, double>> shape;
    if (panel_.width_mm && panel_.height_mm) {
      const double width = panel_.width_mm->to_approximate(), height = panel_.height_mm->to_approximate();
      shape = {{0, 0}, {width, 0}, {width, height}, {0, height}};
      if (!panel_.outline.empty()) {
        shape.clear();
        for (const Point& point : panel_.outline) shape.emplace_back(point.x.to_approximate(), point.y.to_approximate());
      }
      is_to_scale_ = true;
    } else {
      shape = {{0, 0}, {900, 0}, {900, 560}, {0, 560}};
    }
    double left = shape[0].first, right = left, bottom = shape[0].second, top = bottom;
    for (const auto& [x, y] : shape) {
      left = std::min(left, x);
      right = std::max(right, x);
      bottom = std::min(bottom, y);
      top = std::max(top, y);
    }
    // A roof is longer than it is wide: no picture grows past its page.
    const double scale = std::min((kWide - 2 * kMargin) / std::max(right - left, 1.0), 520.0 / std::max(top - bottom, 1.0));
    high_ = (top - bottom) * scale + 2 * kMargin;
    const double shift = (kWide - (right - left) * scale) / 2;
    for (const auto& [x, y] : shape) corners_.push_back({.x = shift + (x - left) * scale, .y = kMargin + (top - y) * scale});
    inner_left_ = shift;
    inner_top_ = kMargin;
    inner_high_ = (top - bottom) * scale;
  }

  std::string label() const {
    std::string text = "Picture of the " + panel_.part_name;
    for (const std::size_t index : panel_.fixings) {
      if (const auto tally = tally_of(report_.lines[index])) text += "; " + report_.lines[index].part_name + ": " + tally_words(*tally);
    }
    for (const std::size_t index : panel_.openings) {
      if (const auto tally = tally_of(report_.lines[index])) text += "; " + report_.lines[index].part_name + ": " + tally_words(*tally);
    }
    return text;
  }

  std::string caption() const {
    std::string text;
    if (is_to_scale_) text = panel_.width_mm->to_text() + " × " + panel_.height_mm->to_text() + " mm" + (panel_.size_source.empty() ? "" : ", " + panel_.size_source) + ". ";
    else text = "No size is known: a plain shape, not to scale. ";
    if (panel_.spacing_mm) text += "Drawn evenly, about " + panel_.spacing_mm->to_text() + " mm apart; the holes in the shell decide. ";
    if (!panel_.openings.empty()) text += "Where an opening sits the tables do not say. ";
    return text + "Filled: there. Outline: open. Cross: lacking.";
  }

  double round_about() const {
    double sum = 0;
    for (std::size_t i = 0; i < corners_.size(); ++i) sum += length(i);
    return sum;
  }
  double length(std::size_t edge) const {
    const Spot &a = corners_[edge], &b = corners_[(edge + 1) % corners_.size()];
    return std::hypot(b.x - a.x, b.y - a.y);
  }
  // Above zero: the corners run clockwise on the screen.
  double winding() const {
    double sum = 0;
    for (std::size_t i = 0; i < corners_.size(); ++i) {
      const Spot &a = corners_[i], &b = corners_[(i + 1) % corners_.size()];
      sum += a.x * b.y - b.x * a.y;
    }
    return sum;
  }

  Spot spot_at(double way) const {
    for (std::size_t i = 0; i < corners_.size(); ++i) {
      const double edge = length(i);
      if (way > edge && i + 1 < corners_.size()) {
        way -= edge;
        continue;
      }
      const Spot &a = corners_[i], &b = corners_[(i + 1) % corners_.size()];
      const double dx = (b.x - a.x) / std::max(edge, 1e-9), dy = (b.y - a.y) / std::max(edge, 1e-9);
      const double side = winding() > 0 ? 1 : -1;
      return {.x = a.x + dx * way, .y = a.y + dy * way, .outward_x = dy * side, .outward_y = -dx * side};
    }
    return {};
  }

  void fixings() {
    std::int64_t stations = 0;
    for (const std::size_t index : panel_.fixings) {
      if (const auto tally = tally_of(report_.lines[index])) stations = std::max(stations, tally->there + tally->open + tally->lacking);
    }
    const double spacing = stations == 0 ? 0 : round_about() / static_cast<double>(stations);
    for (std::size_t ring = 0; ring < std::min(panel_.fixings.size(), kMostRings); ++ring) {
      const auto tally = tally_of(report_.lines[panel_.fixings[ring]]);
      if (!tally) continue;
      const double off = kRing * static_cast<double>(ring) - 14;
      for (std::int64_t index = 0; index < tally->there + tally->open + tally->lacking; ++index) {
        const Spot spot = spot_at(spacing * (static_cast<double>(index) + 0.5));
        mark_at(page_, spot.x + spot.outward_x * off, spot.y + spot.outward_y * off, ring, 7.5, *tally, index);
      }
    }
  }

  void openings() {
    const auto count = static_cast<double>(panel_.openings.size());
    const double step = std::min(34.0, (inner_high_ - 60) / std::max(count, 1.0));
    if (step < 20) return;  // no room for words: they stand in the table
    double y = inner_top_ + inner_high_ / 2 - step * (count - 1) / 2;
    for (const std::size_t index : panel_.openings) {
      const ReportLine& line = report_.lines[index];
      if (const auto tally = tally_of(line); tally && tally->there + tally->open + tally->lacking > 0) mark_at(page_, inner_left_ + 54, y, 0, 9, *tally, 0);
      const std::string times = line.need.hi == Fraction(1) ? "" : range_text(line.need) + " × ";
      page_.put("text", {{"x", coordinate(inner_left_ + 74)}, {"y", coordinate(y + 6)}, {"class", "word"}}, cut_to(printable(times + line.part_name), 36));
      y += step;
    }
  }

  Markup& page_;
  const Report& report_;
  const PanelText& panel_;
  std::vector<Spot> corners_;
  double high_ = 0, inner_left_ = 0, inner_top_ = 0, inner_high_ = 0;
  bool is_to_scale_ = false;
};

}  // namespace

void panel_picture(Markup& page, const Report& report, const PanelText& panel) { PanelPicture(page, report, panel).draw(); }

}  // namespace kitgap
