#include <algorithm>
#include <cmath>
#include <cstdio>

#include "measure/strip.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr double kAcross = 720;  // the roll's width on the picture
constexpr double kMargin = 40;
constexpr double kHeading = 46;

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : printable(text)) {
    switch (c) {
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '&': out += "&amp;"; break;
      case '"': out += "&quot;"; break;
      default: out += c;
    }
  }
  return out;
}

std::string place(double value) {
  char digits[32];
  std::snprintf(digits, sizeof digits, "%.2f", value);
  return digits;
}

std::string size_text(const Fraction& size) { return size.to_decimal().value_or(size.to_text()); }

// The roll runs down the page, so that a long cut fits on paper sheet after sheet.
class Picture {
 public:
  Picture(const StripJob& job, const CutPlan& plan)
      : job_(job), plan_(plan), scale_(kAcross / job.strip_width.to_approximate()),
        along_(plan.length.to_approximate() * scale_) {}

  std::string draw() {
    const double wide = kAcross + 2 * kMargin, high = along_ + kHeading + 2 * kMargin;
    out_ = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + place(wide) + " " + place(high) +
           "\" font-family=\"sans-serif\" role=\"img\">\n<title>" + escaped(title()) + "</title>\n";
    out_ += "<defs><pattern id=\"waste\" width=\"8\" height=\"8\" patternUnits=\"userSpaceOnUse\">"
            "<path d=\"M0 8 L8 0\" stroke=\"#000\" stroke-width=\"0.6\"/></pattern></defs>\n";
    out_ += "<rect width=\"" + place(wide) + "\" height=\"" + place(high) + "\" fill=\"#fff\"/>\n";
    text(kMargin, 24, 16, "start", title());
    text(kMargin, 42, 12, "start", legend());
    box(0, 0, kAcross, along_, "url(#waste)", 2.5);
    for (std::size_t i = 0; i < plan_.pieces.size(); ++i) panel(i);
    text(kMargin, kHeading + kMargin + along_ + 24, 12, "start", "cut here: " + size_text(plan_.length));
    return out_ + "</svg>\n";
  }

 private:
  std::string title() const {
    return "Roll " + size_text(job_.strip_width) + " wide, " + size_text(plan_.length) + " long" +
           (plan_.status == CutStatus::Optimal ? " (the least)" : " (not below " + size_text(plan_.bound) + ")");
  }

  std::string legend() const {
    return std::string("Hatched: waste. ") +
           (job_.may_turn ? "Panels may be turned." : "Arrows: pile and grain, down the roll in every panel.");
  }

  void text(double x, double y, double size, const char* anchor, const std::string& says) {
    out_ += "<text x=\"" + place(x) + "\" y=\"" + place(y) + "\" font-size=\"" + place(size) + "\" text-anchor=\"" + anchor +
            "\">" + escaped(says) + "</text>\n";
  }

  void box(double x, double y, double wide, double high, const char* fill, double line) {
    out_ += "<rect x=\"" + place(kMargin + x) + "\" y=\"" + place(kHeading + kMargin + y) + "\" width=\"" + place(wide) +
            "\" height=\"" + place(high) + "\" fill=\"" + fill + "\" stroke=\"#000\" stroke-width=\"" + place(line) + "\"/>\n";
  }

  void panel(std::size_t index) {
    const StripPiece& piece = plan_.pieces[index];
    const StripPanel& kind = job_.panels[piece.panel];
    const Fraction& across = piece.turned ? kind.height : kind.width;
    const Fraction& along = piece.turned ? kind.width : kind.height;
    const double x = piece.x.to_approximate() * scale_, y = piece.y.to_approximate() * scale_;
    const double wide = across.to_approximate() * scale_, high = along.to_approximate() * scale_;
    box(x, y, wide, high, "#fff", 1.2);
    const std::string name = kind.panel + (piece.turned ? " (turned)" : "");
    const std::string sizes = size_text(across) + " x " + size_text(along);
    label(x, y, wide, high, name, sizes);
    if (!job_.may_turn) arrow(x + wide - std::min(8.0, wide / 4), y, high);
  }

  // The name and the sizes, as large as the panel lets them be; upright along a narrow one. The tooltip has both always.
  void label(double x, double y, double wide, double high, const std::string& name, const std::string& sizes) {
    const bool upright = high > wide * 1.5;
    const double room = upright ? high : wide, depth = upright ? wide : high;
    const double letters = static_cast<double>(std::max({name.size(), sizes.size(), std::size_t{1}}));
    const double size = std::min({13.0, depth / 2.6, room * 0.9 / (letters * 0.58)});
    if (size < 2) return;
    const double middle_x = kMargin + x + wide / 2, middle_y = kHeading + kMargin + y + high / 2;
    if (upright) out_ += "<g transform=\"rotate(-90 " + place(middle_x) + " " + place(middle_y) + ")\">\n";
    text(middle_x, middle_y - size * 0.1, size, "middle", name);
    text(middle_x, middle_y + size * 1.05, size, "middle", sizes);
    if (upright) out_ += "</g>\n";
  }

  void arrow(double x, double y, double high) {
    const double length = std::min(28.0, high * 0.6), head = length / 5;
    const double left = kMargin + x, top = kHeading + kMargin + y + (high - length) / 2, end = top + length;
    out_ += "<path d=\"M" + place(left) + " " + place(top) + " V" + place(end) + " M" + place(left - head) + " " +
            place(end - head) + " L" + place(left) + " " + place(end) + " L" + place(left + head) + " " + place(end - head) +
            "\" fill=\"none\" stroke=\"#000\" stroke-width=\"0.8\"/>\n";
  }

  const StripJob& job_;
  const CutPlan& plan_;
  double scale_;
  double along_;
  std::string out_;
};

}  // namespace

std::string cut_svg(const StripJob& job, const CutPlan& plan) { return Picture(job, plan).draw(); }

}  // namespace kitgap
