#include <algorithm>

#include "measure/strip.h"
#include "text/codes.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

class Reader {
 public:
  Reader(SourceId source, Diagnostics& diagnostics) : source_(source), diagnostics_(diagnostics) {}

  std::optional<StripJob> read(const Json& json) {
    if (!json.is_object()) {
      wrong(json, "this is no object", "`{\"strip_width\": ..., \"panels\": [...]}`");
      return std::nullopt;
    }
    StripJob job;
    job.strip_width = size(json, "strip_width");
    job.may_turn = rotation(json);
    const Json* panels = json.find("panels");
    if (panels == nullptr) {
      missing(json, "panels");
    } else if (!panels->is_array()) {
      wrong(*panels, "`panels` is no list", "a list of panels");
    } else {
      for (const Json& panel : panels->items) read_panel(panel, job);
    }
    if (!failed_) check(json, job);
    if (failed_) return std::nullopt;
    return job;
  }

 private:
  void read_panel(const Json& json, StripJob& job) {
    if (!json.is_object()) return wrong(json, "this panel is no object", "`{\"panel\", \"width\", \"height\", \"quantity\"}`");
    StripPanel panel;
    const Json* name = json.find("panel");
    if (name == nullptr) {
      missing(json, "panel");
    } else if (!name->is_string() && !name->is_number()) {
      wrong(*name, "`panel` is no name", "a string or a number");
    } else {
      panel.panel = name->text;
      panel.is_number = name->is_number();
    }
    panel.width = size(json, "width");
    panel.height = size(json, "height");
    panel.quantity = quantity(json);
    job.panels.push_back(std::move(panel));
  }

  Fraction size(const Json& object, std::string_view member) {
    const Json* found = object.find(member);
    if (found == nullptr) {
      missing(object, member);
      return 0;
    }
    const auto figure = found->is_number() ? number(*found) : std::nullopt;
    if (!figure || figure->sign() <= 0) {
      wrong(*found, "`" + std::string(member) + "` is no size", "a number above zero");
      return 0;
    }
    return *figure;
  }

  std::int64_t quantity(const Json& object) {
    const Json* found = object.find("quantity");
    if (found == nullptr) return 1;
    const auto figure = found->is_number() ? number(*found) : std::nullopt;
    const auto whole = figure ? figure->to_integer() : std::nullopt;
    if (!whole || *whole < 0 || *whole > kMaxStripPieces) {
      wrong(*found, "`quantity` is no number of panels", "a whole number from 0 to " + std::to_string(kMaxStripPieces));
      return 0;
    }
    return *whole;
  }

  bool rotation(const Json& object) {
    const Json* found = object.find("rotation");
    if (found == nullptr || (found->is_string() && found->text == "not needed")) return false;
    if (found->kind == Json::Kind::Boolean) return found->boolean;
    wrong(*found, "`rotation` is neither true nor false", "`true` where panels may be turned by a quarter, else `false`");
    return false;
  }

  static std::optional<Fraction> number(const Json& json) {
    try {
      return Fraction::parse(json.text);
    } catch (const FigureOverflow&) {
      return std::nullopt;
    }
  }

  void check(const Json& json, const StripJob& job) {
    if (std::string says = what_is_wrong_with(job); !says.empty()) wrong(json, std::move(says), "");
  }

  void missing(const Json& object, std::string_view member) {
    add(code::kMissingMember, object, "this object has no `" + std::string(member) + "`", "");
  }

  void wrong(const Json& json, std::string says, std::string expected) {
    add(code::kInvalidMember, json, std::move(says), std::move(expected));
  }

  void add(std::string_view code, const Json& json, std::string says, std::string expected) {
    failed_ = true;
    diagnostics_.add({.severity = Severity::Error,
                      .code = code,
                      .span = {.source = source_, .line = json.line, .column = json.column},
                      .says = std::move(says),
                      .expected = std::move(expected)});
  }

  SourceId source_;
  Diagnostics& diagnostics_;
  bool failed_ = false;
};

// Sizes are sums and differences of the job's decimals, so a decimal is always exact; a job built in code may hold thirds.
std::string digits(const Fraction& size) { return size.to_decimal().value_or(size.ceil().to_text()); }

std::string padded(std::string text, std::size_t width) {
  return text.size() < width ? std::string(width - text.size(), ' ') + text : text;
}

}  // namespace

std::optional<StripJob> read_strip_job(SourceId source, const Sources& sources, Diagnostics& diagnostics) {
  const auto json = parse_json(source, sources, diagnostics);
  if (!json) return std::nullopt;
  return Reader(source, diagnostics).read(*json);
}

std::string cut_json(const StripJob& job, const CutPlan& plan) {
  JsonWriter json;
  json.begin_object();
  json.key("format").string("cut/1");
  json.key("status").string(plan.status == CutStatus::Optimal ? "optimal" : "feasible");
  json.key("length").number(digits(plan.length));
  json.key("bound").number(digits(plan.bound));
  json.key("pieces").begin_array();
  for (const StripPiece& piece : plan.pieces) {
    const StripPanel& panel = job.panels[piece.panel];
    json.begin_object().key("panel");
    if (panel.is_number) {
      json.number(panel.panel);
    } else {
      json.string(panel.panel);
    }
    json.key("x").number(digits(piece.x)).key("y").number(digits(piece.y)).key("turned").boolean(piece.turned).end_object();
  }
  json.end_array().end_object();
  return json.take();
}

std::string cut_text(const StripJob& job, const CutPlan& plan) {
  Fraction area;
  for (const StripPiece& piece : plan.pieces) area += job.panels[piece.panel].width * job.panels[piece.panel].height;
  std::string out = "Roll " + digits(job.strip_width) + " wide: " + digits(plan.length) + " long";
  if (plan.status == CutStatus::Optimal) {
    out += ", and no shorter length will do.\n";
  } else {
    out += "; less than " + digits(plan.bound) + " will not do, between the two nothing is proven.\n";
  }
  if (plan.length.sign() > 0) {
    out += "Used: " + (Fraction(100) * area / (job.strip_width * plan.length)).floor().to_text() + " % of the piece off the roll. ";
    out += job.may_turn ? "Panels may be turned.\n" : "Nothing is turned: pile and grain run along the roll.\n";
  }
  out += "\n   across    along   wide x long   panel\n";
  for (const StripPiece& piece : plan.pieces) {
    const StripPanel& panel = job.panels[piece.panel];
    const std::string wide = digits(piece.turned ? panel.height : panel.width);
    const std::string along = digits(piece.turned ? panel.width : panel.height);
    out += padded(digits(piece.x), 9) + padded(digits(piece.y), 9) + padded(wide + " x " + along, 14) + "   " +
           printable(panel.panel) + (piece.turned ? " (turned)" : "") + "\n";
  }
  return out;
}

}  // namespace kitgap
