#include "text/xlsx.h"

#include <memory>

#include "text/file.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

// The beginning and the end of a part: enough to see which element it is and whether that is closed.
struct Ends {
  static constexpr std::size_t kHead = 600, kTail = 200;
  std::string head, tail;
  static int take(void* self, const char* bytes, std::uint64_t size) {
    Ends& ends = *static_cast<Ends*>(self);
    const std::string_view text(bytes, size);
    if (ends.head.size() < kHead) ends.head += text.substr(0, kHead - ends.head.size());
    ends.tail += text.size() > kTail ? text.substr(text.size() - kTail) : text;
    if (ends.tail.size() > kTail) ends.tail.erase(0, ends.tail.size() - kTail);
    return 1;
  }
  bool is_closed() const {
    std::size_t at = head.find('<');
    while (at != std::string::npos && at + 1 < head.size() && (head[at + 1] == '?' || head[at + 1] == '!')) at = head.find('<', at + 1);
    if (at == std::string::npos) return false;
    const std::string name = head.substr(at + 1, head.find_first_of(" />\r\n\t", at) - at - 1);
    const std::size_t last = tail.find_last_not_of(" \r\n\t");
    const std::string_view end = std::string_view(tail).substr(0, last == std::string::npos ? 0 : last + 1);
    return end.ends_with("</" + name + ">") || (end.ends_with("/>") && head.find('<', at + 1) == std::string::npos);
  }
};

}  // namespace

std::optional<std::string> unfinished_part(std::string_view workbook) {
  const KitgapZip* zip = zip_module();
  const std::unique_ptr<void, void (*)(void*)> archive(zip->open(workbook.data(), workbook.size()), zip->close);
  if (archive == nullptr) return "the archive";
  std::optional<std::string> unfinished;
  for (std::int64_t index = 0; index < zip->entry_count(archive.get()) && !unfinished; ++index) {
    KitgapZipEntry entry{};
    Ends ends;
    const auto part = static_cast<std::uint64_t>(index);
    if (zip->entry(archive.get(), part, &entry) == 0) unfinished = "a part";
    else if (zip->read(archive.get(), part, Ends::take, &ends) != 1 || !ends.is_closed()) unfinished = entry.name;
  }
  return unfinished;
}

}  // namespace kitgap
