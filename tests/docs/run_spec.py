#!/usr/bin/env python3
"""Runs every example of spec/, by its kind: the word behind the fence of its block. A block of another kind, or one
without a fence, is a failure, so that nothing is shown in the specification that no test looks at; and so it is in the
README and the tutorials, whose blocks run_docs.py runs.

usage: run_spec.py --program PATH"""
import json
import pathlib
import re
import subprocess
import sys
import zipfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
for folder in ("interop", "second-reader", "docs"):
    sys.path.insert(0, str(ROOT / "tests" / folder))
import ed25519  # noqa: E402
import log  # noqa: E402
import run_docs  # noqa: E402
import run_examples  # noqa: E402
from checks import Checks  # noqa: E402
from documents import check_schema  # noqa: E402

SPEC, KIT = ROOT / "spec", ROOT / "testvectors"
SCHEMAS = {"slip": "slip.schema.json", "signature": "signature.schema.json", "edition": "edition.schema.json"}
KIT_TEXT = "".join(path.read_text(encoding="utf-8") for kind in ("lines", "log", "readings") for path in (KIT / kind).iterdir())
# What is looked at elsewhere, and where.
ELSEWHERE = {
    "abnf": "tests/interop/grammars.py",
    "sql": "tests/interop/databases.py",
    "formula": "the vectors of log and of ranking, by tests/second-reader/run_kit.py",
}


def blocks(text):
    """(line number, what stands behind the fence, lines) of every block; of one by indentation, None."""
    lines, at = text.split("\n"), 0
    while at < len(lines):
        if lines[at].startswith("```"):
            end = next(n for n in range(at + 1, len(lines)) if lines[n].startswith("```"))
            yield at + 1, lines[at][3:].strip(), lines[at + 1:end]
            at = end
        elif lines[at].startswith("    ") and not lines[at - 1].strip():
            yield at + 1, None, [lines[at]]
        at += 1


def unpacked(checks):
    """Folders of all sound bundles that another program's reader of ZIP files opens."""
    for path in sorted((KIT / "valid").glob("*.glassine")):
        if not json.loads(path.with_suffix(".json").read_text()).get("tail"):
            folder = checks.folder / path.stem
            if not folder.exists():
                with zipfile.ZipFile(path) as archive:
                    archive.extractall(folder)
            yield next(folder.iterdir())


# Each of these runs one block: what it is called, the rest of the word behind the fence, its lines.


def run_file(checks, what, name, lines):
    folders = list(unpacked(checks))
    for folder in folders:
        checks.equal(f"{what} is that of {folder.parent.name}", (folder / name).read_text(), "\n".join(lines) + "\n")
    checks.ok(f"{what}: bundles are found", len(folders) > 5)


def run_console(checks, what, _, lines):
    for folder in unpacked(checks):
        for command, wanted in run_docs.commands(lines):
            ran = subprocess.run(["bash", "-c", command], cwd=folder, text=True, capture_output=True)
            checks.ok(f"{what}, {command}, in {folder.parent.name}",
                      ran.returncode == 0 and ran.stdout.splitlines() == wanted, ran.stdout + ran.stderr)


def run_lines(checks, what, _, lines):
    """Lines of a log, or about.json, each with its length, digest and more (tests/slips/test_spec.c)."""
    for line, behind in zip(lines, lines[1:] + [""]):
        if not line.startswith("{"):
            continue
        members = json.loads(line)
        checks.equal(f"{what}: length", int(behind.split()[1].rstrip(",")), len(line.encode()) + ("bundle" in members))
        order = json.dumps(members, ensure_ascii=False, sort_keys=True, separators=(",", ":"))    # names here are ASCII
        checks.equal(f"{what}: canonical (RFC 8785)", line, order)
        if "bundle" in members:
            check_schema(checks, what, "about.schema.json", line)
            continue
        checks.ok(f"{what}: it stands in testvectors", json.dumps(line)[1:-1] in KIT_TEXT)
        kind, _ = log.check_line(line.encode())
        if kind in SCHEMAS:
            check_schema(checks, what, SCHEMAS[kind], line)
        if kind == "signature":
            parts = (bytes.fromhex(members[name]) for name in ("key", "of", "sig"))
            checks.ok(f"{what}: the signature holds (second reader)", ed25519.holds(*parts))
            checks.ok(f"{what}: it is on a slip of slips.md", members["of"] in (SPEC / "slips.md").read_text())


def run_synopsis(checks, what, _, lines):
    bundle = checks.new("synopsis.glassine")
    checks.call("enter", bundle, "item", "label=H-014")
    ways = {"glassine VERB BUNDLE [ARGUMENTS] [OPTIONS]": [["standing", bundle], ["list", bundle, "item", "--json"]],
            "glassine BUNDLE [OPTIONS]": [[bundle, "-o", checks.folder / "page.html"]],
            "glassine help [VERB | TYPE | TOPIC]": [["help"], ["help", "list"], ["help", "item"], ["help", "dates"]],
            "glassine --version": [["--version"]]}
    checks.equal(f"{what}: these ways are run", lines, list(ways))
    for words in (words for some in ways.values() for words in some):
        ran = checks.run(*words)
        checks.ok(f"{what}: glassine {' '.join(map(str, words))}", ran.status == 0, ran)


def contested(checks):
    """A bundle in which two people give H-014 another kind."""
    folder = checks.folder / "contested"
    folder.mkdir()
    world = run_examples.World(str(checks.program), folder)
    world.make(run_examples.MADE + """
dispatch sorrel.glassine --to Specialist --items H-014 -o sent.glassine
revise sent.glassine H-014 kind=strip
reply sent.glassine -o reply.glassine
revise sorrel.glassine H-014 kind=block
merge sorrel.glassine reply.glassine
""")
    return folder / "work" / "sorrel.glassine"


def run_cell(checks, what, _, lines):
    checks.call("to-csv", contested(checks), "-o", checks.folder / "sheets")
    cells = (checks.folder / "sheets" / "item.csv").read_text(encoding="utf-8-sig")
    for line in lines:
        checks.ok(f"{what}: to-csv writes it", f",{line}," in cells, cells)


def run_members(checks, what, _, lines):
    bundle = checks.new("members.glassine")
    checks.call("enter", bundle, "design", "label=KF", "note=seen by all", "--reach", "shared")
    checks.call("revise", bundle, "KF", "note=bought at the spring sale", "--reach", "private")
    document = checks.call("to-json", bundle, "--with-private").out
    for line in lines:
        wanted = json.loads("{" + line + "}")
        found = [record for record in json.loads(document)["records"].values() if record.get("also")]
        checks.equal(f"{what}: to-json writes it",
                     [{name: {key: value for key, value in one[name].items() if key in wanted[name]} for name in wanted}
                      for one in found], [wanted])


def run_findings(checks, what, _, lines):
    for line in lines:
        found = re.fullmatch(r"(fault|warning|note): .+", line)
        code = re.search(r"\(([A-Z]\d{3})\)\. ", line)
        names = re.findall(r"[A-Z]\d{3}-[a-z0-9-]+", line) or [path.stem for path in (KIT / "bad").glob(f"{code[1]}-*.glassine")]
        told = subprocess.run([checks.program, "audit", names[0] + ".glassine"], cwd=KIT / "bad", env=checks.environment,
                              text=True, capture_output=True).stderr
        checks.ok(f"{what}: the audit of {names[0]} tells it", found and line in told.splitlines(), told)


def typed_dates_of_the_page(checks):
    """The table "What people type" of dates.md, by the program: one date, or as many as were typed."""
    bundle, count = checks.new("dates.glassine"), 0
    checks.call("enter", bundle, "item", "label=H-014")
    table = (SPEC / "dates.md").read_text(encoding="utf-8").partition("## What people type")[2]
    for row in re.findall(r"(?m)^\| (`.*?) \| (`.*?) \| (.*?) ?\|$", table):
        typed, becomes = (re.findall("`([^`]+)`", cell) for cell in row[:2])
        if any(re.search(r"\b[DE]\b", text) for text in typed + becomes) or becomes[0].startswith("-"):
            continue            # forms with a date to be put in, which testvectors/dates/typed.json has
        full = [text if not text.startswith("-") else becomes[0][:4] + text for text in becomes]
        for text, wanted in zip(typed, full if len(full) > 1 else full * len(typed)):
            checks.call("revise", bundle, "H-014", f"acquired={text}")
            record = checks.call("to-json", bundle, "--with-private").out
            found = [one["fields"]["acquired"] for one in json.loads(record)["records"].values() if one["type"] == "item"]
            checks.equal(f"dates.md: {text!r}", found, [wanted])
            checks.call("revise", bundle, "H-014", "acquired=")
            count += 1
    checks.ok("dates that people type are found", count > 20, count)


def pages_for_readers(checks):
    """The README and the tutorials hold no block that run_docs.py does not run, and each is in its list."""
    run = (ROOT / "tests/Delivered.cmake").read_text()
    for page in [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]:
        found = list(blocks(page.read_text(encoding="utf-8")))
        others = [(number, fence) for number, fence, lines in found if fence not in ("console", "console setup")
                  and not lines[0].startswith("    scripts/")]
        checks.equal(f"{page.name}: blocks that nothing runs", others, [])
        named = re.search(rf"\b{re.escape(page.stem)}\b", run)
        checks.ok(f"{page.name}: it is run", named or not found)


def main():
    checks = Checks(__doc__)
    runners = {name[4:]: run for name, run in globals().items() if name.startswith("run_") and callable(run)}
    met = set()
    for page in sorted(SPEC.glob("*.md")):
        for number, fence, lines in blocks(page.read_text(encoding="utf-8")):
            kind, _, more = (fence or "").partition(" ")
            what = f"{page.name}, line {number}, {kind}"
            if checks.ok(f"{what}: of a kind that is run", kind in runners or kind in ELSEWHERE, lines[0]):
                met.add(kind)
                if kind in runners:
                    runners[kind](checks, what, more, lines)
    checks.equal("every kind is met", met, set(runners) | set(ELSEWHERE))
    named = {name for page in (ROOT / "README.md", ROOT / "DEVELOPERS.md", SPEC / "README.md")
             for name in re.findall(r"\bscripts/([a-z-]+)\b(?!/)", page.read_text())} - {"lib"}
    for name in sorted(named):
        script = ROOT / "scripts" / name
        checks.ok(f"scripts/{name} is there, and can be run", script.exists() and script.stat().st_mode & 0o100)
    typed_dates_of_the_page(checks)
    pages_for_readers(checks)
    checks.finish()


if __name__ == "__main__":
    main()
