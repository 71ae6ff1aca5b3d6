#pragma once

#include <vector>

#include "analyse/pack_check.h"

namespace kitgap {

// The parts of `check_packs`, each adding what it finds.
void find_need_findings(const Rules& rules, std::vector<Finding>& out);    // clashes, gaps, rows of lower layers unheard
void find_row_clashes(const Rules& rules, std::vector<Finding>& out);      // rows of the other kinds, by their keys
void find_idle_rows(const Rules& rules, std::vector<Finding>& out);        // rows that no car meets
void find_supply_findings(const Rules& rules, std::vector<Finding>& out);  // offers, kits, replacements, remedies
void find_reach_findings(const Rules& rules, std::vector<Finding>& out);   // parts, steps and cautions; cycles

}  // namespace kitgap
