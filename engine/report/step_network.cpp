#include "report/step_network.h"

#include <algorithm>
#include <map>
#include <set>

#include "report/pictures.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr double kBoxWide = 172, kBoxHigh = 56, kColumn = 214, kRow = 74, kMargin = 8;

// Each on a row of its own within its column, near the middle of what comes before it.
void lay_rows(StepNetwork& network) {
  std::map<std::size_t, std::vector<std::size_t>> columns;
  for (std::size_t index = 0; index < network.nodes.size(); ++index) columns[network.nodes[index].column].push_back(index);
  for (auto& [column, members] : columns) {
    const auto middle = [&](std::size_t index) {
      const auto& after = network.nodes[index].after;
      double sum = 0;
      for (const std::size_t before : after) sum += static_cast<double>(network.nodes[before].row);
      return after.empty() ? static_cast<double>(index) : sum / static_cast<double>(after.size());
    };
    if (column != 0) std::ranges::stable_sort(members, {}, middle);
    for (std::size_t row = 0; row < members.size(); ++row) network.nodes[members[row]].row = row;
    network.rows = std::max(network.rows, members.size());
  }
}

// Steps before `step` on this car, what is not on it looked through.
void collect(const StepGraph& graph, std::size_t step, std::set<std::size_t>& before) {
  for (const std::size_t earlier : graph.after[step]) {
    if (graph.steps[earlier].applies) before.insert(earlier);
    else collect(graph, earlier, before);
  }
}

// At most two lines of a name.
std::vector<std::string> lines_of(const std::string& name) {
  constexpr std::size_t kLetters = 20;
  const std::string text = printable(name);
  if (display_width(text) <= kLetters) return {text};
  std::size_t cut = 0;
  for (std::size_t at = 0; at < text.size() && at <= kLetters; ++at) {
    if (text[at] == ' ') cut = at;
  }
  if (cut == 0) return {cut_to(text, kLetters)};
  return {text.substr(0, cut), cut_to(text.substr(cut + 1), kLetters)};
}

}  // namespace

std::string_view word_of(StepNetwork::State state) {
  static constexpr auto kWords = std::to_array<std::string_view>({"done", "today", "waits"});
  return kWords[static_cast<std::size_t>(state)];
}

StepNetwork step_network_of(const ReadyAnswer& answer, const StepGraph& graph) {
  StepNetwork network;
  std::map<std::size_t, std::size_t> node_of;
  const auto is_in = [](const std::vector<std::string>& names, const std::string& name) { return std::ranges::find(names, name) != names.end(); };
  const auto is_task = [](const std::vector<ReadyTask>& tasks, const std::string& name) { return std::ranges::find(tasks, name, &ReadyTask::step) != tasks.end(); };
  for (const std::size_t step : graph.order) {
    const WorkStep& work = graph.steps[step];
    if (!work.applies) continue;
    StepNetwork::Node node{.name = work.name, .after = {}, .minutes = work.minutes, .state = StepNetwork::State::Waits,
                           .is_critical = is_in(answer.critical_path, work.name), .column = 0, .row = 0};
    if (is_in(answer.done, work.name)) node.state = StepNetwork::State::Done;
    else if (is_task(answer.today, work.name) || is_task(answer.instead, work.name)) node.state = StepNetwork::State::Today;
    std::set<std::size_t> before;
    collect(graph, step, before);
    for (const std::size_t earlier : before) {
      node.after.push_back(node_of.at(earlier));
      node.column = std::max(node.column, network.nodes[node_of.at(earlier)].column + 1);
    }
    network.columns = std::max(network.columns, node.column + 1);
    node_of[step] = network.nodes.size();
    network.nodes.push_back(std::move(node));
  }
  lay_rows(network);
  return network;
}

void step_network_picture(Markup& page, const StepNetwork& network) {
  const double wide = kMargin * 2 + kColumn * static_cast<double>(network.columns) - (kColumn - kBoxWide);
  const double high = kMargin * 2 + kRow * static_cast<double>(network.rows) - (kRow - kBoxHigh);
  const auto x_of = [](const StepNetwork::Node& node) { return kMargin + kColumn * static_cast<double>(node.column); };
  const auto y_of = [](const StepNetwork::Node& node) { return kMargin + kRow * static_cast<double>(node.row); };
  page.open("div", {{"class", "network"}, {"tabindex", "0"}, {"role", "region"}, {"aria-label", "The steps as a network; the table below says the same"}});
  page.open("svg", {{"viewBox", "0 0 " + coordinate(wide) + " " + coordinate(high)}, {"width", coordinate(wide)}, {"height", coordinate(high)}, {"aria-hidden", "true"}, {"focusable", "false"}});
  for (const bool is_critical : {false, true}) {
    for (const StepNetwork::Node& node : network.nodes) {
      for (const std::size_t before : node.after) {
        const StepNetwork::Node& from = network.nodes[before];
        if ((from.is_critical && node.is_critical) != is_critical) continue;
        const double x1 = x_of(from) + kBoxWide, y1 = y_of(from) + kBoxHigh / 2, x2 = x_of(node), y2 = y_of(node) + kBoxHigh / 2;
        page.empty("path", {{"d", "M" + coordinate(x1) + " " + coordinate(y1) + "C" + coordinate(x1 + 24) + " " + coordinate(y1) + " " + coordinate(x2 - 24) + " " +
                                      coordinate(y2) + " " + coordinate(x2) + " " + coordinate(y2)},
                            {"class", is_critical ? "way long" : "way"}});
      }
    }
  }
  for (const StepNetwork::Node& node : network.nodes) {
    const double x = x_of(node), y = y_of(node);
    page.empty("rect", {{"x", coordinate(x)}, {"y", coordinate(y)}, {"width", coordinate(kBoxWide)}, {"height", coordinate(kBoxHigh)}, {"rx", "4"},
                        {"class", "step-" + std::string(word_of(node.state)) + (node.is_critical ? " long" : "")}});
    double at = y + 18;
    for (const std::string& line : lines_of(node.name)) {
      page.put("text", {{"x", coordinate(x + 9)}, {"y", coordinate(at)}, {"class", "word strong"}}, line);
      at += 16;
    }
    page.put("text", {{"x", coordinate(x + 9)}, {"y", coordinate(y + kBoxHigh - 7)}, {"class", "word soft"}},
             std::string(word_of(node.state)) + (node.minutes ? ", " + range_text(*node.minutes) + " min" : ""));
  }
  page.close().close();
}

}  // namespace kitgap
