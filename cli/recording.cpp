#include "recording.h"

#include <pwd.h>
#include <unistd.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <memory>
#include <new>

#include "job/store.h"
#include "text/diagnostics.h"
#include "text/file.h"
#include "text/utf8.h"
#include "value/calendar.h"

namespace kitgap {
namespace {

// Every line made harmless by itself: the line ends are ours.
std::string lines_of(std::string_view says) {
  std::string out = "kitgap: ";
  while (true) {
    const std::size_t end = says.find('\n');
    out += printable(says.substr(0, end)) + "\n";
    if (end == std::string_view::npos) return out;
    says.remove_prefix(end + 1);
  }
}

// From the file itself: `getpwuid` asks the system's name services, and those abort the program when memory is out
// (glibc 2.36). Who is known to a directory service only is called as the session calls them.
std::string login_name() {
  if (const std::unique_ptr<FILE, int (*)(FILE*)> file(std::fopen("/etc/passwd", "re"), std::fclose); file != nullptr) {
    const passwd* entry = ::fgetpwent(file.get());
    while (entry != nullptr && entry->pw_uid != ::geteuid()) entry = ::fgetpwent(file.get());
    if (entry != nullptr) return entry->pw_name;
  }
  const char* name = std::getenv("LOGNAME");
  return name == nullptr ? "" : name;
}

}  // namespace

int with_job(Terminal& terminal, const std::function<int()>& work) {
  try {
    return work();
  } catch (const JobRefused& refused) {
    terminal.say(lines_of(refused.says));
    return kBadInput;
  } catch (const MachineFailure& failure) {
    terminal.say(lines_of(failure.says));
    return kMachineFailed;
  }
}

Stamp stamp_of(const Arguments& arguments, std::string_view via) {
  if (arguments.has("--as-of")) throw JobRefused{"`--as-of` shows what was; what is recorded holds from now on: leave it out\nnothing was saved"};
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  std::tm parts{};
  ::gmtime_r(&now, &parts);
  char text[32];
  std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &parts);
  return {.at = text, .who = arguments.value("--by").value_or(login_name()), .via = std::string(via)};
}

Option by_option() { return {"--by", "NAME", "who says so; else your login name", false, false}; }
Option as_of_option() { return {"--as-of", "DATE", "what the job held at the end of that day (UTC)", false, false}; }

bool read_as_of(const Arguments& arguments, std::optional<std::string>& as_of, Terminal& terminal) {
  as_of = arguments.value("--as-of");
  if (!as_of || parse_date(*as_of)) return true;
  terminal.say("kitgap: `" + printable(*as_of) + "` is no date; write it as 2026-03-01\n");
  return false;
}

std::optional<Entry> entry_of_words(const std::string& car, KindIndex kind, std::span<const std::string> words,
                                    Terminal& terminal) {
  const RecordKind& about = record_kinds()[kind];
  Entry entry{.car = car, .kind = kind, .cells = {}, .corrects = {}};
  entry.cells.resize(about.columns.size());
  for (const std::string& word : words) {
    const std::size_t equals = word.find('=');
    const std::string name = word.substr(0, equals);
    const auto column = equals == std::string::npos ? std::nullopt : find_record_column(kind, name);
    if (column) {
      entry.cells[*column] = word.substr(equals + 1);
      continue;
    }
    std::vector<std::string> names(about.columns.begin(), about.columns.end());
    std::string listed;
    for (const std::string& one : names) listed += (listed.empty() ? "`" : ", `") + one + "`";
    const std::string near = nearest(name, names);
    terminal.say("kitgap: `" + printable(word) + "` is no `column=value` of a `" + std::string(about.word) + "`\nits columns are " +
                 listed + "\n" + (near.empty() || near == name ? "" : "did you mean `" + near + "`?\n"));
    return std::nullopt;
  }
  return entry;
}

void say_saved(const std::string& what, const std::optional<std::string>& backup_failed, Terminal& terminal) {
  terminal.say("saved: " + printable(what) + "\n");
  if (backup_failed) terminal.say("but its backup could not be renewed:\n" + lines_of(*backup_failed));
}

}  // namespace kitgap
