#include "match/compiled_table.h"

#include <algorithm>

#include "text/archive.h"
#include "text/open_file.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

template <class T>
void put(CacheDraft& draft, const Kept<T>& array) {
  draft.put_array(array.span());
}

template <class T>
void take(CacheEntry& entry, Kept<T>& array) {
  std::span<const T> mapped;
  if (entry.take_array(mapped)) array = mapped;
}

void put(CacheDraft& draft, const std::vector<std::string>& texts) { PuttingArchive(draft, {})(texts); }

void take(CacheEntry& entry, std::vector<std::string>& texts) { TakingArchive(entry, {})(texts); }

// Which columns are conditions, and of which type, the cars say: an index for each set of facts.
std::string entry_name(const std::string& content, const SweepCars& cars) {
  std::string facts;
  for (const CarFact& fact : cars.facts) facts += std::string(fact.name()) + "\n" + std::to_string(static_cast<int>(fact.type())) + "\n";
  Sha256 name;
  name.add(content + "\n" + facts);
  return name.hex().substr(0, 40) + ".rows";
}

}  // namespace

CompiledTable::CompiledTable(std::optional<Cache> cache, const std::filesystem::path& rows)
    : cache_(std::move(cache)), rows_(rows), stamp_(FileStamp::of(rows)), begun_(this_moment()) {
  std::error_code failed;
  const auto whole = std::filesystem::absolute(rows, failed);
  if (!cache_ || !stamp_ || failed) return;
  Sha256 name;
  name.add(whole.native());
  memo_name_ = name.hex().substr(0, 32) + ".asked";
  auto memo = cache_->find(memo_name_);
  FileStamp stamp;
  bool is_settled = false;
  if (!memo || !memo->take(stamp) || !memo->take(is_settled) || !memo->take_text(content_)) {
    content_.clear();
    return;
  }
  was_asked_ = true;
  if (stamp == *stamp_ && is_settled) return;
  was_asked_ = stamp.bytes == stamp_->bytes;
  // Written anew, perhaps with the same bytes; worth reading only where those have an index.
  if (content_.empty()) return;
  content_ = content_of_file();
  if (stamp_->is_settled_by(begun_) && FileStamp::of(rows_) == stamp_) remember();  // not to be read for it again
}

std::string CompiledTable::content_of_file() const {
  const OpenFile file(rows_.c_str(), O_RDONLY);
  if (!file.is_open()) return {};
  Sha256 content;
  std::vector<char> buffer(std::size_t{1} << 20);
  ::ssize_t got = 0;
  while ((got = ::read(file.number(), buffer.data(), buffer.size())) > 0) content.add({buffer.data(), static_cast<std::size_t>(got)});
  return got == 0 ? content.hex() : std::string();
}

std::optional<CompiledTable::Found> CompiledTable::find(const SweepCars& cars) const {
  auto entry = content_.empty() ? std::nullopt : cache_->find(entry_name(content_, cars));
  if (!entry) return std::nullopt;
  Found found{.index = std::unique_ptr<SweepIndex>(new SweepIndex()), .passed_over = {}};
  take(*entry, found.passed_over);
  if (std::ranges::any_of(found.passed_over, [&](const std::string& name) { return !name.empty() && cars.find(name) != nullptr; })) return std::nullopt;
  SweepIndex& index = *found.index;
  std::uint64_t columns = 0;
  entry->take(columns);
  for (std::uint64_t at = 0; at < columns && entry->is_sound(); ++at) {
    SweepColumn& column = index.columns_.emplace_back();
    SweepType by_cars{};
    entry->take_text(column.name);
    entry->take(by_cars);
    entry->take(column.type);
    take(*entry, column.words);
    const CarFact* fact = cars.find(column.name);
    if (fact == nullptr || fact->any_unknown() || fact->type() != by_cars || (column.type != SweepType::Text && !fact->is_whole(column.type))) return std::nullopt;
  }
  std::uint64_t serial_column = 0, vectors = 0;
  entry->take(serial_column);
  index.serial_column_ = serial_column;
  entry->take(vectors);
  for (std::uint64_t at = 0; at < vectors && entry->is_sound(); ++at) {
    std::uint64_t column = 0;
    entry->take(column);
    index.vector_columns_.push_back(column);
    SweepIndex::Cells& cells = index.cells_.emplace_back();
    take(*entry, cells.begins);
    take(*entry, cells.words);
  }
  take(*entry, index.ranks_);
  take(*entry, index.counts_);
  take(*entry, index.wide_counts_);
  take(*entry, index.serial_lo_);
  take(*entry, index.serial_hi_);
  take(*entry, index.serial_cuts_);
  take(*entry, index.item_cells_);
  take(*entry, index.item_begins_);
  for (std::int64_t* figure : {&index.serial_base_, &index.serial_span_, &index.greatest_count_}) entry->take(*figure);
  entry->take(index.row_count_);
  entry->take(index.count_places_);
  entry->take(index.all_positive_);
  if (!entry->is_used_up()) return std::nullopt;
  index.mapping_ = entry->mapping();
  return found;
}

bool CompiledTable::can_keep(const SweepTable& table) {
  return !SweepIndex::needs_rows(table) && std::ranges::all_of(table.columns, &SweepColumn::is_whole);
}

void CompiledTable::keep(const SweepIndex& index, const Columns& columns, const SweepCars& cars) const {
  // Written to while it was read: what was read is not what lies there.
  if (!cache_ || memo_name_.empty() || columns.content.empty() || FileStamp::of(rows_) != stamp_) return;
  CacheDraft draft;
  put(draft, columns.passed_over);
  draft.put(static_cast<std::uint64_t>(index.columns_.size()));
  for (std::size_t at = 0; at < index.columns_.size(); ++at) {
    draft.put_text(index.columns_[at].name);
    draft.put(columns.by_cars[at]);
    draft.put(index.columns_[at].type);
    put(draft, index.columns_[at].words);
  }
  draft.put(static_cast<std::uint64_t>(index.serial_column_));
  draft.put(static_cast<std::uint64_t>(index.vector_columns_.size()));
  for (std::size_t at = 0; at < index.vector_columns_.size(); ++at) {
    draft.put(static_cast<std::uint64_t>(index.vector_columns_[at]));
    put(draft, index.cells_[at].begins);
    put(draft, index.cells_[at].words);
  }
  put(draft, index.ranks_);
  put(draft, index.counts_);
  put(draft, index.wide_counts_);
  put(draft, index.serial_lo_);
  put(draft, index.serial_hi_);
  put(draft, index.serial_cuts_);
  put(draft, index.item_cells_);
  put(draft, index.item_begins_);
  for (const std::int64_t figure : {index.serial_base_, index.serial_span_, index.greatest_count_}) draft.put(figure);
  draft.put(index.row_count_);
  draft.put(index.count_places_);
  draft.put(index.all_positive_);
  cache_->keep(entry_name(columns.content, cars), draft);
  remember(columns.content);
}

void CompiledTable::remember() const { remember(content_); }

void CompiledTable::remember(const std::string& content) const {
  if (!cache_ || !stamp_ || memo_name_.empty()) return;
  CacheDraft draft;
  draft.put(*stamp_);
  draft.put(stamp_->is_settled_by(begun_));
  draft.put_text(content);
  cache_->keep(memo_name_, draft);
}

}  // namespace kitgap
