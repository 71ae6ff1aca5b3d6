#pragma once

#include <string>
#include <vector>

#include "report/markup.h"
#include "report/ready.h"
#include "work/steps.h"

namespace kitgap {

// The steps of one car laid out from left to right, each after those it waits for.
struct StepNetwork {
  enum class State : std::uint8_t { Done, Today, Waits };
  struct Node {
    std::string name;
    std::vector<std::size_t> after;  // indexes of nodes; what is not on this car is looked through
    std::optional<Range> minutes;
    State state = State::Waits;
    bool is_critical = false;        // on the longest way
    std::size_t column = 0, row = 0;
  };
  std::vector<Node> nodes;  // in an order of work
  std::size_t columns = 0, rows = 0;
};

StepNetwork step_network_of(const ReadyAnswer& answer, const StepGraph& graph);
void step_network_picture(Markup& page, const StepNetwork& network);
std::string_view word_of(StepNetwork::State state);

}  // namespace kitgap
