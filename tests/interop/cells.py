#!/usr/bin/env python3
"""The cells of spec/csv.md and the keys of spec/json-document.md by their grammars: what the program writes of bundles
of the kit and of a contested one, and lists made at random, which it must take in and write again.

usage: cells.py --program PATH"""
import csv
import json
import random
import unicodedata

import checks
import grammar_prose
import grammars

LISTS = 150


def sheets_of(check, bundle, name):
    """Every sheet of a bundle as its rows."""
    folder = check.folder / name
    check.call("to-csv", bundle, "--with-private", "-o", folder)
    for path in sorted(folder.glob("*.csv")):
        with path.open(encoding="utf-8-sig", newline="") as file:
            yield path, list(csv.DictReader(file))


def written(check, page, bundle, name):
    """How many contested cells were found."""
    found = 0
    for path, rows in sheets_of(check, bundle, name):
        check.ok(f"{name}, {path.name}: headers", all(page.accepts("header", header) for header in rows[0]), list(rows[0]))
        check.ok(f"{name}, {path.name}: versions", all(page.accepts("version", row["version"]) for row in rows))
        contested = [cell for row in rows for cell in row.values() if cell.startswith("`contested: ")]
        check.ok(f"{name}, {path.name}: contested cells", all(page.accepts("contested", cell) for cell in contested), contested)
        found += len(contested)
    keys = grammars.Page("json-document.md")
    records = json.loads(check.call("to-json", bundle, "--with-private").out)["records"]
    check.ok(f"{name}: keys of the document", all(keys.accepts("key", key) for key in records), list(records))
    return found


def dispute(check):
    """Two people, three fields, one of them cleared by one and one with signs that a cell must mask."""
    bundle, sent = check.new("contested.glassine"), check.folder / "sent.glassine"
    check.call("enter", bundle, "contributor", "name=Odile")
    check.call("enter", bundle, "item", "label=H-001", "rate=2d", "kind=cover", "provenance=x")
    check.call("dispatch", bundle, "--to", "Odile", "--items", "H-001", "-o", sent)
    check.call("revise", sent, "H-001", "kind=strip", "rate=", "provenance=a | b; c\\d")
    check.call("reply", sent, "-o", check.folder / "reply.glassine")
    check.call("revise", bundle, "H-001", "kind=block", "rate=4d", "provenance=|")
    check.call("merge", bundle, check.folder / "reply.glassine", status=1)
    return bundle


def lists_come_back(check, page, seeded):
    """A list of texts, made by the grammar, goes in and comes out as the same cell."""
    page.grammar.more["element"] = lambda text, start, end: grammar_prose.is_element(text, start, end) and not any(
        unicodedata.category(c) in ("Cc", "Cs", "Cn") for c in text[start:end])   # no text holds a control character
    made = [page.make("list", seeded) for _ in range(LISTS)]
    bundle, folder = check.new("lists.glassine"), check.folder / "lists"
    folder.mkdir()
    check.call("enter", bundle, "design", "label=KF")
    with (folder / "printing.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["id", "version", "label", "design", "shades"])
        rows.writerows([["", "", f"P-{number}", "KF", "`" + cell] for number, cell in enumerate(made)])
    check.call("from-csv", bundle, folder / "printing.csv")
    back = {row["label"]: row["shades"] for path, rows in sheets_of(check, bundle, "lists-back") if path.name == "printing.csv"
            for row in rows}
    for number, cell in enumerate(made):
        found = back.get(f"P-{number}", "")
        check.equal(f"list {cell!r}", found.removeprefix("`"), unicodedata.normalize("NFC", cell))


def main():
    check, page = checks.Checks(__doc__), grammars.Page("csv.md")
    for path in sorted((grammars.KIT / "valid").glob("*.glassine")):
        bundle = check.folder / path.name
        bundle.write_bytes(path.read_bytes())
        written(check, page, bundle, path.stem)
    check.equal("contested cells are found", written(check, page, dispute(check), "dispute"), 3)
    lists_come_back(check, page, random.Random(1863))
    check.finish()


if __name__ == "__main__":
    main()
