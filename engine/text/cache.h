#pragma once

#include <cstdint>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace kitgap {

// What stands in a cache entry, value after value and array after array, in the order in which it is taken out again.
class CacheDraft {
 public:
  template <class T>
    requires std::is_trivially_copyable_v<T>
  void put(const T& value) {
    values_.append(reinterpret_cast<const char*>(&value), sizeof value);
  }
  void put_text(std::string_view text) {
    put(static_cast<std::uint64_t>(text.size()));
    values_.append(text);
  }
  // The number of items, and the items.
  template <class T>
    requires std::is_trivially_copyable_v<T>
  void put_items(std::span<const T> items) {
    put(static_cast<std::uint64_t>(items.size()));
    values_.append(reinterpret_cast<const char*>(items.data()), items.size_bytes());
  }
  // The array must stay where it is until the draft is kept.
  template <class T>
    requires std::is_trivially_copyable_v<T>
  void put_array(std::span<const T> array) {
    put_bytes({reinterpret_cast<const char*>(array.data()), array.size_bytes()});
  }

 private:
  friend class Cache;
  void put_bytes(std::string_view bytes);

  std::string values_;
  std::vector<std::string_view> arrays_;
  std::uint64_t array_bytes_ = 0;  // with the gaps between them
};

// An entry as it lies in the mapped file. What is taken must be of the types that were put; past the end, and in an
// array whose bytes are not those that were written, taking fails, and fails from then on.
class CacheEntry {
 public:
  template <class T>
    requires std::is_trivially_copyable_v<T>
  bool take(T& value) {
    if (values_.size() < sizeof value) return fail();
    std::memcpy(&value, values_.data(), sizeof value);
    values_.remove_prefix(sizeof value);
    return true;
  }
  bool take_text(std::string& text);
  // As many as are said to come, each of a byte or more; 0 when they cannot be there.
  std::uint64_t take_count() {
    std::uint64_t count = 0;
    if (!take(count) || count > values_.size()) return fail(), 0;
    return count;
  }
  template <class T>
    requires std::is_trivially_copyable_v<T>
  bool take_items(std::vector<T>& items) {
    const std::uint64_t count = take_count();
    if (count > values_.size() / sizeof(T)) return fail();
    items.resize(count);
    if (count != 0) std::memcpy(items.data(), values_.data(), count * sizeof(T));
    values_.remove_prefix(count * sizeof(T));
    return is_sound_;
  }
  // A view into the mapped file, good as long as `mapping` is held.
  template <class T>
    requires std::is_trivially_copyable_v<T>
  bool take_array(std::span<const T>& array) {
    const auto bytes = take_bytes();
    if (!bytes || bytes->size() % sizeof(T) != 0) return fail();
    array = {reinterpret_cast<const T*>(bytes->data()), bytes->size() / sizeof(T)};
    return true;
  }
  // The same array copied; its pages are let go again.
  template <class T>
  bool take_copy(std::vector<T>& items) {
    std::span<const T> array;
    if (!take_array(array)) return false;
    items.assign(array.begin(), array.end());
    let_go({reinterpret_cast<const char*>(array.data()), array.size_bytes()});
    return true;
  }
  bool is_sound() const { return is_sound_; }
  bool is_used_up() const { return is_sound_ && values_.empty(); }
  const std::shared_ptr<const void>& mapping() const { return mapping_; }

 private:
  friend class Cache;
  bool fail() {
    is_sound_ = false;
    values_ = {};
    return false;
  }
  std::optional<std::string_view> take_bytes();
  static void let_go(std::string_view bytes);

  std::shared_ptr<const void> mapping_;
  std::string_view values_;
  std::string_view arrays_;
  bool is_sound_ = true;
};

// A folder of what was worked out before, so that it need not be worked out again. An entry's name says what it was
// worked out of. Nothing needs an entry for a right answer: one that is damaged, or was made by another build of the
// program, counts as none, and what cannot be written is not kept.
class Cache {
 public:
  explicit Cache(std::filesystem::path folder) : folder_(std::move(folder)) {}
  // `kitgap` under XDG_CACHE_HOME, or under `.cache` of the home folder (XDG Base Directory Specification: a path
  // that is not absolute is passed over). Nothing where there is neither.
  static std::optional<Cache> of_user();

  std::optional<CacheEntry> find(const std::string& name) const;
  // Beside and renamed, so that no reader sees a part. The oldest entries go when there are more than `kMostEntries`.
  void keep(const std::string& name, const CacheDraft& draft) const;
  static constexpr std::size_t kMostEntries = 64;
  static constexpr std::uint64_t kMostBytes = std::uint64_t{2} << 30;

 private:
  void make_room() const;
  std::filesystem::path folder_;
};

// What the file system says of a file: where it is the same as before, so are the bytes.
struct FileStamp {
  std::uint64_t device = 0;
  std::uint64_t number = 0;
  std::uint64_t bytes = 0;
  std::int64_t written = 0;  // nanoseconds since 1970
  std::int64_t changed = 0;  // the same, of anything about it; cannot be set back
  friend bool operator==(const FileStamp&, const FileStamp&) = default;

  static std::optional<FileStamp> of(const std::filesystem::path& path);
  // Whether it lay so long behind at that moment that any later change must show: clocks of file systems tick in up to
  // two seconds.
  bool is_settled_by(std::int64_t moment) const;
};

// Nanoseconds since 1970, by the clock that stamps files.
std::int64_t this_moment();

// A check sum that any damage by chance changes: 64 bits of all bytes, some 10 GB/s.
std::uint64_t check_sum(std::string_view bytes);

}  // namespace kitgap
