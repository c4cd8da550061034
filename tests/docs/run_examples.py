#!/usr/bin/env python3
"""Runs every example of the program's help, which is also that of its manual pages: each must end with 0 or 1. Of the
topics, every expression of positions must fit a plate, and every value its field. The files that the manual page on the
format names are those of spec/bag.md.

usage: run_examples.py PROGRAM"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "cli"))
from picture import png  # noqa: E402

# 2026-03-10; every command a minute later.
BEGIN = 1773136800
MADE = """
new sorrel.glassine title='Sorrel Islands' --by 'Ann Keeper'
enter sorrel.glassine contributor name=Specialist
enter sorrel.glassine design label=KF
enter sorrel.glassine plate label=1 design=KF rows=12 columns=10
enter sorrel.glassine plate label='Plate 1' design=KF rows=12 columns=10
enter sorrel.glassine plate_state plate=1 name=early order=1
enter sorrel.glassine mark plate=1 positions=64 appearance=dot x=60 y=910
enter sorrel.glassine item label=H-014 design=KF
enter sorrel.glassine item label=H-015 design=KF
enter sorrel.glassine item label=H-022 design=KF
enter sorrel.glassine item label=H-023 design=KF
observe sorrel.glassine H-014 appearance=dot x=62 y=911
claim sorrel.glassine H-014.1 1 64
claim sorrel.glassine H-014.1 1 'column 4' --by Specialist
"""
ANSWERED = """
dispatch sorrel.glassine --to Specialist --items H-014,H-015 -o for-specialist.glassine
revise for-specialist.glassine H-014 colour=blue destination=Whimbrel
revise for-specialist.glassine H-015 colour=blue destination=Whimbrel
reply for-specialist.glassine -o answer.glassine
"""
CONTESTED = ANSWERED + """
revise sorrel.glassine H-014 colour=green destination=Heron
revise sorrel.glassine H-015 colour=green destination=Heron
merge sorrel.glassine answer.glassine
"""
# What has to be there first, by verb, in the program's own commands or (after "!") the shell's.
BEFORE = {
    "new": "!rm sorrel.glassine",
    "enter": "!rm sorrel.glassine\nnew sorrel.glassine title=Sorrel --by 'Ann Keeper'",
    "batch": "!echo \"enter item label=H-030\" >list.txt",
    "settle": CONTESTED,
    "contested": CONTESTED,
    "reply": ANSWERED + "!rm answer.glassine",
    "merge": ANSWERED + "!printf '1: column 4\\n' >answer.txt",
    "adopt": "join sorrel.glassine 1 'Plate 1' --by Specialist",
    "recover": "!cp sorrel.glassine old-copy.glassine; head -c 3000 sorrel.glassine >broken.glassine",
    "intake": "unpack sorrel.glassine .\n!tar czf glassine-sorrel.tar.gz glassine-sorrel; rm sorrel.glassine",
    "from-json": "to-json sorrel.glassine -o sorrel.json",
    "from-csv": "to-csv sorrel.glassine -o sheets/\n!printf 'Nr,Colour\\nM-1,blue\\n' >mine.csv",
    "from-xlsx": "to-xlsx sorrel.glassine -o sorrel.xlsx",
}
IN_ORDER = {"backup", "enter", "from-csv", "key"}     # each example goes on where the one before ended


class World:
    def __init__(self, program, folder):
        self.folder, self.now = folder, BEGIN
        (folder / "bin").mkdir()
        (folder / "bin" / "glassine").symlink_to(program)
        (folder / "work" / "scans").mkdir(parents=True)
        for name in ("scans/H-040 front.png", "front.png", "back.png", "detail.png"):
            (folder / "work" / name).write_bytes(png(40, 30, len(name)))
        (folder / "passphrase").write_text("kingfisher\n")

    def run(self, command, statuses=(0, 1)):
        self.now += 60
        environment = {"PATH": f"{self.folder}/bin:{os.environ['PATH']}", "HOME": str(self.folder),
                       "SOURCE_DATE_EPOCH": str(self.now), "LC_ALL": "C.UTF-8",
                       "GLASSINE_PASSPHRASE_FILE": str(self.folder / "passphrase")}
        ran = subprocess.run(["bash", "-c", command], cwd=self.folder / "work", env=environment,
                             stdin=subprocess.DEVNULL, capture_output=True, text=True)
        return None if ran.returncode in statuses else f"{command}: exit {ran.returncode}: {ran.stderr.strip()}", ran.stdout

    def make(self, commands):
        for line in filter(None, commands.strip().splitlines()):
            told, _ = self.run(line[1:] if line.startswith("!") else f"glassine {line}")
            if told:
                sys.exit(f"cannot begin: {told}")

    def id_of(self, kind, design):
        """The id of the one record of a type that has that design."""
        found = json.loads(self.run("glassine to-json sorrel.glassine")[1])["records"].values()
        designs = {one["id"] for one in found if one["type"] == "design" and one["fields"]["label"] == design}
        return next(one["id"] for one in found if one["type"] == kind and one["fields"].get("design") in designs)

    def scan(self):
        """The id of a scan of H-014, which is taken in here."""
        (self.folder / "work" / "large.png").write_bytes(png(400, 600, 9))
        return self.run("glassine attach sorrel.glassine H-014 large.png")[1].split()[0]

    def fitted(self, example):
        """Ids and places in an example are somebody's: ours take their place."""
        example = example.replace("/media/stick", str(self.folder / "stick"))
        if example.startswith("join "):
            ids = iter(dict.fromkeys(re.findall(r"plate/[0-9a-f]{8}", self.run("glassine to-json sorrel.glassine")[1])))
            return re.sub(r"plate/[0-9a-f]{6}", lambda _: next(ids), example)
        if example.startswith("adopt "):
            proposal = json.loads(self.run("glassine proposed sorrel.glassine --json")[1])
            return re.sub(r"[0-9a-f]{12}", re.search(r'"proposal": ?"([^"]+)"', json.dumps(proposal))[1], example)
        return example


def examples(program):
    def said(*words):
        return json.loads(subprocess.run([program, "help", *words, "--json"], check=True, capture_output=True).stdout)["result"]
    for verb in (entry["verb"] for entry in said()["verbs"]):
        lines = said(verb).get("example") or ""
        yield verb, lines.splitlines()


PLATES = """
enter sorrel.glassine plate label=9 design=KF rows=20 columns=12 corner_letters=yes
enter sorrel.glassine plate label=8 design=KF rows=10 columns=10 panes_across=2
enter sorrel.glassine design label=P
enter sorrel.glassine plate label=1 design=P rows=10 columns=10 panes_across=2
enter sorrel.glassine plate_state plate=P:1 name=Early order=1
enter sorrel.glassine item label=P-1 design=P
"""


def shown(world, *words):
    """The lines of a help text that stand two columns in, each as what stands between wider gaps."""
    text = world.run("glassine help " + " ".join(words))[1]
    return [re.split(r" {2,}", line.strip()) for line in text.splitlines() if line.startswith("  ")]


def topics(world):
    """(what, told) for every example of a topic, and every file of the page on the format."""
    before, _, after = PLATES.partition("enter sorrel.glassine plate_state")
    world.make(before)
    world.make("enter sorrel.glassine plate_state" + after.replace("P:1", world.id_of("plate", "P")))
    for first, *meaning in shown(world, "positions"):
        also = re.findall(r"(?:row|column) [0-9-]+", meaning[0]) if meaning and "also:" in meaning[0] else []
        for expression in [first, *also] if re.search("but not|and", first) else [*re.split(", (?=[0-9]R)", first), *also]:
            told = [world.run(f"glassine claim sorrel.glassine {stamp} {plate} '{expression}' --also")[0]
                    for stamp, plate in (("H-014", "'Plate 1'"), ("H-014", "9"), ("H-014", "8"), ("P-1", world.id_of("plate", "P")))]
            yield f"positions {expression}", None if None in told else told[0]
    fields, dates = shown(world, "values")
    for field in fields:
        command = "revise sorrel.glassine H-014"
        if field.startswith("region="):
            command = f"observe sorrel.glassine H-014.1 appearance=dot scan={world.scan()}"
        yield field, world.run(f"glassine {command} {field}")[0]
    for date in dates:
        yield date, world.run(f"glassine revise sorrel.glassine H-014 acquired='{date}'")[0]
    page = (pathlib.Path(__file__).resolve().parents[2] / "spec/bag.md").read_text(encoding="utf-8")
    files = re.findall(r"(?m)^  (\S+\.\S+) ", world.run("glassine help --man format")[1].replace("\\-", "-").replace("\\", ""))
    yield "the files of the page on the format", None if len(files) > 5 else f"only {files}"
    for name in files:
        yield name, None if f"`{name}`" in page else f"{name} is not in spec/bag.md"


def main(program):
    passed, failures = 0, []
    for verb, lines in examples(program):
        groups = [lines] if verb in IN_ORDER else [[line] for line in lines]
        for group in groups:
            with tempfile.TemporaryDirectory() as name:
                world = World(os.path.abspath(program), pathlib.Path(name))
                world.make(MADE + BEFORE.get(verb, ""))
                for line in group:
                    told, _ = world.run("glassine " + world.fitted(line))
                    passed += not told
                    failures += [told] if told else []
        if not lines:
            failures.append(f"{verb} has no example")
    with tempfile.TemporaryDirectory() as name:
        world = World(os.path.abspath(program), pathlib.Path(name))
        world.make(MADE)
        for what, told in topics(world):
            passed += not told
            failures += [f"{what}: {told}"] if told else []
    for failure in failures:
        print("FAIL", failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
