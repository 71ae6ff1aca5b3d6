#include "pack/rules.h"

#include <re2/re2.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <functional>

#include "pack/cells.h"
#include "pack/compiled_packs.h"
#include "pack/links.h"
#include "pack/manifest.h"
#include "text/codes.h"
#include "text/file.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

class RulesReader {
 public:
  RulesReader(Sources& sources, Diagnostics& diagnostics) : sources_(sources), diagnostics_(diagnostics) {
    rules_.part_keys.emplace_back("car");
    rules_.practices.emplace_back();
    rules_.places.emplace_back();
    rules_.conditions.emplace_back();
    interned_.practices.emplace("", 0);
    interned_.places.emplace("", PlacesId{0});
  }

  std::optional<Rules> read(std::span<const std::filesystem::path> directories) {
    const std::size_t errors_before = diagnostics_.error_count();
    std::vector<Manifest> manifests;
    for (const std::filesystem::path& directory : directories) {
      if (auto manifest = read_manifest(directory, sources_, diagnostics_)) {
        rules_.packs.push_back({.directory = directory.string(), .name = manifest->name, .version = manifest->version, .hash = {}});
        manifests.push_back(std::move(*manifest));
      }
    }
    if (diagnostics_.error_count() != errors_before) return std::nullopt;
    for (const Manifest& manifest : manifests) join_facts(manifest);
    for (const Manifest& manifest : manifests) {
      for (const std::string& path : manifest.positions) rules_.positions.add(path);
    }
    rules_.positions.settle();
    for (const Manifest& manifest : manifests) join_patterns(manifest);
    settle_spaces(manifests);
    open_tables(manifests);
    read_tables();
    if (diagnostics_.error_count() == errors_before) check_links(rules_, diagnostics_);
    if (diagnostics_.error_count() != errors_before) return std::nullopt;
    return std::move(rules_);
  }

 private:
  // Facts of all packs are joined; a higher pack may narrow the values of a lower one's, never widen them.
  void join_facts(const Manifest& manifest) {
    for (const DeclaredFact& declared : manifest.facts) {
      const auto known = rules_.find_fact(declared.fact.name);
      if (!known) {
        rules_.facts.push_back(declared.fact);
        continue;
      }
      Fact& fact = rules_.facts[known->index];
      if (fact.domain.type != declared.fact.domain.type) {
        diagnostics_.add({.code = code::kInvalidManifest, .span = declared.span,
                          .says = "the fact `" + fact.name + "` has another type in a pack below",
                          .expected = "one type in all packs"});
        continue;
      }
      if (!fact.domain.allowed.empty()) {
        for (const FactValue& value : declared.fact.domain.allowed) {
          if (std::ranges::find(fact.domain.allowed, value) != fact.domain.allowed.end()) continue;
          diagnostics_.add({.code = code::kUnknownValue, .span = declared.span,
                            .says = "`" + text_of(value, fact.domain.type) + "` is no value of the fact `" + fact.name +
                                    "` in a pack below; a higher pack may only narrow it"});
        }
      }
      if (!declared.fact.ask.empty()) fact.ask = declared.fact.ask;
      if (!declared.fact.look_at.empty()) fact.look_at = declared.fact.look_at;
    }
  }

  void settle_spaces(const std::vector<Manifest>& manifests) {
    for (const Fact& fact : rules_.facts) rules_.fact_spaces.push_back(ValueSet::all(fact.domain));
    for (const Manifest& manifest : manifests) {
      for (const DeclaredFact& declared : manifest.facts) {
        const FactId id = *rules_.find_fact(declared.fact.name);
        const FactDomain& domain = rules_.facts[id.index].domain;
        ValueSet& space = rules_.fact_spaces[id.index];
        if (!declared.fact.domain.allowed.empty()) {
          ValueSet narrowed = ValueSet::none(domain);
          for (const FactValue& value : declared.fact.domain.allowed) narrowed = narrowed | ValueSet::of(domain, value);
          space = space & narrowed;
        }
        if (declared.fact.domain.least || declared.fact.domain.greatest) {
          space = space & ValueSet::of(domain, ValueSet::Interval{declared.fact.domain.least, declared.fact.domain.greatest, true, true});
        }
      }
    }
  }

  void join_patterns(const Manifest& manifest) {
    for (const DeclaredFact& declared : manifest.facts) {
      if (declared.pattern.empty()) continue;
      const auto pattern = compiled_pattern(declared.pattern);
      const auto refuse = [&](std::string says, std::string expected, std::string suggestion = {}) {
        diagnostics_.add({.code = code::kInvalidPattern, .span = declared.pattern_span, .says = std::move(says),
                          .expected = std::move(expected), .suggestion = std::move(suggestion)});
      };
      if (!pattern->ok()) {
        refuse("the pattern of `" + declared.fact.name + "` is wrong: " + pattern->error(), "a RE2 pattern");
        continue;
      }
      FactPattern joined{.fact = *rules_.find_fact(declared.fact.name), .text = declared.pattern, .pattern = pattern, .groups = {}};
      for (const auto& [name, number] : pattern->NamedCapturingGroups()) {
        std::string fact_name = name;
        std::ranges::replace(fact_name, '_', ' ');
        if (const auto fact = rules_.find_fact(fact_name)) {
          joined.groups.emplace_back(number, *fact);
        } else {
          std::vector<std::string> names;
          for (const Fact& known : rules_.facts) names.push_back(known.name);
          refuse("the group `" + name + "` names no declared fact", "a declared fact, `_` for a blank", nearest(fact_name, names));
        }
      }
      std::erase_if(rules_.patterns, [&](const FactPattern& lower) { return lower.fact == joined.fact; });
      rules_.patterns.push_back(std::move(joined));
    }
  }

  struct Opened {
    std::uint32_t table;
    const ManifestResource* resource;
  };

  void open_tables(const std::vector<Manifest>& manifests) {
    for (std::uint32_t pack = 0; pack < manifests.size(); ++pack) {
      Sha256 hash;
      hash.add(sources_.bytes(manifests[pack].source));
      for (const ManifestResource& resource : manifests[pack].resources) {
        const std::filesystem::path path = std::filesystem::path(rules_.packs[pack].directory) / resource.path;
        const auto source = read_file(path, sources_, diagnostics_);
        if (!source) continue;
        hash.add(sources_.bytes(*source));
        auto table = read_pack_table(*source, sources_, diagnostics_);
        if (!table) continue;
        TableInfo info{.pack = pack, .path = path.string(), .file = resource.path,
                       .kind = *find_table_kind(resource.kind), .table = std::move(*table), .fact_columns = {},
                       .when_column = {}, .source_column = {}, .note_column = {}};
        if (!find_columns(info, resource)) continue;
        opened_.push_back({.table = static_cast<std::uint32_t>(rules_.tables.size()), .resource = &resource});
        rules_.tables.push_back(std::move(info));
      }
      rules_.packs[pack].hash = hash.hex();
    }
  }

  bool find_columns(TableInfo& info, const ManifestResource& resource) {
    const KindWord& kind = word_of(info.kind);
    bool is_right = true;
    for (std::size_t column = 0; column < info.table.header().size(); ++column) {
      const std::string& name = info.table.header()[column];
      if (std::ranges::any_of(kind.columns, [&](const ColumnWord& word) { return word.name == name; })) continue;
      if (const auto fact = rules_.find_fact(name)) {
        info.fact_columns.emplace_back(column, *fact);
      } else if (name == "when") {
        info.when_column = column;
      } else if (name == "source") {
        info.source_column = column;
      } else if (name == "note") {
        info.note_column = column;
      } else if (info.kind != TableKind::Parts || !resource.field_units.contains(name)) {
        report_unknown_column(info, column);
        is_right = false;
      }
    }
    for (const ColumnWord& word : kind.columns) {
      if (!word.must_be_filled || info.table.find_column(word.name)) continue;
      diagnostics_.add({.code = code::kMissingColumn, .span = info.table.header_span(0),
                        .says = "the column `" + std::string(word.name) + "` is missing from a table of kind `" +
                                std::string(kind.word) + "`"});
      is_right = false;
    }
    return is_right;
  }

  void report_unknown_column(const TableInfo& info, std::size_t column) {
    const KindWord& kind = word_of(info.kind);
    std::vector<std::string> names(kCommonColumns.begin(), kCommonColumns.end());
    for (const ColumnWord& word : kind.columns) names.emplace_back(word.name);
    for (const Fact& fact : rules_.facts) names.push_back(fact.name);
    const std::string& name = info.table.header()[column];
    diagnostics_.add({.code = code::kUnknownColumn, .span = info.table.header_span(column),
                      .says = "`" + name + "` is neither a column of `" + std::string(kind.word) + "` nor a fact",
                      .expected = "a column of that kind, a declared fact, `when`, `source` or `note`",
                      .suggestion = nearest(name, names)});
  }

  // Keys first, then parts (their units and kinds), then everything that refers to them.
  void read_tables() {
    const auto each = [&](const std::function<bool(TableKind)>& wanted, const std::function<void(TableKind, Cells&)>& read) {
      for (const Opened& opened : opened_) {
        const TableKind kind = rules_.tables[opened.table].kind;
        if (!wanted(kind)) continue;
        Cells cells(rules_, opened.table, *opened.resource, interned_, diagnostics_);
        read(kind, cells);
      }
    };
    each([](TableKind kind) { return kind == TableKind::Parts; }, [](TableKind, Cells& cells) { declare_parts(cells); });
    each([](TableKind kind) { return kind == TableKind::Offers; }, [](TableKind, Cells& cells) { declare_offers(cells); });
    each([](TableKind kind) { return kind == TableKind::Parts; }, read_rows);
    each([](TableKind kind) { return kind != TableKind::Parts; }, read_rows);
  }

  Sources& sources_;
  Diagnostics& diagnostics_;
  Rules rules_;
  Cells::Interned interned_;
  std::vector<Opened> opened_;
};

}  // namespace

std::optional<PartId> Rules::find_part(std::string_view key) const {
  const auto found = part_by_key.find(std::string(key));
  if (found == part_by_key.end()) return std::nullopt;
  return found->second;
}

std::optional<FactId> Rules::find_fact(std::string_view name) const {
  for (std::uint32_t index = 0; index < facts.size(); ++index) {
    if (facts[index].name == name) return FactId{index};
  }
  return std::nullopt;
}

std::string_view Rules::source_of(RowPlace place) const {
  const TableInfo& info = tables[place.table];
  return info.source_column ? info.table.cell(place.row, *info.source_column) : std::string_view{};
}

std::string_view Rules::note_of(RowPlace place) const {
  const TableInfo& info = tables[place.table];
  return info.note_column ? info.table.cell(place.row, *info.note_column) : std::string_view{};
}

std::string Rules::cell_of(RowPlace place, std::string_view column) const {
  const TableInfo& info = tables[place.table];
  const auto found = info.table.find_column(column);
  return found ? std::string(info.table.cell(place.row, *found)) : std::string{};
}

const FactDomain& domain_of_figures() {
  static const FactDomain kFigures{.type = FactType::Number, .whole = false};
  return kFigures;
}

const FactDomain& domain_of_words() {
  static const FactDomain kWords{.type = FactType::Text, .whole = false};
  return kWords;
}

std::shared_ptr<const re2::RE2> compiled_pattern(const std::string& pattern) {
  re2::RE2::Options options;
  options.set_max_mem(1 << 20);
  options.set_log_errors(false);
  return std::make_shared<re2::RE2>(pattern, options);
}

std::string without_group_names(std::string_view pattern) {
  std::string plain;
  bool is_in_class = false;
  while (!pattern.empty()) {
    std::size_t taken = 1;
    if (pattern.starts_with("\\Q")) {
      taken = std::min(pattern.find("\\E"), pattern.size());
    } else if (pattern.starts_with('\\')) {
      taken = std::min<std::size_t>(2, pattern.size());
    } else if (is_in_class) {
      is_in_class = !pattern.starts_with(']');
      if (pattern.starts_with("[:")) taken = std::min(pattern.find(":]"), pattern.size() - 2) + 2;
    } else if (pattern.starts_with('[')) {
      is_in_class = true;  // a bracket that closes stands for itself where it comes first
      taken = pattern.starts_with("[^]") ? 3 : pattern.starts_with("[^") || pattern.starts_with("[]") ? 2 : 1;
    } else if (pattern.starts_with("(?P<")) {
      plain += '(';
      pattern.remove_prefix(std::min(pattern.find('>'), pattern.size() - 1) + 1);
      continue;
    }
    plain += pattern.substr(0, taken);
    pattern.remove_prefix(taken);
  }
  return plain;
}

std::optional<Rules> read_rules(std::span<const std::filesystem::path> directories, Sources& sources, Diagnostics& diagnostics,
                                const std::optional<Cache>& cache) {
  CompiledPacks compiled(cache, directories);
  if (auto rules = compiled.find(sources)) return rules;
  const SourceId first{static_cast<std::uint32_t>(sources.size())};
  auto rules = RulesReader(sources, diagnostics).read(directories);
  if (rules) compiled.keep(*rules, sources, first);
  return rules;
}

std::string normalised_part_number(std::string_view number) {
  // Dashes that a word processor makes of the plain one, and the blank that does not break.
  constexpr auto kDropped = std::to_array<std::string_view>({"\xe2\x80\x90", "\xe2\x80\x91", "\xe2\x80\x92", "\xe2\x80\x93", "\xe2\x80\x94",
                                                             "\xe2\x88\x92", "\xc2\xa0"});
  const bool is_plain = std::ranges::all_of(number, [](char byte) { return (byte & 0x80) == 0; });
  const std::string other = is_plain ? std::string() : folded(number);  // letters beyond ASCII lose their case too
  const std::string_view text = is_plain ? number : std::string_view(other);
  std::string normal;
  normal.reserve(text.size());
  for (std::size_t at = 0; at < text.size(); ++at) {
    const char byte = text[at];
    if (std::string_view(" \t\n-./_").find(byte) != std::string_view::npos) continue;
    const auto dropped = is_plain ? kDropped.end() : std::ranges::find_if(kDropped, [&](std::string_view sign) { return text.substr(at).starts_with(sign); });
    if (dropped != kDropped.end()) {
      at += dropped->size() - 1;
      continue;
    }
    normal += byte >= 'a' && byte <= 'z' ? static_cast<char>(byte - 32) : byte;
  }
  return normal;
}

}  // namespace kitgap
