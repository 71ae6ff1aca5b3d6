#include "condition/regex_set.h"

#include <utf8proc.h>

#include <algorithm>
#include <array>
#include <map>
#include <mutex>
#include <string>

namespace kitgap {
namespace {

constexpr std::uint32_t kLastCode = 0x10FFFF;

struct Block {
  std::string_view name;
  std::uint32_t first, last;
};

// The blocks of Unicode that a workshop's texts are written in (Unicode, Blocks.txt; from memory).
constexpr auto kBlocks = std::to_array<Block>({
    {"BasicLatin", 0x0, 0x7F}, {"Latin-1Supplement", 0x80, 0xFF}, {"LatinExtended-A", 0x100, 0x17F},
    {"LatinExtended-B", 0x180, 0x24F}, {"IPAExtensions", 0x250, 0x2AF}, {"SpacingModifierLetters", 0x2B0, 0x2FF},
    {"CombiningDiacriticalMarks", 0x300, 0x36F}, {"Greek", 0x370, 0x3FF}, {"GreekandCoptic", 0x370, 0x3FF},
    {"Cyrillic", 0x400, 0x4FF}, {"Armenian", 0x530, 0x58F}, {"Hebrew", 0x590, 0x5FF}, {"Arabic", 0x600, 0x6FF},
    {"Devanagari", 0x900, 0x97F}, {"Thai", 0xE00, 0xE7F}, {"Georgian", 0x10A0, 0x10FF}, {"HangulJamo", 0x1100, 0x11FF},
    {"LatinExtendedAdditional", 0x1E00, 0x1EFF}, {"GreekExtended", 0x1F00, 0x1FFF}, {"GeneralPunctuation", 0x2000, 0x206F},
    {"SuperscriptsandSubscripts", 0x2070, 0x209F}, {"CurrencySymbols", 0x20A0, 0x20CF}, {"LetterlikeSymbols", 0x2100, 0x214F},
    {"NumberForms", 0x2150, 0x218F}, {"Arrows", 0x2190, 0x21FF}, {"MathematicalOperators", 0x2200, 0x22FF},
    {"BoxDrawing", 0x2500, 0x257F}, {"GeometricShapes", 0x25A0, 0x25FF}, {"MiscellaneousSymbols", 0x2600, 0x26FF},
    {"Dingbats", 0x2700, 0x27BF}, {"CJKSymbolsandPunctuation", 0x3000, 0x303F}, {"Hiragana", 0x3040, 0x309F},
    {"Katakana", 0x30A0, 0x30FF}, {"CJKUnifiedIdeographs", 0x4E00, 0x9FFF}, {"HangulSyllables", 0xAC00, 0xD7AF},
    {"PrivateUse", 0xE000, 0xF8FF}, {"HalfwidthandFullwidthForms", 0xFF00, 0xFFEF},
});

// All characters whose category begins with `name` (`L`, `Lu`): one walk over Unicode each, kept.
const CharacterSet& category(const std::string& name) {
  static std::mutex mutex;
  static std::map<std::string, CharacterSet> known;
  const std::lock_guard lock(mutex);
  const auto found = known.find(name);
  if (found != known.end()) return found->second;
  std::vector<CharacterSet::Range> ranges;
  for (std::uint32_t code = 0; code <= kLastCode; ++code) {
    const char* words = utf8proc_category_string(static_cast<utf8proc_int32_t>(code));
    if (!std::string_view(words).starts_with(name)) continue;
    if (!ranges.empty() && ranges.back().second + 1 == code) {
      ranges.back().second = code;
    } else {
      ranges.emplace_back(code, code);
    }
  }
  return known.emplace(name, CharacterSet(std::move(ranges))).first->second;
}

CharacterSet name_starts() { return category("L") | CharacterSet({{':', ':'}, {'_', '_'}}); }

}  // namespace

CharacterSet::CharacterSet(std::vector<Range> ranges) : ranges_(std::move(ranges)) {
  std::sort(ranges_.begin(), ranges_.end());
  std::size_t kept = 0;
  for (std::size_t index = 1; index < ranges_.size(); ++index) {
    if (ranges_[index].first <= ranges_[kept].second + 1) {
      ranges_[kept].second = std::max(ranges_[kept].second, ranges_[index].second);
    } else {
      ranges_[++kept] = ranges_[index];
    }
  }
  if (!ranges_.empty()) ranges_.resize(kept + 1);
}

bool CharacterSet::contains(std::uint32_t code) const {
  const auto after = std::upper_bound(ranges_.begin(), ranges_.end(), Range{code, kLastCode + 1});
  return after != ranges_.begin() && std::prev(after)->second >= code;
}

CharacterSet CharacterSet::operator|(const CharacterSet& other) const {
  std::vector<Range> all = ranges_;
  all.insert(all.end(), other.ranges_.begin(), other.ranges_.end());
  return CharacterSet(std::move(all));
}

CharacterSet CharacterSet::complement() const {
  std::vector<Range> rest;
  std::uint32_t next = 0;
  for (const auto& [first, last] : ranges_) {
    if (first > next) rest.emplace_back(next, first - 1);
    next = last + 1;
  }
  if (next <= kLastCode) rest.emplace_back(next, kLastCode);
  return CharacterSet(std::move(rest));
}

CharacterSet CharacterSet::operator-(const CharacterSet& other) const {
  return (complement() | other).complement();
}

CharacterSet CharacterSet::in_any_case() const {
  std::vector<Range> all = ranges_;
  for (const auto& [first, last] : ranges_) {
    if (last - first > 5000) continue;  // whole scripts hold both cases
    for (std::uint32_t code = first; code <= last; ++code) {
      for (const auto other : {utf8proc_toupper(static_cast<utf8proc_int32_t>(code)),
                               utf8proc_tolower(static_cast<utf8proc_int32_t>(code))}) {
        all.emplace_back(static_cast<std::uint32_t>(other), static_cast<std::uint32_t>(other));
      }
    }
  }
  return CharacterSet(std::move(all));
}

std::optional<CharacterSet> class_of_escape(char letter) {
  switch (letter) {
    case 's': return CharacterSet({{' ', ' '}, {'\t', '\n'}, {'\r', '\r'}});
    case 'd': return category("Nd");
    case 'w': return (category("P") | category("Z") | category("C")).complement();
    case 'i': return name_starts();
    case 'c': return name_starts() | category("Nd") | category("M") | CharacterSet({{'-', '.'}, {0xB7, 0xB7}});
    case 'S':
    case 'D':
    case 'W':
    case 'I':
    case 'C': return class_of_escape(static_cast<char>(letter | 0x20))->complement();
    default: return std::nullopt;
  }
}

std::optional<CharacterSet> class_of_property(std::string_view name) {
  constexpr std::string_view kCategories =
      " L Lu Ll Lt Lm Lo M Mn Mc Me N Nd Nl No P Pc Pd Ps Pe Pi Pf Po Z Zs Zl Zp S Sm Sc Sk So C Cc Cf Co Cn ";
  if (name.starts_with("Is")) {
    const auto block = std::find_if(kBlocks.begin(), kBlocks.end(), [&](const Block& known) { return known.name == name.substr(2); });
    if (block == kBlocks.end()) return std::nullopt;
    return CharacterSet({{block->first, block->last}});
  }
  if (name.empty() || kCategories.find(" " + std::string(name) + " ") == std::string_view::npos) return std::nullopt;
  return category(std::string(name));
}

}  // namespace kitgap
