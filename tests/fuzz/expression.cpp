// An expression: read or refused, worked out within bounds, and its value can be written as JSON.
#include <cstdint>
#include <cstdlib>

#include "condition/eval_json.h"
#include "text/file.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  if (!is_utf8(text)) return 0;
  std::string error;
  bool can_be_read = true;
  const std::string value = eval_json(text, nullptr, error, can_be_read);
  if (!can_be_read && error.empty()) std::abort();
  Sources sources;
  Diagnostics diagnostics;
  if (can_be_read && !parse_json(sources.add("value.json", value), sources, diagnostics)) std::abort();
  return 0;
}
