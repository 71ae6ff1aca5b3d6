#include <algorithm>
#include <charconv>

#include "text/ascii.h"
#include "text/codes.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostSheetText = 64'000'000;
constexpr std::size_t kMostSheetCells = 4'000'000;
constexpr std::size_t kMostMerges = 20'000;
constexpr std::uint32_t kLastRow = 1'048'576;
constexpr std::uint32_t kLastColumn = 16'384;

[[noreturn]] void refuse(std::string_view code, std::string says, std::string expected = "") {
  throw WorkbookRefused{code, std::move(says), std::move(expected)};
}

struct CellPlace {
  std::uint32_t row = 0;     // from 1
  std::uint32_t column = 0;  // from 1
};

std::optional<CellPlace> place_of(std::string_view name) {
  CellPlace place;
  std::size_t at = 0;
  for (; at < name.size() && name[at] >= 'A' && name[at] <= 'Z' && at < 4; ++at)
    place.column = place.column * 26 + static_cast<std::uint32_t>(name[at] - 'A' + 1);
  const auto [end, error] = std::from_chars(name.data() + at, name.data() + name.size(), place.row);
  const bool whole = error == std::errc() && end == name.data() + name.size();
  if (!whole || place.row == 0 || place.row > kLastRow || place.column == 0 || place.column > kLastColumn)
    return std::nullopt;
  return place;
}

bool looks_like_number(std::string_view text) {
  if (text.empty() || text.size() > 20) return false;
  const bool digits = std::all_of(text.begin(), text.end(), [](char byte) {
    return is_digit(byte) || byte == '.' || byte == ',';
  });
  return digits && text.find_first_of("0123456789") != std::string_view::npos;
}

class SheetPart : public XmlPart {
 public:
  explicit SheetPart(const Workbook& workbook) : workbook_(workbook) {}
  ReadSheet sheet;

 protected:
  void start(std::string_view name, const XmlAttributes& attributes) override {
    if (name == "row")
      start_row(attributes);
    else if (name == "c")
      start_cell(attributes);
    else if (name == "v")
      in_value_ = true;
    else if (name == "t" && in_inline_ && !in_reading_aid_)
      in_value_ = true;
    else if (name == "is")
      in_inline_ = true;
    else if (name == "rPh")
      in_reading_aid_ = true;
    else if (name == "f")
      has_formula_ = true;
    else if (name == "col")
      count_hidden_columns(attributes);
    else if (name == "mergeCell")
      add_merge(attributes.find("ref").value_or(""));
  }
  void end(std::string_view name) override {
    if (name == "c")
      end_cell();
    else if (name == "v" || name == "t")
      in_value_ = false;
    else if (name == "is")
      in_inline_ = false;
    else if (name == "rPh")
      in_reading_aid_ = false;
  }
  void text(std::string_view bytes) override {
    if (!in_value_) return;
    if (value_.size() + bytes.size() > kMostSheetText)
      refuse(code::kTooLarge, "a cell of the workbook is too long");
    value_ += bytes;
  }

 private:
  void start_row(const XmlAttributes& attributes) {
    std::uint32_t row = row_ + 1;
    if (const auto number = attributes.find("r")) {
      const auto [end, error] = std::from_chars(number->data(), number->data() + number->size(), row);
      if (error != std::errc() || row <= row_ || row > kLastRow)
        refuse(code::kDamagedWorkbook, "the workbook is damaged: its rows are not in order");
    }
    row_ = row;
    column_ = 0;
    if (attributes.find("hidden") == std::string_view("1")) ++sheet.hidden_rows;
  }

  void start_cell(const XmlAttributes& attributes) {
    ++column_;
    if (const auto name = attributes.find("r")) {
      const auto place = place_of(*name);
      if (!place || place->row != row_ || place->column < column_)
        refuse(code::kDamagedWorkbook, "the workbook is damaged: its cells are not in order");
      column_ = place->column;
    }
    type_ = attributes.find("t").value_or("n");
    style_ = 0;
    if (const auto style = attributes.find("s"))
      std::from_chars(style->data(), style->data() + style->size(), style_);
    value_.clear();
    has_formula_ = false;
  }

  void end_cell() {
    if (has_formula_) ++sheet.formulas;
    if (has_formula_ && value_.empty() && type_ != "str") ++sheet.formulas_without_value;
    if (value_.empty()) return;
    CellForm form = CellForm::Text;
    const std::string text = text_of_value(form);
    if (text.empty()) return;
    if (sheet.text.size() + text.size() > kMostSheetText)
      refuse(code::kTooLarge, "the sheet holds too much text", "at most 64 MB");
    if (sheet.cells.size() == kMostSheetCells)
      refuse(code::kTooLarge, "the sheet has too many cells", "at most " + std::to_string(kMostSheetCells));
    sheet.cells.push_back({row_, column_ - 1, static_cast<std::uint32_t>(sheet.text.size()),
                           static_cast<std::uint32_t>(text.size()), form});
    sheet.text += text;
  }

  std::string text_of_value(CellForm& form) {
    if (type_ == "n") return number_of_value(form);
    if (type_ == "b") return value_ == "1" ? "TRUE" : "FALSE";
    if (type_ == "e") return ++sheet.errors, value_;
    if (type_ == "d") return form = CellForm::Date, value_;
    std::string text;
    if (type_ == "s") {
      std::size_t index = SIZE_MAX;
      std::from_chars(value_.data(), value_.data() + value_.size(), index);
      text = workbook_.shared_string(std::min(index, SIZE_MAX - 1));
    } else {
      text = without_escapes(value_);
    }
    if (looks_like_number(text)) form = CellForm::NumberAsText, ++sheet.numbers_as_text;
    return text;
  }

  std::string number_of_value(CellForm& form) {
    const NumberStyle style = style_ < workbook_.styles.size() ? workbook_.styles[style_] : NumberStyle{};
    if (style.is_date) {
      if (auto date = date_text(value_, workbook_.from_1904)) return form = CellForm::Date, std::move(*date);
    }
    form = has_formula_ ? CellForm::Formula : CellForm::Number;
    if (style.leading_zeros != 0) form = CellForm::Text;  // shown, and so meant, with its zeros
    return number_text(value_, style);
  }

  void count_hidden_columns(const XmlAttributes& attributes) {
    if (attributes.find("hidden") == std::string_view("1")) ++sheet.hidden_columns;
  }

  void add_merge(std::string_view range) {
    const std::size_t colon = range.find(':');
    if (colon == std::string_view::npos) return;
    const auto first = place_of(range.substr(0, colon));
    const auto last = place_of(range.substr(colon + 1));
    if (!first || !last || last->row < first->row || last->column < first->column)
      refuse(code::kDamagedWorkbook, "the workbook is damaged: it merges cells that are none");
    if (sheet.merges.size() == kMostMerges)
      refuse(code::kTooLarge, "the sheet has too many merged cells",
             "at most " + std::to_string(kMostMerges));
    sheet.merges.push_back({first->row, last->row, first->column - 1, last->column - 1});
  }

  const Workbook& workbook_;
  std::uint32_t row_ = 0;
  std::uint32_t column_ = 0;
  std::string type_;
  std::size_t style_ = 0;
  std::string value_;
  bool has_formula_ = false;
  bool in_value_ = false;
  bool in_inline_ = false;
  bool in_reading_aid_ = false;
};

}  // namespace

ReadSheet read_sheet_part(WorkbookArchive& archive, const Workbook& workbook, const std::string& path) {
  SheetPart part(workbook);
  archive.read(path, part);
  return std::move(part.sheet);
}

}  // namespace kitgap
