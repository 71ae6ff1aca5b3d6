#pragma once

#include <optional>
#include <string>
#include <vector>

#include "output.h"

namespace kitgap {

// `--with "market=home"`, repeated, as a car file of facts and values would say it. Nothing, said, where one has no `=`.
std::optional<std::string> stated_facts(const std::vector<std::string>& stated, const std::string& command, Terminal& terminal);

}  // namespace kitgap
