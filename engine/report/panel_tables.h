#pragma once

#include "report/line_rows.h"
#include "report/markup.h"
#include "report/overview.h"

namespace kitgap {

// The picture of a panel and the small table of what holds it and what seals it, with the arithmetic.
void panel_table(Markup& page, const Report& report, const PanelText& panel, const LineRows& rows);

}  // namespace kitgap
