#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "condition/condition.h"
#include "text/diagnostics.h"

namespace kitgap {

// A fact as one pack declares it.
struct DeclaredFact {
  Fact fact;
  std::string pattern;  // RE2, or empty
  Span span;
  Span pattern_span;
};

struct ManifestResource {
  std::string path;  // within the pack
  std::string kind;
  std::map<std::string, std::string> field_units;  // declared columns with their unit, if any
  Span path_span;
  Span kind_span;
};

// `datapackage.json`: the Data Package standard's keys that are used here, and what stands under `kitgap`.
struct Manifest {
  SourceId source;
  std::string name;
  std::string version;
  std::vector<DeclaredFact> facts;
  std::vector<std::string> positions;  // every path
  std::vector<ManifestResource> resources;
};

// The format number that this program reads; a newer one is refused.
inline constexpr int kPackFormat = 1;

// Nothing when the manifest cannot be used; everything wrong in it is reported.
[[nodiscard]] std::optional<Manifest> read_manifest(const std::filesystem::path& directory, Sources& sources,
                                                    Diagnostics& diagnostics);

}  // namespace kitgap
