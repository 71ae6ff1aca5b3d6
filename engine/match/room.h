#pragma once

#include <algorithm>
#include <cstddef>
#include <memory>

namespace kitgap {

// Room for numbers that are written before they are read: it is not filled first, so that pages that are never written
// are never touched.
template <class T>
class Room {
 public:
  // At least `size`; the first `kept` stay.
  void grow(std::size_t size, std::size_t kept = 0) {
    if (size <= size_) return;
    auto grown = std::make_unique_for_overwrite<T[]>(size);
    std::copy_n(items_.get(), kept, grown.get());
    items_ = std::move(grown);
    size_ = size;
  }
  std::size_t size() const { return size_; }
  T* data() { return items_.get(); }
  const T* data() const { return items_.get(); }
  T& operator[](std::size_t at) { return items_[at]; }
  const T& operator[](std::size_t at) const { return items_[at]; }

 private:
  std::unique_ptr<T[]> items_;
  std::size_t size_ = 0;
};

}  // namespace kitgap
