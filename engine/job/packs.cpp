#include "job/packs.h"

#include <algorithm>
#include <map>

#include "job/state.h"
#include "text/file.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostPieceBytes = 60'000;  // below what a cell may hold (store.cpp)

// Cut between characters: every cell is UTF-8 by itself.
std::size_t end_of_piece(std::string_view bytes, std::size_t begin) {
  std::size_t end = std::min(begin + kMostPieceBytes, bytes.size());
  while (end > begin && end < bytes.size() && (static_cast<unsigned char>(bytes[end]) & 0xc0) == 0x80) --end;
  return end;
}

void add_file(std::vector<Entry>& entries, const std::string& hash, const std::string& file, std::string_view bytes) {
  std::size_t begin = 0;
  for (int piece = 1; begin < bytes.size(); ++piece) {
    const std::size_t end = end_of_piece(bytes, begin);
    entries.push_back(entry_of("", "pack file", {{"hash", hash}, {"file", file}, {"piece", std::to_string(piece)},
                                                 {"content", std::string(bytes.substr(begin, end - begin))}}));
    begin = end;
  }
}

}  // namespace

std::vector<Entry> entries_of_packs(const Rules& rules, std::span<const Record> standing, Sources& sources, Diagnostics& diagnostics) {
  std::vector<Entry> entries;
  const auto used = packs_in_use(standing);
  const auto kept = present_records(standing, "pack file", "");
  for (std::uint32_t index = 0; index < rules.packs.size(); ++index) {
    const PackInfo& pack = rules.packs[index];
    const bool is_same = index < used.size() && used[index].name == pack.name && used[index].path == pack.directory &&
                         used[index].version == pack.version && used[index].hash == pack.hash;
    if (!is_same) {
      entries.push_back(entry_of("", "pack", {{"name", pack.name}, {"path", pack.directory}, {"version", pack.version},
                                              {"hash", pack.hash}, {"place", std::to_string(index + 1)}}));
    }
    if (std::ranges::any_of(kept, [&](const Record& record) { return record.cell("hash") == pack.hash; })) continue;
    const std::string manifest = "datapackage.json";
    if (const auto source = read_file(std::filesystem::path(pack.directory) / manifest, sources, diagnostics)) {
      add_file(entries, pack.hash, manifest, sources.bytes(*source));
    }
    for (const TableInfo& table : rules.tables) {
      if (table.pack == index) add_file(entries, pack.hash, table.file, sources.bytes(table.table.source()));
    }
  }
  // A pack that is given no more is out of use.
  for (const PackInUse& one : used) {
    if (std::ranges::find(rules.packs, one.name, &PackInfo::name) != rules.packs.end()) continue;
    entries.push_back(entry_of("", "pack", {{"name", one.name}, {"path", one.path}, {"version", one.version}, {"hash", one.hash}, {"place", "0"}}));
  }
  return entries;
}

std::optional<std::string> lay_in_pack(std::span<const Record> standing, const std::string& name, const std::string& hash,
                                       Sources& sources) {
  std::map<std::string, std::string> files;
  for (const Record& record : present_records(standing, "pack file", "")) {
    if (record.cell("hash") == hash) files[std::string(record.cell("file"))] += record.cell("content");
  }
  if (files.empty()) return std::nullopt;
  const std::filesystem::path folder = "job:packs/" + name + "-" + hash.substr(0, 8);
  for (auto& [file, bytes] : files) sources.lay_in((folder / file).string(), std::move(bytes));
  return folder.string();
}

}  // namespace kitgap
