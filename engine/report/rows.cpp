#include "report/rows.h"

namespace kitgap {

std::vector<FileRows> rows_of(const Supplies& supplies, const Found& found) {
  std::vector<FileRows> files;
  for (const ReadList& list : supplies.lists) files.push_back({.file = list.file, .read = list.lines.size()});
  for (const SupplyLine& line : supplies.lines) files[line.file].used += line.set_aside.empty() ? 1 : 0;
  const std::size_t counts = found.records.size() + found.set_aside.size();
  if (counts != 0) files.push_back({.file = found.file, .read = counts, .used = found.records.size()});
  return files;
}

std::string in_words(const FileRows& rows) {
  return std::to_string(rows.read) + (rows.read == 1 ? " row read: " : " rows read: ") + std::to_string(rows.used) + " used, " +
         std::to_string(rows.read - rows.used) + " set aside";
}

}  // namespace kitgap
