#include "report/ready.h"

#include <algorithm>
#include <set>

#include "condition/condition.h"
#include "text/codes.h"

namespace kitgap {

// The row of the highest layer that applies, per step; a step whose rows all fail or are open is not on this car.
std::vector<WorkStep> steps_of(const Knowledge& car) {
  const Rules& rules = car.rules();
  std::vector<WorkStep> steps;
  std::map<std::string, std::size_t> by_name;
  std::vector<std::optional<std::uint32_t>> layers;
  for (const StepRow& row : rules.steps) {
    const auto [found, is_new] = by_name.try_emplace(row.step, steps.size());
    if (is_new) {
      steps.push_back({.name = row.step, .fits = {}, .after = {}, .minutes = {}, .tools = {}, .hold = {}, .applies = false});
      layers.emplace_back();
    }
    const bool holds_here = holds(rules.condition(row.condition), car.sets(), rules.facts) != Ternary::No;
    const std::uint32_t layer = rules.layer(row.place);
    if (!holds_here || (layers[found->second] && *layers[found->second] >= layer)) continue;
    layers[found->second] = layer;
    WorkStep& step = steps[found->second];
    step = {.name = row.step, .fits = {}, .after = row.after, .minutes = row.minutes, .tools = row.tools, .hold = row.hold, .applies = true};
    for (const PartId part : row.fits) step.fits.push_back(rules.part_keys[part.index]);
  }
  return steps;
}

std::map<std::string, std::vector<std::string>> holds_of(const Knowledge& car) {
  const Rules& rules = car.rules();
  std::map<std::string, std::vector<std::string>> to_sign;
  for (const WorkStep& step : steps_of(car)) {
    if (step.applies && !step.hold.empty()) to_sign[step.name].push_back(step.hold);
  }
  for (const CautionRow& row : rules.cautions) {
    if (row.step.empty() || holds(rules.condition(row.condition), car.sets(), rules.facts) == Ternary::No) continue;
    auto& of_step = to_sign[row.step];
    if (std::ranges::find(of_step, row.text) == of_step.end()) of_step.push_back(row.text);
  }
  return to_sign;
}

namespace {

class Builder {
 public:
  Builder(const Knowledge& car, const Report& report, const ReadyQuestion& question, StepGraph graph)
      : rules_(car.rules()), report_(report), question_(question), graph_(std::move(graph)), holds_(holds_of(car)), progress_(question.progress) {
    answer_.car = report.car;
    answer_.best = question.best;
    answer_.rework_minutes = question.rework_minutes;
    answer_.rate = question.rate;
    answer_.windows = question.windows;
    for (const ReportLine& line : report.lines) {
      if (line.gap.hi.is_zero() || line.kind == PartKind::Hole || line.kind == PartKind::Opening || !line.folded_under.empty()) continue;
      ++answer_.to_buy;
      answer_.to_buy_stopping += line.stops_work ? 1 : 0;
    }
    take_back_unsigned();
  }

  ReadyAnswer run() {
    for (const WorkStep& step : graph_.steps) fitted_.insert(step.fits.begin(), step.fits.end());
    collect_store();
    const auto all = readiness(graph_, progress_, parts_, store_list(), holds_);
    for (const StepReadiness& one : all) sort_in(one);
    choose();
    add_hours();
    return std::move(answer_);
  }

 private:
  // A piece that fits anywhere comes from one store; what goes by hand or place has a store of its own per place.
  std::string store_key(const ReportLine& line) const {
    const auto part = rules_.find_part(line.part);
    const bool is_common = part && std::ranges::any_of(rules_.parts, [&](const PartRow& row) {
      return row.part == *part && row.fits == Fits::Anywhere;
    });
    return is_common ? line.part : line.part + " at " + line.position;
  }

  // A step takes what it fits, and the pieces of an assembly that it fits where no step fits those.
  bool takes(const WorkStep& step, const ReportLine& line) const {
    const auto is_fitted = [&](const std::string& part) { return std::ranges::find(step.fits, part) != step.fits.end(); };
    return is_fitted(line.part) || (is_fitted(line.parent) && !fitted_.contains(line.part));
  }

  void collect_store() {
    std::set<std::string> seen;
    for (const WorkStep& step : graph_.steps) {
      for (const ReportLine& line : report_.lines) {
        if (!step.applies || line.kind == PartKind::Opening || line.kind == PartKind::Hole || !takes(step, line)) continue;
        const std::string key = store_key(line);
        parts_.push_back({.step = step.name, .part = key, .quantity = line.need.hi, .position = line.position});
        names_[key] = line.part;
        positions_[key] = line.position;
        if (seen.insert(line.id).second) put_in_store(key, line);
      }
    }
  }

  WaitingFor::How how_of(const Lack& lack) const {
    using How = WaitingFor::How;
    const Prospect& prospect = prospects_.at(lack.part);
    if (lack.is_coming) return How::OnOrder;
    if (prospect.lacking.is_zero() && prospect.planned.is_zero()) return How::ToSettle;
    if (prospect.planned >= lack.quantity) return How::Planned;
    return prospect.is_folded ? How::WithAssembly : How::ToBuy;
  }

  void put_in_store(const std::string& key, const ReportLine& line) {
    Prospect& prospect = prospects_[key];
    prospect.planned += line.planned;
    prospect.lacking += line.gap.lo;
    prospect.is_folded = prospect.is_folded && (line.gap.lo.is_zero() || !line.folded_under.empty());
    PartStore& store = store_[key];
    store.part = key;
    store.in_hand += line.in_hand + line.from_old + line.by_work;
    Fraction with_day;
    for (const CoveredText& covered : line.covered_by) {
      if (!covered.bag.empty()) store.bags.push_back(covered.bag);
      // What an assembly brings comes with it.
      const bool is_coming = covered.from == "order" || (covered.from == "bundle" && line.on_order.sign() > 0);
      if (!is_coming || !covered.line) continue;
      const auto due = question_.due_of.find(*covered.line);
      if (due == question_.due_of.end()) continue;
      store.coming.emplace_back(covered.quantity, due->second);
      with_day += covered.quantity;
    }
    if (line.on_order > with_day) store.coming.emplace_back(line.on_order - with_day, "");
  }

  std::vector<PartStore> store_list() const {
    std::vector<PartStore> list;
    for (const auto& [key, store] : store_) list.push_back(store);
    return list;
  }

  // A step counts as done once every hold point of it is signed for.
  void take_back_unsigned() {
    for (const std::string& step : question_.progress.done) {
      const auto wanted = holds_.find(step);
      if (wanted == holds_.end()) continue;
      const auto known = progress_.acknowledged.find(step);
      UnsignedStep open{.step = step, .holds = {}};
      for (const std::string& hold : wanted->second) {
        if (known == progress_.acknowledged.end() || !known->second.contains(hold)) open.holds.push_back(hold);
      }
      if (open.holds.empty()) continue;
      progress_.done.erase(step);
      progress_.started.insert(step);
      answer_.not_signed.push_back(std::move(open));
    }
  }

  void sort_in(const StepReadiness& one) {
    const WorkStep& step = graph_.steps[one.step];
    if (one.state == StepState::Done) answer_.done.push_back(step.name);
    if (one.state == StepState::Done || one.state == StepState::NotOnThisCar) return;
    if (one.waits_for_steps.empty()) add_tasks(step, one);
    if (one.state != StepState::Blocked) return;
    BlockedStep blocked{.step = step.name, .steps = {}, .parts = {}, .bags = one.bags};
    for (const std::size_t before : one.waits_for_steps) blocked.steps.push_back(graph_.steps[before].name);
    for (const Lack& lack : one.waits_for_parts) {
      const bool has_place = lack.part != names_.at(lack.part);
      blocked.parts.push_back({.part = names_.at(lack.part), .position = has_place ? positions_.at(lack.part) : "",
                               .quantity = lack.quantity, .how = how_of(lack), .due = lack.due});
    }
    answer_.blocked.push_back(std::move(blocked));
  }

  // One task per place; a step that is blocked as a whole may still be done at some of its places.
  void add_tasks(const WorkStep& step, const StepReadiness& one) {
    std::map<std::string, std::vector<Task::Use>> by_place;
    for (const StepPart& part : parts_) {
      if (part.step == step.name && part.quantity.sign() > 0) by_place[part.position].push_back({part.part, part.quantity});
    }
    if (by_place.empty()) by_place[""] = {};
    const Fraction minutes = step.minutes ? step.minutes->hi / static_cast<std::int64_t>(by_place.size()) : Fraction(0);
    for (auto& [place, uses] : by_place) {
      ReadyTask shown{.step = step.name, .position = place, .minutes = step.minutes, .tools = step.tools, .bags = {},
                      .takes_parts = !uses.empty(), .holds = one.open_holds, .is_started = progress_.started.contains(step.name)};
      std::set<std::string> bags;
      for (const Task::Use& use : uses) bags.insert(store_[use.part].bags.begin(), store_[use.part].bags.end());
      shown.bags.assign(bags.begin(), bags.end());
      shown_.push_back(std::move(shown));
      tasks_.push_back({.name = step.name + (place.empty() ? "" : " at " + place), .minutes = minutes, .uses = std::move(uses), .after = {}});
    }
  }

  std::size_t rank(std::size_t task) const {
    for (std::size_t index = 0; index < question_.first.size(); ++index) {
      if (question_.first[index] == tasks_[task].name || question_.first[index] == shown_[task].step) return index;
    }
    return question_.first.size();
  }

  // Parts that reach for everybody are nobody's choice: those tasks are simply there. The rest is chosen, exactly.
  void choose() {
    std::map<std::string, Fraction> wanted;
    for (const Task& task : tasks_) {
      for (const Task::Use& use : task.uses) wanted[use.part] += use.quantity;
    }
    std::vector<std::size_t> order;
    for (std::size_t task = 0; task < tasks_.size(); ++task) {
      const bool can_be = std::ranges::all_of(tasks_[task].uses, [&](const Task::Use& use) { return use.quantity <= store_[use.part].in_hand; });
      if (can_be) order.push_back(task);
    }
    if (question_.best == Best::AsGiven) std::ranges::stable_sort(order, {}, [&](std::size_t task) { return rank(task); });
    std::vector<Task> contested;
    std::vector<std::size_t> contested_index;
    std::set<std::size_t> today;
    for (const std::size_t task : order) {
      const bool is_contested = std::ranges::any_of(tasks_[task].uses, [&](const Task::Use& use) { return wanted[use.part] > store_[use.part].in_hand; });
      if (!is_contested) {
        today.insert(task);
        continue;
      }
      Task only = tasks_[task];
      std::erase_if(only.uses, [&](const Task::Use& use) { return wanted[use.part] <= store_[use.part].in_hand; });
      contested.push_back(std::move(only));
      contested_index.push_back(task);
    }
    std::vector<PartAmount> amounts;
    for (const auto& [key, store] : store_) amounts.push_back({key, store.in_hand});
    const Choice choice = best_choice(contested, amounts, question_.best, 200'000);
    answer_.is_exact = choice.is_exact;
    for (const std::size_t index : choice.tasks) today.insert(contested_index[index]);
    for (const std::size_t task : order) (today.contains(task) ? answer_.today : answer_.instead).push_back(shown_[task]);
  }

  void add_hours() {
    const WorkLeft left = work_left(graph_, progress_);
    answer_.minutes = left.minutes;
    answer_.longest = left.longest;
    for (const std::size_t step : left.critical_path) answer_.critical_path.push_back(graph_.steps[step].name);
    for (const std::size_t step : left.without_minutes) answer_.without_minutes.push_back(graph_.steps[step].name);
    if (!left.minutes.is_exact_value()) answer_.hangs_on = graph_.steps[left.hangs_on].name;
    for (const auto& [step, minutes] : progress_.minutes_logged) answer_.minutes_logged += minutes;
    answer_.minutes = {answer_.minutes.lo + answer_.rework_minutes, answer_.minutes.hi + answer_.rework_minutes};
  }

  const Rules& rules_;
  const Report& report_;
  const ReadyQuestion& question_;
  StepGraph graph_;
  std::map<std::string, std::vector<std::string>> holds_;
  Progress progress_;
  std::set<std::string> fitted_;
  std::vector<StepPart> parts_;
  std::map<std::string, PartStore> store_;
  // What is to be said of what a store lacks.
  struct Prospect {
    Fraction planned, lacking;
    bool is_folded = true;  // all that lacks comes with assemblies to be bought
  };
  std::map<std::string, Prospect> prospects_;
  std::map<std::string, std::string> names_, positions_;  // of a store
  std::vector<Task> tasks_;
  std::vector<ReadyTask> shown_;
  ReadyAnswer answer_;
};

}  // namespace

std::optional<Best> find_best(std::string_view word) {
  if (word == "steps") return Best::Steps;
  if (word == "minutes") return Best::Minutes;
  if (word == "order") return Best::AsGiven;
  return std::nullopt;
}

std::optional<ReadyAnswer> ready_of(const Knowledge& car, const Report& report, const ReadyQuestion& question, Diagnostics& diagnostics) {
  StepGraph graph = step_graph(steps_of(car));
  if (!graph.cycle.empty()) {
    std::string way;
    for (const std::string& step : graph.cycle) way += (way.empty() ? "`" : " -> `") + step + "`";
    const Rules& rules = car.rules();
    const auto row = std::ranges::find(rules.steps, graph.cycle.front(), &StepRow::step);
    const Table& table = rules.tables[row->place.table].table;
    diagnostics.add({.code = code::kCycle, .span = table.span(row->place.row, 0), .says = "these steps wait for each other: " + way,
                     .expected = "an order of work in which some step comes first"});
    return std::nullopt;
  }
  return Builder(car, report, question, std::move(graph)).run();
}

}  // namespace kitgap
