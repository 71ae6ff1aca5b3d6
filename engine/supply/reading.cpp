#include "supply/reading.h"

#include <algorithm>
#include <array>

#include "pack/rules.h"
#include "supply/reading_columns.h"
#include "supply/reading_words.h"
#include "supply/totals.h"
#include "text/ascii.h"
#include "text/codes.h"
#include "text/csv.h"
#include "text/file.h"
#include "text/person_table.h"
#include "text/utf8.h"

namespace kitgap {
namespace {

std::string joined(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& name : names) out += (out.empty() ? "" : ", ") + in_ticks(name);
  return out;
}

bool is_short_figure(std::string_view text) {
  std::vector<std::string> questions, doubts;
  return !text.empty() && text.size() < 12 && read_quantity(text, false, questions, doubts).known;
}

class ListReader {
 public:
  ListReader(const PersonTable& table, ListKind kind, ReadList& list)
      : table_(table), kind_(kind), list_(list) {}

  bool find_columns(const PersonTableOptions& options, Diagnostics& diagnostics) {
    const std::size_t before = diagnostics.error_count();
    map_ = map_columns(table_, options, diagnostics);
    if (diagnostics.error_count() != before) return false;
    list_.columns = table_.header();
    list_.unmatched = map_.unmatched;
    const bool named = std::any_of(table_.header().begin(), table_.header().end(),
                                   [](const std::string& name) { return !name.empty(); });
    if (!named) guess_columns();
    for (const std::string& said : map_.said) list_.remarks.push_back(said);
    if (!map_.unused.empty()) list_.remarks.push_back("not used: " + joined(map_.unused));
    if (map_.columns[kNumber] || map_.columns[kDescription]) return true;
    diagnostics.add(
        {Severity::Error,
         code::kMissingColumn,
         Span{table_.source()},
         "the file has neither a column of part numbers nor one of descriptions",
         "a column `part number` or `description`",
         "",
         {},
         {"the file has " + joined(table_.header()), "say which is which: `--columns theirs=part number`"}});
    return false;
  }

  void read() {
    list_.lines.reserve(table_.row_count());
    for (std::size_t row = 0; row < table_.row_count(); ++row) {
      ReadLine line = read_row(row);
      ++(line.set_aside.empty() ? list_.used : list_.set_aside);
      list_.lines.push_back(std::move(line));
    }
  }

 private:
  // Without a header the first column is taken for the part numbers and the first one of figures for the
  // quantities.
  void guess_columns() {
    map_.columns[kNumber] = 0;
    std::string said = "no header: column A is read as `part number`";
    for (std::size_t column = 1; column < table_.header().size(); ++column) {
      std::size_t figures = 0, texts = 0;
      for (std::size_t row = 0; row < table_.row_count(); ++row) {
        if (table_.kind(row) != RowKind::Line || table_.cell(row, column).empty()) continue;
        ++(is_short_figure(table_.cell(row, column)) ? figures : texts);
      }
      const auto ours = figures > texts && !map_.columns[kQuantity] ? kQuantity : kDescription;
      if (figures + texts == 0 || map_.columns[ours]) continue;
      map_.columns[ours] = column;
      said += ", " + spreadsheet_column(column) + " as " +
              (ours == kQuantity ? "`quantity`" : "`description`");
    }
    list_.remarks.push_back(said);
  }

  std::string_view cell(std::size_t row, Ours ours) const {
    const auto column = map_.columns[ours];
    return column ? table_.cell(row, *column) : std::string_view();
  }

  ReadLine read_row(std::size_t row) {
    ReadLine line;
    line.line = table_.line(row);
    line.as_typed = table_.as_typed(row);
    line.section = table_.section(row);
    line.span = table_.span(row, map_.columns[kNumber].value_or(map_.columns[kDescription].value_or(0)));
    const RowKind kind = table_.kind(row);
    line.is_blank = kind == RowKind::Blank;
    if (kind == RowKind::Total)
      line.set_aside = check_total(row);
    else if (kind != RowKind::Line)
      line.set_aside = reason_of(kind);
    else
      read_line(row, line);
    return line;
  }

  void read_line(std::size_t row, ReadLine& line) {
    line.part_number = cell(row, kNumber);
    line.description = cell(row, kDescription);
    line.supplier = cell(row, kSupplier);
    line.bag = cell(row, kBag);
    line.note = cell(row, kNote);
    line.id = cell(row, kId);
    if (line.part_number.empty() && line.description.empty()) {
      line.set_aside = "no part number and no description";
      return;
    }
    check_forms(row, line);
    number_says_ = split_number(line.part_number);
    if (!number_says_.empty())
      line.doubts.push_back(in_ticks(cell(row, kNumber)) + " is read as " + in_ticks(line.part_number) + " and another number");
    if (map_.columns[kQuantity])
      read_amount(row, line);
    else
      split_scribble(line);
    read_where(row, line);
    read_notes(row, line);
    line.due = read_date(cell(row, kDue), line.questions, line.doubts);
    line.due.as_typed = cell(row, kDue);
    line.read_as = say(line);
    totals_.add(line);
  }

  // `2 x K-17` or `K-17 x2` where no column holds the quantity: what can be read as one, and the rest.
  void split_scribble(ReadLine& line) {
    const std::string typed = line.part_number;
    for (std::size_t blank = typed.rfind(' '); blank != std::string::npos && blank != 0;
         blank = typed.rfind(' ', blank - 1)) {
      const std::string before = typed.substr(0, blank);
      const std::string after = typed.substr(blank + 1);
      const bool bare =
          std::all_of(after.begin(), after.end(), is_digit);
      if (take_scribble(before, after, line) || (!bare && take_scribble(after, before, line))) {
        line.doubts.push_back(in_ticks(typed) + " is read as a quantity and a part number");
        return;
      }
    }
  }

  bool take_scribble(const std::string& amount, const std::string& number, ReadLine& line) const {
    std::vector<std::string> questions, doubts;
    const ReadQuantity quantity = read_quantity(amount, table_.has_decimal_comma(), questions, doubts);
    // `2 way switch` is no two of anything: a bare figure counts what looks like a part number.
    const bool bare = amount.find_first_not_of("0123456789") == std::string::npos;
    const bool has_digit =
        number.substr(0, number.find(' ')).find_first_of("0123456789") != std::string::npos;
    const bool is_number = number.size() > 1 && !is_short_figure(number) && (!bare || has_digit);
    if (!quantity.known || !is_number) return false;
    line.quantity = quantity;
    line.quantity_typed = amount;
    line.part_number = number;
    return true;
  }

  // A sheet's cell that holds a number or a date where a part number is meant has lost what was typed.
  void check_forms(std::size_t row, ReadLine& line) {
    check_number(line.part_number, line.doubts);
    if (!map_.columns[kNumber]) return;
    const CellForm form = table_.form(row, *map_.columns[kNumber]);
    if (form == CellForm::Date)
      line.doubts.push_back(in_ticks(line.part_number) +
                            " is a date in the sheet; a part number may have been turned into it");
    if (form == CellForm::Number)
      line.doubts.push_back(in_ticks(line.part_number) +
                            " is a number in the sheet; zeros at its front may be lost");
  }

  void read_amount(std::size_t row, ReadLine& line) {
    std::string typed(cell(row, kQuantity));
    line.quantity_typed = typed;
    if (map_.columns[kQuantity] && table_.form(row, *map_.columns[kQuantity]) == CellForm::Date) {
      line.questions.push_back("the quantity " + in_ticks(typed) +
                               " is a date in the sheet: how many are meant?");
      return;
    }
    typed = take_hands_out(typed);
    const std::string unit(cell(row, kUnit));
    const bool bare = !typed.empty() && std::all_of(typed.begin(), typed.end(), [](char byte) {
      return is_digit(byte) || byte == '.' || byte == ',' || byte == ' ' || byte == '/';
    });
    if (bare && !unit.empty()) typed += " " + unit, line.quantity_typed += " " + unit;
    line.quantity = read_quantity(typed, table_.has_decimal_comma(), line.questions, line.doubts);
    if (per_side_ && line.quantity.known) {
      line.quantity.amount *= 2;
      line.quantity.spare *= 2;
      line.quantity.back_order *= 2;
      line.doubts.push_back(in_ticks(cell(row, kQuantity)) + " is read as " + line.quantity.amount.to_text() + ", half of them to each side");
    }
    read_pack(row, line);
    read_back_order(row, line);
    if (kind_ == ListKind::List && line.quantity.is_return)
      line.doubts.push_back("a return on a list takes from what is on order");
  }

  // `1 L/H`: the hand is no part of the number. `4 each side` and `1 LH + 1 RH` are so many of both hands.
  std::string take_hands_out(const std::string& typed) {
    quantity_hand_ = {};
    per_side_ = false;
    std::string amount;
    if (amount_of_each_hand(typed, amount)) {
      quantity_hand_.hand = HandWord::Both;
      per_side_ = true;
      return amount;
    }
    const ReadPlace hand = hand_in(typed);
    if (hand.hand == HandWord::None) return typed;
    quantity_hand_ = hand;
    return read_place(typed).path;
  }

  void read_pack(std::size_t row, ReadLine& line) {
    if (line.quantity.pack_size || cell(row, kPack).empty()) return;
    std::vector<std::string> questions, doubts;
    const ReadQuantity pack = read_quantity(cell(row, kPack), table_.has_decimal_comma(), questions, doubts);
    if (pack.pack_size)
      line.quantity.pack_size = pack.pack_size;
    else if (pack.known && pack.amount.sign() > 0 &&
             (pack.counts == Counts::Plain || pack.counts == Counts::Pieces))
      line.quantity.pack_size = pack.amount;
    else
      line.doubts.push_back("what one pack holds, " + in_ticks(cell(row, kPack)) + ", is not read");
  }

  void read_back_order(std::size_t row, ReadLine& line) {
    if (cell(row, kBackOrder).empty() || !line.quantity.known) return;
    std::vector<std::string> questions, doubts;
    const ReadQuantity back =
        read_quantity(cell(row, kBackOrder), table_.has_decimal_comma(), questions, doubts);
    if (back.known && back.amount.sign() >= 0 && back.amount <= line.quantity.amount)
      line.quantity.back_order = back.amount;
    else
      line.questions.push_back("how many are on back order: " + in_ticks(cell(row, kBackOrder)) + "?");
  }

  // The hand may stand in four places; two that differ are a question.
  void read_where(std::size_t row, ReadLine& line) {
    const std::string_view position = cell(row, kPosition);
    const bool two_hands = names_two_hands(position);
    if (two_hands)
      line.questions.push_back("the position " + in_ticks(position) + " names two hands: how many go to each?");
    else
      line.place = read_place(position);
    const ReadPlace side = read_place(cell(row, kSide));
    if (side.hand == HandWord::None && !side.path.empty())
      line.doubts.push_back("the side " + in_ticks(cell(row, kSide)) + " is not read");
    take_hand(side, line);
    take_hand(quantity_hand_, line);
    ReadPlace described = hand_in(line.description);
    if (line.place.hand == HandWord::None && described.hand != HandWord::None) {
      line.place.hand = described.hand;
      line.place.from_description = true;
      if (line.place.along.empty()) line.place.along = described.along;
    } else {
      take_hand(described, line);
    }
    if (!two_hands) inherit_place(line);
    const bool pair = line.quantity.known && line.quantity.counts == Counts::Pairs;
    if (pair && line.place.hand != HandWord::None && line.place.hand != HandWord::Both) {
      line.questions.push_back("a pair, but " + std::string(word_of(line.place.hand)) +
                               ": one of each hand, or two of that one?");
    }
  }

  // What the row leaves out its heading says; a row's own word stands over the heading's.
  static void inherit_place(ReadLine& line) {
    const ReadPlace heading = place_in_heading(line.section);
    const bool hand = line.place.hand == HandWord::None && heading.hand != HandWord::None;
    const bool along = line.place.along.empty() && line.place.path.empty() && !heading.along.empty();
    if (!hand && !along) return;
    std::string taken = along ? heading.along : "";
    if (along) line.place.along = heading.along;
    if (hand) line.place.hand = heading.hand, taken += (along ? ", " : "") + std::string(word_of(heading.hand));
    line.place.from_description = line.place.from_description || hand;
    line.doubts.push_back(taken + ": by the heading " + in_ticks(line.section));
  }

  void take_hand(const ReadPlace& other, ReadLine& line) {
    if (other.hand == HandWord::None) return;
    if (line.place.along.empty()) line.place.along = other.along;
    if (line.place.hand == HandWord::None)
      line.place.hand = other.hand;
    else if (line.place.hand != other.hand) {
      line.questions.push_back("the row says " + std::string(word_of(line.place.hand)) + " and " +
                               std::string(word_of(other.hand)) + ": which hand?");
    }
  }

  void read_notes(std::size_t row, ReadLine& line) {
    if (const std::string_view column = cell(row, kSubstitute); !column.empty()) {
      line.substitutes = substitutes_in(column);
      const bool bare = line.substitutes.empty() && column.find(' ') == std::string_view::npos;
      if (bare) line.substitutes.push_back({substitute_kind(), std::string(column)});
    }
    for (Substitute& said : number_says_) line.substitutes.push_back(std::move(said));
    number_says_.clear();
    for (const std::string* text : {&line.note, &line.description}) {
      for (Substitute& found : substitutes_in(*text)) {
        if (normalised_part_number(found.part_number) != normalised_part_number(line.part_number))
          line.substitutes.push_back(std::move(found));
      }
    }
    if (const auto serial = read_serial_range(cell(row, kSerial))) line.serial = serial;
    for (const std::string* text : {&line.note, &line.description}) {
      if (!line.serial) line.serial = serial_range_in(*text);
    }
  }

  SubstituteKind substitute_kind() const {
    const std::string name = folded(table_.header()[*map_.columns[kSubstitute]]);
    return name.find("alt") != std::string::npos || name.find("subst") != std::string::npos
               ? SubstituteKind::Alternative
               : SubstituteKind::Replaced;
  }

  std::string say(const ReadLine& line) const {
    std::string says =
        in_words(line.quantity, line.part_number.empty() ? line.description : line.part_number);
    if (!line.place.path.empty()) says += ", at " + in_ticks(line.place.path);
    if (!line.place.along.empty() && line.place.along != line.place.path) says += ", " + line.place.along;
    if (line.place.hand != HandWord::None) says += ", " + std::string(word_of(line.place.hand));
    if (!line.supplier.empty()) says += ", from " + in_ticks(line.supplier);
    if (!line.bag.empty()) says += ", in " + in_ticks(line.bag);
    if (!line.due.date.empty()) says += ", due " + line.due.date;
    for (const Substitute& other : line.substitutes) {
      constexpr auto kWords = std::to_array<std::string_view>(
          {"; replaced by ", "; if it is no longer to be had: ", "; or else "});
      says += std::string(kWords.at(static_cast<std::size_t>(other.kind))) + in_ticks(other.part_number);
    }
    if (line.serial) says += "; " + say(*line.serial);
    if (!line.section.empty()) says += "; under " + in_ticks(line.section);
    return says;
  }

  static std::string say(const SerialRange& range) {
    std::string says = range.is_year ? "year" : "number";
    const auto end = [](std::int64_t number, bool soft) {
      return std::string(soft ? "about " : "") + std::to_string(number);
    };
    if (range.from && range.to == range.from) return says + " " + end(*range.from, range.from_soft);
    if (range.from) says += " from " + end(*range.from, range.from_soft);
    if (range.to) says += " to " + end(*range.to, range.to_soft);
    return says;
  }

  std::string check_total(std::size_t row) {
    const Totals::Check check = totals_.check(cell(row, kQuantity), table_.has_decimal_comma());
    if (!check.remark.empty()) list_.remarks.push_back("line " + std::to_string(table_.line(row)) + ": " + check.remark);
    return check.says;
  }

  const PersonTable& table_;
  ListKind kind_;
  ReadList& list_;
  ColumnMap map_;
  ReadPlace quantity_hand_;
  std::vector<Substitute> number_says_;  // other numbers in the cell of the part number
  bool per_side_ = false;  // the quantity is that of one side
  Totals totals_;
};

}  // namespace

void check_renamed(std::span<const ReadList> lists, const RenamedColumns& renamed, Diagnostics& diagnostics) {
  for (std::size_t pair = 0; pair < renamed.size(); ++pair) {
    const bool lacks = !lists.empty() && std::all_of(lists.begin(), lists.end(), [&](const ReadList& list) {
      return std::find(list.unmatched.begin(), list.unmatched.end(), pair) != list.unmatched.end();
    });
    if (!lacks) continue;
    std::vector<std::string> named;
    for (const ReadList& list : lists) named.insert(named.end(), list.columns.begin(), list.columns.end());
    const Span whole = lists.front().lines.empty() ? Span{} : Span{lists.front().lines.front().span.source};
    diagnostics.add({Severity::Error, code::kUnknownColumn, whole,
                     (lists.size() == 1 ? "the file has no column " : "none of the files has a column ") + in_ticks(renamed[pair].first),
                     "the name of a column before `=`", nearest(renamed[pair].first, named)});
  }
}

std::optional<ReadList> read_list(const std::filesystem::path& path, ListKind kind,
                                  const RenamedColumns& renamed, Sources& sources, Diagnostics& diagnostics,
                                  const std::string& sheet) {
  const auto source = read_file(path, sources, diagnostics, false, kMostPersonBytes);
  if (!source) return std::nullopt;
  return read_list(*source, kind, renamed, sources, diagnostics, sheet);
}

std::optional<ReadList> read_list(SourceId source, ListKind kind, const RenamedColumns& renamed,
                                  Sources& sources, Diagnostics& diagnostics, const std::string& sheet) {
  const auto columns = column_words(kind);
  const PersonTableOptions options{.columns = columns, .renamed = renamed, .sheet = sheet, .may_lack_renamed = true};
  const auto table = read_person_table(source, options, sources, diagnostics);
  if (!table) return std::nullopt;
  ReadList list;
  list.file = sources.name(source);
  list.kind = kind;
  list.remarks = table->remarks();
  ListReader reader(*table, kind, list);
  if (!reader.find_columns(options, diagnostics)) return std::nullopt;
  reader.read();
  return list;
}

}  // namespace kitgap
