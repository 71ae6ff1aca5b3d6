#include "output.h"

#include <algorithm>
#include <filesystem>

#include "session.h"
#include "text/file.h"

namespace kitgap {
namespace {

// `report.xlsx` is written as a workbook without being told.
std::optional<std::string> format_of_ending(const std::string& path, const std::vector<std::string>& allowed) {
  std::string ending = std::filesystem::path(path).extension().string();
  std::ranges::transform(ending, ending.begin(), [](char letter) { return letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter + 32) : letter; });
  if (ending.size() < 2) return std::nullopt;
  const std::string format = ending == ".txt" ? "text" : ending.substr(1);
  if (std::ranges::find(allowed, format) == allowed.end()) return std::nullopt;
  return format;
}

}  // namespace

Option out_option() {
  return {"--out", "FILE", "write it to a file, old or new and never half; the ending tells the format", false, false};
}

std::optional<Output> output_of(const Arguments& arguments, const std::vector<std::string>& allowed, Terminal& terminal) {
  Output output{.format = {}, .path = arguments.value("--out")};
  if (output.path == "-") output.path.reset();
  const auto by_ending = output.path && !arguments.has("--format") ? format_of_ending(*output.path, allowed) : std::nullopt;
  const auto format = by_ending ? by_ending : format_of(arguments, allowed, terminal);
  if (!format) return std::nullopt;
  output.format = *format;
  if (output.is("xlsx") && !output.path && terminal.is_terminal()) {
    terminal.say("kitgap: a workbook is nothing for a terminal: name a file with `--out FILE.xlsx`\n");
    return std::nullopt;
  }
  return output;
}

void deliver(const Output& output, std::string_view bytes, Terminal& terminal) {
  if (!output.path) return terminal.print(bytes);
  write_file(*output.path, bytes);
  terminal.say("wrote " + printable(*output.path) + "\n");
}

void deliver_workbook(const Output& output, const Workbook& workbook, Terminal& terminal) {
  deliver(output, output.is("xlsx") ? workbook_xlsx(workbook) : sheet_csv(workbook.front()), terminal);
}

std::string seconds_text(double value) {
  const auto micros = static_cast<std::int64_t>(value * 1e6);
  std::string digits = std::to_string(micros % 1'000'000);
  return std::to_string(micros / 1'000'000) + "." + std::string(6 - digits.size(), '0') + digits;
}

}  // namespace kitgap
