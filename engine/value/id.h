#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <functional>

namespace kitgap {

// An index that knows what it numbers: passing a part where a position is meant does not compile.
template <class Tag>
struct Id {
  std::uint32_t index = 0;
  friend auto operator<=>(Id, Id) = default;
};

using FactId = Id<struct FactTag>;
using PartId = Id<struct PartTag>;
using PositionId = Id<struct PositionTag>;  // any path of the tree, leaf or not
using OfferId = Id<struct OfferTag>;
using SupplierId = Id<struct SupplierTag>;

}  // namespace kitgap

template <class Tag>
struct std::hash<kitgap::Id<Tag>> {
  std::size_t operator()(kitgap::Id<Tag> id) const noexcept { return id.index; }
};
