#pragma once

#include "report/overview.h"
#include "report/markup.h"

namespace kitgap {

// Drawings in SVG. `double` is right here: nothing of a picture goes back into a figure. States are told by pattern and
// word, never by colour alone; the patterns are those of `picture_patterns`.

void picture_patterns(Markup& page);
// The car seen from above, front up, each place with its state; a place links to `#place-N`, N its index.
void car_picture(Markup& page, const Report& report, const Overview& overview);
// One panel with its fixings round the edge and its openings, to scale where the tables have a size.
void panel_picture(Markup& page, const Report& report, const PanelText& panel);
// So many marks in a row: there, open, lacking.
void tally_picture(Markup& page, const Tally& tally, std::size_t shape);
inline constexpr std::size_t kMostRings = 5;

std::string_view state_word(PlaceText::State state);
std::string coordinate(double value);

}  // namespace kitgap
