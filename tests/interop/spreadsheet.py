#!/usr/bin/env python3
"""Sheets opened, saved in a program's own format, opened again and saved as CSV: every cell is as it was.

Referees: Gnumeric's ssconvert and LibreOffice Calc, both from Debian. As a control, the same sheet without its marks
is put through them too: that it changes shows that they would have changed the marked one.
"""

import csv
import os
import shutil

from checks import Checks, outside

LABELS = ["007", "7-8", "1E5", "TRUE", "false", "1860-03-14", "1861-62", "2026-05-01", "1.2.2020", "=1+1", "+5", "-12", "=A1",
          "Mar 5", "May-61", "3/4", "'tis", "''x", "10:30", "0.10", "1,000", "5%", "(5)", "1234567890123456789", "`tick",
          "H-014", "Plate 1", "row 3-10", "12", "E5", "#N/A", "#REF!", '"q"', "£5", "½", "Ünder", "NaN", "Infinity",
          "0x1F", "a'b", "7R1E", "R6/3", "TL", "１２", "−5", "鳥", "\\N", "|x", "~x", "^x", "json:1", "true colours"]
LO_IN = "CSV:44,34,76,1,,,,,true"  # comma, quote, UTF-8, from line 1; and numbers looked for as eagerly as can be
LO_OUT = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false"


def cells(path):
    with open(path, newline="", encoding="utf-8-sig") as text:
        return list(csv.reader(text, strict=True))


def gnumeric(sheet, form, folder):
    kept, back = folder / f"kept.{form}", folder / f"back-{form}.csv"
    outside("ssconvert", sheet, kept)
    outside("ssconvert", kept, back)
    return back


def libreoffice(sheet, form, folder):
    home = {**os.environ, "HOME": str(folder)}
    outside("soffice", "--headless", f"--infilter={LO_IN}", "--convert-to", form, "--outdir", folder / "lo", sheet,
            env=home, timeout=300)
    outside("soffice", "--headless", "--convert-to", LO_OUT, "--outdir", folder / "lo" / "back",
            folder / "lo" / f"{sheet.stem}.{form}", env=home, timeout=300)
    return folder / "lo" / "back" / sheet.name


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


def collection(checks):
    bundle = checks.new("sheets.glassine")
    note = checks.folder / "note.txt"
    note.write_text('Quote " comma , semicolon ; line\nbreak, é, 鳥')
    for label in LABELS:
        checks.call("enter", bundle, "item", "stamps=0", f"label={label}")
    checks.call("enter", bundle, "item", "label=last", f"note=@{note}", "acquired=14 Mar 1905", "cost_minor=120000",
                "storage==cmd()")
    folder = checks.folder / "sheets"
    checks.call("to-csv", bundle, "--with-private", "-o", folder)
    return folder


def main():
    checks = Checks(__doc__)
    folder = collection(checks)
    for tool, through in (("ssconvert", gnumeric), ("soffice", libreoffice)):
        if not checks.tool(tool, f"sheets through {tool}"):
            continue
        for form in ("ods", "xlsx"):
            work = checks.folder / f"{tool}-{form}"
            work.mkdir()
            for name in ("item.csv", "stamp.csv"):
                checks.equal(f"{name} through {tool} and {form}", changes(folder / name, through(folder / name, form, work)), [])
                shutil.rmtree(work)
                work.mkdir()
        plain = unmarked(folder / "item.csv", checks.folder)
        checks.ok(f"without its marks, {tool} changes the sheet", len(changes(plain, through(plain, "xlsx", work))) > 5)
    checks.finish()


if __name__ == "__main__":
    main()
