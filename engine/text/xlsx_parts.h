#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/person_table.h"
#include "text/zip_module.h"

struct XML_ParserStruct;

namespace kitgap {

// Why a workbook is refused whole. Thrown by the parts below, caught in xlsx.cpp: it never leaves this layer.
struct WorkbookRefused {
  std::string_view code;
  std::string says;
  std::string expected;
};

// Bounds against hostile archives (RELIABILITY R24): what is packed tighter than 200 to 1, or unpacks to
// more, is a bomb.
inline constexpr std::uint64_t kMostUnpackedBytes = 256'000'000;
inline constexpr std::uint64_t kMostUnpackedRatio = 200;
inline constexpr std::int64_t kMostArchiveEntries = 2'000;

// Loaded on first use.
const KitgapZip* zip_module();

class XmlPart;

// The parts of a workbook by name, unpacked on demand and never to disk.
class WorkbookArchive {
 public:
  explicit WorkbookArchive(std::string_view bytes);
  ~WorkbookArchive();
  WorkbookArchive(const WorkbookArchive&) = delete;
  WorkbookArchive& operator=(const WorkbookArchive&) = delete;

  bool has(std::string_view name) const { return parts_.contains(name); }
  void read(std::string_view name, XmlPart& part);

 private:
  struct Part {
    std::uint64_t index = 0;
    std::uint64_t packed = 0;
  };
  void add_entry(std::uint64_t index, std::uint64_t& total);

  const KitgapZip* zip_;
  void* archive_ = nullptr;
  std::map<std::string, Part, std::less<>> parts_;
  std::uint64_t unpacked_ = 0;
};

// Attributes of an element by local name.
class XmlAttributes {
 public:
  explicit XmlAttributes(const char** pairs) : pairs_(pairs) {}
  std::optional<std::string_view> find(std::string_view name) const;

 private:
  const char** pairs_;
};

// Reads one XML part as it comes. A document type, nesting past 64 levels or damage refuses the workbook;
// exceptions of the functions below are kept and thrown by `finish`, since they may not pass through expat.
class XmlPart {
 public:
  XmlPart();
  virtual ~XmlPart();
  XmlPart(const XmlPart&) = delete;
  XmlPart& operator=(const XmlPart&) = delete;

  bool feed(const char* bytes, std::size_t size);  // false: stop
  void finish();

 protected:
  virtual void start(std::string_view name, const XmlAttributes& attributes) = 0;
  virtual void end(std::string_view name) = 0;
  virtual void text(std::string_view) {}
  void stop() { stopped_ = true; }  // the rest is not wanted

 private:
  static void on_start(void* self, const char* name, const char** attributes);
  static void on_end(void* self, const char* name);
  static void on_text(void* self, const char* bytes, int size);
  static void on_doctype(void* self, const char*, const char*, const char*, int);
  template <class Action>
  void guarded(Action action);
  void halt();

  XML_ParserStruct* parser_;
  std::size_t depth_ = 0;
  bool stopped_ = false;
  std::optional<WorkbookRefused> refused_;
};

// How a number is shown, as far as reading needs it.
struct NumberStyle {
  bool is_date = false;
  std::size_t leading_zeros = 0;  // a format such as `00000` shows 123 as `00123`
};
NumberStyle style_of_format(std::string_view code);
NumberStyle style_of_builtin(int id);

// The digits of a stored number as a person sees them: up to 15 digits, no exponent where it can be avoided.
std::string number_text(std::string_view stored, const NumberStyle& style);
// `1971-03-05`, with ` 14:30` where the day is not whole; nothing where the number is no day.
std::optional<std::string> date_text(std::string_view stored, bool from_1904);
// `_x000D_` and its like stand for characters that XML cannot hold (ECMA-376 part 1, 22.9.2.19 ST_Xstring).
std::string without_escapes(std::string text);

struct SheetEntry {
  std::string name;
  std::string path;
  bool is_hidden = false;
};

struct Workbook {
  std::vector<SheetEntry> sheets;
  bool from_1904 = false;
  std::vector<NumberStyle> styles;  // by cell style
  std::string shared_text;
  std::vector<std::uint32_t> shared;  // where each shared string begins, and one past the end
  std::string_view shared_string(std::size_t index) const;
};
Workbook read_workbook(WorkbookArchive& archive);

// One cell of a sheet; `offset` is into the sheet's text.
struct ReadSheetCell {
  std::uint32_t row = 0;     // from 1
  std::uint32_t column = 0;  // from 0
  std::uint32_t offset = 0;
  std::uint32_t length = 0;
  CellForm form = CellForm::Text;
};
struct SheetMerge {
  std::uint32_t first_row, last_row, first_column, last_column;
};
struct ReadSheet {
  std::string text;
  std::vector<ReadSheetCell> cells;
  std::vector<SheetMerge> merges;
  std::size_t formulas_without_value = 0;
  std::size_t formulas = 0;
  std::size_t hidden_rows = 0;
  std::size_t hidden_columns = 0;
  std::size_t numbers_as_text = 0;
  std::size_t errors = 0;
};
ReadSheet read_sheet_part(WorkbookArchive& archive, const Workbook& workbook, const std::string& path);

}  // namespace kitgap
