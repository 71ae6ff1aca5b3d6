#pragma once

namespace kitgap {

// From the first second on says on standard error, where that is a terminal, that work goes on and for how long; the
// line is wiped out when anything else is written. To be begun once.
void begin_progress();
void end_progress();

}  // namespace kitgap
