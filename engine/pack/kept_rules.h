#pragma once

#include "pack/rules.h"
#include "text/cache.h"

namespace kitgap {

// All that reading the packs gave but the bytes of their files, into an entry and out again. `first` is the first of the
// sources that the packs were read from, the manifests and then the tables; where packs and tables lie is not kept.
void put_rules(CacheDraft& draft, const Rules& rules, const Sources& sources, SourceId first);
// Nothing when the entry does not hold that. The rules' tables refer to `sources`.
[[nodiscard]] std::optional<Rules> take_rules(CacheEntry& entry, const Sources& sources, SourceId first);

}  // namespace kitgap
