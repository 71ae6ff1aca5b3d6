#pragma once

#include <bit>
#include <cstdint>
#include <cstring>
#include <string_view>
#include <vector>

namespace kitgap {

// Raw cells of a column met lately, with a number for each, so that the common cells of a column cost one look.
class RecentCells {
 public:
  // Null when it is not there. Reads 8 bytes whatever the cell's length, as the scan's buffer allows.
  const std::uint32_t* find(std::string_view raw) const {
    const Key key = key_of(raw);
    const Slot& slot = slots_[index_of(key, raw.size())];
    if (slot.key.first != key.first || slot.key.last != key.last || slot.text.size() != raw.size() || slot.is_free) return nullptr;
    if (raw.size() > 16 && std::memcmp(slot.text.data() + 8, raw.data() + 8, raw.size() - 16) != 0) return nullptr;
    return &slot.number;
  }
  // The bytes of `kept` must outlive this.
  void put(std::string_view raw, std::string_view kept, std::uint32_t number) {
    const Key key = key_of(raw);
    slots_[index_of(key, raw.size())] = {key, kept, number, false};
  }

 private:
  struct Key {
    std::uint64_t first = 0;
    std::uint64_t last = 0;
  };
  struct Slot {
    Key key;
    std::string_view text;
    std::uint32_t number = 0;
    bool is_free = true;
  };
  static Key key_of(std::string_view raw) {
    Key key;
    if (raw.empty()) return key;
    std::memcpy(&key.first, raw.data(), 8);
    if (raw.size() < 8) {
      if constexpr (std::endian::native == std::endian::big) key.first = __builtin_bswap64(key.first);
      key.first &= (std::uint64_t{1} << (8 * raw.size())) - 1;
    } else {
      std::memcpy(&key.last, raw.data() + raw.size() - 8, 8);
    }
    return key;
  }
  static std::size_t index_of(const Key& key, std::size_t size) {
    const std::uint64_t mixed = (key.first ^ (key.last * 0x9E3779B97F4A7C15ULL) ^ size) * 0xD6E8FEB86659FD93ULL;
    return static_cast<std::size_t>(mixed >> 54);
  }
  std::vector<Slot> slots_ = std::vector<Slot>(1024);
};

}  // namespace kitgap
