#include "commands.h"

namespace kitgap {

// Each is defined in the file of its name (`rules check` in rules_check.cpp).

std::vector<Command> all_commands() {
  return {
  };
}

}  // namespace kitgap
