// JSON: read or refused; what was read, written and read again is written the same.
#include <cstdint>
#include <cstdlib>

#include "text/json.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Sources sources;
  Diagnostics diagnostics;
  const auto json = parse_json(
      sources.add("fuzz.json", std::string(reinterpret_cast<const char*>(data), size)), sources, diagnostics);
  static_cast<void>(layout(diagnostics, sources));
  if (json.has_value() == diagnostics.has_errors()) std::abort();
  if (!json) return 0;
  const std::string written = JsonWriter().value(*json).take();
  const auto again = parse_json(sources.add("again.json", written), sources, diagnostics);
  if (!again || JsonWriter().value(*again).take() != written) std::abort();
  return 0;
}
