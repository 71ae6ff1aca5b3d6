#include <algorithm>
#include <set>

#include "job/exchange.h"
#include "job/state.h"
#include "job/store.h"
#include "recording.h"
#include "session.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

const Positional kJob = {"JOB", "the job file", true, false};

// The records asked for by --car, --as-of and --only; nothing, said, when one of these is wrong.
std::optional<std::vector<Record>> chosen_records(const Arguments& arguments, Terminal& terminal) {
  std::optional<std::string> as_of;
  if (!read_as_of(arguments, as_of, terminal)) return std::nullopt;
  std::optional<KindIndex> only;
  if (const auto word = arguments.value("--only")) {
    only = find_record_kind(*word);
    if (!only) {
      std::vector<std::string> words;
      for (const RecordKind& kind : record_kinds()) words.emplace_back(kind.word);
      const std::string near = nearest(*word, words);
      terminal.say("kitgap: `" + printable(*word) + "` is no kind of record\n" + (near.empty() ? "" : "did you mean `" + near + "`?\n"));
      return std::nullopt;
    }
  }
  const auto car = arguments.value("--car");
  const JobContents contents = read_job(*arguments.positional(0), car ? std::vector<std::string>{*car} : std::vector<std::string>{});
  std::vector<Record> records;
  std::set<std::int64_t> shown;
  const KindIndex withdrawal = record_kind_of("withdrawal");
  for (const Record& record : contents.records) {
    const bool is_by_then = !as_of || record.at.substr(0, 10) <= *as_of;
    // What takes a record back is of another kind, and belongs to its history all the same.
    const bool is_meant = !only || record.kind == *only || (record.kind == withdrawal && record.corrects && shown.contains(*record.corrects));
    if (!is_by_then || !is_meant || (car && record.car != *car)) continue;
    records.push_back(record);
    shown.insert(record.id);
  }
  return records;
}

int history(const Arguments& arguments, Terminal& terminal) {
  const auto format = format_of(arguments, {"text", "json", "csv"}, terminal);
  if (!format) return kBadInput;
  return with_job(terminal, [&] {
    const auto records = chosen_records(arguments, terminal);
    if (!records) return kBadInput;
    terminal.print(*format == "json" ? history_json(*records) : *format == "csv" ? history_csv(*records) : history_text(*records));
    return kDone;
  });
}

int export_to(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    std::optional<std::string> as_of;
    if (!read_as_of(arguments, as_of, terminal)) return kBadInput;
    JobContents contents = read_job(*arguments.positional(0));
    if (as_of) contents = job_at(contents, *as_of);
    if (as_of && contents.records.empty()) throw JobRefused{"this job held nothing yet at the end of " + *as_of};
    export_job(contents, *arguments.positional(1));
    terminal.say(std::to_string(contents.records.size()) + " records written to `" + printable(*arguments.positional(1)) + "`\n");
    return kDone;
  });
}

int import_from(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    Sources sources;
    Diagnostics diagnostics;
    const auto contents = read_export(*arguments.positional(0), sources, diagnostics);
    if (!contents) {
      terminal.say(layout(diagnostics, sources));
      return kBadInput;
    }
    rebuild_job(*arguments.positional(1), *contents);
    say_saved(std::to_string(contents->records.size()) + " records, equal to those exported", {}, terminal);
    return kDone;
  });
}

int verify(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    const Verification result = verify_job(*arguments.positional(0));
    if (result.damages.empty()) {
      terminal.print("whole: " + std::to_string(result.records) + " records of " + std::to_string(result.cars) +
                     (result.cars == 1 ? " car\n" : " cars\n"));
      return kDone;
    }
    for (const std::string& damage : result.damages) {
      std::string_view rest = damage;
      for (std::size_t end = 0; end != std::string_view::npos; rest.remove_prefix(end == std::string_view::npos ? rest.size() : end + 1)) {
        end = rest.find('\n');
        terminal.print(printable(rest.substr(0, end)) + "\n");
      }
    }
    return kFoundWrong;
  });
}

int backup(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    const std::filesystem::path job = *arguments.positional(0);
    const std::filesystem::path to = arguments.positional(1).value_or(backup_of(job).string());
    back_up_job(job, to);
    terminal.say("backed up to `" + printable(to.string()) + "`, and read back\n");
    return kDone;
  });
}

int restore(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    const std::filesystem::path job = *arguments.positional(0);
    const std::filesystem::path from = arguments.value("--from").value_or(backup_of(job).string());
    const auto aside = restore_job(job, from);
    const JobContents contents = read_job(job);
    terminal.say("restored from `" + printable(from.string()) + "`: " + std::to_string(contents.records.size()) + " records of " +
                 std::to_string(contents.commands) + (contents.commands == 1 ? " command" : " commands") +
                 (contents.records.empty() ? "" : ", the last of " + contents.records.back().at) + "\n" +
                 (aside ? "the file that was there is kept as `" + printable(aside->string()) + "`\n" : ""));
    return kDone;
  });
}

int record(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    const std::string word = *arguments.positional(1);
    const auto kind = find_record_kind(word);
    if (!kind) {
      std::string words;
      std::vector<std::string> names;
      for (const RecordKind& one : record_kinds()) {
        names.emplace_back(one.word);
        words += (words.empty() ? "`" : ", `") + std::string(one.word) + "`";
      }
      const std::string near = nearest(word, names);
      terminal.say("kitgap: `" + printable(word) + "` is no kind of record; there are " + words + "\n" +
                   (near.empty() ? "" : "did you mean `" + near + "`?\n"));
      return kBadInput;
    }
    const std::vector<std::string> words(arguments.positionals.begin() + 2, arguments.positionals.end());
    auto entry = entry_of_words(arguments.value("--car").value_or(""), *kind, words, terminal);
    if (!entry) return kBadInput;
    const std::vector<Entry> entries = {std::move(*entry)};
    const Saved saved = add_records(*arguments.positional(0), entries, stamp_of(arguments, "job record"));
    say_saved("record " + std::to_string(saved.ids.front()), saved.backup_failed, terminal);
    return kDone;
  });
}

// What stands but for the cells named; without cells the record is taken back.
int correct(const Arguments& arguments, Terminal& terminal) {
  return with_job(terminal, [&] {
    const std::string number = *arguments.positional(1);
    const JobContents contents = read_job(*arguments.positional(0));
    const auto old = std::ranges::find_if(contents.records, [&](const Record& one) { return std::to_string(one.id) == number; });
    if (old == contents.records.end()) {
      throw JobRefused{"there is no record `" + number + "`\n`kitgap job history FILE` lists them"};
    }
    std::vector<Entry> entries;
    if (arguments.has("--withdraw")) {
      entries.push_back(entry_of(old->car, "withdrawal", {{"reason", *arguments.value("--withdraw")}}, old->id));
    } else {
      const std::vector<std::string> words(arguments.positionals.begin() + 2, arguments.positionals.end());
      if (words.empty()) throw JobRefused{"name what is right, as `column=value`, or take it back with --withdraw REASON"};
      auto entry = entry_of_words(old->car, old->kind, words, terminal);
      if (!entry) return kBadInput;
      Entry corrected{.car = old->car, .kind = old->kind, .cells = old->cells, .corrects = old->id};
      for (const std::string& word : words) {
        const std::size_t column = *find_record_column(old->kind, word.substr(0, word.find('=')));
        corrected.cells[column] = entry->cells[column];
      }
      entries.push_back(std::move(corrected));
    }
    const Saved saved = add_records(*arguments.positional(0), entries, stamp_of(arguments, "job correct"), {}, contents.seal);
    const std::string id = std::to_string(saved.ids.front());
    say_saved(arguments.has("--withdraw") ? "record " + number + " is taken back by record " + id : "record " + id + " in place of " + number, saved.backup_failed, terminal);
    return kDone;
  });
}

}  // namespace

Command job_history_command() {
  return {.name = "job history", .group = Group::YourCar,
          .answers = "Every record of a job: what, when, who said so, and what corrected it.",
          .positionals = {kJob},
          .options = {{"--car", "NAME", "only this car's", false, false}, as_of_option(), {"--only", "KIND", "only this kind of record", false, false},
                      {"--format", "text|json|csv", "how to write it", false, false}},
          .examples = {}, .run = history};
}
Command job_record_command() {
  return {.name = "job record", .group = Group::YourCar,
          .answers = "Adds one record: a fact, a step begun or done, hours, a back order, a return, a credit, rework, a gate passed.",
          .positionals = {kJob, {"KIND", "`fact`, `step`, `hours`, `gate`, ...", true, false}, {"COLUMN=VALUE", "what is recorded", false, true}},
          .options = {{"--car", "NAME", "whose record it is; without it, of the file as a whole", false, false}, by_option()},
          .examples = {}, .run = record};
}
Command job_correct_command() {
  return {.name = "job correct", .group = Group::YourCar,
          .answers = "Adds what is right in place of a record; the old one stays in the history.",
          .positionals = {kJob, {"RECORD", "its number in the history", true, false}, {"COLUMN=VALUE", "what is right; the rest stays", false, true}},
          .options = {{"--withdraw", "REASON", "take the record back instead", false, false}, by_option()},
          .examples = {}, .run = correct};
}
Command job_export_command() {
  return {.name = "job export", .group = Group::YourCar,
          .answers = "Everything in a job as CSV files and one JSON file.",
          .positionals = {kJob, {"DIR", "the folder to write to", true, false}}, .options = {as_of_option()}, .examples = {}, .run = export_to};
}
Command job_import_command() {
  return {.name = "job import", .group = Group::YourCar,
          .answers = "Makes a job of an export, with equal content; refused when something in it was changed.",
          .positionals = {{"EXPORT", "the folder of an export, or its job.json", true, false}, {"JOB", "the job file to make", true, false}},
          .options = {}, .examples = {}, .run = import_from};
}
Command job_verify_command() {
  return {.name = "job verify", .group = Group::YourCar,
          .answers = "Checks every page and every record of a job, and its backup.",
          .positionals = {kJob}, .options = {}, .examples = {}, .run = verify};
}
Command job_backup_command() {
  return {.name = "job backup", .group = Group::YourCar,
          .answers = "Copies a job as it stands, also while it is in use, and reads the copy back.",
          .positionals = {kJob, {"BACKUP", "where to; else beside the job, `.backup` added", false, false}}, .options = {}, .examples = {}, .run = backup};
}
Command job_restore_command() {
  return {.name = "job restore", .group = Group::YourCar,
          .answers = "Puts the last good state back; the damaged file is kept beside it.",
          .positionals = {kJob}, .options = {{"--from", "BACKUP", "a backup of yours; else the one beside the job", false, false}},
          .examples = {}, .run = restore};
}

}  // namespace kitgap
