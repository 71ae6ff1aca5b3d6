#pragma once

#include <string>

#include "arrival/audit.h"

namespace kitgap {

// The arrival audit for people and for programs (`receive/1`).
std::string arrival_text(const ArrivalAudit& audit, int width);
std::string arrival_json(const ArrivalAudit& audit);

}  // namespace kitgap
