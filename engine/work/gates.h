#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace kitgap {

// The bin is a gate: what must be so before an old part may go (DESIGN section 4), in the order of the work.
enum class Gate : std::uint8_t { NewInHand, LaidOver, SubPartsOff, CountsTaken, PhotosTaken, PatternMade, TrialFitDone, ReturnWindowKnown };

struct GateWord {
  Gate gate;
  std::string_view word;    // as a person types it and a job records it
  std::string_view says;    // what still hangs on it
};
inline constexpr auto kGateWords = std::to_array<GateWord>({
    {Gate::NewInHand, "in hand", "the new one is not in hand"},
    {Gate::LaidOver, "laid over", "the new one was not laid over the old one: outline, openings, holes, hand"},
    {Gate::SubPartsOff, "off", "its sub-parts are not all off and kept"},
    {Gate::CountsTaken, "counted", "its holes and fasteners are not counted"},
    {Gate::PhotosTaken, "photos", "no photo of front, back and edge with a rule"},
    {Gate::PatternMade, "pattern", "no pattern was taken from the car"},
    {Gate::TrialFitDone, "trial fit", "the new one has not been fitted on trial"},
    {Gate::ReturnWindowKnown, "return window", "the last day to return the new one is not known"},
});
consteval bool gates_are_in_order() {
  for (std::size_t index = 0; index < kGateWords.size(); ++index) {
    if (static_cast<std::size_t>(kGateWords[index].gate) != index) return false;
  }
  return true;
}
static_assert(gates_are_in_order());
std::optional<Gate> find_gate(std::string_view word);

// One old part, and what a person has said of it. A gate that nobody spoke of is not passed.
struct OldPartGates {
  std::string part, position;
  std::array<std::optional<bool>, kGateWords.size()> passed{};
  std::vector<std::string> sub_parts_on;  // to move over, and still on the old part
};
struct GateAnswer {
  bool may_go = false;
  std::vector<Gate> hangs_on;             // in the order of the work
  std::vector<std::string> says;          // a sentence each, the sub-parts by name
};
// "May this old panel go?" Sub-parts that are still on keep their gate shut, whatever was ticked.
GateAnswer may_go(const OldPartGates& old);

}  // namespace kitgap
