#include "match/csv_scan.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <bit>
#include <cerrno>
#include <cstring>
#include <utility>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

#include "text/codes.h"
#include "text/csv.h"
#include "text/file.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

// Stays with its index in the second-level cache; of a short file few pages are touched.
constexpr std::size_t kChunkBytes = std::size_t{1} << 16;
constexpr std::size_t kMaxRowBytes = std::size_t{1} << 24;
constexpr std::size_t kBlock = 64;

struct BlockMasks {
  std::uint64_t quotes;
  std::uint64_t commas;
  std::uint64_t line_ends;
};

#if defined(__SSE2__)
std::uint64_t equal_mask(const __m128i (&bytes)[4], char wanted) {
  const __m128i pattern = _mm_set1_epi8(wanted);
  std::uint64_t mask = 0;
  for (int part = 0; part < 4; ++part) {
    const auto bits = static_cast<unsigned>(_mm_movemask_epi8(_mm_cmpeq_epi8(bytes[part], pattern)));
    mask |= static_cast<std::uint64_t>(bits) << (16 * part);
  }
  return mask;
}

BlockMasks masks_of(const char* block) {
  __m128i bytes[4];
  for (int part = 0; part < 4; ++part) {
    bytes[part] = _mm_loadu_si128(reinterpret_cast<const __m128i*>(block + 16 * part));
  }
  return {equal_mask(bytes, '"'), equal_mask(bytes, ','), equal_mask(bytes, '\n')};
}
#else
BlockMasks masks_of(const char* block) {
  BlockMasks masks{0, 0, 0};
  for (unsigned at = 0; at < kBlock; ++at) {
    const std::uint64_t bit = std::uint64_t{1} << at;
    if (block[at] == '"') masks.quotes |= bit;
    if (block[at] == ',') masks.commas |= bit;
    if (block[at] == '\n') masks.line_ends |= bit;
  }
  return masks;
}
#endif

// Bit i of the answer: an odd number of bits up to and with i is set, that is, byte i lies inside quotes.
std::uint64_t running_parity(std::uint64_t bits) {
  for (unsigned shift = 1; shift < kBlock; shift *= 2) bits ^= bits << shift;
  return bits;
}

// Takes away the apostrophe that `append_csv_cell` puts before what a spreadsheet would take for a formula.
std::string_view without_guard(std::string_view cell) {
  if (!cell.starts_with('\'')) return cell;
  std::string written;
  std::string scratch;
  append_csv_cell(written, cell.substr(1));
  return unquoted(written, scratch) == cell ? cell.substr(1) : cell;
}

}  // namespace

std::optional<std::string_view> unquoted(std::string_view raw, std::string& scratch) {
  if (raw.empty() || raw.front() != '"') {
    if (raw.find('"') != std::string_view::npos) return std::nullopt;
    return raw;
  }
  if (raw.size() < 2 || raw.back() != '"') return std::nullopt;
  const std::string_view inner = raw.substr(1, raw.size() - 2);
  if (inner.find('"') == std::string_view::npos) return inner;
  scratch.clear();
  for (std::size_t at = 0; at < inner.size(); ++at) {
    if (inner[at] == '"' && (++at == inner.size() || inner[at] != '"')) return std::nullopt;
    scratch.push_back(inner[at]);
  }
  return scratch;
}

CsvScan::CsvScan(std::filesystem::path path, Sources& sources, Diagnostics& diagnostics)
    : path_(std::move(path)), sources_(&sources), diagnostics_(&diagnostics) {}

CsvScan::CsvScan(CsvScan&& other) noexcept
    : path_(std::move(other.path_)),
      sources_(other.sources_),
      diagnostics_(other.diagnostics_),
      source_(other.source_),
      descriptor_(std::exchange(other.descriptor_, -1)),
      file_bytes_(other.file_bytes_),
      header_(std::move(other.header_)),
      content_(other.content_),
      buffer_(std::move(other.buffer_)),
      filled_(other.filled_),
      buffer_offset_(other.buffer_offset_),
      ends_(std::move(other.ends_)),
      end_count_(other.end_count_),
      row_begin_(other.row_begin_),
      row_end_(other.row_end_),
      next_end_(other.next_end_),
      next_begin_(other.next_begin_),
      inside_quotes_(other.inside_quotes_),
      at_end_(other.at_end_),
      failed_(other.failed_) {}

CsvScan::~CsvScan() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::optional<CsvScan> CsvScan::open(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics, bool with_content) {
  CsvScan scan(path, sources, diagnostics);
  if (with_content) scan.content_.emplace();
  scan.descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  struct stat about {};
  if (scan.descriptor_ < 0 || ::fstat(scan.descriptor_, &about) != 0 || S_ISDIR(about.st_mode)) {
    const bool missing = scan.descriptor_ < 0 && errno == ENOENT;
    scan.source_ = sources.add(path.string(), "");
    scan.failed_ = true;
    diagnostics.add({.code = missing ? code::kMissingFile : code::kNotAFile,
                     .span = {.source = *scan.source_},
                     .says = missing ? "there is no such file" : "this is no file that can be read"});
    return std::nullopt;
  }
  scan.file_bytes_ = static_cast<std::uint64_t>(about.st_size);
  scan.buffer_.grow(kChunkBytes + kBlock);
  if (!scan.read_header()) return std::nullopt;
  return scan;
}

std::optional<std::size_t> CsvScan::find_column(std::string_view name) const {
  const auto found = std::find(header_.begin(), header_.end(), name);
  if (found == header_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - header_.begin());
}

// Marks every delimiter outside quotes from `begin` on; the bytes past the end are blanked first.
void CsvScan::index_from(std::size_t begin) {
  std::memset(buffer_.data() + filled_, ' ', kBlock);
  ends_.grow(filled_ + kBlock, next_end_);
  std::uint32_t* out = ends_.data() + next_end_;
  for (std::size_t at = begin; at < filled_; at += kBlock) {
    const BlockMasks masks = masks_of(buffer_.data() + at);
    std::uint64_t delimiters = masks.commas | masks.line_ends;
    if (masks.quotes != 0 || inside_quotes_) {
      const std::uint64_t inside = running_parity(masks.quotes) ^ (inside_quotes_ ? ~std::uint64_t{0} : 0);
      delimiters &= ~inside;
      inside_quotes_ = (inside >> 63) != 0;
    }
    for (; delimiters != 0; delimiters &= delimiters - 1) {
      *out++ = static_cast<std::uint32_t>(at) + static_cast<std::uint32_t>(std::countr_zero(delimiters));
    }
  }
  end_count_ = static_cast<std::size_t>(out - ends_.data());
}

// Moves the unfinished row to the front and reads on; false when nothing more comes.
bool CsvScan::fill() {
  if (at_end_) return false;
  const std::size_t kept = filled_ - next_begin_;
  if (kept > kMaxRowBytes) {
    row_begin_ = next_begin_;
    report_row(code::kUnterminatedQuote, "a row longer than 16 MiB", "the quote that ends the cell");
    return false;
  }
  std::memmove(buffer_.data(), buffer_.data() + next_begin_, kept);
  buffer_.grow(kept + kChunkBytes + kBlock, kept);
  buffer_offset_ += next_begin_;
  next_begin_ = 0;
  next_end_ = 0;
  row_end_ = 0;
  filled_ = kept;
  // The index of the unfinished row is made again with the rest, from the row's begin, which is outside quotes.
  while (filled_ < kept + kChunkBytes) {
    const ssize_t got = ::read(descriptor_, buffer_.data() + filled_, kept + kChunkBytes - filled_);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) throw MachineFailure{"cannot read `" + path_.string() + "`: " + std::strerror(errno)};
    if (got == 0) {
      at_end_ = true;
      break;
    }
    filled_ += static_cast<std::size_t>(got);
  }
  if (content_) content_->add({buffer_.data() + kept, filled_ - kept});
  if (at_end_ && filled_ > 0 && buffer_[filled_ - 1] != '\n') buffer_[filled_++] = '\n';
  inside_quotes_ = false;
  index_from(0);
  return filled_ > 0;
}

// Finds the next row's delimiters; a row is whole when a line end outside quotes closes it.
bool CsvScan::step() {
  while (!failed_) {
    std::size_t end = next_end_;
    while (end < end_count_ && buffer_[ends_[end]] != '\n') ++end;
    if (end < end_count_) {
      row_begin_ = next_begin_;
      row_end_ = next_end_;
      next_begin_ = ends_[end] + 1u;
      next_end_ = end + 1;
      const std::size_t last = end == row_end_ ? row_begin_ : ends_[end - 1] + 1u;
      if (ends_[end] > last && buffer_[ends_[end] - 1u] == '\r') --ends_[end];
      const bool blank = end == row_end_ && ends_[end] == row_begin_;
      if (!blank) return true;
      continue;
    }
    if (!fill()) break;
  }
  if (!failed_ && next_begin_ < filled_) {
    row_begin_ = next_begin_;
    report_row(code::kUnterminatedQuote, "a quote is opened here and never closed", "a quote that ends the cell");
  }
  return false;
}

bool CsvScan::read_header() {
  if (!fill()) {
    report_row(code::kEmptyFile, "the file is empty", "a header row, then a row a line");
    return false;
  }
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (std::string_view(buffer_.data(), filled_).starts_with(kByteOrderMark)) {
    next_begin_ = kByteOrderMark.size();
  }
  if (!step()) {
    if (!failed_) report_row(code::kEmptyFile, "the file holds no header", "a header row, then a row a line");
    return false;
  }
  std::string scratch;
  for (std::size_t column = 0; column < next_end_ - row_end_; ++column) {
    header_.emplace_back();  // `report` counts the columns by it
    const auto name = text(column, scratch);
    if (!name) return false;
    header_.back() = *name;
  }
  return true;
}

bool CsvScan::next_row() {
  // The common case without a call: as many delimiters as the header has, the last a line end.
  if (!step()) return false;
  const std::size_t found = next_end_ - row_end_;
  if (found == header_.size()) return true;
  report_row(code::kWrongColumnCount,
             "the row has " + std::to_string(found) + (found == 1 ? " cell, the header " : " cells, the header ") +
                 std::to_string(header_.size()),
             std::to_string(header_.size()) + " cells");
  return false;
}

std::optional<std::string_view> CsvScan::text(std::size_t column, std::string& scratch) {
  const auto result = unquoted(raw(column), scratch);
  if (!result) {
    report(column, code::kUnterminatedQuote, "a quote stands where none may be",
           "quotes around the whole cell, and two for each one inside");
  } else if (!is_utf8(*result)) {
    report(column, code::kInvalidUtf8, "the cell is no UTF-8 text", "the file saved as UTF-8");
    return std::nullopt;
  }
  return result ? std::optional(without_guard(*result)) : std::nullopt;
}

void CsvScan::report_row(std::string_view code, std::string says, std::string expected) {
  report_at(row_offset(), header_.size(), code, std::move(says), std::move(expected));
}

void CsvScan::report(std::size_t column, std::string_view code, std::string says, std::string expected) {
  report_at(row_offset(), column, code, std::move(says), std::move(expected));
}

// The file is read once more, whole, only when something in it is wrong.
void CsvScan::report_at(std::uint64_t offset, std::size_t column, std::string_view code, std::string says,
                        std::string expected) {
  failed_ = true;
  if (!source_) {
    source_ = read_file(path_, *sources_, *diagnostics_, false);
    if (!source_) return;
  }
  const std::string_view bytes = sources_->bytes(*source_);
  offset = std::min<std::uint64_t>(offset, bytes.size());
  const auto line = static_cast<std::uint32_t>(
      std::count(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(offset), '\n') + 1);
  Span span{.source = *source_, .line = line, .column = 1, .length = 1};
  if (column < header_.size()) {
    std::size_t begin = offset;
    std::size_t at = offset;
    bool inside = false;
    for (std::size_t passed = 0; at < bytes.size() && (inside || bytes[at] != '\n'); ++at) {
      if (bytes[at] == '"') inside = !inside;
      if (bytes[at] != ',' || inside) continue;
      if (passed++ == column) break;
      begin = at + 1;
    }
    const std::string_view cell = bytes.substr(begin, at - begin);
    span.column = static_cast<std::uint32_t>(characters(bytes.substr(offset, begin - offset)) + 1);
    span.length = static_cast<std::uint32_t>(std::max<std::size_t>(1, characters(cell)));
  }
  diagnostics_->add({.code = code, .span = std::move(span), .says = std::move(says), .expected = std::move(expected)});
}

}  // namespace kitgap
