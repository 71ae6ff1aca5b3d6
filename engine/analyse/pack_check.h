#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analyse/fact_grid.h"
#include "analyse/table_reports.h"
#include "pack/rules.h"

namespace kitgap {

// What can be wrong with packs taken together, and how much it matters. One table: text, JSON and the guide follow it;
// `data/guide/findings/CODE.md` has a page for each.
struct FindingWord {
  std::string_view code;
  bool is_wrong;  // else a remark
  std::string_view why;
};
inline constexpr auto kFindingWords = std::to_array<FindingWord>({
    {"contradiction", true, "a car that meets both rows cannot be told how many it needs"},
    {"gap-between", true, "rows on both sides speak of the part, none for the values between"},
    {"never-applies", true, "the row asks for something no car has"},
    {"value-taken-away", false, "a higher pack took away the value that the row asks for"},
    {"nothing-supplies", true, "nobody sells the part, no kit holds it and no old part may be used"},
    {"only-the-old-part", false, "nobody sells the part and no kit holds it: only the old one can be used again"},
    {"offer-fits-no-car", true, "whatever car it is bought for, nothing calls for it there"},
    {"kit-count-differs", true, "the pieces listed are not the pieces stated"},
    {"pairing-missing", true, "one of a pair is called for where the other is not"},
    {"supersession-ring", true, "each number is replaced by the next, and the last by the first"},
    {"step-waits-for-itself", true, "none of the steps can ever begin"},
    {"no-remedy", true, "a part comes without something, and nothing says what to do"},
    {"caution-reaches-no-car", true, "nobody will ever read it"},
    {"need-cycle", true, "a part would need itself without end"},
    {"unreachable-part", false, "no car leads to the part"},
    {"hidden-by-layer", false, "rows of a higher layer replace it for every car"},
    {"said-twice", false, "two rows say one thing, and the day one of them is corrected they clash"},
    {"could-be-one-row", false, "several rows say what one row could say"},
});

struct Finding {
  std::string_view code;
  std::string says;  // one or two sentences
  std::vector<RowPlace> rows;
  WitnessCar witness;
  std::string repair;
};

struct PackFindings {
  std::vector<Finding> findings;  // by file and line
  std::size_t left_out = 0;       // of one code past the bound
  bool finds_wrong = false;
};

inline constexpr std::size_t kMaxFindingsOfACode = 200;

PackFindings check_packs(const Rules& rules);
std::string guide_page_of(std::string_view code);

// FORMATS `rules-check/1` with a part for each table, and the same for people.
std::string pack_findings_json(const Rules& rules, const PackFindings& findings, std::span<const TableReport> tables);
std::string pack_findings_text(const Rules& rules, const PackFindings& findings);

}  // namespace kitgap
