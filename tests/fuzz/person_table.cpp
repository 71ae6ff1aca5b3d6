// A person's list in any encoding and dialect: read row by row or refused whole, never less.
#include <cstdint>
#include <cstdlib>

#include "supply/reading.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("fuzz.csv", std::string(reinterpret_cast<const char*>(data), size));
  const auto list = read_list(source, static_cast<ListKind>(data[0] % 3), {}, sources, diagnostics);
  static_cast<void>(layout(diagnostics, sources));
  if (list.has_value() == diagnostics.has_errors()) std::abort();
  if (list && list->used + list->set_aside != list->lines.size()) std::abort();
  return 0;
}
