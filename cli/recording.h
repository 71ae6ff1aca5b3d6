#pragma once

#include <functional>
#include <optional>
#include <string>

#include "commands.h"
#include "job/record.h"

namespace kitgap {

// Runs what reads or writes a job file. What it refuses is said on standard error with status 2, what the machine
// failed at with status 3, every line of it.
int with_job(Terminal& terminal, const std::function<int()>& work);

// Of a command that records: `--as-of` is refused. Now, the name after `--by` (else the login name), and the command.
Stamp stamp_of(const Arguments& arguments, std::string_view via);
Option by_option();
Option as_of_option();
// The day after `--as-of`; false, said, when it is no date.
bool read_as_of(const Arguments& arguments, std::optional<std::string>& as_of, Terminal& terminal);

// `body style=estate` words into an entry; nothing, said, when a word is no `column=value` of the kind.
std::optional<Entry> entry_of_words(const std::string& car, KindIndex kind, std::span<const std::string> words,
                                    Terminal& terminal);
// Says that it is saved, and when its backup could not be renewed.
void say_saved(const std::string& what, const std::optional<std::string>& backup_failed, Terminal& terminal);

}  // namespace kitgap
