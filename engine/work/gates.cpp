#include "work/gates.h"

#include <algorithm>

namespace kitgap {

std::optional<Gate> find_gate(std::string_view word) {
  const auto found = std::ranges::find(kGateWords, word, &GateWord::word);
  if (found == kGateWords.end()) return std::nullopt;
  return found->gate;
}

GateAnswer may_go(const OldPartGates& old) {
  GateAnswer answer;
  for (const GateWord& word : kGateWords) {
    const bool has_parts_on = word.gate == Gate::SubPartsOff && !old.sub_parts_on.empty();
    if (old.passed[static_cast<std::size_t>(word.gate)].value_or(false) && !has_parts_on) continue;
    answer.hangs_on.push_back(word.gate);
    std::string says(word.says);
    if (has_parts_on) {
      says = "still on it: ";
      for (std::size_t index = 0; index < old.sub_parts_on.size(); ++index) {
        says += (index == 0 ? "" : ", ") + old.sub_parts_on[index];
      }
    }
    answer.says.push_back(std::move(says));
  }
  answer.may_go = answer.hangs_on.empty();
  return answer;
}

}  // namespace kitgap
