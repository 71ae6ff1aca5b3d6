#pragma once

#include <cstdint>

// What kitgap and its zip module agree on. The module alone knows libzip, so that reading a CSV never loads
// it.
extern "C" {

struct KitgapZipEntry {
  const char* name;  // lives as long as the archive
  std::uint64_t packed;
  std::uint64_t unpacked;  // as the archive claims
  int is_encrypted;
};

// Takes a stretch of an unpacked entry; 0 stops the reading.
using KitgapZipSink = int (*)(void* context, const char* bytes, std::uint64_t size);

struct KitgapZip {
  int version;
  // Reads the directory of an archive in memory, which must stay until `close`; null when it is none.
  void* (*open)(const char* bytes, std::uint64_t size);
  std::int64_t (*entry_count)(void* archive);
  int (*entry)(void* archive, std::uint64_t index, KitgapZipEntry* entry);  // 0 when it cannot be read
  // 1 when all of it was read and its checksum is right, 0 when the sink stopped it, -1 when it is damaged.
  int (*read)(void* archive, std::uint64_t index, KitgapZipSink sink, void* context);
  void (*close)(void* archive);
};

inline constexpr int kKitgapZipVersion = 1;
using KitgapZipFunction = const KitgapZip* (*)();
}
