#include <algorithm>
#include <fstream>
#include <map>
#include <mutex>
#include <vector>

#include "text/ascii.h"
#include "value/calendar.h"

// Named zones. The rules of clocks change several times a year, so they are read from the machine's tz database
// (RFC 8536) and not shipped. Reading them here, and not above, keeps `offset_of` a plain function of its value.
namespace kitgap {
namespace {

struct ZoneTable {
  std::vector<std::int64_t> changes;       // seconds since 1970 UTC, rising
  std::vector<std::int32_t> offsets;       // after each change
  std::int32_t first_offset = 0;
};

bool is_zone_name(std::string_view name) {
  if (name.empty() || name.size() > 64 || name.front() == '/' || name.find("..") != std::string_view::npos) return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    return is_letter(c) || is_digit(c) || c == '_' || c == '+' ||
           c == '-' || c == '/';
  });
}

std::int64_t big_endian(std::string_view bytes, std::size_t at, std::size_t width) {
  std::uint64_t value = 0;
  for (std::size_t byte = 0; byte < width; ++byte) value = value << 8 | static_cast<unsigned char>(bytes[at + byte]);
  return width == 4 ? static_cast<std::int32_t>(static_cast<std::uint32_t>(value)) : static_cast<std::int64_t>(value);
}

struct Counts {
  std::size_t utc, standard, leap, changes, types, letters;
  std::size_t body(std::size_t width) const {
    return changes * width + changes + types * 6 + letters + leap * (width + 4) + standard + utc;
  }
};

std::optional<Counts> counts_at(std::string_view bytes, std::size_t at) {
  if (at + 44 > bytes.size() || bytes.substr(at, 4) != "TZif") return std::nullopt;
  const auto count = [&](std::size_t index) { return static_cast<std::size_t>(big_endian(bytes, at + 20 + index * 4, 4)); };
  Counts counts{count(0), count(1), count(2), count(3), count(4), count(5)};
  if (counts.changes > 10'000 || counts.types == 0 || counts.types > 256 || counts.letters > 4096 || counts.leap > 1000) {
    return std::nullopt;
  }
  return counts;
}

std::optional<ZoneTable> parse_table(std::string_view bytes) {
  auto counts = counts_at(bytes, 0);
  if (!counts) return std::nullopt;
  std::size_t at = 44;
  std::size_t width = 4;
  if (bytes[4] >= '2') {  // the second block has 64-bit times
    at += counts->body(4);
    counts = counts_at(bytes, at);
    if (!counts) return std::nullopt;
    at += 44;
    width = 8;
  }
  if (at + counts->body(width) > bytes.size()) return std::nullopt;
  const std::size_t kinds = at + counts->changes * width;
  const std::size_t types = kinds + counts->changes;
  const auto offset_of_type = [&](std::size_t type) {
    return static_cast<std::int32_t>(big_endian(bytes, types + std::min(type, counts->types - 1) * 6, 4));
  };
  ZoneTable table;
  table.first_offset = offset_of_type(0);
  for (std::size_t change = 0; change < counts->changes; ++change) {
    table.changes.push_back(big_endian(bytes, at + change * width, width));
    table.offsets.push_back(offset_of_type(static_cast<unsigned char>(bytes[kinds + change])));
  }
  return table;
}

// The table of a zone, read once; nullptr for a name that is none.
const ZoneTable* table_of(std::string_view name) {
  static std::mutex mutex;
  static std::map<std::string, std::optional<ZoneTable>, std::less<>> tables;
  const std::lock_guard lock(mutex);
  const auto known = tables.find(name);
  if (known != tables.end()) return known->second ? &*known->second : nullptr;
  if (!is_zone_name(name) || tables.size() > 1000) return nullptr;
  std::ifstream file("/usr/share/zoneinfo/" + std::string(name), std::ios::binary);
  std::string bytes(100'000, '\0');
  file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(file.gcount(), 0)));
  auto& slot = tables.emplace(name, parse_table(bytes)).first->second;
  return slot ? &*slot : nullptr;
}

std::int32_t offset_at(const ZoneTable& table, std::int64_t seconds) {
  const auto after = std::upper_bound(table.changes.begin(), table.changes.end(), seconds);
  if (after == table.changes.begin()) return table.first_offset;
  return table.offsets[static_cast<std::size_t>(after - table.changes.begin() - 1)];
}

}  // namespace

bool is_known_zone(std::string_view name) { return table_of(name) != nullptr; }

std::optional<std::int32_t> offset_of(const DateAndTime& moment) {
  const Zone& zone = moment.time.zone;
  if (zone.kind == Zone::Kind::Offset) return zone.offset_seconds;
  const ZoneTable* table = zone.kind == Zone::Kind::Named ? table_of(*zone.name) : nullptr;
  if (table == nullptr) return std::nullopt;
  const std::int64_t clock = day_number_of(moment.date) * 86'400 + moment.time.nanoseconds / kNanosecondsPerSecond;
  // The clock reads the same twice when it is put back: the earlier moment is meant.
  const std::int32_t before = offset_at(*table, clock - 86'400);
  if (offset_at(*table, clock - before) == before) return before;
  return offset_at(*table, clock - offset_at(*table, clock + 86'400));
}

std::optional<std::int32_t> offset_of(const ClockTime& time) {
  return offset_of(DateAndTime{CalendarDate{}, time});
}

}  // namespace kitgap
