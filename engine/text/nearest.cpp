#include <algorithm>
#include <bit>
#include <vector>

#include "text/diagnostics.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostLettersOff = 3;

std::u32string letters_of(std::string_view text) {
  std::u32string letters;
  const std::string lower = folded(text);
  for (std::size_t at = 0; at < lower.size();) {
    const Character character = character_at(lower, at);
    letters += character.code;
    at += character.bytes;
  }
  return letters;
}

std::size_t difference(std::size_t a, std::size_t b) { return a > b ? a - b : b - a; }

bool is_ascii(std::string_view text) {
  return std::ranges::all_of(text, [](char byte) { return (byte & 0x80) == 0; });
}

// Which plain letters there are, whatever their case; some signs share a bit with one.
std::uint32_t letter_bits(std::string_view text) {
  std::uint32_t bits = 0;
  for (const char byte : text) bits |= std::uint32_t{1} << (byte & 31);
  return bits;
}

// Plain words alone: each letter too many or too few is one off, and so is each that only one of them has, though a
// change mends one on either side. Most candidates are too far off by this, which costs next to nothing.
bool may_be_within(std::size_t limit, std::string_view a, std::string_view b) {
  const std::uint32_t bits_of_a = letter_bits(a);
  const std::uint32_t bits_of_b = letter_bits(b);
  const int off = std::max(std::popcount(bits_of_a & ~bits_of_b), std::popcount(bits_of_b & ~bits_of_a));
  return std::max(difference(a.size(), b.size()), static_cast<std::size_t>(off)) <= limit;
}

// Optimal string alignment: insert, drop, change, or swap two neighbours, each counts one. Past `limit` it does not matter
// how many, so only what lies that near the diagonal is looked at.
class LettersOff {
 public:
  std::size_t operator()(const std::u32string& a, const std::u32string& b, std::size_t limit) {
    const std::size_t too_many = limit + 1;
    if (difference(a.size(), b.size()) > limit) return too_many;
    for (auto* row : {&before_last_, &last_, &row_}) row->assign(b.size() + 2, too_many);
    for (std::size_t j = 0; j <= std::min(limit, b.size()); ++j) last_[j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
      const std::size_t begin = i > limit ? i - limit : 1;
      const std::size_t end = std::min(b.size(), i + limit);
      row_[begin - 1] = i > limit ? too_many : i;
      std::size_t least = row_[begin - 1];
      for (std::size_t j = begin; j <= end; ++j) {
        std::size_t off = std::min({last_[j] + 1, row_[j - 1] + 1, last_[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1)});
        if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) off = std::min(off, before_last_[j - 2] + 1);
        row_[j] = off;
        least = std::min(least, off);
      }
      row_[end + 1] = too_many;
      if (least > limit) return too_many;
      before_last_.swap(last_);
      last_.swap(row_);
    }
    return last_[b.size()];
  }

 private:
  std::vector<std::size_t> before_last_, last_, row_;  // of the table
};

}  // namespace

std::string nearest(std::string_view typed, const std::vector<std::string>& candidates) {
  typed = typed.substr(0, 400);
  const bool is_plain = is_ascii(typed);
  const std::u32string word = letters_of(typed);
  std::size_t limit = std::min(kMostLettersOff, word.size() / 3);
  const std::string* best = nullptr;
  std::size_t best_off = limit + 1;
  LettersOff letters_off;
  for (const std::string& candidate : candidates) {
    if (candidate.size() > 1'000) continue;
    if (is_plain && is_ascii(candidate) && !may_be_within(limit, typed, candidate)) continue;
    const std::size_t off = letters_off(word, letters_of(candidate), limit);
    const bool nearer = off < best_off || (off == best_off && best != nullptr && candidate < *best);
    if (off > limit || !nearer) continue;
    best = &candidate;
    best_off = limit = off;
  }
  return best == nullptr ? std::string() : *best;
}

}  // namespace kitgap
