# Writes FOLDER/list.xlsx with openpyxl and prints the rows that a reader must find, cells between tabs. For
# tests/text/outside.cpp; seen with openpyxl 3.0.9, Debian python3-openpyxl.
import datetime
import sys

import openpyxl

book = openpyxl.Workbook()
sheet = book.active
sheet.title = "List"
for row in [
    ["Part no", "Description", "Qty", "Due", "Note"],
    ["K-1", "door panel, left", 2, datetime.date(1996, 3, 4), "<&>\"' and a quote"],
    ["007", "caf\u00e9 \u5ea7 \U0001f697", 1.37, datetime.datetime(1971, 12, 31, 12, 30), True],
    ["K-5", "two\nlines", 0.1 + 0.2, datetime.date(1910, 1, 1), -0.5],
    ["K-6", "merged", 12345678901],
]:
    sheet.append(row)
sheet.merge_cells("B5:B6")
sheet["A6"] = "K-7"
sheet.row_dimensions[3].hidden = True
old = book.create_sheet("Old")
old.sheet_state = "veryHidden"
old.append(["not", "to", "be", "read"])
book.save(sys.argv[1] + "/list.xlsx")
print("Part no\tDescription\tQty\tDue\tNote")
print("K-1\tdoor panel, left\t2\t1996-03-04\t<&>\"' and a quote")
print("007\tcaf\u00e9 \u5ea7 \U0001f697\t1.37\t1971-12-31 12:30\tTRUE")
print("K-5\ttwo lines\t0.3\t1910-01-01\t-0.5")
print("K-6\tmerged\t12345678901\t\t")
print("K-7\tmerged\t\t\t")
