#include "need/recall.h"

#include <algorithm>

namespace kitgap {

std::size_t HashOfAsked::operator()(const Asked& asked) const {
  std::size_t hash = static_cast<std::size_t>(asked.kind);
  for (const std::uint32_t part : {static_cast<std::uint32_t>(asked.unknown.kind), asked.unknown.first, asked.unknown.second, asked.unknown.third, asked.options}) {
    hash = (hash ^ part) * 0x9e3779b97f4a7c15U;
  }
  return hash ^ hash >> 32;
}

Recall::Recall(const Knowledge& knowledge)
    : knowledge_(&knowledge), always_(knowledge.rules().conditions.size(), Always::NotAsked), by_condition_(always_.size(), 0) {}

Ternary Recall::always(ConditionId condition) {
  Always& known = always_[condition.index];
  if (known == Always::NotAsked) {
    const Ternary here = holds(knowledge_->rules().condition(condition), knowledge_->sets(), knowledge_->rules().facts);
    known = here == Ternary::Yes ? Always::Yes : here == Ternary::No ? Always::No : Always::Open;
  }
  return known == Always::Yes ? Ternary::Yes : known == Always::No ? Ternary::No : Ternary::Open;
}

Question Recall::number_of(const Asked& asked) {
  const auto [entry, is_new] = numbers_.try_emplace(asked, static_cast<Question>(asked_.size()));
  if (is_new) asked_.push_back(asked);
  return entry->second;
}

Question Recall::new_question(const Asked& asked) {
  asked_.push_back(asked);
  return static_cast<Question>(asked_.size() - 1);
}

Question Recall::number_of(ConditionId condition) {
  Question& known = by_condition_[condition.index];
  if (known == 0) known = number_of(Asked{.kind = Asked::Kind::Condition, .unknown = {.first = condition.index}, .options = 2}) + 1;
  return known - 1;
}

std::uint32_t Recall::number_of(FactId fact, const FactValue& value) {
  std::vector<FactValue>& values = values_[fact];
  const auto known = std::ranges::find(values, value);
  if (known != values.end()) return static_cast<std::uint32_t>(known - values.begin());
  values.push_back(value);
  return static_cast<std::uint32_t>(values.size() - 1);
}

std::unique_ptr<Recall::Replies> Recall::lend() {
  if (idle_.empty()) return std::make_unique<Replies>();
  std::unique_ptr<Replies> cleared = std::move(idle_.back());
  idle_.pop_back();
  return cleared;
}

}  // namespace kitgap
