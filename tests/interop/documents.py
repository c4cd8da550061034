#!/usr/bin/env python3
"""What the program writes as JSON and CSV, checked by other people's code.

Referees: Ajv (JSON Schema 2020-12), canonicalize (RFC 8785), fast-json-patch (RFC 6902), csv-parse and Python's csv
(RFC 4180), all but the last from npm.
"""

import csv
import json
import pathlib
import shutil

import bundle_file
from checks import HERE, Checks, outside
from pictures import png

SCHEMAS = HERE.parent.parent / "spec" / "schemas"
AWKWARD = 'Quote " comma , semicolon ; line\nbreak, é, 鳥, \U0001F426, <b>, =1+1, back\\slash, \u2028'


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


def answers(checks, bundle):
    """Documents of `--json`, each of a verb that reads."""
    other = checks.folder / "other.glassine"
    shutil.copy(bundle, other)
    checks.call("revise", bundle, "H-001", "kind=piece")
    checks.call("revise", other, "H-001", "kind=cover", "--by", "Odile Farrow")
    yield "diff", ("diff", bundle, other)
    checks.call("merge", bundle, other, status=1)
    for words in (("list", bundle, "item"), ("show", bundle, "H-001"), ("show", bundle, "H-001", "--history"),
                  ("contested", bundle), ("editions", bundle), ("pending", bundle), ("audit", bundle),
                  ("digest", bundle), ("list", bundle, "no-such-type"), ("show", bundle, "no such record")):
        yield words[0], words


def schema_for(verb):
    own = SCHEMAS / f"{verb}.schema.json"
    return own if own.exists() else SCHEMAS / "answer.schema.json"


def check_schema(checks, what, schema, text):
    if not schema.exists():
        checks.skip(what, f"{schema.name} is not in spec/schemas")
    elif checks.node_package("ajv", what):
        document = checks.folder / "document.json"
        document.write_text(text)
        done = outside("node", HERE / "validate.mjs", schema, document)
        checks.ok(what, done.returncode == 0, done.stdout)


def check_answers(checks, bundle):
    for verb, words in answers(checks, bundle):
        answer = checks.run(*words, "--json")
        try:
            document = json.loads(answer.out)
        except ValueError:
            checks.ok(f"{' '.join(map(str, words[:1]))} --json is one JSON document", False, answer)
            continue
        if document.get("verb") != verb:
            checks.ok(f"{verb} --json names its verb", False, answer.out[:300])
        check_schema(checks, f"{verb} --json is as {schema_for(verb).name} has it", schema_for(verb), answer.out)


def check_lines(checks, bundle):
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


def check_patch(checks, bundle):
    old = checks.folder / "old.glassine"
    checks.call("extract", f"{bundle}#3", "-o", old)
    answer = checks.run("diff", old, bundle, "--as", "patch")
    if answer.status not in (0, 1):
        checks.skip("diff --as patch", "this program has no such output")
        return
    first, second = (json.loads(checks.call("to-json", path).out) for path in (old, bundle))
    for name, text in (("first.json", json.dumps(first)), ("patch.json", answer.out)):
        (checks.folder / name).write_text(text)
    if checks.node_package("fast-json-patch", "diff --as patch"):
        done = outside("node", HERE / "apply_patch.mjs", checks.folder / "first.json", checks.folder / "patch.json")
        checks.ok("diff --as patch, applied to the first document, gives the second",
                  done.returncode == 0 and json.loads(done.stdout) == second, done.stdout[-800:])
    checks.equal("a patch holds add, remove, replace only",
                 {step["op"] for step in json.loads(answer.out)} - {"add", "remove", "replace"}, set())


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
    check_schema(checks, "to-json is as document.schema.json has it", SCHEMAS / "document.schema.json", document)
    checks.ok("an awkward text comes through JSON unchanged", json.dumps(AWKWARD) in json.dumps(json.loads(document)))
    check_lines(checks, bundle)
    check_patch(checks, bundle)
    check_csv(checks, bundle)
    checks.finish()


if __name__ == "__main__":
    main()
