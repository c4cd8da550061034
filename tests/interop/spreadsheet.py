#!/usr/bin/env python3
"""Sheets and workbooks opened by a spreadsheet program, saved, and taken in again: every cell is as it was, and nothing
is said. A note that looks like a formula is a text in what the program saved.

Referees: Gnumeric's ssconvert and LibreOffice Calc, both from Debian. As a control, the same sheet without its marks
is put through them too: that it changes shows that they would have changed the marked one.
"""

import csv
import os
import random
import re
import shutil
import zipfile

from checks import Checks, outside

LABELS = ["007", "7-8", "1E5", "TRUE", "false", "1860-03-14", "1861-62", "2026-05-01", "1.2.2020", "=1+1", "+5", "-12", "=A1",
          "Mar 5", "May-61", "3/4", "'tis", "''x", "10:30", "0.10", "1,000", "5%", "(5)", "1234567890123456789", "`tick",
          "H-014", "Plate 1", "row 3-10", "12", "E5", "#N/A", "#REF!", '"q"', "£5", "½", "Ünder", "NaN", "Infinity",
          "0x1F", "a'b", "7R1E", "R6/3", "TL", "１２", "−5", "鳥", "\\N", "|x", "~x", "^x", "json:1", "true colours"]
BITS = ["a", "`", "'", "=", ";", "; ", " ", "\\", "|", " | ", '"', ",", "7", "-", "\n", "\n\n", "json:", "`json:", "contested: ",
        "鳥", "Mar", "true", "E", "/", "\ufeff", "+", "@", "007", "1E5", "7-8", "%", "Ü", "e\u0301", "\U0001F426", "\u202a",
        "\xa0", "<b>", "&amp;", "_x0041_", "{", "[", "#", "(cleared)", "0x1F", "\u2028", "sep=;", "id", "version", "\u200b",
        "12", "1", "0", ".", "$", "€", "£", "1/2", "jan", "sept ", "may-", "=A1", "today", "\u3000"]
HOSTILE = 300
LO_IN = "CSV:44,34,76,1,,,,,true"  # comma, quote, UTF-8, from line 1; and numbers looked for as eagerly as can be
LO_OUT = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false"


def cells(path):
    with open(path, newline="", encoding="utf-8-sig") as text:
        return list(csv.reader(text, strict=True))


def gnumeric(sheets, form, folder):
    """The sheets opened, saved in the program's own form, opened again and saved as CSV."""
    backs = []
    for sheet in sheets:
        kept, back = folder / f"{sheet.stem}.{form}", folder / f"back-{sheet.name}"
        outside("ssconvert", sheet, kept)
        outside("ssconvert", kept, back)
        backs.append(back)
    return backs


def libreoffice(sheets, form, folder):
    home = {**os.environ, "HOME": str(folder)}
    outside("soffice", "--headless", f"--infilter={LO_IN}", "--convert-to", form, "--outdir", folder / "lo", *sheets,
            env=home, timeout=300)
    outside("soffice", "--headless", "--convert-to", LO_OUT, "--outdir", folder / "lo" / "back",
            *(folder / "lo" / f"{sheet.stem}.{form}" for sheet in sheets), env=home, timeout=300)
    return [folder / "lo" / "back" / sheet.name for sheet in sheets]


def unmarked(sheet, folder):
    plain = folder / "plain.csv"
    with open(plain, "w", newline="", encoding="utf-8") as text:
        csv.writer(text).writerows([cell.removeprefix("`") for cell in row] for row in cells(sheet))
    return plain


def changes(before, after):
    if not after.exists():
        return ["nothing came back"]
    new = cells(after)
    old = cells(before)
    if [len(row) for row in old] != [len(row) for row in new]:
        return ["rows or columns came or went"]
    return [f"{a!r} became {b!r}" for x, y in zip(old, new) for a, b in zip(x, y) if a != b]


def hostile_items(checks):
    """Notes of bits that programs take for something."""
    luck = random.Random(1861)
    lines = []
    for number in range(HOSTILE):
        note = checks.folder / f"hostile-{number}.txt"
        note.write_text("".join(luck.choice(BITS) for _ in range(luck.randint(1, 6))) + "x\n", newline="")
        lines.append(f"enter item label=L{number} stamps=0 note=@{note}")
    return "\n".join(lines) + "\n"


def collection(checks):
    bundle = checks.new("sheets.glassine")
    note = checks.folder / "note.txt"
    note.write_text('Quote " comma , semicolon ; line\nbreak, é, 鳥')
    for number, label in enumerate(LABELS):
        (checks.folder / f"label-{number}.txt").write_text(label, newline="")
    checks.call("batch", bundle, text="".join(f"enter item stamps=0 label=@{checks.folder}/label-{number}.txt\n"
                                             for number in range(len(LABELS))))
    checks.call("enter", bundle, "item", "label=last", f"note=@{note}", "acquired=14 Mar 1905", "cost_minor=120000",
                "storage==cmd()")
    checks.call("enter", bundle, "item", "label=formula", "note==1+1", "acquired=1899-12-31", "storage=_x0041_")
    checks.call("enter", bundle, "design", "label=KF", "title=Kingfisher", "issued=1861-11-02", "width_um=18500")
    checks.call("enter", bundle, "plate", "label=1", "design=KF", "rows=12", "columns=10")
    checks.call("enter", bundle, "valuation", "item=last", "kind=insured", "amount_minor=120050", "currency=EUR", "as_of=2026")
    checks.call("batch", bundle, text=hostile_items(checks))
    folder = checks.folder / "sheets"
    checks.call("to-csv", bundle, "--with-private", "-o", folder)
    return bundle, folder


def unchanged(checks, what, bundle, *words):
    answer = checks.json(words[0], bundle, *words[1:])
    checks.equal(f"{what}: nothing is said", (answer["result"]["slip_count"], answer["result"]["refused"]), (0, 0))


def xlsx_texts(path):
    """Texts and formulas of a workbook, by its XML."""
    with zipfile.ZipFile(path) as book:
        parts = [book.read(name).decode() for name in book.namelist() if re.match(r"xl/(sharedStrings|worksheets/)", name)]
    xml = "".join(parts)
    return set(re.findall(r"<t(?: [^>]*)?>([^<]*)</t>", xml)), re.findall(r"<f[ >]", xml)


def check_books(checks, bundle, tool, save):
    """A workbook of ours, saved by the program in its own way, as XLSX again."""
    book = checks.folder / "book.xlsx"
    if not book.exists():
        checks.call("to-xlsx", bundle, "--with-private", "-o", book)
        unchanged(checks, "the workbook as it is", bundle, "from-xlsx", book)
    work = checks.folder / f"{tool}-book"
    work.mkdir()
    saved = save(book, work)
    if not checks.ok(f"{tool} saves the workbook", saved.exists()):
        return
    unchanged(checks, f"the workbook through {tool}", bundle, "from-xlsx", saved)
    texts, _ = xlsx_texts(saved)
    checks.ok(f"in what {tool} saved, a note like a formula is a text", {"=1+1", "=cmd()"} <= texts)


def save_gnumeric(book, folder):
    outside("ssconvert", "--export-type=Gnumeric_Excel:xlsx2", book, folder / "saved.xlsx")
    return folder / "saved.xlsx"


def save_libreoffice(book, folder):
    outside("soffice", "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", folder, book,
            env={**os.environ, "HOME": str(folder)}, timeout=300)
    return folder / book.name


def check_sheets(checks, bundle, folder, tool, through):
    for form in ("ods", "xlsx"):
        work = checks.folder / f"{tool}-{form}"
        work.mkdir()
        sheets = [folder / "item.csv", folder / "stamp.csv"]
        for sheet, back in zip(sheets, through(sheets, form, work)):
            checks.equal(f"{sheet.name} through {tool} and {form}", changes(sheet, back), [])
            unchanged(checks, f"{sheet.name} through {tool} and {form}", bundle, "from-csv", back)
        shutil.rmtree(work)
        work.mkdir()
    plain = unmarked(folder / "item.csv", checks.folder)
    checks.ok(f"without its marks, {tool} changes the sheet", len(changes(plain, through([plain], "xlsx", work)[0])) > 5)


def main():
    checks = Checks(__doc__)
    bundle, folder = collection(checks)
    for tool, through, save in (("ssconvert", gnumeric, save_gnumeric), ("soffice", libreoffice, save_libreoffice)):
        if checks.tool(tool, f"sheets through {tool}"):
            check_sheets(checks, bundle, folder, tool, through)
            check_books(checks, bundle, tool, save)
    checks.finish()


if __name__ == "__main__":
    main()
