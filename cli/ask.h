#pragma once

#include <string>

#include "commands.h"
#include "session.h"

namespace kitgap {

// Asks the facts that settle most, one at a time, until nothing more hangs on any that can be answered; an empty answer
// passes a question over, the end of the input ends them all. Answers go into the session's car; what to write into the
// car file is said at the end. False, said, when the tables contradict themselves for the car.
bool ask_facts(Session& session, bool has_list, Terminal& terminal);

}  // namespace kitgap
