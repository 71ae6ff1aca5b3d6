// A pack's table: whatever the bytes, it is read or refused; every place it names can be shown, every cell
// written back.
#include <cstdint>
#include <cstdlib>

#include "text/csv.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Sources sources;
  Diagnostics diagnostics;
  const SourceId source = sources.add("fuzz.csv", std::string(reinterpret_cast<const char*>(data), size));
  const auto table = read_pack_table(source, sources, diagnostics);
  static_cast<void>(layout(diagnostics, sources));
  if (!table) return 0;
  for (std::size_t row = 0; row < table->row_count(); ++row) {
    for (std::size_t column = 0; column < table->column_count(); ++column) {
      if (row < 50) static_cast<void>(table->span(row, column));
      std::string again = "a,b\n";
      append_csv_cell(again, table->cell(row, column));
      again += ",x\n";
      Diagnostics others;
      const auto back = read_pack_table(sources.add("again.csv", again), sources, others);
      if (!back || back->cell(0, 0) != table->cell(row, column)) std::abort();
    }
  }
  return 0;
}
