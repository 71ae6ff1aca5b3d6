#include <algorithm>

#include "cover/answer.h"

namespace kitgap {
namespace {

// The offer's rows (single pieces: the part's), whatever the line's meaning turns out to be.
std::vector<Guard> guards_of(const CoverModel& model, const SupplyLine& line) {
  std::vector<Guard> guards;
  for (const Meaning& meaning : line.meanings) {
    if (meaning.part) guards.push_back({.condition = model.needs().part_row(*meaning.part).condition, .unless = {}});
    if (!meaning.offer) continue;
    const Supplies::OfferRows& rows = model.supplies().rows_of(*meaning.offer);
    guards.insert(guards.end(), rows.guards.begin(), rows.guards.end());
  }
  return guards;
}

Fit fit_by(const std::vector<Guard>& guards, Recall& recall) {
  bool may_fit = false;
  bool may_fail = false;
  Explorer(recall).explore([&](Completion& completion) {
    const bool fits = std::ranges::any_of(guards, [&](const Guard& guard) { return stands(guard, completion); });
    may_fit = may_fit || fits;
    may_fail = may_fail || !fits;
  });
  return !may_fit ? Fit::No : may_fail ? Fit::Open : Fit::Yes;
}

template <class One>
void add_new(std::vector<One>& all, One one) {
  if (std::ranges::find(all, one) == all.end()) all.push_back(std::move(one));
}

// The tests that no such car passes, and the facts that the others hang on.
void explain(LineFit& fit, const Condition& condition, const FactSets& sets, const std::vector<Fact>& facts) {
  for (const Condition::Test& test : condition.tests) {
    const ValueSet& known = sets[test.fact.index];
    const Fact& fact = facts[test.fact.index];
    if ((known & test.values).is_empty()) {
      const std::string is = known.is_single() ? text_of(*known.witness(), fact.domain.type) : known.to_unary_test();
      add_new(fit.fails, "`" + fact.name + "` is " + is + ", it is for " + test.values.to_unary_test());
    } else if (!test.values.contains(known)) {
      add_new(fit.hangs_on, test.fact);
    }
  }
  for (const Condition::Residue& residue : condition.residues) {
    for (const FactId fact : residue.facts) {
      if (!sets[fact.index].is_single()) add_new(fit.hangs_on, fact);
    }
  }
}

}  // namespace

std::vector<LineFit> fits_of(const CoverModel& model, Recall& recall) {
  std::vector<LineFit> fits;
  for (std::uint32_t index = 0; index < model.supplies().lines.size(); ++index) {
    LineFit& fit = fits.emplace_back(LineFit{.supply_line = index, .fit = Fit::No, .fails = {}, .hangs_on = {}});
    const SupplyLine& line = model.supplies().lines[index];
    if (line.meanings.empty()) continue;
    const std::vector<Guard> guards = guards_of(model, line);
    fit.fit = fit_by(guards, recall);
    if (fit.fit == Fit::Yes) continue;
    for (const Guard& guard : guards) explain(fit, model.rules().condition(guard.condition), model.needs().knowledge().sets(), model.rules().facts);
    if (fit.fit == Fit::Open) fit.fails.clear();
  }
  return fits;
}

bool fits_never(const CoverModel& model, const SupplyItem& item) {
  return std::ranges::any_of(item.guards, [&](const Guard& guard) {
    return holds(model.rules().condition(guard.condition), model.needs().knowledge().sets(), model.rules().facts) == Ternary::No;
  });
}

}  // namespace kitgap
