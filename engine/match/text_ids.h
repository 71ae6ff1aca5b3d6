#pragma once

#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

namespace kitgap {

// Texts numbered from 0 in the order of their first coming. Made for millions of look-ups of short texts: plain
// numbers of up to seven digits are looked up without hashing.
class TextIds {
 public:
  TextIds() : slots_(64) {}
  // The text's id. Its bytes are copied when it is new; `size()` grows by one then.
  std::uint32_t id_of(std::string_view text);
  // The same for the text that writes `number` the plain way, without a leading zero; below `kNumbers`.
  std::uint32_t id_of_number(std::uint32_t number, std::string_view text) {
    if (number >= number_count_) grow_numbers(number);
    std::uint32_t& id = by_number_[number];
    if (id == 0) id = add(text) + 1;
    return id - 1;
  }
  static constexpr std::uint32_t kNumbers = 10'000'000;
  void reserve(std::size_t texts) { texts_.reserve(texts); }
  // The text's id; `size()` when it is not there.
  std::uint32_t find(std::string_view text) const;
  std::size_t size() const { return texts_.size(); }
  std::string_view text(std::uint32_t id) const { return texts_[id]; }

 private:
  struct Slot {
    std::uint32_t tag = 0;
    std::uint32_t id_plus_one = 0;
  };
  struct Free {
    void operator()(std::uint32_t* block) const;
  };
  std::uint32_t add(std::string_view text);
  void grow();
  void grow_numbers(std::uint32_t number);
  std::size_t slot_of(std::string_view text, std::uint64_t hash) const;

  std::vector<std::string_view> texts_;
  std::unique_ptr<std::uint32_t[], Free> by_number_;  // id + 1 by number; pages untouched until used
  std::uint32_t number_count_ = 0;
  std::vector<Slot> slots_;
  std::size_t hashed_ = 0;
  std::vector<std::unique_ptr<char[]>> blocks_;
  char* block_at_ = nullptr;
  std::size_t block_left_ = 0;
};

// A hash of the bytes, the same on every run.
std::uint64_t hash_of(std::string_view text);

}  // namespace kitgap
