#!/usr/bin/env python3
"""JSON Lines loaded by data bases, counted and joined there.

Referees: PostgreSQL (COPY into jsonb) and SQLite, both from Debian. What they count is compared with what the program
lists, and with the document that Python's json reads.
"""

import json
import os
import pathlib
import pwd
import re
import shutil
import subprocess
import tempfile

from checks import HERE, Checks, outside
from documents import check_schema

PAGE = HERE.parents[1] / "spec" / "json-document.md"
AWKWARD = "Quote \" comma , backslash \\ \\n \\N tab? é 鳥 \U0001F426 {} [] 'single'\nsecond line\u2028."


def collection(checks):
    bundle = checks.new("lines.glassine")
    note = checks.folder / "note.txt"
    note.write_text(AWKWARD)
    lines = ["enter contributor name='Odile Farrow'", "enter design label=KF title=Kingfisher",
             "enter plate label=1 design=KF rows=12 columns=10"]
    for number in range(200):
        kind = ("single", "pair", "cover")[number % 3]
        lines.append(f"enter item label=H-{number:03} kind={kind} stamps={1 + number % 3} design=KF "
                     f"note=@{note} storage='box {number % 7}' cost_minor={number}")
    for number in range(0, 200, 3):
        lines.append(f"claim H-{number:03} 1 {1 + number % 120} confidence=certain")
    checks.call("batch", bundle, text="\n".join(lines) + "\n")
    checks.call("batch", bundle, "--by", "Odile Farrow",
                text="\n".join(f"claim H-{number:03} 1 'column {1 + number % 10}'" for number in range(0, 200, 6)) + "\n")
    checks.call("revise", bundle, "H-000", "rate=2d")
    folder = checks.folder / "lines"
    checks.call("to-json", bundle, "--lines", "--with-private", "-o", folder)
    document = json.loads(checks.call("to-json", bundle, "--with-private").out)
    return folder, list(document["records"].values())


def expected(records):
    """What is asked of each engine, worked out here."""
    of = lambda kind: [record for record in records if record["type"] == kind]
    items = {record["id"]: record["fields"] for record in of("item")}
    joined = [(stamp, items[stamp["fields"]["item"]]) for stamp in of("stamp")]
    return {
        "items": len(items), "stamps": len(of("stamp")), "claims": len(of("claim")),
        "stamps of pairs": sum(item["kind"] == "pair" for _, item in joined),
        "money": sum(item["cost_minor"] for item in items.values()),
        "claimants": len({claim["author"] for claim in of("claim")}),
        "claims on stamps of singles": sum(items[stamp["fields"]["item"]]["kind"] == "single" for stamp in of("stamp")
                                           for claim in of("claim") if claim["fields"]["stamp"] == stamp["id"]),
        "note": AWKWARD,
    }


def questions(field, of):
    """SQL: `field` gives text at a path of `fields`, `of` a member of the record."""
    join = f"FROM stamp JOIN item ON {field('stamp', 'item')} = {of('item', 'id')}"
    return {
        "items": "SELECT count(*) FROM item", "stamps": "SELECT count(*) FROM stamp", "claims": "SELECT count(*) FROM claim",
        "stamps of pairs": f"SELECT count(*) {join} WHERE {field('item', 'kind')} = 'pair'",
        "money": f"SELECT sum(CAST({field('item', 'cost_minor')} AS bigint)) FROM item",
        "claimants": f"SELECT count(DISTINCT {of('claim', 'author')}) FROM claim",
        "claims on stamps of singles": f"SELECT count(*) {join} JOIN claim ON {field('claim', 'stamp')} = {of('stamp', 'id')} "
                                       f"WHERE {field('item', 'kind')} = 'single'",
        "note": f"SELECT DISTINCT {field('item', 'note')} FROM item",
    }


def compare(checks, engine, records, ask, field, of):
    wanted = expected(records)
    for what, sql in questions(field, of).items():
        found = ask(sql)
        checks.equal(f"{engine}: {what}", found, str(wanted[what]))


# ------------------------------------------------------------------------------------------------- SQLite

def check_sqlite(checks, folder, records):
    program = checks.tool("sqlite3", "lines in SQLite")
    if not program:
        return
    base = checks.folder / "lines.sqlite"
    commands = ['.mode ascii', '.separator "\\002" "\\n"']
    for path in sorted(folder.glob("*.jsonl")):
        commands += [f"CREATE TABLE {path.stem} (record TEXT CHECK (json_valid(record)));", f".import {path} {path.stem}"]
    done = subprocess.run([program, base], input="\n".join(commands), text=True, capture_output=True)
    checks.equal("SQLite takes every line as it is", (done.returncode, done.stderr), (0, ""))

    def ask(sql):
        return subprocess.run([program, "-batch", "-noheader", base, sql], text=True, capture_output=True).stdout[:-1]

    compare(checks, "SQLite", records, ask, lambda table, path: f"json_extract({table}.record, '$.fields.{path}')",
            lambda table, path: f"json_extract({table}.record, '$.{path}')")


# --------------------------------------------------------------------------------------------- PostgreSQL

def binaries():
    found = sorted(pathlib.Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: int(path.parent.name))
    return found[-1] if found else None


class Cluster:
    """A data base server of the test's own: a socket in a folder of its own, no port. It refuses to run as root."""

    def __init__(self, programs):
        self.programs = programs
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="glassine-pg-"))
        self.user = []
        if os.geteuid() == 0:
            person = pwd.getpwnam("postgres")
            os.chown(self.folder, person.pw_uid, person.pw_gid)
            self.user = ["runuser", "-u", "postgres", "--"]

    def run(self, *words, **options):
        return subprocess.run([*self.user, *map(str, words)], text=True, capture_output=True, cwd=self.folder,
                              env={"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8"}, **options)

    def __enter__(self):
        data = self.folder / "data"
        steps = (self.run(self.programs / "initdb", "-D", data, "-A", "trust", "-U", "keeper", "-E", "UTF8", "--no-sync"),
                 self.run(self.programs / "pg_ctl", "-D", data, "-w", "-l", self.folder / "log", "-o",
                          f"-c listen_addresses='' -c fsync=off -k {self.folder}", "start", stdin=subprocess.DEVNULL))
        self.fault = "\n".join(step.stdout + step.stderr for step in steps if step.returncode)
        return self

    def __exit__(self, *_):
        self.run(self.programs / "pg_ctl", "-D", self.folder / "data", "-m", "immediate", "stop")
        shutil.rmtree(self.folder, ignore_errors=True)

    def ask(self, sql, **options):
        return self.run("psql", "-h", self.folder, "-U", "keeper", "-d", "postgres", "-X", "-q", "-A", "-t", "-v",
                        "ON_ERROR_STOP=1", "-c", sql, **options)


def check_postgresql(checks, folder, records):
    programs = binaries()
    if not programs or not shutil.which("psql"):
        checks.skip("lines in PostgreSQL", "postgresql is not installed")
        return
    with Cluster(programs) as cluster:
        if not checks.ok("a PostgreSQL server of the test's own", not cluster.fault, cluster.fault):
            return
        wrong, said = [], re.search(r"(?ms)^```sql\n(.*?)\n```$", PAGE.read_text(encoding="utf-8"))[1]
        for path in sorted(folder.glob("*.jsonl")):
            # The page reads a file of the server's; here it comes from the client.
            sql = said.replace("'item.jsonl'", "STDIN").replace("item", path.stem).split("\n")
            for done in (cluster.ask(sql[0]), cluster.ask(sql[1], input=path.read_text())):
                if done.returncode:
                    wrong.append(done.stderr)
        checks.equal("PostgreSQL takes every line as it is", wrong, [])
        compare(checks, "PostgreSQL", records, lambda sql: cluster.ask(sql).stdout[:-1],
                lambda table, path: f"({table}.record->'fields'->>'{path}')", lambda table, path: f"({table}.record->>'{path}')")


def main():
    checks = Checks(__doc__)
    folder, records = collection(checks)
    for path in sorted(folder.glob("*.jsonl")):
        check_schema(checks, path.name, "line.schema.json", path.read_text(), "jsonl")
    about = json.loads((folder / "about.json").read_text())
    check_schema(checks, "about.json", "lines.schema.json", json.dumps(about))
    checks.equal("about.json counts the lines", about["files"],
                 {path.name: len(path.read_text().split("\n")) - 1 for path in folder.glob("*.jsonl")})
    checks.ok("and says that private fields are there", about["private"])
    check_sqlite(checks, folder, records)
    check_postgresql(checks, folder, records)
    checks.finish()


if __name__ == "__main__":
    main()
