#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

// A file layer between SQLite and the disk that fails, or kills the process, at one chosen call.
namespace kitgap::test {

// KillTorn: where the call writes, half of it arrives first.
enum class Fault : std::uint8_t { None, InputOutput, DiskFull, Kill, KillTorn };

// The name to give as `JobOptions::vfs`.
const char* faulty_vfs();
// From now on the `call`-th call (from 1) that reads, writes, cuts, syncs, opens or deletes fails; with `for_ever`
// all calls after it too. `writes_only` counts what changes the disk, and no reads.
void arm(Fault fault, std::int64_t call, bool for_ever, bool writes_only);
// No more faults; how many calls were counted since `arm`.
std::int64_t disarm();

// What the files were told, in order, for power cuts that are played afterwards.
struct DiskEvent {
  enum class Kind : std::uint8_t { Write, Truncate, Sync, Delete, Said } kind = Kind::Write;
  std::string file;
  std::int64_t offset = 0;  // of a write; the size of a truncation; the command that was said to be saved
  std::string bytes;
  bool is_folder_synced = false;  // of a deletion
};
// Keeps a log from now on until `take_log`.
void start_log();
void log_said(std::int64_t command);
std::vector<DiskEvent> take_log();

}  // namespace kitgap::test
