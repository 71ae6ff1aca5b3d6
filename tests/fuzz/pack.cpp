#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "pack/rules.h"
#include "text/file.h"

// A pack in one input: the files one after the other, each after a line `== NAME`.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace kitgap;
  static const std::filesystem::path folder = [] {
    std::string pattern = (std::filesystem::temp_directory_path() / "kitgap-fuzz-XXXXXX").string();
    return std::filesystem::path(::mkdtemp(pattern.data()));
  }();
  std::string_view rest(reinterpret_cast<const char*>(data), size);
  for (const auto& entry : std::filesystem::directory_iterator(folder)) std::filesystem::remove_all(entry);
  while (rest.starts_with("== ")) {
    const std::size_t line = rest.find('\n');
    if (line == std::string_view::npos) break;
    const std::string name(rest.substr(3, line - 3));
    rest.remove_prefix(line + 1);
    const std::size_t next = rest.find("\n== ");
    const std::string_view content = rest.substr(0, next == std::string_view::npos ? rest.size() : next + 1);
    const bool is_plain = !name.empty() && name.size() < 40 && name.find('/') == std::string::npos && name != "." && name != ".." && name.find('\0') == std::string::npos;
    if (is_plain) write_file(folder / name, content);
    rest.remove_prefix(std::min(rest.size(), content.size()));
  }
  Sources sources;
  Diagnostics diagnostics;
  const std::vector<std::filesystem::path> packs{folder};
  const auto rules = read_rules(packs, sources, diagnostics);
  if (!rules && !diagnostics.has_errors()) std::abort();  // refused without a word
  (void)layout(diagnostics, sources);
  return 0;
}
