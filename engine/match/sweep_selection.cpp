#include "match/sweep_selection.h"

#include <bit>

namespace kitgap {
namespace {

std::size_t words_of(std::size_t entries) { return (entries + 63) / 64; }

std::uint64_t tail_of(std::size_t entries) {
  return entries % 64 == 0 ? ~std::uint64_t{0} : (std::uint64_t{1} << (entries % 64)) - 1;
}

constexpr std::size_t kRoom = 8;  // that the kernels write past the last

}  // namespace

SweepSelection::SweepSelection(const SweepIndex& index) : index_(index) {
  std::size_t cells = 0;
  for (std::size_t number = 0; number < index.vector_columns().size(); ++number) {
    first_cell_.push_back(cells);
    cells += index.cell_count(number);
  }
  first_cell_.push_back(cells);
  select_all();
}

void SweepSelection::select_all() {
  depth_ = 0;
  ranks_ = index_.ranks();
  counts_ = index_.narrow_counts();
  serial_lo_ = index_.serial_lo();
  serial_hi_ = index_.serial_hi();
  entries_ = nullptr;
  any_count_ = static_cast<std::uint32_t>(index_.any_count());
  serial_count_ = static_cast<std::uint32_t>(index_.entry_count() - index_.any_count());
}

const std::uint64_t* SweepSelection::vector(std::size_t number, std::uint32_t cell) const {
  if (depth_ == 0) return index_.vector(number, cell);
  const std::size_t words = words_of(any_count_) + words_of(serial_count_);
  return own_words_.data() + (first_cell_[number] + cell - first_cell_[depth_]) * words;
}

std::size_t SweepSelection::gather(std::span<const std::uint32_t> cells, std::size_t first_word, std::size_t words,
                                   std::size_t entries, std::size_t first_entry, std::vector<std::uint32_t>& found) {
  masks_.clear();
  for (std::size_t number = 0; number < cells.size(); ++number) masks_.push_back(index_.vector(number, cells[number]) + first_word);
  any_found_.grow(entries + kRoom);
  std::uint32_t* positions = any_found_.data();
  const std::size_t count = words == 0 ? 0 : kernels_.positions(masks_.data(), masks_.size(), words, tail_of(entries), positions);
  for (std::size_t at = 0; at < count;) {
    const std::uint32_t word = positions[at] / 64;
    std::uint64_t mask = 0;
    for (; at < count && positions[at] / 64 == word; ++at) {
      mask |= std::uint64_t{1} << (positions[at] % 64);
      found.push_back(positions[at] + static_cast<std::uint32_t>(first_entry));
    }
    word_numbers_.push_back(word + static_cast<std::uint32_t>(first_word));
    word_masks_.push_back(mask);
  }
  return count;
}

void SweepSelection::select(std::span<const std::uint32_t> cells) {
  if (cells.empty()) return select_all();
  depth_ = cells.size();
  own_entries_.clear();
  word_numbers_.clear();
  word_masks_.clear();
  any_count_ = static_cast<std::uint32_t>(gather(cells, 0, index_.any_words(), index_.any_count(), 0, own_entries_));
  const std::size_t any_masks = word_numbers_.size();
  serial_count_ = static_cast<std::uint32_t>(gather(cells, index_.any_words(), index_.serial_words(),
                                                    index_.entry_count() - index_.any_count(), index_.any_count(), own_entries_));
  own_ranks_.resize(own_entries_.size());
  own_counts_.resize(index_.narrow_counts() == nullptr ? 0 : own_entries_.size());
  for (std::size_t at = 0; at < own_entries_.size(); ++at) own_ranks_[at] = index_.ranks()[own_entries_[at]];
  for (std::size_t at = 0; at < own_counts_.size(); ++at) own_counts_[at] = index_.narrow_counts()[own_entries_[at]];
  own_lo_.resize(serial_count_);
  own_hi_.resize(serial_count_);
  for (std::size_t at = 0; at < serial_count_; ++at) {
    own_lo_[at] = index_.serial_lo()[own_entries_[any_count_ + at] - index_.any_count()];
    own_hi_[at] = index_.serial_hi()[own_entries_[any_count_ + at] - index_.any_count()];
  }
  const std::size_t any_words = words_of(any_count_);
  const std::size_t words = any_words + words_of(serial_count_);
  own_words_.resize((first_cell_.back() - first_cell_[depth_]) * words);
  std::uint64_t* to = own_words_.data();
  for (std::size_t number = depth_; number < index_.vector_columns().size(); ++number) {
    for (std::uint32_t cell = 0; cell < index_.cell_count(number); ++cell, to += words) {
      const std::uint64_t* from = index_.vector(number, cell);
      kernels_.compact(from, word_numbers_.data(), word_masks_.data(), any_masks, to);
      kernels_.compact(from, word_numbers_.data() + any_masks, word_masks_.data() + any_masks, word_numbers_.size() - any_masks,
                       to + any_words);
    }
  }
  ranks_ = own_ranks_.data();
  counts_ = own_counts_.empty() ? nullptr : own_counts_.data();
  serial_lo_ = own_lo_.data();
  serial_hi_ = own_hi_.data();
  entries_ = own_entries_.data();
}

SweepSelection::Found SweepSelection::find(std::span<const std::uint32_t> cells) {
  masks_.clear();
  for (std::size_t number = 0; number < cells.size(); ++number) masks_.push_back(vector(depth_ + number, cells[number]));
  const auto positions = [&](std::size_t entries, Room<std::uint32_t>& room) -> std::span<const std::uint32_t> {
    if (entries == 0) return {};
    room.grow(entries + kRoom);
    return {room.data(), kernels_.positions(masks_.data(), masks_.size(), words_of(entries), tail_of(entries), room.data())};
  };
  const auto any = positions(any_count_, any_found_);
  for (const std::uint64_t*& mask : masks_) mask += words_of(any_count_);
  return {any, positions(serial_count_, serial_found_)};
}

}  // namespace kitgap
