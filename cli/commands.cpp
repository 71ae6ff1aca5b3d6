#include "commands.h"

namespace kitgap {

// Each is defined in the file of its name.
Command check_command();

std::vector<Command> all_commands() {
  return {
      check_command(),
  };
}

}  // namespace kitgap
