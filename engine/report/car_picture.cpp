#include <algorithm>
#include <array>

#include "report/line_rows.h"
#include "report/pictures.h"
#include "text/file.h"

namespace kitgap {
namespace {

// Rows of the car from the front backward, by the words of a position's path; lengths where the tables have no size.
struct CarRow {
  std::array<std::string_view, 3> words;
  double default_length_mm;
};
constexpr auto kRows = std::to_array<CarRow>({
    {{"dash", "bulkhead", ""}, 260},
    {{"front", "", ""}, 1000},
    {{"rear", "", ""}, 850},
    {{"boot", "load", "trunk"}, 850},
});
constexpr double kUnitsPerMm = 0.2, kDefaultWidthMm = 1350;

struct Cell {
  const PlaceText* place = nullptr;
  std::size_t row = 0;
  enum class Column { Left, Middle, Right } column = Column::Middle;
};

std::vector<std::string> words_of(std::string_view path) {
  std::vector<std::string> words(1);
  for (const char c : path) {
    if (c == '.') words.emplace_back();
    else words.back() += c;
  }
  return words;
}

class CarPicture {
 public:
  CarPicture(Markup& page, const Report& report, const Overview& overview) : page_(page), report_(report), overview_(overview) {
    for (const PlaceText& place : overview.places) sort_in(place);
    lay();
  }

  void draw() {
    page_.open("figure", {{"class", "car-picture"}});
    page_.open("svg", {{"viewBox", "0 0 " + coordinate(kWide) + " " + coordinate(high_)}, {"role", "group"}, {"aria-label", "The car from above, front up, with the state of each place"}});
    body();
    for (const Cell& cell : cells_) draw_cell(cell);
    draw_beside();
    page_.close();
    legend();
    page_.close();
  }

 private:
  static constexpr double kWide = 700, kStrip = 30, kGap = 8, kTop = 84, kSlot = 60;

  void sort_in(const PlaceText& place) {
    const auto words = words_of(place.position);
    const auto has = [&](std::string_view word) { return std::ranges::find(words, word) != words.end(); };
    Cell cell{.place = &place, .row = kRows.size(), .column = has("left") ? Cell::Column::Left : has("right") ? Cell::Column::Right : Cell::Column::Middle};
    for (std::size_t row = kRows.size(); row-- > 0;) {
      if (std::ranges::any_of(kRows[row].words, [&](std::string_view word) { return !word.empty() && has(word); })) cell.row = row;
    }
    // What is over one's head or round the glass does not lie in the plan.
    const bool is_over = has("roof") || has("hood") || has("screen") || has("top");
    if (cell.row == kRows.size() || is_over) beside_.push_back(&place);
    else cells_.push_back(cell);
  }

  std::size_t slots(std::size_t row, Cell::Column column) const {
    return static_cast<std::size_t>(std::ranges::count_if(cells_, [&](const Cell& cell) { return cell.row == row && cell.column == column; }));
  }

  void lay() {
    double width_mm = 0;
    std::array<double, kRows.size()> length_mm{};
    for (const Cell& cell : cells_) {
      if (!cell.place->length_mm) continue;
      length_mm[cell.row] = std::max(length_mm[cell.row], cell.place->length_mm->to_approximate());
      if (cell.column == Cell::Column::Middle) width_mm = std::max(width_mm, cell.place->width_mm->to_approximate());
    }
    width_ = std::clamp((width_mm > 0 ? width_mm : kDefaultWidthMm) * kUnitsPerMm, 200.0, 290.0);
    left_ = (kWide - width_) / 2;
    double y = kTop;
    for (std::size_t row = 0; row < kRows.size(); ++row) {
      const std::size_t most = std::max({slots(row, Cell::Column::Left), slots(row, Cell::Column::Middle), slots(row, Cell::Column::Right)});
      const double length = (length_mm[row] > 0 ? length_mm[row] : kRows[row].default_length_mm) * kUnitsPerMm;
      top_[row] = y;
      length_[row] = most == 0 ? 0 : std::clamp(length, kSlot * static_cast<double>(most), 420.0);
      if (most != 0) y += length_[row] + kGap;
    }
    bottom_ = y;
    const double lines = static_cast<double>((beside_.size() + 2) / 3);
    high_ = bottom_ + 40 + (beside_.empty() ? 0 : lines * (kSlot + 18) + 10);
  }

  void body() {
    const double l = left_ - kStrip - 2 * kGap, r = left_ + width_ + kStrip + 2 * kGap, b = bottom_ + 14;
    const std::string nose = "M" + coordinate(l) + " " + coordinate(kTop - 4) + "C" + coordinate(l + 4) + " " + coordinate(kTop - 62) + " " + coordinate(l + 40) + " " +
                             coordinate(kTop - 76) + " " + coordinate(kWide / 2) + " " + coordinate(kTop - 78) + "S" + coordinate(r - 4) + " " + coordinate(kTop - 62) +
                             " " + coordinate(r) + " " + coordinate(kTop - 4);
    const std::string tail = "L" + coordinate(r) + " " + coordinate(b - 26) + "Q" + coordinate(r) + " " + coordinate(b + 8) + " " + coordinate(r - 34) + " " + coordinate(b + 8) +
                             "L" + coordinate(l + 34) + " " + coordinate(b + 8) + "Q" + coordinate(l) + " " + coordinate(b + 8) + " " + coordinate(l) + " " + coordinate(b - 26) + "Z";
    page_.empty("path", {{"d", nose + tail}, {"class", "body"}});
    page_.put("text", {{"x", coordinate(kWide / 2)}, {"y", coordinate(kTop - 34)}, {"text-anchor", "middle"}, {"class", "word soft"}}, "front");
  }

  static std::vector<std::string> count_words(const PlaceText& place) {
    std::vector<std::string> words;
    for (const auto& [count, word] : {std::pair(place.stopping, "stop"), std::pair(place.lacking, "lack"), std::pair(place.open, "open"), std::pair(place.from_old, "keep")}) {
      if (count != 0 && words.size() < 2) words.push_back(std::to_string(count) + " " + word);
    }
    if (words.empty()) words.emplace_back("right");
    return words;
  }
  static std::string counts_of(const PlaceText& place) {
    const auto words = count_words(place);
    return words.size() == 1 ? words[0] : words[0] + ", " + words[1];
  }

  std::string target(const PlaceText& place) const {
    for (std::size_t index = 0; index < report_.lines.size(); ++index) {
      const ReportLine& line = report_.lines[index];
      if (line.position == place.position && state_of(line) == place.state && line.folded_under.empty()) return "#l" + std::to_string(index);
    }
    for (std::size_t index = 0; index < report_.lines.size(); ++index) {
      if (report_.lines[index].position == place.position) return "#l" + std::to_string(index);
    }
    return "#main";
  }

  void begin_place(const PlaceText& place) {
    page_.open("a", {{"href", target(place)}});
  }

  void box(double x, double y, double wide, double high, PlaceText::State state) {
    const std::string at_x = coordinate(x), at_y = coordinate(y), w = coordinate(wide), h = coordinate(high);
    page_.empty("rect", {{"x", at_x}, {"y", at_y}, {"width", w}, {"height", h}, {"rx", "4"}, {"class", "s-" + std::string(state_word(state))}});
  }

  // The blank after each keeps the words of a link apart where they are read out.
  void words(double x, double y, std::string_view anchor, const PlaceText& place) {
    page_.put("text", {{"x", coordinate(x)}, {"y", coordinate(y - 4)}, {"text-anchor", anchor}, {"class", "word strong"}}, cut_to(printable(place_name(place.position)), 18) + " ");
    page_.put("text", {{"x", coordinate(x)}, {"y", coordinate(y + 20)}, {"text-anchor", anchor}, {"class", "word"}}, counts_of(place));
  }

  // Beside the car there is no room for a long line.
  void words_beside(double x, double y, std::string_view anchor, const PlaceText& place) {
    const auto words = count_words(place);
    double at = y - 13 * static_cast<double>(words.size()) + 6;
    page_.put("text", {{"x", coordinate(x)}, {"y", coordinate(at)}, {"text-anchor", anchor}, {"class", "word strong"}}, cut_to(printable(place_name(place.position)), 14) + " ");
    for (const std::string& word : words) page_.put("text", {{"x", coordinate(x)}, {"y", coordinate(at += 25)}, {"text-anchor", anchor}, {"class", "word"}}, word + " ");
  }

  void plate(double x, double y, double wide, const PlaceText& place) {
    page_.empty("rect", {{"x", coordinate(x - wide / 2)}, {"y", coordinate(y - 27)}, {"width", coordinate(wide)}, {"height", "54"}, {"rx", "3"}, {"class", "plate"}});
    words(x, y, "middle", place);
  }

  void draw_cell(const Cell& cell) {
    const auto all = static_cast<double>(slots(cell.row, cell.column));
    const double high = (length_[cell.row] - kGap * (all - 1)) / all;
    auto& used = used_[cell.row * 3 + static_cast<std::size_t>(cell.column)];
    const double y = top_[cell.row] + static_cast<double>(used++) * (high + kGap);
    begin_place(*cell.place);
    if (cell.column == Cell::Column::Middle) {
      const double own = cell.place->width_mm ? std::clamp(cell.place->width_mm->to_approximate() * kUnitsPerMm, 150.0, width_) : width_;
      box((kWide - own) / 2, y, own, high, cell.place->state);
      plate(kWide / 2, y + high / 2, std::min(176.0, own - 12), *cell.place);
    } else {
      const bool is_left = cell.column == Cell::Column::Left;
      const double own = cell.place->length_mm ? std::min(high, std::max(cell.place->length_mm->to_approximate() * kUnitsPerMm, kSlot)) : high;
      box(is_left ? left_ - kGap - kStrip : left_ + width_ + kGap, y + (high - own) / 2, kStrip, own, cell.place->state);
      words_beside(is_left ? left_ - kStrip - 3 * kGap - 6 : left_ + width_ + kStrip + 3 * kGap + 6, y + high / 2, is_left ? "end" : "start", *cell.place);
    }
    page_.close();
  }

  void draw_beside() {
    constexpr double kWidth = 218;
    for (std::size_t index = 0; index < beside_.size(); ++index) {
      const double x = 12 + static_cast<double>(index % 3) * (kWidth + 11), y = bottom_ + 44 + static_cast<double>(index / 3) * (kSlot + 18);
      begin_place(*beside_[index]);
      box(x, y, 30, kSlot, beside_[index]->state);
      words(x + 40, y + kSlot / 2, "start", *beside_[index]);
      page_.close();
    }
  }

  void legend() {
    page_.open("figcaption");
    static constexpr auto kSays = std::to_array<std::string_view>({"all right", "comes off the old part", "open until someone looks", "lacking", "stops the work"});
    for (std::size_t state = kSays.size(); state-- > 0;) {
      page_.open("span", {{"class", "key"}});
      page_.open("svg", {{"width", "22"}, {"height", "14"}, {"aria-hidden", "true"}, {"focusable", "false"}});
      page_.empty("rect", {{"x", "1"}, {"y", "1"}, {"width", "20"}, {"height", "12"}, {"class", "s-" + std::string(state_word(static_cast<PlaceText::State>(state)))}});
      page_.close().text(kSays[state]).close().text(" ");
    }
    std::string sized;
    for (const PlaceText& place : overview_.places) {
      if (!place.sized_part.empty() && sized.find(place.sized_part) == std::string::npos) sized += (sized.empty() ? "" : ", ") + place.sized_part;
    }
    page_.put("span", {{"class", "source"}}, sized.empty() ? "No sizes are known: a plain shape." : "To the sizes of: " + sized + "; the rest a plain shape.");
    page_.close();
  }

  Markup& page_;
  const Report& report_;
  const Overview& overview_;
  std::vector<Cell> cells_;
  std::vector<const PlaceText*> beside_;
  std::array<double, kRows.size()> top_{}, length_{};
  std::array<std::size_t, kRows.size() * 3> used_{};
  double width_ = 0, left_ = 0, bottom_ = 0, high_ = 0;
};

}  // namespace

void car_picture(Markup& page, const Report& report, const Overview& overview) {
  if (!overview.places.empty()) CarPicture(page, report, overview).draw();
}

}  // namespace kitgap
