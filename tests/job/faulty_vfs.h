#pragma once

#include <cstdint>
#include <functional>

// A file layer between SQLite and the disk that fails, or kills the process, at one chosen call.
namespace kitgap::test {

enum class Fault : std::uint8_t { None, InputOutput, DiskFull, Kill };

// The name to give as `JobOptions::vfs`.
const char* faulty_vfs();
// From now on the `call`-th call (from 1) that reads, writes, cuts, syncs, opens or deletes fails; with `for_ever`
// all calls after it too. `writes_only` counts what changes the disk, and no reads.
void arm(Fault fault, std::int64_t call, bool for_ever, bool writes_only);
// No more faults; how many calls were counted since `arm`.
std::int64_t disarm();

}  // namespace kitgap::test
