// The first byte says which part of a workbook the rest is: its sheet, its shared strings or its styles.
#include <cstdint>

#include "../support/archive.h"
#include "text/xlsx.h"

using namespace kitgap;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string part(reinterpret_cast<const char*>(data + 1), size - 1);
  const std::string sheet =
      R"(<worksheet xmlns="m"><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" s="1"><v>35000</v></c></row></sheetData></worksheet>)";
  const test::Archive archive = data[0] % 3 == 0   ? test::workbook(part)
                                : data[0] % 3 == 1 ? test::workbook(sheet, part)
                                                   : test::workbook(sheet, "", part);
  Sources sources;
  Diagnostics diagnostics;
  const auto table = read_sheet(sources.add("fuzz.xlsx", archive.bytes()), {}, sources, diagnostics);
  for (std::size_t row = 0; table && row < table->row_count() && row < 50; ++row) {
    static_cast<void>(table->as_typed(row));
    static_cast<void>(table->span(row, 1));
  }
  static_cast<void>(layout(diagnostics, sources));
  return 0;
}
