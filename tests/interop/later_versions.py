#!/usr/bin/env python3
"""A bundle of format 1.9, with fields, record types, lines and an entry that 1.0 does not know, goes through reading,
merging, settling and tidying without loss; one of 2.0 is refused by a message that names both versions.

The files are written by Python (bundle_file.py), since no program of ours makes them.
"""

import json
import shutil

import bundle_file
from checks import Checks, outside

UNKNOWN_UUID = "0190a000-0000-7000-8000-000000000019"
UNKNOWN_LINE = b'{"seal":{"colour":"verdigris"},"weather":["fog","F\xc3\xb6hn"]}'
UNKNOWN_ENTRY = "notes/tide table.txt"
UNKNOWN_BYTES = "High water at 04:12\r\n".encode()


def later(path, out, version):
    """The bundle with one more edition of that version, of things that 1.0 does not know."""
    base, files = bundle_file.read(path)
    about = json.loads(files["data/about.json"])
    about["version"] = version
    about["tides"] = True
    was = bundle_file.sha256(files["data/about.json"])
    files["data/about.json"] = bundle_file.canonical(about) + b"\n"
    now = bundle_file.sha256(files["data/about.json"])
    lines = [line.replace(was.encode(), now.encode()) for line in bundle_file.log_lines(files)]
    editions = [json.loads(line) for line in lines if b'"log":' in line]
    known = sum(b'"after":' in line for line in lines)
    item = next(json.loads(line)["record"] for line in lines if b'"item/' in line)

    def slip(record, values, **more):
        return bundle_file.canonical({"after": [], "at": "2030-05-06T07:08:09Z", "by": about["keeper"],
                                      "reach": "shared", "record": record, "set": values, **more})

    lines += [slip(item, {"tide": "neap", "moons": [1, 2, 3], "sky": {"clear": True, "wind": 4}}),
              slip(f"lantern/{UNKNOWN_UUID}", {"label": "Lantern", "wick_um": 2500}, witnessed="twice"),
              UNKNOWN_LINE]
    last = {"at": "2030-05-06T07:08:10Z", "brings": [], "by": about["keeper"], "edition": len(editions) + 1,
            "format": version, "log": "", "note": "", "slips": known + 2, "tool": "Python", "phase": "waning"}
    log = bundle_file.close_log([*lines, bundle_file.canonical(last)])
    for name in [name for name in files if name.startswith("slips/")]:
        del files[name]
    files[f"slips/{1:08}-{last['edition']:08}.jsonl"] = log
    files[UNKNOWN_ENTRY] = UNKNOWN_BYTES
    bundle_file.make_bag(files)
    bundle_file.write(out, base, files, last["edition"], version)
    return item


def check_kept(checks, what, path, item, own_file=True):
    _, files = bundle_file.read(path)
    lines = bundle_file.log_lines(files)
    checks.ok(f"{what}: unknown fields are there", any(b'"tide":"neap"' in line and item.encode() in line
                                                       for line in lines))
    checks.ok(f"{what}: the unknown type and the unknown member are there",
              any(b'"lantern/' in line and b'"witnessed":"twice"' in line for line in lines))
    if own_file:
        checks.ok(f"{what}: the unknown line is there", UNKNOWN_LINE in lines)
        checks.equal(f"{what}: the unknown entry is there", files.get(UNKNOWN_ENTRY), UNKNOWN_BYTES)
        checks.equal(f"{what}: still says that it is 1.9", json.loads(files["data/about.json"])["version"], "1.9")
        checks.ok(f"{what}: about.json keeps what is unknown", json.loads(files["data/about.json"]).get("tides") is True)
    checks.equal(f"{what}: the chain holds", bundle_file.broken_editions(lines), [])
    checks.equal(f"{what}: audit finds no fault", checks.faults(path), [])


def main():
    checks = Checks(__doc__)
    old = checks.new("old.glassine")
    checks.call("enter", old, "contributor", "name=Odile Farrow")
    checks.call("enter", old, "item", "label=H-001", "kind=single")
    other = checks.folder / "other.glassine"
    shutil.copy(old, other)
    new = checks.folder / "new.glassine"
    item = later(old, new, "1.9")
    checks.ok("unzip -t accepts what Python wrote", outside("unzip", "-tqq", new).returncode == 0)

    shown = checks.call("show", new, "H-001")
    checks.ok("show: unknown fields are shown", "neap" in shown.out and "tide" in shown.out, shown)
    checks.ok("list: an unknown type can be listed", "Lantern" in checks.call("list", new, "lantern").out)
    checks.ok("to-json: unknown fields and types are there", "neap" in checks.call("to-json", new).out
              and "wick_um" in checks.call("to-json", new).out)
    check_kept(checks, "as written", new, item)

    checks.call("revise", new, "H-001", "kind=pair")
    check_kept(checks, "after a save", new, item)
    checks.call("revise", other, "H-001", "kind=strip", "--by", "Odile Farrow")
    checks.call("merge", new, other, status=1)
    check_kept(checks, "after a merge into it", new, item)
    checks.call("settle", new, "H-001", "kind=block")
    check_kept(checks, "after settling", new, item)
    checks.call("tidy", new)
    check_kept(checks, "after tidy", new, item)
    checks.call("extract", f"{new}#2", "-o", checks.folder / "second.glassine")

    checks.call("merge", other, new, status=(0, 1))
    check_kept(checks, "merged into a bundle of 1.0", other, item, own_file=False)
    checks.equal("both hold the same statements", checks.call("digest", other).out, checks.call("digest", new).out)

    future = checks.folder / "future.glassine"
    later(old, future, "2.0")
    before = future.read_bytes()
    for words in (("list", future, "item"), ("enter", future, "item", "label=X"), ("merge", old, future),
                  ("tidy", future)):
        answer = checks.run(*words)
        checks.ok(f"2.0: {words[0]} refuses it, naming both versions", answer.status == 2 and "2" in answer.err
                  and "1." in answer.err and "format 2" in answer.err.replace("2.0", "2"), answer)
    checks.ok("2.0: the file is as it was", future.read_bytes() == before)
    checks.finish()


if __name__ == "__main__":
    main()
