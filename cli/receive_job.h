#pragma once

#include <string>
#include <vector>

#include "arrival/audit.h"
#include "commands.h"
#include "recording.h"
#include "report/arrival.h"
#include "session.h"

namespace kitgap {

// What `receive` does with a job file.

// Lays in the job's order, less what came before, and its packs and car; `seal` is the state that was read. False, said,
// when something is missing.
bool lay_in_orders(Session& session, const Arguments& arguments, std::string& seal, Terminal& terminal);
// Records what was counted; `notes` gets the day and the records. Refused when the job has changed since it was read.
void record_arrivals(const Session& session, const ArrivalAudit& audit, const std::vector<CountedRow>& counts, const std::string& seal,
                     const Arguments& arguments, ArrivalNotes& notes, Terminal& terminal);
// `--as KIND`: a back order, a substitute, a return, a credit or rework, of an order line that its part number names.
int record_of_order(const Arguments& arguments, Terminal& terminal);
// Whether the text is empty or an ISO date; else it is said.
bool check_day(const std::string& day, Terminal& terminal);

}  // namespace kitgap
