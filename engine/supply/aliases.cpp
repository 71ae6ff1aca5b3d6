#include "supply/aliases.h"

#include <re2/re2.h>
#include <re2/set.h>

#include <algorithm>

namespace kitgap {
namespace {

// RE2 gives up a search that needs more; the patterns are then tried one by one, each within its own bound.
constexpr std::int64_t kSetMemory = std::int64_t{64} << 20;
constexpr std::int64_t kPatternMemory = std::int64_t{1} << 20;

re2::RE2::Options options(std::int64_t memory) {
  re2::RE2::Options options;
  options.set_case_sensitive(false);
  options.set_log_errors(false);
  options.set_max_mem(memory);
  return options;
}

re2::StringPiece piece(std::string_view text) { return {text.data(), text.size()}; }

}  // namespace

struct Aliases::Compiled {
  re2::RE2::Set set{options(kSetMemory), re2::RE2::ANCHOR_BOTH};
  bool is_compiled = false;
  std::vector<std::unique_ptr<re2::RE2>> each;  // made only where the set does not answer
};

Aliases::Aliases(const NeedModel& model) {
  for (std::uint32_t index = 1; index < model.rules().part_keys.size(); ++index) {
    const std::string& pattern = model.part_row(PartId{index}).aliases;
    if (pattern.empty()) continue;
    patterns_.push_back(&pattern);
    parts_.push_back(PartId{index});
  }
}

Aliases::~Aliases() = default;

std::optional<std::size_t> Aliases::first_match(std::string_view text) const {
  if (compiled_->is_compiled) {
    std::vector<int> matches;
    re2::RE2::Set::ErrorInfo error{};
    const bool is_found = compiled_->set.Match(piece(text), &matches, &error);
    if (is_found) return static_cast<std::size_t>(*std::ranges::min_element(matches));
    if (error.kind == re2::RE2::Set::kNoError) return std::nullopt;
  }
  if (compiled_->each.empty()) {
    for (const std::string* pattern : patterns_) compiled_->each.push_back(std::make_unique<re2::RE2>(*pattern, options(kPatternMemory)));
  }
  const auto found = std::ranges::find_if(compiled_->each, [&](const auto& pattern) { return re2::RE2::FullMatch(piece(text), *pattern); });
  if (found == compiled_->each.end()) return std::nullopt;
  return static_cast<std::size_t>(found - compiled_->each.begin());
}

std::optional<PartId> Aliases::part_of(std::string_view text, std::string_view other) const {
  if (patterns_.empty()) return std::nullopt;
  if (!compiled_) {
    compiled_ = std::make_unique<Compiled>();
    const bool are_added = std::ranges::all_of(patterns_, [&](const std::string* pattern) { return compiled_->set.Add(*pattern, nullptr) >= 0; });
    compiled_->is_compiled = are_added && compiled_->set.Compile();
  }
  std::optional<std::size_t> first = first_match(text);
  if (other != text) {
    const std::optional<std::size_t> second = first_match(other);
    if (second && (!first || *second < *first)) first = second;
  }
  if (!first) return std::nullopt;
  return parts_[*first];
}

}  // namespace kitgap
