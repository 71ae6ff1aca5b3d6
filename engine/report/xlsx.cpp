#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstring>
#include <deque>

#include "report/workbook.h"
#include "report/xlsx_module.h"
#include "text/file.h"
#include "text/module.h"
#include "text/xlsx.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostUnits = 32'767;      // of UTF-16 in a cell: the limit of the programs that open it
constexpr std::size_t kMostRows = 1'048'575;    // below the header
constexpr std::size_t kDigitsOfDouble = 15;     // decimal digits that a spreadsheet's number always keeps
constexpr std::string_view kCutMark = " ... (cut)";

// The number, where a spreadsheet's floating point keeps every digit of it.
std::optional<double> kept_number(const SheetCell& cell) {
  if (!cell.is_number) return std::nullopt;
  std::size_t digits = 0;
  bool is_leading = true;
  for (const char byte : cell.text) {
    if (byte < '0' || byte > '9') continue;
    is_leading = is_leading && byte == '0';
    digits += is_leading ? 0 : 1;
  }
  if (digits > kDigitsOfDouble) return std::nullopt;
  double value = 0;
  const char* end = cell.text.data() + cell.text.size();
  const auto [at, error] = std::from_chars(cell.text.data(), end, value);
  if (error != std::errc() || at != end) return std::nullopt;
  return value;
}

// `_x0041_` in a workbook's text is an escape for `A` (ECMA-376 part 1, 22.9.2.19 ST_Xstring): its own underscore is
// escaped, so that the text stays what it is.
bool starts_escape(std::string_view text) {
  if (text.size() < 7 || text[0] != '_' || text[1] != 'x' || text[6] != '_') return false;
  return std::string_view::npos == text.substr(2, 4).find_first_not_of("0123456789abcdefABCDEF");
}

// Text as a cell can hold it: well-formed, without control bytes, not too long.
std::string cell_text(std::string_view raw) {
  const std::string readable = is_utf8(raw) ? std::string() : printable(raw);
  const std::string_view text = readable.empty() ? raw : std::string_view(readable);
  std::string out;
  std::size_t units = 0;
  std::size_t room = std::string::npos;  // where the text is cut, should it be too long
  for (std::size_t at = 0; at < text.size();) {
    if (units <= kMostUnits - kCutMark.size()) room = out.size();
    const auto lead = static_cast<unsigned char>(text[at]);
    const std::size_t length = lead < 0x80 ? 1 : lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : 4;
    const std::string_view letter = text.substr(at, length);
    const bool is_control = (lead < 0x20 && lead != '\n' && lead != '\t') || lead == 0x7f;
    // U+FFFE and U+FFFF are no characters of XML 1.0 (section 2.2).
    const bool is_outside_xml = letter == "\xef\xbf\xbe" || letter == "\xef\xbf\xbf";
    if (is_control || is_outside_xml) {
      const std::string shown = is_control ? printable(letter) : "\xef\xbf\xbd";
      out += shown;
      units += characters(shown);
    } else {
      if (starts_escape(text.substr(at))) out += "_x005F";
      out += letter;
      units += length == 4 ? 2 : starts_escape(text.substr(at)) ? 7 : 1;
    }
    at += length;
    if (units > kMostUnits) return out.substr(0, room) + std::string(kCutMark);
  }
  return out;
}

// A file without a name, in memory, that the module can open by its number.
class MemoryFile {
 public:
  MemoryFile() : number_(::memfd_create("workbook", MFD_CLOEXEC)) {
    if (number_ < 0) fail();
  }
  ~MemoryFile() { ::close(number_); }
  MemoryFile(const MemoryFile&) = delete;
  MemoryFile& operator=(const MemoryFile&) = delete;
  std::string path() const { return "/proc/self/fd/" + std::to_string(number_); }
  std::string bytes() const {
    const off_t size = ::lseek(number_, 0, SEEK_END);
    if (size < 0) fail();
    std::string bytes(static_cast<std::size_t>(size), '\0');
    for (std::size_t filled = 0; filled < bytes.size();) {
      const ssize_t count = ::pread(number_, bytes.data() + filled, bytes.size() - filled, static_cast<off_t>(filled));
      if (count < 0 && errno == EINTR) continue;
      if (count <= 0) fail();
      filled += static_cast<std::size_t>(count);
    }
    return bytes;
  }

 private:
  [[noreturn]] static void fail() {
    throw MachineFailure{std::string("the workbook cannot be put together in memory: ") + std::strerror(errno) + "; nothing was written"};
  }
  int number_;
};

// The sheets in the module's shape; texts live in `texts_`, which never moves them.
class ModuleSheets {
 public:
  explicit ModuleSheets(const Workbook& workbook) {
    for (const Sheet& sheet : workbook) add(sheet);
  }
  const std::vector<KitgapXlsxSheet>& sheets() const { return sheets_; }

 private:
  const char* kept(std::string text) { return texts_.emplace_back(std::move(text)).c_str(); }

  void add(const Sheet& sheet) {
    if (sheet.rows.size() > kMostRows) {
      throw MachineFailure{"a sheet of a workbook holds " + std::to_string(kMostRows) + " rows, and these are " + std::to_string(sheet.rows.size()) +
                           ": write CSV; nothing was written"};
    }
    auto& titles = titles_.emplace_back();
    auto& widths = widths_.emplace_back();
    auto& cells = cells_.emplace_back();
    for (const SheetColumn& column : sheet.columns) {
      titles.push_back(kept(cell_text(column.title)));
      widths.push_back(column.width);
    }
    cells.reserve(sheet.rows.size() * sheet.columns.size());
    for (const auto& row : sheet.rows) {
      for (const SheetCell& cell : row) {
        const auto number = kept_number(cell);
        cells.push_back({number ? nullptr : kept(cell_text(cell.text)), number.value_or(0)});
      }
    }
    sheets_.push_back({kept(sheet.name), titles.data(), widths.data(), cells.data(), static_cast<std::uint32_t>(sheet.columns.size()),
                       static_cast<std::uint32_t>(sheet.rows.size())});
  }

  std::deque<std::string> texts_;
  std::deque<std::vector<const char*>> titles_;
  std::deque<std::vector<int>> widths_;
  std::deque<std::vector<KitgapXlsxCell>> cells_;
  std::vector<KitgapXlsxSheet> sheets_;
};

}  // namespace

std::string workbook_xlsx(const Workbook& workbook) {
  const auto entry = reinterpret_cast<KitgapXlsxFunction>(module_symbol("kitgap-xlsx", "kitgap_xlsx"));
  const KitgapXlsx& module = *entry();
  if (module.version != kKitgapXlsxVersion) throw MachineFailure{"the program's module `kitgap-xlsx` is of another version"};
  const ModuleSheets sheets(workbook);
  const MemoryFile file;
  if (const char* wrong = module.write(file.path().c_str(), sheets.sheets().data(), static_cast<std::uint32_t>(sheets.sheets().size()))) {
    throw MachineFailure{"the workbook cannot be put together: " + std::string(wrong) + "; is the folder for temporary files full?"};
  }
  std::string bytes = file.bytes();
  if (const auto part = unfinished_part(bytes)) {
    throw MachineFailure{"the workbook cannot be put together: `" + *part + "` is cut short; the folder for temporary files is full? TMPDIR names another one"};
  }
  return bytes;
}

}  // namespace kitgap
