#!/usr/bin/env python3
"""What the program writes as JSON and CSV, checked by other people's code.

Referees: Ajv (JSON Schema 2020-12), canonicalize (RFC 8785), csv-parse (RFC 4180), all from npm, and Python's csv.
"""

import csv
import json
import pathlib
import shutil

import bundle_file
from checks import HERE, Checks, outside
from pictures import png

SCHEMAS = HERE.parent.parent / "spec" / "schemas"
AWKWARD = 'Quote " comma , semicolon ; line\nbreak, é, 鳥, \U0001F426, <b>, =1+1, \u2028, back\\slash'


def collection(checks):
    bundle = checks.new("documents.glassine")
    (checks.folder / "awkward.txt").write_text(AWKWARD)
    picture = checks.folder / "front.png"
    picture.write_bytes(png(2))
    checks.call("enter", bundle, "contributor", "name=Odile Farrow")
    checks.call("batch", bundle, text=f"""\
enter design label=KF title=Kingfisher issued=1861-11-02
enter plate label=1 design=KF rows=12 columns=10
enter plate_state plate=1 name=early order=1 from=1861 to=1864~
enter mark plate=1 positions=R1/4 appearance=dot x=-20 y=1021
enter item label=H-001 kind=single title=@{checks.folder}/awkward.txt design=KF
enter item label=H-002 kind=pair stamps=1x2 design=KF
enter event item=H-001 kind=published on=1899-12 note=@{checks.folder}/awkward.txt
observe H-001 appearance=dot x=-21 y=1020
claim H-001 1 R1/4 confidence=certain
""")
    checks.call("attach", bundle, "H-001", picture, "side=front")
    checks.call("claim", bundle, "H-001", "1", "column 4 but not row 2", "--by", "Odile Farrow")
    return bundle


def check_schema(checks, what, name, text, ending="json"):
    """Is the text a document (or are its lines documents: jsonl) that fits spec/schemas/NAME?"""
    if not (SCHEMAS / name).exists():
        checks.skip(what, f"spec/schemas/{name} is not there")
    elif checks.node_package("ajv", what):
        document = checks.folder / f"document.{ending}"
        document.write_text(text)
        done = outside("node", HERE / "validate.mjs", SCHEMAS, name, document)
        checks.ok(f"{what} fits {name}", done.returncode == 0, done.stdout)


def check_answer(checks, *words):
    """One `--json` answer against the schema of all answers and, where nothing failed, its verb's."""
    verb = words[0]
    answer = checks.run(*words, "--json")
    what = f"{verb} --json, exit status {answer.status}"
    check_schema(checks, what, "report.schema.json", answer.out)
    document = json.loads(answer.out)
    checks.equal(f"{what}: names its verb", document["verb"], verb)
    if answer.status in (0, 1):
        check_schema(checks, what, f"verbs/{verb}.schema.json", json.dumps(document["result"]))
    else:
        checks.ok(f"{what}: tells of the error", document.get("error"), answer.out)


def check_answers(checks, bundle):
    other, sent, list_of_commands = (checks.folder / name for name in ("other.glassine", "sent.glassine", "list.txt"))
    list_of_commands.write_text("enter item label=H-009\nrevise H-009 kind=proof\n")
    shutil.copy(bundle, other)
    for words in (("new", checks.folder / "fresh.glassine", "title=Fresh", "--by", "Wren Alderby"),
                  ("revise", bundle, "H-001", "kind=piece"),
                  ("revise", other, "H-001", "kind=cover", "--by", "Odile Farrow"),
                  ("enter", bundle, "item", "label=H-003"), ("batch", bundle, list_of_commands),
                  ("claim", bundle, "H-003", "1", "row 2"), ("observe", bundle, "H-003", "appearance=flaw"),
                  ("diff", bundle, other), ("merge", bundle, other), ("contested", bundle),
                  ("settle", bundle, "H-001", "kind=cover"), ("contested", bundle),
                  ("dispatch", bundle, "--to", "Odile Farrow", "--items", "H-001,H-002", "-o", sent),
                  ("pending", bundle), ("claim", sent, "H-002.1", "1", "5"),
                  ("reply", sent, "-o", checks.folder / "reply.glassine"), ("list", bundle, "item"),
                  ("list", bundle, "claim"), ("show", bundle, "H-001"), ("show", bundle, "H-001", "--history"),
                  ("editions", bundle), ("audit", bundle), ("digest", bundle),
                  ("extract", f"{bundle}#2", "-o", checks.folder / "second.glassine"), ("tidy", bundle),
                  ("unpack", bundle, checks.folder / "unpacked"), ("to-csv", bundle, "-o", checks.folder / "csv"),
                  ("list", bundle, "no-such-type"), ("show", bundle, "no such record"), ("new", bundle, "title=X"),
                  ("settle", bundle, "H-001", "kind=cover"), ("revise", bundle, "H-001", "made=never"),
                  ("to-json", checks.folder / "nothing.glassine"), ("audit", HERE / "documents.py")):
        check_answer(checks, *words)


def check_lines(checks, bundle):
    lines = [line.decode() + "\n" for line in bundle_file.log_lines(bundle_file.read(bundle)[1])]
    for member, kind in (("after", "slip"), ("log", "edition")):
        chosen = [line for line in lines if member in json.loads(line)]
        check_schema(checks, f"each of {len(chosen)} {kind} lines", f"{kind}.schema.json", "".join(chosen), "jsonl")
    check_schema(checks, "about.json", "about.schema.json", bundle_file.read(bundle)[1]["data/about.json"].decode())
    if not checks.node_package("canonicalize", "lines of the log are canonical"):
        return
    _, files = bundle_file.read(bundle)
    paths = []
    for name, data in files.items():
        if name.startswith("slips/") or name == "data/about.json":
            paths.append(checks.folder / pathlib.Path(name).name)
            paths[-1].write_bytes(data)
    done = outside("node", HERE / "canonical.mjs", *paths)
    checks.ok(f"every line is canonical JSON ({done.stdout.strip().splitlines()[-1]})", done.returncode == 0, done.stdout)


def check_csv(checks, bundle):
    folder = checks.folder / "sheets"
    checks.call("to-csv", bundle, "-o", folder)
    npm = checks.node_package("csv-parse", "CSV read by csv-parse")
    wrong, found = [], False
    sheets = sorted(folder.glob("*.csv"))
    for sheet in sheets:
        with open(sheet, newline="", encoding="utf-8-sig") as text:
            cells = list(csv.reader(text, strict=True))
        if len({len(row) for row in cells}) != 1 or cells[0][0] != "id" or cells[0][-1] != "version":
            wrong.append(f"{sheet.name}: ragged, or not id … version")
        if npm and json.loads(outside("node", HERE / "read_csv.mjs", sheet).stdout) != cells:
            wrong.append(f"{sheet.name}: csv-parse reads other cells")
        found = found or any(AWKWARD.replace("\r\n", "\n") in cell.replace("\r\n", "\n") for row in cells for cell in row)
    checks.equal(f"{len(sheets)} sheets: csv and csv-parse read the same cells", wrong, [])
    checks.ok("an awkward text comes through CSV unchanged", found)


def main():
    checks = Checks(__doc__)
    bundle = collection(checks)
    check_answers(checks, bundle)
    document = checks.call("to-json", bundle).out
    check_schema(checks, "to-json", "bundle.schema.json", document)
    checks.ok("an awkward text comes through JSON unchanged", json.dumps(AWKWARD) in json.dumps(json.loads(document)))
    check_lines(checks, bundle)
    check_csv(checks, bundle)
    checks.finish()


if __name__ == "__main__":
    main()
