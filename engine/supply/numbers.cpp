#include "supply/numbers.h"

#include <re2/re2.h>

#include <algorithm>
#include <set>

#include "measure/stated.h"
#include "text/diagnostics.h"

namespace kitgap {
namespace {

// Hand and place words are read apart; an alias is matched without them.
std::string without_place_words(std::string_view text) {
  static const re2::RE2 kWords(
      R"((?i)(^|[\s,;(])(l/?h|r/?h|o/?s(/?[fr])?|n/?s(/?[fr])?|left|right|nearside|offside|driver'?s side|passenger'?s side|hand|side|pair of|pair|front|rear)\b\)?)");
  static const re2::RE2 kGaps(R"([\s,;]+)");
  std::string rest(text);
  while (re2::RE2::GlobalReplace(&rest, kWords, " ") > 0) {
  }
  re2::RE2::GlobalReplace(&rest, kGaps, " ");
  if (rest.starts_with(' ')) rest.erase(0, 1);
  if (rest.ends_with(' ')) rest.pop_back();
  return rest;
}

}  // namespace

NumberIndex::NumberIndex(const NeedModel& model) : model_(model), aliases_(model) {
  const Rules& rules = model.rules();
  for (const OfferRow& row : rules.offers) {
    std::vector<OfferId>& offers = offers_by_number_[normalised_part_number(rules.offer_keys[row.offer.index].part_number)];
    if (std::ranges::find(offers, row.offer) == offers.end()) offers.push_back(row.offer);
  }
  for (auto& [number, offers] : offers_by_number_) {
    std::ranges::sort(offers, [&](OfferId a, OfferId b) { return rules.offer_keys[a.index].supplier < rules.offer_keys[b.index].supplier; });
  }
  for (const ReplacesRow& row : rules.replaces) {
    if (row.kind != ReplaceKind::Replaces) continue;
    if (holds(rules.condition(row.condition), model.knowledge().sets(), rules.facts) == Ternary::No) continue;
    replaced_[normalised_part_number(row.from)].push_back(&row);
  }
  for (std::uint32_t index = 1; index < rules.part_keys.size(); ++index) {
    parts_by_key_.emplace(normalised_part_number(rules.part_keys[index]), PartId{index});
  }
}

std::vector<Meaning> NumberIndex::offers_of(std::string_view number, std::string_view supplier) const {
  const Rules& rules = model_.rules();
  std::vector<Meaning> meanings;
  std::vector<RowPlace> chain;
  std::set<std::string> met;
  for (std::string wanted(number); met.insert(wanted).second;) {
    if (const auto found = offers_by_number_.find(wanted); found != offers_by_number_.end()) {
      for (const OfferId offer : found->second) {
        if (supplier.empty() || rules.offer_keys[offer.index].supplier == supplier) {
          meanings.push_back({.offer = offer, .part = {}, .replaced_by = chain});
        }
      }
      if (!meanings.empty()) return meanings;
    }
    const auto next = replaced_.find(wanted);
    if (next == replaced_.end()) return meanings;
    chain.push_back(next->second.front()->place);
    wanted = normalised_part_number(next->second.front()->to);
  }
  return meanings;
}

std::optional<PartId> NumberIndex::part_of(std::string_view text) const {
  if (text.empty()) return std::nullopt;
  if (const auto key = parts_by_key_.find(normalised_part_number(text)); key != parts_by_key_.end()) return key->second;
  const std::string bare = without_place_words(text);
  if (const auto key = parts_by_key_.find(normalised_part_number(bare)); key != parts_by_key_.end()) return key->second;
  return aliases_.part_of(text, bare);
}

const std::vector<std::string>& NumberIndex::known() const {
  if (known_.empty()) {
    for (const OfferKey& key : model_.rules().offer_keys) known_.push_back(key.part_number);
    known_.insert(known_.end(), model_.rules().part_keys.begin() + 1, model_.rules().part_keys.end());
  }
  return known_;
}

// The keys of the parts that have this name, or nearly. A name is no key: it may be that of more than one.
std::vector<std::string> NumberIndex::keys_by_name(std::string_view text) const {
  const Rules& rules = model_.rules();
  if (names_.empty()) {
    for (const PartRow& row : rules.parts) names_.push_back(row.name);
  }
  std::vector<std::string> keys;
  const std::string near = nearest(text, names_);
  for (const PartRow& row : rules.parts) {
    if (!near.empty() && row.name == near) keys.push_back(rules.part_keys[row.part.index]);
  }
  return keys;
}

SupplyLine NumberIndex::meaning_of(const ReadLine& line) const {
  const Rules& rules = model_.rules();
  SupplyLine result;
  const std::string number = normalised_part_number(line.part_number);
  if (!number.empty()) result.meanings = offers_of(number, line.supplier);
  // The same thing from several suppliers is one meaning: whose it is changes nothing about what it covers.
  if (result.meanings.size() > 1) {
    const auto sells = [&](const Meaning& meaning) -> const OfferRow* {
      for (const OfferRow& row : rules.offers) {
        if (row.offer == *meaning.offer) return &row;
      }
      return nullptr;
    };
    const OfferRow* first = sells(result.meanings.front());
    const bool all_same = std::ranges::all_of(result.meanings, [&](const Meaning& meaning) {
      const OfferRow* row = sells(meaning);
      return row->part && row->part == first->part && row->pack_size == first->pack_size;
    });
    if (all_same) result.meanings.resize(1);
  }
  if (!result.meanings.empty()) return result;
  // A size is read apart like a place: `belt bolts 7/16-20 UNF` are belt bolts (cover/limits.cpp checks the thread).
  const StatedHardware stated = read_stated(line.description);
  const std::string_view unsized = stated.is_empty() ? std::string_view() : std::string_view(stated.rest);
  for (const std::string_view text : {std::string_view(line.part_number), std::string_view(line.description), unsized}) {
    if (const auto part = part_of(text)) {
      result.meanings.push_back({.offer = {}, .part = *part, .replaced_by = {}});
      return result;
    }
  }
  // What the row itself names in its place is a suggestion, no reading.
  for (const Substitute& other : line.substitutes) {
    if (!offers_of(normalised_part_number(other.part_number), "").empty() || part_of(other.part_number)) result.nearest.push_back(other.part_number);
  }
  const auto suggest = [&](const std::string& near) {
    if (!near.empty() && std::ranges::find(result.nearest, near) == result.nearest.end()) result.nearest.push_back(near);
  };
  for (const std::string& text : {line.part_number, line.description}) {
    if (text.empty()) continue;
    suggest(nearest(text, known()));
    std::ranges::for_each(keys_by_name(text), suggest);
  }
  result.set_aside = line.part_number.empty() && line.description.empty()
                         ? "it names no part"
                         : "`" + (line.part_number.empty() ? line.description : line.part_number) + "` is no offer and no part of these packs";
  return result;
}

}  // namespace kitgap
