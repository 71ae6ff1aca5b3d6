#pragma once

#include "commands.h"
#include "report/report.h"
#include "session.h"

namespace kitgap {

// `check --job` of a job with several cars and no --car: one screen.
bool asks_for_all_cars(const Arguments& arguments);
int check_all_cars(const Arguments& arguments, Terminal& terminal);
// Says what a change of the packs since the job took them does to this car's report.
void say_what_packs_change(const Session& session, const Arguments& arguments, const Report& report, Terminal& terminal);

}  // namespace kitgap
