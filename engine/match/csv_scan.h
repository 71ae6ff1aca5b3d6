#pragma once

#include <bit>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "match/room.h"
#include "text/diagnostics.h"
#include "text/sha256.h"

namespace kitgap {

// A CSV file read row by row in bounded memory, for the commands that read millions of rows (`sweep`,
// `rules totals`). RFC 4180: comma, LF or CRLF, one header row, quotes around cells that need them, every row as
// long as the header; blank lines and a BOM are passed over.
//
// Cells are handed out raw, quotes and all, so that a reader that interns them unquotes each distinct text once.
// A view is good until the next call of `next_row`.
class CsvScan {
 public:
  // Reports a missing or empty file and a header that is none. `sources` and `diagnostics` must outlive the scan.
  // `with_content`: the bytes are hashed as they are read.
  static std::optional<CsvScan> open(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics, bool with_content = false);
  CsvScan(CsvScan&& other) noexcept;
  CsvScan& operator=(CsvScan&& other) = delete;
  ~CsvScan();

  const std::vector<std::string>& header() const { return header_; }
  std::optional<std::size_t> find_column(std::string_view name) const;
  std::uint64_t file_bytes() const { return file_bytes_; }

  // Goes to the next row; false at the end and after an error, which is reported.
  bool next_row();
  bool failed() const { return failed_; }
  // After the last row, of a scan opened so: the SHA-256 of the very bytes that were read.
  std::string content() { return content_ ? content_->hex() : std::string(); }
  std::string_view raw(std::size_t column) const {
    const char* begin = buffer_.data() + (column == 0 ? row_begin_ : ends_[row_end_ + column - 1] + 1u);
    return {begin, static_cast<std::size_t>(buffer_.data() + ends_[row_end_ + column] - begin)};
  }
  // The cell's text; nothing when its quotes are wrong, which is reported. `scratch` holds what had to be copied.
  std::optional<std::string_view> text(std::size_t column, std::string& scratch);
  // Where the row begins in the file, to report on it later.
  std::uint64_t row_offset() const { return buffer_offset_ + row_begin_; }

  // Reports something wrong with a cell of the present row, or of the row that begins at `offset`.
  void report(std::size_t column, std::string_view code, std::string says, std::string expected = {});
  void report_at(std::uint64_t offset, std::size_t column, std::string_view code, std::string says,
                 std::string expected = {});

 private:
  CsvScan(std::filesystem::path path, Sources& sources, Diagnostics& diagnostics);
  bool fill();
  void index_from(std::size_t begin);
  bool read_header();
  bool step();
  void report_row(std::string_view code, std::string says, std::string expected);

  std::filesystem::path path_;
  Sources* sources_;
  Diagnostics* diagnostics_;
  std::optional<SourceId> source_;  // set once something is reported
  int descriptor_ = -1;
  std::uint64_t file_bytes_ = 0;
  std::vector<std::string> header_;
  std::optional<Sha256> content_;
  Room<char> buffer_;
  std::size_t filled_ = 0;           // bytes of `buffer_` in use
  std::uint64_t buffer_offset_ = 0;  // of the buffer's first byte in the file
  Room<std::uint32_t> ends_;  // places of the commas and line ends outside quotes
  std::size_t end_count_ = 0;        // of `ends_` in use
  std::size_t row_begin_ = 0;
  std::size_t row_end_ = 0;          // index in `ends_` of the row's first delimiter
  std::size_t next_end_ = 0;         // the next row's
  std::size_t next_begin_ = 0;
  bool inside_quotes_ = false;
  bool at_end_ = false;
  bool failed_ = false;
};

// The number that a raw cell of at most 8 digits writes; nothing for any other cell. Reads 8 bytes whatever the cell's
// length, which the scan's buffer allows.
inline std::optional<std::uint32_t> digits_of(std::string_view raw) {
  if (raw.empty() || raw.size() > 8) return std::nullopt;
  std::uint64_t word = 0;
  std::memcpy(&word, raw.data(), 8);
  if constexpr (std::endian::native == std::endian::big) word = __builtin_bswap64(word);
  word = (word ^ 0x3030303030303030U) << (64 - 8 * raw.size());
  if (((word | (word + 0x7676767676767676U)) & 0x8080808080808080U) != 0) return std::nullopt;
  word = word * 10 + (word >> 8);  // pairs of digits, then fours, then all eight
  constexpr std::uint64_t kPairs = 0x000000FF000000FFU;
  return static_cast<std::uint32_t>((((word & kPairs) * (100 + (1000000ULL << 32))) +
                                     (((word >> 16) & kPairs) * (1 + (10000ULL << 32)))) >> 32);
}

// The text of a raw cell; nothing when its quotes are wrong.
std::optional<std::string_view> unquoted(std::string_view raw, std::string& scratch);

}  // namespace kitgap
