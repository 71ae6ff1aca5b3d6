#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "measure/fastener.h"

namespace kitgap {

// A figure that a description states, named like the property of a part that it is: `thickness` in um, `length` in mm,
// `conductor area` in mm2, `burn rate` in mm/min. Several values: the spelling means several units (`500 gauge`).
struct StatedFigure {
  std::string_view property;
  std::string_view unit;
  std::string as_typed;
  std::vector<Fraction> values;
};

// What a seller's or a person's description says of a piece beyond its name. Only what is written as such figures are written is
// taken: `2-3 off` is no thread, `No 8 x 20` a sheet screw, `M5 x 20` a thread whose pitch is not written and a length.
struct StatedHardware {
  std::string thread;  // as typed; empty where none is stated
  std::optional<TypedThread> typed_thread;
  // The text can be nothing else than a thread: `8-10` alone may be a count, `#8-10` or `1/4-22` may not.
  bool is_surely_thread = false;
  std::string property_class;  // `8.8`, after the word `class` or `grade`
  std::string spanner;         // as typed
  std::optional<Fraction> across_flats_mm;
  std::vector<StatedFigure> figures;
  std::string rest;  // the words of the description that state none of these, in lower case
  bool is_empty() const { return !typed_thread && property_class.empty() && !across_flats_mm && figures.empty(); }
};

// `16 AWG` is looked up in the tables; a gauge they do not have states nothing.
[[nodiscard]] StatedHardware read_stated(std::string_view description);

}  // namespace kitgap
