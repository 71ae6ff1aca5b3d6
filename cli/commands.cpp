#include "commands.h"

namespace kitgap {

// Each is defined in the file of its name (`rules check` in rules_check.cpp).
Command rules_totals_command();

std::vector<Command> all_commands() {
  return {
      rules_totals_command(),
  };
}

}  // namespace kitgap
