#include "supply/reading.h"

#include <doctest/doctest.h>

#include "support/folder.h"

using namespace kitgap;

namespace {

// Remarks after `#`, then a row on a line: its reading, or `-` and why it is set aside; questions after `?`,
// doubts after `!`.
std::string read(std::string_view bytes, ListKind kind = ListKind::List, const RenamedColumns& renamed = {}) {
  const test::Folder folder;
  const std::string path = folder.write("list.csv", bytes);
  Sources sources;
  Diagnostics diagnostics;
  const auto list = read_list(path, kind, renamed, sources, diagnostics);
  if (!list) {
    std::string text = layout(diagnostics, sources);
    return text.replace(text.find(path), path.size(), "list.csv");
  }
  CHECK(list->used + list->set_aside == list->lines.size());
  std::string out;
  for (std::size_t index = 3; index < list->remarks.size(); ++index)
    out += "# " + list->remarks[index] + "\n";
  for (const ReadLine& line : list->lines) {
    out += std::to_string(line.line) + " " + (line.set_aside.empty() ? line.read_as : "- " + line.set_aside) +
           "\n";
    for (const std::string& question : line.questions) out += "  ? " + question + "\n";
    for (const std::string& doubt : line.doubts) out += "  ! " + doubt + "\n";
  }
  return out;
}

}  // namespace

TEST_CASE("list: each row is read or set aside with the reason") {
  CHECK(read("part number,description,quantity,position\n"
             "DOORS,,,\n"
             "K-17,door panel,1 pr,front\n"
             "\",door panel L/H,1,rear\n"
             ",,3,\n"
             "C-9,clip,bag/25 x2,O/S/R\n"
             ",,,\n"
             "total,,5,\n") ==
        "1 - the header\n2 - a heading\n"
        "3 1 pair of `K-17`, at `front`; under `DOORS`\n"
        "4 1 of `K-17`, at `rear`, left; under `DOORS`\n"
        "5 - no part number and no description\n"
        "6 2 packs of `C-9`, 25 to a pack, rear, offside; under `DOORS`\n"
        "7 - a blank row\n8 - a total that agrees with the rows above\n");
}

TEST_CASE("list: a total that does not add up is said") {
  CHECK(read("part number,quantity\nK-1,2\nK-2,3\nTotal,6\n") ==
        "# line 4: the total says 6, the rows above add up to 5\n"
        "1 - the header\n2 2 of `K-1`\n3 3 of `K-2`\n4 - a total of 6, but the rows above add up to 5\n");
  // Of the rows since the last one, of all, of their lines, of the lines since.
  const auto says = [](const std::string& total) {
    const std::string all = read("part number,quantity\nK-1,2\nK-2,3\nTotal,5\nK-3,4\nK-4,7\nK-5,1\nTotal," + total + "\n");
    const std::size_t at = all.find("8 - ");
    return all.substr(at + 4, all.find('\n', at) - at - 4);
  };
  for (const char* agrees : {"12", "17", "5", "3"}) CHECK(says(agrees) == "a total that agrees with the rows above");
  for (const char* differs : {"11", "13", "16", "18", "2", "4", "6", "0"})
    CHECK(says(differs) == "a total of " + std::string(differs) + ", but the rows above add up to 12 since the last total and to 17 in all");
  // Not where a row has no number, or the total none.
  CHECK(read("part number,quantity\nK-1,2\nK-2,some\nTotal,6\n") == "1 - the header\n2 2 of `K-1`\n3 an unknown number of `K-2`\n4 - a total\n");
  CHECK(read("part number,quantity\nK-1,2\nTotal,?\n") == "1 - the header\n2 2 of `K-1`\n3 - a total\n");
}

TEST_CASE("list: a pair with one hand, and two hands in one row, are questions") {
  CHECK(read("part number,quantity,side\nK-1,1 pr,L/H\n") ==
        "1 - the header\n2 1 pair of `K-1`, left\n  ? a pair, but left: one of each hand, or two of that "
        "one?\n");
  CHECK(read("part number,description,quantity,side\nK-1,panel RH,1,L/H\n") ==
        "1 - the header\n2 1 of `K-1`, left\n  ? the row says left and right: which hand?\n");
}

TEST_CASE("list: what a row leaves out its heading says, and that is said; a row's own hand stands over it") {
  CHECK(read("part number,description,quantity\n"
             "LEFT HAND SIDE,,\nK-1,panel,1\nK-2,panel R/H,1\n"
             "Rear doors,,\nK-3,panel,1\n"
             "=== front n/s ===,,\nK-4,panel,1\n"
             "Right hand drive,,\nK-5,panel,1\n") ==
        "1 - the header\n2 - a heading\n"
        "3 1 of `K-1`, left; under `LEFT HAND SIDE`\n  ! left: by the heading `LEFT HAND SIDE`\n"
        "4 1 of `K-2`, right; under `LEFT HAND SIDE`\n5 - a heading\n"
        "6 1 of `K-3`, rear; under `Rear doors`\n  ! rear: by the heading `Rear doors`\n7 - a heading\n"
        "8 1 of `K-4`, front, nearside; under `=== front n/s ===`\n"
        "  ! front, nearside: by the heading `=== front n/s ===`\n9 - a heading\n"
        "10 1 of `K-5`; under `Right hand drive`\n");
}

TEST_CASE("list: a position that names two hands is a question, not the first of them") {
  CHECK(read("part number,quantity,position\nK-1,1,front left; front right\nK-2,2,L + R\n") ==
        "1 - the header\n2 1 of `K-1`\n"
        "  ? the position `front left; front right` names two hands: how many go to each?\n"
        "3 2 of `K-2`, left and right\n");
}

TEST_CASE("list: a part number like a day and a month may be a spreadsheet's doing") {
  CHECK(read("part number,quantity\n1-Mar,1\nMAR-710,1\n") ==
        "1 - the header\n2 1 of `1-Mar`\n"
        "  ! `1-Mar` reads like a day and a month; a spreadsheet may have turned a part number into it\n"
        "3 1 of `MAR-710`\n");
}

TEST_CASE("list: columns by their usual names, by --columns, and those not used") {
  CHECK(
      read("P/N;Item;Qty.;Where;Vendor;Farbe\nK-1;clip;2;front;Alpha;red\n") ==
      "# `P/N` is read as `part number`\n# `Item` is read as `description`\n# `Qty.` is read as `quantity`\n"
      "# `Where` is read as `position`\n# `Vendor` is read as `supplier`\n# not used: `Farbe`\n"
      "1 - the header\n2 2 of `K-1`, at `front`, from `Alpha`\n");
  CHECK(read("Teil,Menge\nK-1,2\n", ListKind::List, {{"Teil", "part number"}, {"Menge", "quantity"}}) ==
        "# `Teil` is read as `part number`\n# `Menge` is read as `quantity`\n1 - the header\n2 2 of `K-1`\n");
}

TEST_CASE("list: a unit, a pack and a back order may have columns of their own") {
  CHECK(read("part number,qty,unit,pack,b/o\nK-1,1.5,m,,\nK-2,4,,25,1\nK-3,4,ea,,9\n") ==
        "# `qty` is read as `quantity`\n# `b/o` is read as `back order`\n1 - the header\n2 1.5 m of `K-1`\n3 "
        "4 of `K-2`, 25 to a pack, 1 of them on back order\n"
        "4 4 pieces of `K-3`\n  ? how many are on back order: `9`?\n");
}

TEST_CASE("list: without a header the columns are taken by what they hold, and that is said") {
  CHECK(read("K-1,2\nK-2,3\n") ==
        "# no header: column A is read as `part number`, B as `quantity`\n1 2 of `K-1`\n2 3 of `K-2`\n");
}

TEST_CASE("list: no column to go by is an error about the file") {
  CHECK(read("qty,where\n2,front\n") ==
        "list.csv: error: the file has neither a column of part numbers nor one of descriptions "
        "[missing-column]\n"
        "    expected a column `part number` or `description`\n    the file has `qty`, `where`\n"
        "    say which is which: `--columns theirs=part number`\n");
}

TEST_CASE("list: substitutes, soft ranges and dates stand beside the reading") {
  CHECK(read("part number,quantity,due,note\nK-1,2,04/03/1996,SUPERSEDED BY K-2; late '71\n",
             ListKind::Order) ==
        "1 - the header\n2 2 of `K-1`; replaced by `K-2`; year about 1971\n  ? is `04/03/1996` 1996-03-04 or "
        "1996-04-03?\n");
}

TEST_CASE("stock: location is where it lies; on a list it is where it goes") {
  CHECK(read("part number,quantity,location\nK-1,2,B7\n", ListKind::Stock) ==
        "# `location` is read as `bag`\n1 - the header\n2 2 of `K-1`, in `B7`\n");
  CHECK(read("part number,quantity,location\nK-1,2,front\n") ==
        "# `location` is read as `position`\n1 - the header\n2 2 of `K-1`, at `front`\n");
}

TEST_CASE("list: a scribble of quantities and numbers in one column is taken apart, and that is said") {
  CHECK(read("2 x K-17\n48 C-9\nK-3 x2\n2 way switch\n") ==
        "# no header: column A is read as `part number`\n"
        "1 2 of `K-17`\n  ! `2 x K-17` is read as a quantity and a part number\n"
        "2 48 of `C-9`\n  ! `48 C-9` is read as a quantity and a part number\n"
        "3 2 of `K-3`\n  ! `K-3 x2` is read as a quantity and a part number\n"
        "4 an unknown number of `2 way switch`\n");
}

TEST_CASE("list: a packing slip with its title, ordered and back-ordered pieces and a subtotal") {
  CHECK(read("PACKING SLIP,No 4471,,\nItem No,Description,Ordered,B/O\n00417,PANEL "
             "CLIP,50,10\n,SUBTOTAL,50,10\n",
             ListKind::Order) ==
        "# `Item No` is read as `part number`\n# `Description` is read as `description`\n# `Ordered` is read "
        "as `quantity`\n"
        "# `B/O` is read as `back order`\n1 - a title above the header\n2 - the header\n3 50 of `00417`, 10 "
        "of them on back order\n"
        "4 - a total that agrees with the rows above\n");
}

TEST_CASE("list: pasted text with a line drawn under its header and commas inside its cells") {
  CHECK(read("Part No     Description         Qty\n----------  ------------------  -----\nK-17        door "
             "panel, L/H     1\nC-9         clip, black         2 doz\n") ==
        "# `Part No` is read as `part number`\n# `Description` is read as `description`\n# `Qty` is read as "
        "`quantity`\n"
        "1 - the header\n2 - a line drawn across\n3 1 of `K-17`, left\n4 24 pieces of `C-9`\n");
}

TEST_CASE("list: a header over two rows is known by either of them") {
  CHECK(read("Part,Quantity,\nno,wanted,note\nK-1,2,x\n") ==
        "# `Part no` is read as `part number`\n# `Quantity wanted` is read as `quantity`\n"
        "# `Quantity note` is read as `note`\n1 - the header\n2 - the header\n3 2 of `K-1`\n");
}

TEST_CASE("list: a header in another language asks for --columns") {
  CHECK(read("Teilenummer;Menge\nK-17;2\n") ==
        "list.csv: error: the file has neither a column of part numbers nor one of descriptions "
        "[missing-column]\n"
        "    expected a column `part number` or `description`\n    the file has `Teilenummer`, `Menge`\n"
        "    say which is which: `--columns theirs=part number`\n");
}
