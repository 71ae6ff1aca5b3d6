#include <algorithm>

#include "text/codes.h"
#include "text/dialect.h"
#include "text/person_table.h"

namespace kitgap {
namespace {

// Of a header over several rows any one row may hold the name: `Quantity` above `wanted`.
void take_by_parts(const PersonTable& table, const PersonTableOptions& options, ColumnMap& map,
                   std::vector<bool>& taken) {
  for (std::size_t ours = 0; ours < options.columns.size(); ++ours) {
    for (std::size_t column = 0; column < taken.size() && !map.columns[ours]; ++column) {
      const auto& parts = table.header_parts(column);
      if (taken[column] || parts.size() < 2) continue;
      const bool named = std::any_of(parts.begin(), parts.end(), [&](const std::string& part) {
        const auto& words = options.columns[ours].words;
        return std::find(words.begin(), words.end(), header_word(part)) != words.end();
      });
      if (!named) continue;
      map.columns[ours] = column;
      taken[column] = true;
      map.said.push_back("`" + table.header()[column] + "` is read as `" +
                         std::string(options.columns[ours].name) + "`");
    }
  }
}

}  // namespace

ColumnMap map_columns(const PersonTable& table, const PersonTableOptions& options, Diagnostics& diagnostics) {
  ColumnMap map;
  map.columns.resize(options.columns.size());
  std::vector<std::string> names;
  for (const std::string& name : table.header()) names.push_back(header_word(name));
  std::vector<bool> taken(names.size());
  const auto take = [&](std::size_t ours, std::string_view word) {
    const auto found = std::find(names.begin(), names.end(), word);
    if (found == names.end() || word.empty()) return false;
    const auto column = static_cast<std::size_t>(found - names.begin());
    if (taken[column] || map.columns[ours]) return false;
    map.columns[ours] = column;
    taken[column] = true;
    if (table.header()[column] != options.columns[ours].name) {
      map.said.push_back("`" + table.header()[column] + "` is read as `" +
                         std::string(options.columns[ours].name) + "`");
    }
    return true;
  };
  for (const auto& [theirs, ours] : options.renamed) {
    const auto column =
        std::find_if(options.columns.begin(), options.columns.end(),
                     [&, &name = ours](const ColumnWords& words) { return words.name == name; });
    if (column == options.columns.end()) {
      std::vector<std::string> known;
      for (const ColumnWords& words : options.columns) known.emplace_back(words.name);
      diagnostics.add({Severity::Error, code::kUnknownColumn, Span{table.source()},
                       "`" + ours + "` is no column of kitgap's", "a column of kitgap's after `=`",
                       nearest(ours, known)});
    } else if (take(static_cast<std::size_t>(column - options.columns.begin()), header_word(theirs))) {
      continue;
    } else if (options.may_lack_renamed) {
      map.unmatched.push_back(static_cast<std::size_t>(&ours - &options.renamed.front().second));
    } else {
      diagnostics.add({Severity::Error, code::kUnknownColumn, Span{table.source()},
                       "the file has no column `" + theirs + "`", "the name of a column before `=`",
                       nearest(theirs, table.header())});
    }
  }
  for (std::size_t ours = 0; ours < options.columns.size(); ++ours) {
    if (map.columns[ours]) continue;
    const auto& words = options.columns[ours].words;
    static_cast<void>(
        std::any_of(words.begin(), words.end(), [&](std::string_view word) { return take(ours, word); }));
  }
  take_by_parts(table, options, map, taken);
  for (std::size_t column = 0; column < names.size(); ++column) {
    if (!taken[column] && !names[column].empty()) map.unused.push_back(table.header()[column]);
  }
  return map;
}

}  // namespace kitgap
