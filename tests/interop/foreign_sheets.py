#!/usr/bin/env python3
"""Foreign sheets with what must come of them: every case of testvectors/sheets/."""

import gzip
import json
import re
import sys

from checks import HERE, Checks

VECTORS = HERE.parent.parent / "testvectors" / "sheets"


def bundle_for(checks, name):
    bundle = checks.new(f"{name}.glassine")
    checks.call("batch", bundle, text="enter design label=KF title=Kingfisher\n"
                                      "enter plate label=1 design=KF rows=12 columns=10\nenter item label=H-000 stamps=0\n")
    return bundle


def records_of(checks, bundle):
    return json.loads(checks.call("to-json", bundle, "--with-private").out)["records"]


def named(fields, labels):
    """References by what people call the records."""
    by = lambda value: labels.get(value, value) if isinstance(value, str) else value
    return {name: [by(one) for one in value] if isinstance(value, list) else by(value) for name, value in fields.items()}


def new_records(before, after):
    labels = {record["id"]: record.get("label") for record in after.values()}
    for record in after.values():
        if record["type"] == "stamp":
            labels[record["id"]] = labels[record["fields"]["item"]]
    return [[record["type"], named(record["fields"], labels)] for key, record in after.items() if key not in before]


def told(answer, sheet):
    """Refusals of the sheet's rows: line, column and message, out of the places of findings."""
    found = []
    for one in answer["findings"]:
        place = re.search(r": (?:line|row) (\d+)(?:, column (\d+))?", one["place"] or "")
        if one["weight"] == "warning" and place and sheet.name in one["place"]:
            found.append((int(place[1]), int(place[2]) if place[2] else None, one["message"]))
    return found


def unpack(value):
    match = re.fullmatch(r"(\d+) \* (\d+)", value) if isinstance(value, str) else None
    return match[1] * int(match[2]) if match else value


def check_taken(checks, name, case, bundle, sheet, map):
    before, whole = records_of(checks, bundle), bundle.read_bytes()
    wanted = [[type, {key: unpack(value) for key, value in fields.items()}] for type, fields in case.get("records", [])]
    refusals = case.get("refused", [])
    status = case.get("exit", 1 if refusals else 0)
    answer = checks.run(case.get("verb", "from-csv"), bundle, sheet, "--map", map, "--json", *case.get("options", []))
    checks.equal(f"{name}: exit status", answer.status, status)
    document = json.loads(answer.out)
    order = lambda record: json.dumps(record, sort_keys=True)
    found = new_records(before, records_of(checks, bundle))
    checks.ok(f"{name}: {len(wanted)} records", sorted(found, key=order) == sorted(wanted, key=order),
              f"found {json.dumps(found)[:1500]}\n      wanted {json.dumps(wanted)[:1500]}\n{answer.out[-1500:]}")
    rows = told(document, sheet)
    fits = len(rows) == len(refusals) and all(
        row[0] == one["line"] and row[1] == one["column"] and re.search(one["message"], row[2]) for row, one in zip(rows, refusals))
    checks.ok(f"{name}: {len(refusals)} rows are refused, each with its place", fits, rows)
    if "error" in case:
        error = document["error"]
        checks.ok(f"{name}: says why", re.search(case["error"], f"{error['place']}: {error['message']}", re.DOTALL), error)
    if status == 2:
        checks.ok(f"{name}: nothing is written", bundle.read_bytes() == whole)


def check_draft(checks, name, wanted, bundle, sheet, verb):
    draft = checks.folder / f"{name}-draft.csv"
    answer = checks.json(verb, bundle, sheet, "--map-draft", draft)
    checks.equal(f"{name}: questions of the draft", answer["result"]["questions"], wanted["questions"])
    for setting in ("header_rows", "skipped_rows"):
        if setting in wanted:
            found = re.search(rf'^sheet,{setting.replace("_", " ")},.*,(\d),$', draft.read_text(encoding="utf-8-sig"), re.MULTILINE)
            checks.equal(f"{name}: {setting} of the draft", found and found[1], wanted[setting])
    if not wanted["questions"]:
        fresh = bundle_for(checks, f"{name}-by-draft")
        checks.call(verb, fresh, sheet, "--map", draft, "--preview", status=(0, 1))


def main():
    checks = Checks(__doc__)
    cases = sorted(path.parent for path in VECTORS.glob("*/expected.json"))
    checks.ok(f"{len(cases)} cases", len(cases) >= 20)
    for folder in cases:
        case = json.loads((folder / "expected.json").read_text())
        sheet = next(folder.glob("sheet.*"))
        if sheet.suffix == ".gz":
            (checks.folder / "unpacked.csv").write_bytes(gzip.decompress(sheet.read_bytes()))
            sheet = checks.folder / "unpacked.csv"
        bundle = bundle_for(checks, folder.name)
        if "draft" in case:
            check_draft(checks, folder.name, case["draft"], bundle, sheet, case.get("verb", "from-csv"))
        check_taken(checks, folder.name, case, bundle, sheet, folder / "map.csv")
    checks.finish()


if __name__ == "__main__":
    sys.exit(main())
