#include "pack/manifest.h"

#include <algorithm>
#include <array>

#include "pack/fact_value.h"
#include "pack/kinds.h"
#include "text/codes.h"
#include "text/file.h"
#include "text/json.h"

namespace kitgap {
namespace {

class ManifestReader {
 public:
  ManifestReader(const std::filesystem::path& directory, Sources& sources, Diagnostics& diagnostics)
      : directory_(directory), sources_(sources), diagnostics_(diagnostics) {}

  std::optional<Manifest> read() {
    const std::size_t errors_before = diagnostics_.error_count();
    const auto source = read_file(directory_ / "datapackage.json", sources_, diagnostics_);
    if (!source) return std::nullopt;
    manifest_.source = *source;
    const auto json = parse_json(*source, sources_, diagnostics_);
    if (!json) return std::nullopt;
    if (!json->is_object()) {
      error(*json, "the manifest is no object", "a Data Package: `{\"name\": ..., \"resources\": [...]}`");
      return std::nullopt;
    }
    read_top(*json);
    if (diagnostics_.error_count() != errors_before) return std::nullopt;
    return std::move(manifest_);
  }

 private:
  Span span_of(const Json& json) const {
    return {.source = manifest_.source, .line = json.line, .column = json.column};
  }

  void error(const Json& at, std::string says, std::string expected, std::string_view code = code::kInvalidManifest,
             std::string suggestion = {}) {
    diagnostics_.add({.code = code, .span = span_of(at), .says = std::move(says), .expected = std::move(expected),
                      .suggestion = std::move(suggestion)});
  }

  // The member as text; an absent one is empty, one of another type is reported.
  std::string text_of_member(const Json& object, std::string_view name) {
    const Json* member = object.find(name);
    if (member == nullptr || member->is_null()) return {};
    if (member->is_string()) return member->text;
    error(*member, "`" + std::string(name) + "` is no text", "a text in quotes");
    return {};
  }

  // The name that `whose` must have; empty where it has none, and that is reported.
  std::string name_of(const Json& object, const std::string& whose, std::string expected) {
    const std::size_t before = diagnostics_.error_count();
    std::string name = text_of_member(object, "name");
    if (name.empty() && diagnostics_.error_count() == before) error(object, whose + " has no `name`", std::move(expected));
    return name;
  }

  void read_top(const Json& top) {
    manifest_.name = name_of(top, "the pack", "`\"name\": \"...\"`");
    manifest_.version = text_of_member(top, "version");
    const Json* ours = top.find("kitgap");
    if (ours == nullptr || !ours->is_object()) {
      error(ours == nullptr ? top : *ours, "the manifest has no `kitgap` object",
            "`\"kitgap\": {\"format\": 1, \"facts\": [...], \"positions\": {...}}`");
    } else if (read_format(*ours)) {
      read_facts(*ours);
      read_positions(*ours);
    } else {
      return;
    }
    const Json* resources = top.find("resources");
    if (resources == nullptr || !resources->is_array()) {
      error(resources == nullptr ? top : *resources, "the manifest has no list of `resources`",
            "`\"resources\": [{\"path\": \"needs.csv\", \"kitgap\": {\"kind\": \"needs\"}}]`");
      return;
    }
    for (const Json& resource : resources->items) read_resource(resource);
  }

  bool read_format(const Json& ours) {
    const Json* format = ours.find("format");
    if (format == nullptr || !format->is_number() || format->text.find_first_not_of("0123456789") != std::string::npos) {
      error(format == nullptr ? ours : *format, "the pack names no format", "`\"format\": 1`");
      return true;  // the rest can still be looked at
    }
    if (format->text != std::to_string(kPackFormat)) {
      error(*format, "the pack is of format " + format->text + ", which this program does not know",
            "format " + std::to_string(kPackFormat) + ", or a newer kitgap", code::kNewerFormat);
      return false;
    }
    return true;
  }

  void read_facts(const Json& ours) {
    const Json* facts = ours.find("facts");
    if (facts == nullptr) return;
    if (!facts->is_array()) return error(*facts, "`facts` is no list", "`[{\"name\": ..., \"type\": ...}]`");
    for (const Json& entry : facts->items) read_fact(entry);
  }

  void read_fact(const Json& entry) {
    if (!entry.is_object()) return error(entry, "a fact is no object", "`{\"name\": ..., \"type\": ...}`");
    DeclaredFact declared;
    declared.span = span_of(entry);
    Fact& fact = declared.fact;
    fact.name = name_of(entry, "a fact", "`\"name\": \"body style\"`");
    if (fact.name.empty()) return;
    if (is_column_name(fact.name)) {
      return error(*entry.find("name"), "the fact `" + fact.name + "` is named like a column of a table", "another name");
    }
    const bool is_double = std::ranges::any_of(
        manifest_.facts, [&](const DeclaredFact& other) { return other.fact.name == fact.name; });
    if (is_double) return error(entry, "the fact `" + fact.name + "` is declared twice", "one declaration");
    if (!read_type(entry, fact.domain)) return;
    if (const Json* whole = entry.find("whole"); whole != nullptr && whole->kind == Json::Kind::Boolean) {
      fact.domain.whole = whole->boolean || fact.domain.type == FactType::Date;
    }
    read_allowed(entry, fact.domain);
    read_range(entry, fact);
    fact.ask = text_of_member(entry, "ask");
    fact.look_at = text_of_member(entry, "look_at");
    declared.pattern = text_of_member(entry, "pattern");
    if (!declared.pattern.empty()) {
      declared.pattern_span = span_of(*entry.find("pattern"));
      if (fact.domain.type != FactType::Text) {
        error(*entry.find("pattern"), "a fact of type text only has a pattern", "`\"type\": \"text\"`");
      }
    }
    manifest_.facts.push_back(std::move(declared));
  }

  static bool is_column_name(std::string_view name) {
    for (const KindWord& kind : table_kinds()) {
      for (const ColumnWord& column : kind.columns) {
        if (column.name == name) return true;
      }
    }
    return std::ranges::find(kCommonColumns, name) != kCommonColumns.end();
  }

  bool read_type(const Json& entry, FactDomain& domain) {
    static constexpr auto kTypes = std::to_array<std::pair<std::string_view, FactType>>(
        {{"number", FactType::Number}, {"text", FactType::Text}, {"boolean", FactType::Boolean}, {"date", FactType::Date}});
    const std::string type = text_of_member(entry, "type");
    for (const auto& [word, value] : kTypes) {
      if (type == word) {
        domain.type = value;
        return true;
      }
    }
    const Json* at = entry.find("type");
    error(at == nullptr ? entry : *at, type.empty() ? "a fact has no `type`" : "`" + type + "` is no type of a fact",
          "`number`, `text`, `boolean` or `date`", code::kInvalidManifest,
          nearest(type, {"number", "text", "boolean", "date"}));
    return false;
  }

  void read_allowed(const Json& entry, FactDomain& domain) {
    const Json* allowed = entry.find("allowed");
    if (allowed == nullptr || allowed->is_null()) return;
    if (!allowed->is_array() || allowed->items.empty()) {
      return error(*allowed, "`allowed` is no list of values", "`[\"saloon\", \"estate\"]` or null");
    }
    for (const Json& item : allowed->items) {
      const auto value = fact_value_of(item, domain.type);
      if (!value) {
        error(item, "an allowed value is not of the fact's type", "a value of the type declared");
      } else if (std::ranges::find(domain.allowed, *value) != domain.allowed.end()) {
        error(item, "an allowed value stands twice", "each value once");
      } else {
        domain.allowed.push_back(*value);
      }
    }
  }

  void read_range(const Json& entry, Fact& fact) {
    const std::string range = text_of_member(entry, "range");
    if (range.empty()) return;
    const Json& at = *entry.find("range");
    if (fact.domain.type != FactType::Number && fact.domain.type != FactType::Date) {
      return error(at, "only a number or a date has a range", "`allowed` for other types");
    }
    Condition condition;
    const std::array<Fact, 1> one{fact};
    Span span = span_of(at);
    span.column += 1;  // past the quote
    if (!add_cell(condition, FactId{0}, range, span, one, diagnostics_)) return;
    if (condition.tests.size() != 1 || condition.tests[0].values.intervals().size() != 1) {
      return error(at, "`" + range + "` is no range", "one range, such as `[1966..1974]`");
    }
    const ValueSet::Interval& interval = condition.tests[0].values.intervals()[0];
    if ((interval.lo && !interval.lo_closed) || (interval.hi && !interval.hi_closed)) {
      return error(at, "an end of the range `" + range + "` is no part of it", "`[` and `]`, `>=` or `<=`");
    }
    fact.domain.least = interval.lo;
    fact.domain.greatest = interval.hi;
  }

  void read_positions(const Json& ours) {
    const Json* positions = ours.find("positions");
    if (positions == nullptr || positions->is_null()) return;
    read_places(*positions, "");
  }

  void read_places(const Json& node, const std::string& above) {
    if (!node.is_object()) {
      return error(node, "a position is no object", "`{\"front\": {\"left\": {}, \"right\": {}}}`");
    }
    for (const auto& [name, below] : node.members) {
      if (name.empty() || name.find_first_of(".;, \t") != std::string::npos || (above.empty() && name == "car")) {
        error(below, "`" + name + "` cannot name a position", "a word without blanks or dots, and not `car`");
        continue;
      }
      const std::string path = above.empty() ? name : above + "." + name;
      manifest_.positions.push_back(path);
      read_places(below, path);
    }
  }

  void read_resource(const Json& entry) {
    if (!entry.is_object()) return error(entry, "a resource is no object", "`{\"path\": ..., \"kitgap\": {\"kind\": ...}}`");
    const Json* ours = entry.find("kitgap");
    const Json* path = entry.find("path");
    if (ours == nullptr || !ours->is_object() || ours->find("kind") == nullptr || !ours->find("kind")->is_string()) {
      return error(ours == nullptr ? entry : *ours, "a resource does not say which kind of table it is",
                   "`\"kitgap\": {\"kind\": \"needs\"}`");
    }
    if (path == nullptr || !path->is_string() || !is_inside(path->text)) {
      return error(path == nullptr ? entry : *path, "a resource has no path inside the pack",
                   "`\"path\": \"needs.csv\"`: one file, relative, without `..`");
    }
    ManifestResource resource{.path = path->text, .kind = ours->find("kind")->text, .field_units = {},
                              .path_span = span_of(*path), .kind_span = span_of(*ours->find("kind"))};
    if (!find_table_kind(resource.kind)) {
      std::vector<std::string> words;
      for (const KindWord& kind : table_kinds()) words.emplace_back(kind.word);
      return error(*ours->find("kind"), "`" + resource.kind + "` is no kind of table", "a kind such as `needs`",
                   code::kUnknownKind, nearest(resource.kind, words));
    }
    read_fields(entry, resource);
    manifest_.resources.push_back(std::move(resource));
  }

  static bool is_inside(const std::string& path) {
    const std::filesystem::path parts(path);
    if (path.empty() || parts.is_absolute() || path.find("://") != std::string::npos) return false;
    return std::ranges::none_of(parts, [](const auto& part) { return part == ".."; });
  }

  // The schema may stand in the manifest or in a file of the pack.
  void read_fields(const Json& entry, ManifestResource& resource) {
    const Json* schema = entry.find("schema");
    if (schema == nullptr || schema->is_null()) return;
    std::optional<Json> loaded;
    if (schema->is_string()) {
      if (!is_inside(schema->text)) return;  // a shared schema elsewhere: a validator's business, not needed here
      const auto source = read_file(directory_ / schema->text, sources_, diagnostics_);
      if (source) loaded = parse_json(*source, sources_, diagnostics_);
      if (!loaded) return;
      schema = &*loaded;
    }
    const Json* fields = schema->find("fields");
    if (fields == nullptr || !fields->is_array()) return;
    for (const Json& field : fields->items) {
      const Json* name = field.find("name");
      const Json* unit = field.find("unit");
      if (name == nullptr || !name->is_string()) continue;
      resource.field_units[name->text] = unit != nullptr && unit->is_string() ? unit->text : "";
    }
  }

  const std::filesystem::path& directory_;
  Sources& sources_;
  Diagnostics& diagnostics_;
  Manifest manifest_;
};

}  // namespace

std::optional<Manifest> read_manifest(const std::filesystem::path& directory, Sources& sources, Diagnostics& diagnostics) {
  return ManifestReader(directory, sources, diagnostics).read();
}

}  // namespace kitgap
