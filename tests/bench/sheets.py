"""Rows about sheets: 100,000 items as CSV and as a workbook, and back.

Alone: run.py --build build/release --folder build/bench sheets workbook (add --quick for 2,000 items)."""

import csv
import os
import pathlib
import shutil

from measuring import Program
from scans import gone
from slips import the_collection

SHEETS = "def sheets(folder): return sorted(glob.glob(folder + '/*.csv'))\n"
ROWS_OF = "def rows(path): return csv.reader(open(path, newline='', encoding='utf-8-sig'))\n"
HEAD = "import csv, glob, os, sys\ncsv.field_size_limit(1 << 30)\n" + SHEETS + ROWS_OF
# What to-csv does beyond opening the bundle: the same cells out of memory that another program filled.
COPY = HEAD + """os.mkdir(sys.argv[2])
for path in sheets(sys.argv[1]):
    with open(sys.argv[2] + '/' + os.path.basename(path), 'w', newline='', encoding='utf-8-sig') as out:
        csv.writer(out).writerows(rows(path))
"""
# What from-csv does at least: each row is found among those that were there, by id and author, and compared.
COMPARE = HEAD + """for path in sheets(sys.argv[1]):
    there = {tuple(row[:2]): row for row in rows(path)}
    for row in rows(sys.argv[2] + '/' + os.path.basename(path)):
        if there[tuple(row[:2])] != row: print(row[0])
"""


def python(script, *words):
    return ["python3", "-c", script, *words]


def change_some(source, folder, every):
    """A copy of the sheets in which somebody changed a cell of every so-manieth item; how many."""
    shutil.copytree(source, folder)
    path, changed = pathlib.Path(folder, "item.csv"), 0
    with open(path, newline="", encoding="utf-8-sig") as text:
        rows = list(csv.reader(text))
    column = rows[0].index("rate")
    for row in rows[1::every]:
        row[column], changed = "twopence", changed + 1
    with open(path, "w", newline="", encoding="utf-8-sig") as text:
        csv.writer(text).writerows(rows)
    return changed


def sheets(bench):
    """100,000 items, 400,000 records: to CSV, and back without and with changes"""
    work = sheets.__doc__
    bundle = the_collection(bench)
    out, again, copy, changed, into = map(bench.path, ("sheets", "sheets-again", "sheets-copy", "sheets-changed", "into.glassine"))
    gone(out, again, copy, changed, into)
    bench.say("writing the sheets")
    bench.ours("to-csv", bundle, "-o", out)
    cells = change_some(out, changed, 100)
    all_of = sorted(map(str, pathlib.Path(out).glob("*.csv")))

    def fresh(_):
        shutil.copyfile(bundle, into)
        os.sync()
    found = bench.compare(work, [
        Program("glassine to-csv", [bench.glassine, "to-csv", bundle, "-o", again], lambda _: gone(again)),
        Program("python3 csv, read and written", python(COPY, out, copy), lambda _: gone(copy)),
        Program("glassine from-csv, nothing changed", [bench.glassine, "from-csv", bundle, *all_of]),
        Program("python3 csv, compared with the same", python(COMPARE, out, out)),
        Program(f"glassine from-csv, {cells} cells changed", [bench.glassine, "from-csv", into, os.path.join(changed, "item.csv")], fresh),
        Program("python3 csv, the changed one compared", python(COMPARE, changed, out)),
    ], runs=min(bench.runs, 3))
    written, copied, taken, compared, *_ = found.values()
    size = sum(map(os.path.getsize, all_of))
    bench.target(work, "processor, to-csv ÷ python3 csv", written.processor / copied.processor, "at most 4 ×", 4)
    bench.target(work, "processor, from-csv ÷ python3 csv", taken.processor / compared.processor, "at most 4 ×", 4)
    bench.remark(f"{work}: the sheets are {size:,} bytes; memory beyond them {(written.peak - size) / 1e6:.0f} MB written, "
                 f"{(taken.peak - size) / 1e6:.0f} MB taken in.")
    gone(out, again, copy, changed, into)


def workbook(bench):
    """100,000 items, 400,000 records: to a workbook, and back"""
    work = workbook.__doc__
    bundle, book, again, out = the_collection(bench), bench.path("book.xlsx"), bench.path("again.xlsx"), bench.path("sheets")
    gone(book, again, out)
    bench.say("writing the workbook")
    bench.ours("to-xlsx", bundle, "-o", book)
    found = bench.compare(work, [
        Program("glassine to-csv", [bench.glassine, "to-csv", bundle, "-o", out], lambda _: gone(out)),
        Program("glassine to-xlsx", [bench.glassine, "to-xlsx", bundle, "-o", again], lambda _: gone(again)),
        Program("glassine from-xlsx, nothing changed", [bench.glassine, "from-xlsx", bundle, book]),
    ], runs=min(bench.runs, 3))
    sheet, written, taken = found.values()
    bench.target(work, "processor, to-xlsx ÷ to-csv", written.processor / sheet.processor, "at most 4 ×", 4)
    bench.remark(f"{work}: the workbook has {os.path.getsize(book):,} bytes; taking it in took {taken.best:.1f} s.")
    gone(book, again, out)


ROWS = {"sheets": sheets, "workbook": workbook}
