#pragma once

#include <vector>

#include "supply/reading.h"
#include "text/person_table.h"

namespace kitgap {

// Our columns of a list, in the order of `column_words`.
enum Ours : std::size_t {
  kNumber,
  kDescription,
  kQuantity,
  kPosition,
  kSide,
  kSupplier,
  kBag,
  kDue,
  kNote,
  kId,
  kUnit,
  kPack,
  kBackOrder,
  kSubstitute,
  kSerial
};

// With what people call them.
std::vector<ColumnWords> column_words(ListKind kind);

}  // namespace kitgap
