#include "commands.h"

namespace kitgap {

// Each is defined in the file of its name (`rules check` in rules_check.cpp).
Command cut_command();
Command rules_totals_command();

std::vector<Command> all_commands() {
  return {
      cut_command(),
      rules_totals_command(),
  };
}

}  // namespace kitgap
