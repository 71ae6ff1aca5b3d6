#include "match/text_ids.h"

#include <algorithm>
#include <cstdlib>
#include <cstring>
#include <new>

#include "text/mixed.h"

namespace kitgap {
namespace {

constexpr std::size_t kDigits = 7;
constexpr std::size_t kBlockBytes = std::size_t{1} << 16;

// The number that the text writes the one plain way (no sign, no leading zero); -1 for any other text.
std::int32_t plain_number(std::string_view text) {
  if (text.empty() || text.size() > kDigits || (text[0] == '0' && text.size() > 1)) return -1;
  std::int32_t number = 0;
  for (const char c : text) {
    if (c < '0' || c > '9') return -1;
    number = number * 10 + (c - '0');
  }
  return number;
}

std::uint64_t word_at(const char* at, std::size_t bytes) {
  std::uint64_t word = 0;
  std::memcpy(&word, at, bytes);
  return word;
}

}  // namespace

std::uint64_t hash_of(std::string_view text) {
  std::uint64_t hash = text.size();
  std::size_t at = 0;
  for (; at + 8 <= text.size(); at += 8) hash = mixed(hash, word_at(text.data() + at, 8));
  return mixed(hash, word_at(text.data() + at, text.size() - at));
}

void TextIds::Free::operator()(std::uint32_t* block) const { std::free(block); }

void TextIds::grow_numbers(std::uint32_t number) {
  std::uint32_t count = std::max<std::uint32_t>(1024, 2 * number_count_);
  while (count <= number) count *= 2;
  std::unique_ptr<std::uint32_t[], Free> grown(static_cast<std::uint32_t*>(std::calloc(count, sizeof(std::uint32_t))));
  if (!grown) throw std::bad_alloc();
  if (number_count_ > 0) std::memcpy(grown.get(), by_number_.get(), number_count_ * sizeof(std::uint32_t));
  by_number_ = std::move(grown);
  number_count_ = count;
}

std::uint32_t TextIds::id_of(std::string_view text) {
  if (const std::int32_t number = plain_number(text); number >= 0) {
    return id_of_number(static_cast<std::uint32_t>(number), text);
  }
  const std::uint64_t hash = hash_of(text);
  const std::size_t slot = slot_of(text, hash);
  if (slots_[slot].id_plus_one != 0) return slots_[slot].id_plus_one - 1;
  const std::uint32_t id = add(text);
  slots_[slot] = {static_cast<std::uint32_t>(hash >> 32), id + 1};
  if (++hashed_ * 2 > slots_.size()) grow();
  return id;
}

std::uint32_t TextIds::find(std::string_view text) const {
  const auto none = static_cast<std::uint32_t>(size());
  if (const std::int32_t number = plain_number(text); number >= 0) {
    if (static_cast<std::uint32_t>(number) >= number_count_) return none;
    const std::uint32_t id = by_number_[static_cast<std::size_t>(number)];
    return id == 0 ? none : id - 1;
  }
  const std::uint32_t id = slots_[slot_of(text, hash_of(text))].id_plus_one;
  return id == 0 ? none : id - 1;
}

// The text's slot, or the free one where it belongs.
std::size_t TextIds::slot_of(std::string_view text, std::uint64_t hash) const {
  const std::size_t mask = slots_.size() - 1;
  const auto tag = static_cast<std::uint32_t>(hash >> 32);
  std::size_t slot = static_cast<std::size_t>(hash) & mask;
  while (slots_[slot].id_plus_one != 0) {
    if (slots_[slot].tag == tag && texts_[slots_[slot].id_plus_one - 1] == text) return slot;
    slot = (slot + 1) & mask;
  }
  return slot;
}

void TextIds::grow() {
  std::vector<Slot> old(slots_.size() * 2);
  old.swap(slots_);
  for (const Slot& slot : old) {
    if (slot.id_plus_one == 0) continue;
    const std::string_view text = texts_[slot.id_plus_one - 1];
    slots_[slot_of(text, hash_of(text))] = slot;
  }
}

std::uint32_t TextIds::add(std::string_view text) {
  if (text.size() > block_left_) {
    const std::size_t bytes = std::max(kBlockBytes, text.size());
    blocks_.push_back(std::make_unique_for_overwrite<char[]>(bytes));
    block_at_ = blocks_.back().get();
    block_left_ = bytes;
  }
  if (!text.empty()) std::memcpy(block_at_, text.data(), text.size());
  texts_.emplace_back(block_at_, text.size());
  block_at_ += text.size();
  block_left_ -= text.size();
  return static_cast<std::uint32_t>(texts_.size() - 1);
}

}  // namespace kitgap
