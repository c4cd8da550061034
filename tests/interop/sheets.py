#!/usr/bin/env python3
"""Sheets as other programs read them, and as people change them with other programs.

Referees: csv-parse (npm) and Python's csv (RFC 4180); Ajv over the metadata, by the W3C's recommendation on it; Python's
csv again as the program in which somebody works on a sheet.
"""

import csv
import json
import random
import re
import zipfile

from checks import HERE, Checks, outside
from pictures import png

FORMULAS = ["=1+1", "+5", "-12", "@SUM(A1)", "=cmd|' /C calc'!A0", "\tx", "=HYPERLINK(\"http://a.invalid\")"]
HOSTILE = ['Quote " comma , semicolon ; line\nbreak', "007", "7-8", "1E5", "TRUE", "1899-12-31", "`tick", "'tis", "é, 鳥",
           "\U0001F426", "\\N", "back\\slash", "#N/A", "12345678901234567890", "  two  spaces", "a\u2028b", "sep=;"]


def collection(checks):
    bundle = checks.new("sheets.glassine")
    lines = ["enter contributor name='Odile Farrow'",
             "enter design label=KF title=Kingfisher width_um=18500 height_um=22000",
             "enter plate label=1 design=KF rows=12 columns=10"]
    for number, text in enumerate(FORMULAS + HOSTILE):
        note = checks.folder / f"note-{number}.txt"
        note.write_text(text + "\n", newline="")
        lines.append(f"enter item label=H-{number:03} kind=single design=KF note=@{note} storage='=box {number}' "
                     f"cost_minor={number * 100} currency=EUR acquired=1905-03-14")
    lines.append("claim H-000 1 R1/4 confidence=certain")
    lines.append("claim H-001 1 'column 4'")
    checks.call("batch", bundle, text="\n".join(lines) + "\n")
    return bundle


def cells(path):
    with open(path, newline="", encoding="utf-8-sig") as text:
        return list(csv.reader(text, strict=True))


def write(path, rows):
    with open(path, "w", newline="", encoding="utf-8") as text:
        csv.writer(text).writerows(rows)


def export(checks, bundle, name, *options):
    folder = checks.folder / name
    checks.call("to-csv", bundle, "-o", folder, *options)
    return folder


def check_readers(checks, bundle):
    folder = export(checks, bundle, "read", "--with-private")
    npm = checks.node_package("csv-parse", "sheets read by csv-parse")
    document = json.loads(checks.call("to-json", bundle, "--with-private").out)
    notes = {record["id"]: record["fields"]["note"] for record in document["records"].values()
             if record["type"] == "item" and "note" in record["fields"]}
    wrong = []
    for sheet in sorted(folder.glob("*.csv")):
        rows = cells(sheet)
        if npm and json.loads(outside("node", HERE / "read_csv.mjs", sheet).stdout) != rows:
            wrong.append(f"{sheet.name}: csv-parse reads other cells")
        if len({len(row) for row in rows}) != 1:
            wrong.append(f"{sheet.name}: ragged")
    checks.equal("csv and csv-parse read the same cells", wrong, [])
    rows = cells(folder / "item.csv")
    note = rows[0].index("note")
    found = {row[0]: row[note].removeprefix("`") for row in rows[1:]}
    checks.equal(f"{len(notes)} notes come through as they are", found, notes)
    harmful = [cell for row in rows[1:] for cell in row if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and not cell[1:].isdigit()]
    checks.equal("no cell begins like a formula", harmful, [])


def check_metadata(checks, bundle):
    """By the Model for Tabular Data (W3C, 17 December 2015), section 8: what holds of a table that fits its metadata."""
    if checks.node_package("ajv", "metadata by its schema"):
        for name, options in (("meta", ()), ("meta-flat", ("--flat",)), ("meta-private", ("--with-private",))):
            folder = export(checks, bundle, name, *options)
            done = outside("node", HERE / "validate.mjs", HERE, "csvw.schema.json", folder / "csv-metadata.json")
            checks.ok(f"csv-metadata.json {' '.join(options)} fits CSV on the Web", done.returncode == 0, done.stdout)
        broken = json.loads((folder / "csv-metadata.json").read_text())
        broken["tables"][0]["tableSchema"]["columns"][0]["name"] = "two words"
        (checks.folder / "broken.json").write_text(json.dumps(broken))
        done = outside("node", HERE / "validate.mjs", HERE, "csvw.schema.json", checks.folder / "broken.json")
        checks.ok("and metadata that does not is told from it", done.returncode != 0)
    folder, wrong = export(checks, bundle, "model"), []
    metadata = json.loads((folder / "csv-metadata.json").read_text())
    for table in metadata["tables"]:
        rows, schema = cells(folder / table["url"]), table["tableSchema"]
        columns = schema["columns"]
        names = [column["name"] for column in columns]
        keys = schema["primaryKey"] if isinstance(schema["primaryKey"], list) else [schema["primaryKey"]]
        if [column["titles"] for column in columns] != rows[0]:
            wrong.append(f"{table['url']}: titles are not the header")
        if len(set(names)) != len(names):
            wrong.append(f"{table['url']}: names are not unique")
        if any(not row[index] for row in rows[1:] for index, column in enumerate(columns) if column.get("required")):
            wrong.append(f"{table['url']}: a required cell is empty")
        values = [tuple(row[names.index(key)] for key in keys) for row in rows[1:]]
        if len(set(values)) != len(values):
            wrong.append(f"{table['url']}: the primary key is not unique")
    checks.equal(f"{len(metadata['tables'])} sheets are as their metadata says", wrong, [])
    checks.equal("every sheet has metadata", sorted(table["url"] for table in metadata["tables"]),
                 sorted(path.name for path in folder.glob("*.csv")))


def check_pictures(checks):
    """Each picture lies within its item's row and column, whatever its shape and resolution (ECMA-376 part 1, 20.5.2.33:
    a two-cell anchor; 12,700 units to a point)."""
    bundle = checks.new("pictures.glassine")
    shapes = [(40, 30), (400, 20), (20, 400), (1, 1), (300, 300)]
    for number, (width, height) in enumerate(shapes):
        scan = checks.folder / f"P-{number} front.png"
        scan.write_bytes(png(number, width, height))
        checks.call("enter", bundle, "item", f"label=P-{number}")
        checks.call("attach", bundle, f"P-{number}", scan, "side=front")
    checks.call("enter", bundle, "item", "label=none")
    book = checks.folder / "pictures.xlsx"
    checks.call("to-xlsx", bundle, "-o", book, "--pictures")
    with zipfile.ZipFile(book) as parts:
        drawing = next(parts.read(name).decode() for name in parts.namelist() if re.match("xl/drawings/drawing", name))
    places = [tuple(map(int, one)) for one in re.findall(
        r"<xdr:from><xdr:col>(\d+)</xdr:col>.*?<xdr:row>(\d+)</xdr:row>.*?<xdr:to><xdr:col>(\d+)</xdr:col><xdr:colOff>(\d+)</xdr:colOff>"
        r"<xdr:row>(\d+)</xdr:row><xdr:rowOff>(\d+)</xdr:rowOff>", drawing)]
    checks.equal(f"{len(shapes)} pictures, each in its row",
                 sorted(row for _, row, *_ in places), sorted({row for _, row, *_ in places})[:len(shapes)])
    within = [to_row == row or (to_row == row + 1 and not below) for _, row, _, _, to_row, below in places]
    beside = [to_column == column or (to_column == column + 1 and not right) for column, _, to_column, right, *_ in places]
    checks.ok("and none reaches into another cell", len(places) == len(shapes) and all(within) and all(beside), places)
    checks.equal("the workbook with pictures comes back as it was", checks.json("from-xlsx", bundle, book)["result"]["slip_count"], 0)


def take(checks, bundle, *words, status=0):
    return checks.json("from-csv", bundle, *words, status=status)


def check_unchanged(checks, bundle):
    for name, options in (("same", ()), ("same-private", ("--with-private",)), ("same-no-bom", ("--no-bom",))):
        folder = export(checks, bundle, name, *options)
        before = bundle.read_bytes()
        answer = take(checks, bundle, *sorted(folder.glob("*.csv")))
        checks.equal(f"nothing changed {' '.join(options)}: no slip", answer["result"]["slip_count"], 0)
        checks.ok("and the file is as it was", bundle.read_bytes() == before)
    for name in ("in order", "shuffled"):
        folder = export(checks, bundle, name)
        rows = cells(folder / "item.csv")
        if name == "shuffled":
            order = list(range(len(rows[0])))
            random.Random(1861).shuffle(order)
            rows = [rows[0]] + sorted(rows[1:], key=lambda row: row[-1])
            rows = [[row[index] for index in order] for row in rows]
        with open(folder / "item.csv", "w", newline="", encoding="utf-16") as text:
            csv.writer(text, delimiter=";", quoting=csv.QUOTE_ALL, lineterminator="\n").writerows(rows)
        answer = take(checks, bundle, folder / "item.csv")
        checks.equal(f"semicolons, UTF-16, {name}: no slip", answer["result"]["slip_count"], 0)


def check_changes(checks, bundle):
    folder = export(checks, bundle, "changed", "--with-private")
    sheet = folder / "item.csv"
    rows = cells(sheet)
    column = {name: index for index, name in enumerate(rows[0])}
    rows[1][column["rate"]] = "2d"
    rows[2][column["storage"]] = "=new box"
    rows[3][column["note"]] = ""
    rows[4][column["kind"]] = "Cover"
    rows[4][column["cost_minor"]] = "99"
    rows.append([""] * len(rows[0]))
    rows[-1][column["label"]] = "H-900"
    rows[-1][column["kind"]] = "pair"
    write(sheet, rows)
    preview = take(checks, bundle, sheet, "--preview")
    said = [(slip["label"], slip["reach"], slip["set"], slip.get("clear", [])) for slip in preview["result"]["slips"]]
    checks.equal("the preview tells exactly the slips", said, [
        (rows[1][column["label"]], "shared", {"rate": "2d"}, []),
        (rows[2][column["label"]], "private", {"storage": "=new box"}, []),
        (rows[3][column["label"]], "telling", {}, ["note"]),
        (rows[4][column["label"]], "shared", {"kind": "cover"}, []),
        (rows[4][column["label"]], "private", {"cost_minor": 99}, []),
        ("H-900", "shared", {"kind": "pair", "label": "H-900"}, [])])
    answer = take(checks, bundle, sheet)
    checks.equal("and they are made", answer["result"]["slip_count"], 6)
    # The sheet is old now: somebody who changes another cell of a row in it contests nothing.
    rows = cells(sheet)
    rows[1][column["rate"]], rows[1][column["destination"]] = "2d", "Port Sorrel"
    del rows[-1]
    write(sheet, rows)
    answer = take(checks, bundle, sheet, "--by", "Odile Farrow")
    checks.equal("an old sheet taken again by somebody else contests nothing", answer["result"]["contested"], [])
    rows[1][column["destination"]] = "Fort Heron"
    write(sheet, rows)
    answer = take(checks, bundle, sheet, status=1)
    checks.equal("another value from the same old sheet does", [one["field"] for one in answer["result"]["contested"]], ["destination"])
    checks.equal("the audit finds no fault", checks.faults(bundle), [])


def main():
    checks = Checks(__doc__)
    bundle = collection(checks)
    check_readers(checks, bundle)
    check_metadata(checks, bundle)
    check_unchanged(checks, bundle)
    check_changes(checks, bundle)
    check_pictures(checks)
    checks.finish()


if __name__ == "__main__":
    main()
