#include "order_record.h"

#include <algorithm>

#include "job/state.h"
#include "job/store.h"
#include "recording.h"
#include "value/calendar.h"

namespace kitgap {
namespace {

std::optional<std::int64_t> lead_days(const PurchaseProblem& problem, const PurchaseOffer& offer) {
  if (offer.lead_time_days) return offer.lead_time_days;
  for (const PurchaseSupplier& supplier : problem.suppliers) {
    if (supplier.name == offer.supplier) return supplier.lead_time_days;
  }
  return std::nullopt;
}

bool is_shop(const PurchaseProblem& problem, const std::string& name) {
  return std::ranges::any_of(problem.suppliers, [&](const PurchaseSupplier& supplier) { return supplier.name == name && supplier.is_shop; });
}

}  // namespace

void record_order(const PurchaseProblem& problem, const Plan& plan, const std::string& id, std::int64_t today, const Arguments& arguments, Terminal& terminal) {
  const std::string job = *arguments.value("--job");
  const JobContents contents = read_job(job);
  for (const Record& record : present_records(standing_records(contents.records), "order line", "")) {
    if (record.cell("id") == id) throw JobRefused{"there is an order `" + id + "` in this job already: record this one under another name"};
  }
  std::vector<Entry> entries;
  for (const PurchaseLine& line : plan.buy) {
    const PurchaseOffer& offer = problem.offers[line.offer];
    if (!is_shop(problem, offer.supplier)) continue;
    std::string holds;
    for (const PackContents& content : offer.contents) holds += (holds.empty() ? "" : ", ") + content.quantity.to_text() + " " + content.item;
    const auto days = lead_days(problem, offer);
    const auto due = days ? date_of_day_number(today + *days) : std::nullopt;
    entries.push_back(entry_of("", "order line", {{"id", id}, {"line", line.id}, {"part number", offer.part_number}, {"description", holds},
                                                  {"quantity", std::to_string(line.packs)}, {"supplier", offer.supplier}, {"due", due ? text_of(*due) : ""}, {"note", offer.says}}));
  }
  if (entries.empty()) {
    terminal.say("nothing is bought, and nothing was saved\n");
    return;
  }
  const Saved saved = add_records(job, entries, stamp_of(arguments, "order"), {}, contents.seal);
  say_saved("order `" + id + "`, " + std::to_string(entries.size()) + (entries.size() == 1 ? " line" : " lines") + "; `kitgap receive --job " + job + "` counts against it",
            saved.backup_failed, terminal);
}

}  // namespace kitgap
