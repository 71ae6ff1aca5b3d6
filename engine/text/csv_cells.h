#pragma once

#include <cstdint>
#include <string_view>

namespace kitgap {

// True for a cell with the apostrophe that `append_csv_cell` puts before what a spreadsheet takes for a
// formula.
bool is_guarded(std::string_view cell);

// One raw cell of a record: where it starts and ends among the bytes, quotes included.
struct CsvCell {
  std::size_t start = 0;
  std::size_t end = 0;
  bool quoted = false;
  bool doubled = false;  // holds a doubled quote
};

enum class CsvFault : std::uint8_t { None, StrayQuote, TextAfterQuote, Unterminated, CarriageReturn };

// Cuts bytes into cells, one at a time. After a fault it goes on at the next comma or line end.
class CsvScanner {
 public:
  CsvScanner(std::string_view bytes, std::size_t at) : bytes_(bytes), at_(at) {}

  bool at_end() const { return at_ >= bytes_.size(); }
  std::size_t at() const { return at_; }
  // True when the cell just read was the last of its record.
  bool ended_record() const { return ended_record_; }
  CsvFault fault() const { return fault_; }
  std::size_t fault_at() const { return fault_at_; }

  CsvCell next() {
    fault_ = CsvFault::None;
    CsvCell cell{at_, at_, false, false};
    if (at_ < bytes_.size() && bytes_[at_] == '"')
      read_quoted(cell);
    else
      read_plain(cell);
    finish();
    return cell;
  }

 private:
  void set_fault(CsvFault fault, std::size_t at) {
    if (fault_ == CsvFault::None) fault_ = fault, fault_at_ = at;
  }
  bool is_line_end(std::size_t at) const {
    return bytes_[at] == '\n' || (bytes_[at] == '\r' && at + 1 < bytes_.size() && bytes_[at + 1] == '\n');
  }
  void read_plain(CsvCell& cell) {
    for (; at_ < bytes_.size(); ++at_) {
      const char byte = bytes_[at_];
      if (byte > ',') continue;
      if (byte == ',' || byte == '\n') break;
      if (byte == '"') set_fault(CsvFault::StrayQuote, at_);
      if (byte != '\r') continue;
      if (is_line_end(at_)) break;
      set_fault(CsvFault::CarriageReturn, at_);
    }
    cell.end = at_;
  }
  void read_quoted(CsvCell& cell) {
    cell.quoted = true;
    const std::size_t opening = at_++;
    while (true) {
      at_ = bytes_.find('"', at_);
      if (at_ == std::string_view::npos) {
        set_fault(CsvFault::Unterminated, opening);
        cell.end = at_ = bytes_.size();
        return;
      }
      if (at_ + 1 >= bytes_.size() || bytes_[at_ + 1] != '"') break;
      cell.doubled = true;
      at_ += 2;
    }
    cell.end = ++at_;
    if (at_ < bytes_.size() && bytes_[at_] != ',' && !is_line_end(at_)) {
      set_fault(CsvFault::TextAfterQuote, at_);
      while (at_ < bytes_.size() && bytes_[at_] != ',' && !is_line_end(at_)) ++at_;
    }
  }
  void finish() {
    ended_record_ = at_ >= bytes_.size() || bytes_[at_] != ',';
    if (at_ >= bytes_.size()) return;
    at_ += bytes_[at_] == '\r' ? 2 : 1;
  }

  std::string_view bytes_;
  std::size_t at_;
  bool ended_record_ = false;
  CsvFault fault_ = CsvFault::None;
  std::size_t fault_at_ = 0;
};

}  // namespace kitgap
