#include "report/line_rows.h"
#include "report/page.h"
#include "report/pages.h"
#include "report/step_network.h"

namespace kitgap {
namespace {

class ReadyPage {
 public:
  ReadyPage(const ReadyAnswer& answer, const StepGraph& graph) : answer_(answer), network_(step_network_of(answer, graph)) {}

  std::string write() {
    begin_main(page_, "wide");
    page_.open("header", {{"class", "top"}}).put("h1", "Ready today: " + answer_.car);
    page_.put("p", {{"class", "lead"}}, "To the end " + hours_text(answer_.minutes) + " of work, one step after the other; the longest way " +
                                            hours_text(answer_.longest) + ", with hands enough.");
    if (!answer_.hangs_on.empty()) page_.put("p", "The range hangs most on: " + answer_.hangs_on + ".");
    page_.close();
    tasks("today", "Today, with what is here", answer_.today);
    if (!answer_.instead.empty()) tasks("instead", "Could be done too, but not beside those", answer_.instead);
    waiting();
    network();
    page_.close();
    return page_of({.title = "Ready today: " + answer_.car}, page_);
  }

 private:
  void begin(const std::string& id, std::string_view heading) {
    page_.open("section", {{"aria-labelledby", id}}).put("h2", {{"id", id}}, heading);
  }

  void tasks(const std::string& id, std::string_view heading, const std::vector<ReadyTask>& tasks) {
    begin(id, heading);
    if (tasks.empty()) page_.put("p", "Nothing.");
    page_.open("ul", {{"class", "questions"}});
    for (const ReadyTask& task : tasks) {
      page_.open("li").put("span", {{"class", "tick"}, {"aria-hidden", "true"}}, "").open("div").put("b", task.step);
      if (!task.position.empty()) page_.text(" at " + place_name(task.position));
      if (task.is_started) page_.text(" ").put("span", {{"class", "status"}}, "begun");
      if (task.minutes) page_.text(" ").put("span", {{"class", "act"}}, hours_text(*task.minutes) + (task.position.empty() ? "" : " for all its places"));
      if (!task.tools.empty()) page_.text(" ").put("span", {{"class", "act"}}, "tools: " + task.tools);
      for (std::size_t bag = 0; bag < task.bags.size(); ++bag) page_.text(bag == 0 ? "; from " : ", ").text(task.bags[bag]);
      for (const std::string& hold : task.holds) page_.put("p", {{"class", "hold"}}, "Before it counts as done, sign for: " + hold);
      page_.close().close();
    }
    page_.close().close();
  }

  void waiting() {
    begin("waiting", "Waiting");
    if (answer_.blocked.empty()) page_.put("p", "Nothing waits.");
    page_.open("ul", {{"class", "plain"}});
    for (const BlockedStep& blocked : answer_.blocked) {
      page_.open("li").open("details").open("summary").put("b", blocked.step);
      const std::string parts = blocked.parts.empty() ? "" : plural(blocked.parts.size(), "kind of part", "kinds of parts");
      std::string steps;
      for (const std::string& step : blocked.steps) steps += (steps.empty() ? "" : ", ") + step;
      page_.text(" ").put("span", {{"class", "act"}}, "waits for " + steps + (steps.empty() || parts.empty() ? "" : "; ") + parts).close();
      if (!blocked.parts.empty()) {
        page_.open("ul", {{"class", "why"}});
        for (const WaitingFor& part : blocked.parts) {
          page_.put("li", part.quantity.to_text() + " more " + part.part + (part.position.empty() ? "" : " at " + place_name(part.position)) + ", " + how_text(part));
        }
        page_.close();
      }
      page_.close().close();
    }
    page_.close().close();
  }

  void network() {
    begin("network", "The steps and the longest way through them");
    page_.put("p", {{"class", "after"}}, "From left to right; a thick line is the longest way: what lasts longer there makes all of it last longer.");
    step_network_picture(page_, network_);
    page_.open("table", {{"class", "counts"}}).open("thead").open("tr");
    for (const std::string_view head : {"step", "after", "minutes", "state"}) page_.put("th", {{"scope", "col"}}, head);
    page_.close().close().open("tbody");
    for (const StepNetwork::Node& node : network_.nodes) {
      page_.open("tr").open("th", {{"scope", "row"}}).text(node.name);
      if (node.is_critical) page_.text(" ").put("span", {{"class", "status"}}, "longest way");
      page_.close();
      std::string after;
      for (const std::size_t before : node.after) after += (after.empty() ? "" : ", ") + network_.nodes[before].name;
      page_.put("td", after).put("td", node.minutes ? range_text(*node.minutes) : "not stated").put("td", word_of(node.state)).close();
    }
    page_.close().close();
    page_.close();
  }

  const ReadyAnswer& answer_;
  StepNetwork network_;
  Markup page_;
};

}  // namespace

std::string ready_html(const ReadyAnswer& answer, const StepGraph& graph) { return ReadyPage(answer, graph).write(); }

}  // namespace kitgap
