#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "need/found.h"
#include "supply/supplies.h"

namespace kitgap {

// How the rows of one file of a person add up: read = used + set aside.
struct FileRows {
  std::string file;
  std::size_t read = 0;
  std::size_t used = 0;
};

// Of each list, in order, and of the counts where there are any. A line whose number means nothing counts as set aside.
std::vector<FileRows> rows_of(const Supplies& supplies, const Found& found);
std::string in_words(const FileRows& rows);  // "9 rows read: 7 used, 2 set aside"

}  // namespace kitgap
