#pragma once

#include <concepts>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include "text/cache.h"
#include "text/diagnostics.h"

// Whole objects into a cache entry and out of it again. A type that is more than its bytes names its fields once, in a
// `visit_fields(archive, object)` beside it, which serves both ways.
namespace kitgap {

template <class T, class Type>
concept Is = std::same_as<std::remove_const_t<T>, Type>;

// What an entry cannot hold, but both sides have: objects that fields point at, by their place in the list, and the
// first of the sources that the entry speaks of.
struct ArchiveSurroundings {
  std::vector<const void*> objects;
  SourceId first_source;
};

namespace archive_detail {
template <class T>
inline constexpr bool is_plain = std::is_trivially_copyable_v<T> && !std::is_pointer_v<T>;
template <class T>
inline constexpr bool is_vector = false;
template <class T>
inline constexpr bool is_vector<std::vector<T>> = true;
template <class T>
inline constexpr bool is_optional = false;
template <class T>
inline constexpr bool is_optional<std::optional<T>> = true;
template <class T>
inline constexpr bool is_shared = false;
template <class T>
inline constexpr bool is_shared<std::shared_ptr<T>> = true;
}  // namespace archive_detail

class PuttingArchive {
 public:
  PuttingArchive(CacheDraft& draft, ArchiveSurroundings around) : draft_(draft), around_(std::move(around)) {}
  template <class... Fields>
  void operator()(const Fields&... fields) {
    (put(fields), ...);
  }
  // Long ones, which the entry takes from where they are: they must stay there until the draft is kept.
  template <class... Items>
  void arrays(const std::vector<Items>&... items) {
    (draft_.put_array(std::span(items)), ...);
  }
  ArchiveSurroundings& around() { return around_; }

 private:
  template <class T>
  void put(const T& field) {
    using namespace archive_detail;
    if constexpr (std::is_pointer_v<T>) {
      std::uint32_t place = 0;
      while (place < around_.objects.size() && around_.objects[place] != field) ++place;
      draft_.put(place);
    } else if constexpr (std::same_as<T, SourceId>) {
      draft_.put(field.index - around_.first_source.index);
    } else if constexpr (std::same_as<T, std::string>) {
      draft_.put_text(field);
    } else if constexpr (is_plain<T>) {
      draft_.put(field);
    } else if constexpr (is_vector<T>) {
      put_vector(field);
    } else if constexpr (is_optional<T>) {
      draft_.put(field.has_value());
      if (field) put(*field);
    } else if constexpr (is_shared<T>) {
      draft_.put(field != nullptr);
      if (field) put(*field);
    } else {
      visit_fields(*this, field);
    }
  }
  template <class T>
  void put_vector(const std::vector<T>& items) {
    if constexpr (archive_detail::is_plain<T> && !std::same_as<T, SourceId>) {
      draft_.put_items(std::span(items));
    } else {
      draft_.put(static_cast<std::uint64_t>(items.size()));
      for (const T& item : items) put(item);
    }
  }
  template <class First, class Second>
  void put(const std::pair<First, Second>& pair) {
    (*this)(pair.first, pair.second);
  }
  template <class... Kinds>
  void put(const std::variant<Kinds...>& variant) {
    draft_.put(static_cast<std::uint8_t>(variant.index()));
    std::visit([&](const auto& held) { put(held); }, variant);
  }
  template <class Key, class Value, class Less>
  void put(const std::map<Key, Value, Less>& map) {
    draft_.put(static_cast<std::uint64_t>(map.size()));
    for (const auto& [key, value] : map) (*this)(key, value);
  }

  CacheDraft& draft_;
  ArchiveSurroundings around_;
};

// What does not fit leaves the entry unsound and the object half filled: ask before using it.
class TakingArchive {
 public:
  TakingArchive(CacheEntry& entry, ArchiveSurroundings around) : entry_(entry), around_(std::move(around)) {}
  template <class... Fields>
  void operator()(Fields&... fields) {
    (take(fields), ...);
  }
  template <class... Items>
  void arrays(std::vector<Items>&... items) {
    (entry_.take_copy(items), ...);
  }
  ArchiveSurroundings& around() { return around_; }
  bool is_sound() const { return entry_.is_sound(); }

 private:
  template <class T>
  void take(T& field) {
    using namespace archive_detail;
    if constexpr (std::is_pointer_v<T>) {
      std::uint32_t place = 0;
      if (!entry_.take(place)) return;
      field = place < around_.objects.size() ? static_cast<T>(around_.objects[place]) : nullptr;
    } else if constexpr (std::same_as<T, SourceId>) {
      if (entry_.take(field.index)) field.index += around_.first_source.index;
    } else if constexpr (std::same_as<T, std::string>) {
      entry_.take_text(field);
    } else if constexpr (is_plain<T>) {
      entry_.take(field);
    } else if constexpr (is_vector<T>) {
      take_vector(field);
    } else if constexpr (is_optional<T>) {
      if (take_flag()) take(field.emplace());
    } else if constexpr (is_shared<T>) {
      if (!take_flag()) return;
      auto shared = std::make_shared<std::remove_const_t<typename T::element_type>>();
      take(*shared);
      field = std::move(shared);
    } else {
      visit_fields(*this, field);
    }
  }
  template <class T>
  void take_vector(std::vector<T>& items) {
    if constexpr (archive_detail::is_plain<T> && !std::same_as<T, SourceId>) {
      entry_.take_items(items);
    } else {
      const std::uint64_t count = entry_.take_count();
      items.clear();
      items.reserve(count);
      for (std::uint64_t at = 0; at < count && entry_.is_sound(); ++at) take(items.emplace_back());
    }
  }
  template <class First, class Second>
  void take(std::pair<First, Second>& pair) {
    (*this)(pair.first, pair.second);
  }
  template <class... Kinds>
  void take(std::variant<Kinds...>& variant) {
    std::uint8_t kind = 0;
    entry_.take(kind);
    take_kind(variant, kind, std::index_sequence_for<Kinds...>());
  }
  template <class... Kinds, std::size_t... Places>
  void take_kind(std::variant<Kinds...>& variant, std::size_t kind, std::index_sequence<Places...>) {
    ((kind == Places ? take(variant.template emplace<Places>()) : void()), ...);
  }
  template <class Key, class Value, class Less>
  void take(std::map<Key, Value, Less>& map) {
    const std::uint64_t count = entry_.take_count();
    map.clear();
    for (std::uint64_t at = 0; at < count && entry_.is_sound(); ++at) {
      std::pair<Key, Value> pair;
      (*this)(pair.first, pair.second);
      map.insert(map.end(), std::move(pair));
    }
  }
  bool take_flag() {
    bool flag = false;
    return entry_.take(flag) && flag;
  }

  CacheEntry& entry_;
  ArchiveSurroundings around_;
};

void visit_fields(auto& archive, Is<Span> auto& span) {
  archive(span.source, span.line, span.column, span.length, span.cell);
}

}  // namespace kitgap
