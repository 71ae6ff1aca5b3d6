#include "need/found.h"

#include <algorithm>
#include <map>

namespace kitgap {
namespace {

// Of two records of one kind and condition the later date holds, else the later row.
bool is_later(const FoundRecord& a, const FoundRecord& b) {
  if (a.day && b.day && *a.day != *b.day) return *a.day > *b.day;
  return a.line > b.line;
}

using Latest = std::map<OldCondition, const FoundRecord*>;

void keep_latest(Latest& latest, const FoundRecord& record) {
  const FoundRecord*& known = latest[record.condition];
  if (known == nullptr || is_later(record, *known)) known = &record;
}

std::optional<Fraction> sum_of(const Latest& latest) {
  if (latest.empty()) return std::nullopt;
  Fraction sum;
  for (const auto& [condition, record] : latest) sum += record->count;
  return sum;
}

}  // namespace

CountOfLine count_of(const Found& found, PartId parent, PositionId position, PartId part) {
  Latest shell;
  Latest old_part;
  Latest old_pieces;
  CountOfLine result;
  for (const FoundRecord& record : found.records) {
    if (record.parent != parent || record.part != part) continue;
    if (std::ranges::find(record.leaves, position) == record.leaves.end()) continue;
    if (record.counted_in == CountedIn::Shell) keep_latest(shell, record);
    if (record.counted_in == CountedIn::OldPart) keep_latest(old_part, record);
    if (record.counted_in != CountedIn::Shell) keep_latest(old_pieces, record);
    if (!record.bag.empty()) result.bag = record.bag;
  }
  result.in_shell = sum_of(shell);
  result.on_old_part = sum_of(old_part);
  const Latest& counting = shell.empty() ? old_part : shell;
  for (const auto& [condition, record] : counting) result.line = std::max(result.line, record->line);
  for (const auto& [condition, record] : old_pieces) {
    result.is_recorded_as_old = true;
    if (condition == OldCondition::Good || condition == OldCondition::Restorable) result.usable += record->count;
    if (condition != OldCondition::NotLookedAt && condition != OldCondition::Absent) result.present += record->count;
    if (condition == OldCondition::NotLookedAt) result.not_looked_at += record->count;
  }
  return result;
}

}  // namespace kitgap
