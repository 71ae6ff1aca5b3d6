#include "analyse/table_check.h"

namespace kitgap {
namespace {

// In the expression language a date is written as a call; a bare `1970-03-01` is a subtraction there.
std::string date_tests(const ValueSet& set) {
  const auto date = [](const Fraction& day) { return "date(\"" + text_of(day, FactType::Date) + "\")"; };
  std::string result;
  for (const auto& interval : set.intervals()) {
    if (!result.empty()) result += ", ";
    if (interval.lo && interval.hi) {
      result += *interval.lo == *interval.hi ? date(*interval.lo) : "[" + date(*interval.lo) + ".." + date(*interval.hi) + "]";
    } else if (interval.lo) {
      result += ">= " + date(*interval.lo);
    } else {
      result += interval.hi ? "<= " + date(*interval.hi) : "-";
    }
  }
  return result;
}

void write_value(JsonWriter& writer, const FactValue& value, FactType type) {
  if (const auto* text = std::get_if<std::string>(&value)) {
    writer.string(*text);
  } else if (const auto* boolean = std::get_if<bool>(&value)) {
    writer.boolean(*boolean);
  } else if (type == FactType::Date) {
    writer.begin_object().key("date").string(text_of(value, type)).end_object();
  } else if (const auto digits = std::get<Fraction>(value).to_decimal()) {
    writer.number(*digits);
  } else {
    writer.string(text_of(value, type));
  }
}

void write_region(JsonWriter& writer, const BareTable& table, const TableFindings::Region& region) {
  writer.key("box").begin_object();
  for (std::size_t column = 0; column < table.inputs.size(); ++column) {
    writer.key(table.inputs[column].name).string(unary_tests_of(region.box[column], table.inputs[column].within));
  }
  writer.end_object().key("witness").begin_object();
  for (std::size_t column = 0; column < table.inputs.size(); ++column) {
    writer.key(table.inputs[column].name);
    write_value(writer, region.witness[column], table.inputs[column].domain->type);
  }
  writer.end_object();
}

void write_rules(JsonWriter& writer, const std::vector<std::uint32_t>& rules) {
  writer.begin_array();
  for (const std::uint32_t rule : rules) writer.number(std::int64_t{rule});
  writer.end_array();
}

std::string region_in_words(const BareTable& table, const TableFindings::Region& region) {
  std::string result;
  for (std::size_t column = 0; column < table.inputs.size(); ++column) {
    const std::string tests = unary_tests_of(region.box[column], table.inputs[column].within);
    if (tests == "-") continue;
    result += (result.empty() ? "" : "; ") + table.inputs[column].name + " " + tests;
  }
  return result.empty() ? "whatever the inputs" : result;
}

std::string witness_in_words(const BareTable& table, const TableFindings::Region& region) {
  std::string result;
  for (std::size_t column = 0; column < table.inputs.size(); ++column) {
    result += (result.empty() ? "" : ", ") + table.inputs[column].name + " = " +
              literal_of(region.witness[column], table.inputs[column].domain->type);
  }
  return result;
}

std::string list_of(const std::vector<std::uint32_t>& rules) {
  std::string result = rules.size() == 1 ? "rule " : "rules ";
  for (std::size_t at = 0; at < rules.size(); ++at) {
    result += (at == 0 ? "" : at + 1 == rules.size() ? " and " : ", ") + std::to_string(rules[at]);
  }
  return result;
}

constexpr std::size_t kShown = 20;

}  // namespace

std::string unary_tests_of(const ValueSet& set, const ValueSet& within) {
  if (set == within) return "-";
  return set.domain().type == FactType::Date ? date_tests(set) : set.to_unary_test();
}

void write_json(JsonWriter& writer, const BareTable& table, const TableFindings& findings) {
  writer.begin_object().key("id").string(table.id);
  writer.key("holes").begin_array();
  for (const auto& hole : findings.holes) {
    writer.begin_object();
    write_region(writer, table, hole);
    writer.end_object();
  }
  writer.end_array().key("overlaps").begin_array();
  for (const auto& overlap : findings.overlaps) {
    writer.begin_object().key("rules");
    write_rules(writer, {overlap.first, overlap.second});
    write_region(writer, table, overlap.region);
    writer.key("same_output").boolean(overlap.same_output).end_object();
  }
  writer.end_array().key("never_apply");
  write_rules(writer, findings.never_apply);
  writer.key("hidden").begin_array();
  for (const auto& hidden : findings.hidden) {
    writer.begin_object().key("rule").number(std::int64_t{hidden.rule}).key("by");
    write_rules(writer, hidden.by);
    writer.end_object();
  }
  writer.end_array().key("mergeable").begin_array();
  for (const auto& merge : findings.merges) {
    writer.begin_object().key("rules");
    write_rules(writer, {merge.first, merge.second});
    writer.key("input").string(table.inputs[merge.column].name);
    writer.key("test").string(unary_tests_of(merge.test, table.inputs[merge.column].within)).end_object();
  }
  writer.end_array().key("hole_count").number(static_cast<std::int64_t>(findings.hole_count));
  writer.key("overlap_count").number(static_cast<std::int64_t>(findings.overlap_count));
  writer.key("truncated").boolean(findings.truncated).end_object();
}

std::string in_words(const BareTable& table, const TableFindings& findings) {
  std::string out = "table " + (table.id.empty() ? "(without a name)" : table.id) + ", " +
                    std::to_string(table.rules.size()) + " rules\n";
  const std::size_t before = out.size();
  const auto cut = [&](std::size_t shown, std::uint64_t all, std::string_view what) {
    if (shown < all) out += "  ... and " + std::to_string(all - shown) + " more " + std::string(what) + "\n";
  };
  for (std::size_t at = 0; at < findings.holes.size() && at < kShown; ++at) {
    out += "  no rule for: " + region_in_words(table, findings.holes[at]) + "\n    such as " +
           witness_in_words(table, findings.holes[at]) + "\n";
  }
  cut(std::min(kShown, findings.holes.size()), findings.hole_count, "holes");
  for (std::size_t at = 0; at < findings.overlaps.size() && at < kShown; ++at) {
    const auto& overlap = findings.overlaps[at];
    out += "  " + list_of({overlap.first, overlap.second}) +
           (overlap.same_output ? " both apply, and say the same: " : " both apply, and differ: ") +
           region_in_words(table, overlap.region) + "\n    such as " + witness_in_words(table, overlap.region) + "\n";
  }
  cut(std::min(kShown, findings.overlaps.size()), findings.overlap_count, "overlaps");
  if (!findings.never_apply.empty()) out += "  " + list_of(findings.never_apply) + " can never apply\n";
  for (const auto& hidden : findings.hidden) {
    out += "  rule " + std::to_string(hidden.rule) + " never decides: " + list_of(hidden.by) +
           (hidden.by.size() == 1 ? " goes" : " go") + " before it wherever it applies\n";
  }
  for (const auto& merge : findings.merges) {
    out += "  " + list_of({merge.first, merge.second}) + " could be one, with " + table.inputs[merge.column].name + " " +
           unary_tests_of(merge.test, table.inputs[merge.column].within) + "\n";
  }
  if (out.size() == before) out += "  nothing is left out and nothing said twice\n";
  return out;
}

}  // namespace kitgap
