#include "packs.h"

#include "heap.h"
#include "text/cache.h"

namespace kitgap {

std::optional<Rules> read_packs(std::span<const std::string> directories, Sources& sources, Diagnostics& diagnostics) {
  warm_heap();
  return read_rules(std::vector<std::filesystem::path>(directories.begin(), directories.end()), sources, diagnostics, Cache::of_user());
}

}  // namespace kitgap
