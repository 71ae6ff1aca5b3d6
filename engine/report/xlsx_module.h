#pragma once

#include <cstdint>

// What kitgap and its workbook module agree on. The module alone knows libxlsxwriter, so that a report in words never
// loads it.
extern "C" {

struct KitgapXlsxCell {
  const char* text;  // UTF-8, at most 32,767 UTF-16 units, no control bytes but line feed and tab; null: a number
  double number;
};

struct KitgapXlsxSheet {
  const char* name;
  const char* const* titles;  // `columns` of them
  const int* widths;
  const KitgapXlsxCell* cells;  // row after row
  std::uint32_t columns;        // at least 1
  std::uint32_t rows;           // at most 1,048,575
};

struct KitgapXlsx {
  int version;
  // Writes the workbook to `path`. Null when it is written, else what went wrong; lives as long as the program.
  const char* (*write)(const char* path, const KitgapXlsxSheet* sheets, std::uint32_t count);
};

inline constexpr int kKitgapXlsxVersion = 1;
using KitgapXlsxFunction = const KitgapXlsx* (*)();
}
