#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "need/car.h"
#include "need/knowledge.h"
#include "text/file.h"

// A car file against a small pack that has a fact of every type, a pattern and a derivation.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace kitgap;
  static const std::filesystem::path folder = [] {
    std::string pattern = (std::filesystem::temp_directory_path() / "kitgap-fuzz-XXXXXX").string();
    const std::filesystem::path made(::mkdtemp(pattern.data()));
    write_file(made / "datapackage.json",
               R"({"name": "small", "kitgap": {"format": 1, "facts": [
                 {"name": "year", "type": "number", "range": "[1966..1974]"}, {"name": "body", "type": "text", "allowed": ["saloon", "estate"]},
                 {"name": "radio", "type": "boolean"}, {"name": "built", "type": "date"},
                 {"name": "chassis", "type": "text", "pattern": "^(?P<letter>[AB])(?P<serial>[0-9]{1,5})$"},
                 {"name": "letter", "type": "text"}, {"name": "serial", "type": "number"}, {"name": "period", "type": "text", "allowed": ["early", "late"]}],
                 "positions": {"front": {"left": {}, "right": {}}}},
                 "resources": [{"path": "facts.csv", "kitgap": {"kind": "facts"}}]})");
    write_file(made / "facts.csv", "fact,serial,value\nperiod,<= 300,early\nperiod,> 300,late\n");
    return made;
  }();
  static Sources pack_sources;
  static Diagnostics pack_diagnostics;
  static const auto rules = read_rules(std::vector<std::filesystem::path>{folder}, pack_sources, pack_diagnostics);
  if (!rules) std::abort();
  const std::filesystem::path path = folder / "car";
  write_file(path, std::string_view(reinterpret_cast<const char*>(data), size));
  Sources sources;
  Diagnostics diagnostics;
  const auto car = read_car(path, *rules, sources, diagnostics);
  if (!car && !diagnostics.has_errors()) std::abort();
  if (car) (void)Knowledge::of(*car, *rules, diagnostics);
  (void)layout(diagnostics, sources);
  return 0;
}
