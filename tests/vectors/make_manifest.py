#!/usr/bin/env python3
"""Writes testvectors/manifest.json: every file of the kit, its kind, how many cases it holds, its size and SHA-256;
and how many cases there are of each kind into the table of testvectors/README.md. With --check it writes nothing and
says whether what is there is the same."""
import collections
import hashlib
import json
import pathlib
import re
import sys

KIT = pathlib.Path(__file__).resolve().parents[2] / "testvectors"
ABOUT = ("The conformance kit of the glassine bundle, format 1.0; README.md says how to run it. kind: the folder. "
         "cases: how many a file holds. beside: says what is expected of the bundle of the same name. "
         "rule: the code that a bundle in bad/ breaks.")


def count(path):
    if path.suffix == ".jsonl":
        return len(path.read_text(encoding="utf-8").splitlines())
    if path.suffix == ".json":
        said = json.loads(path.read_text(encoding="utf-8"))
        lists = [said[name] for name in ("cases", "refused", "before", "either") if name in said]
        return sum(map(len, lists)) or 1
    return 1


def entry(path):
    data, kind = path.read_bytes(), path.parent.name
    said = {"path": path.relative_to(KIT).as_posix(), "kind": kind}
    if path.suffix == ".json" and path.with_suffix(".glassine").exists():
        said.update(beside=True, cases=0)
    else:
        said.update(cases=count(path))
    if kind == "bad":
        said.update(rule=path.name[:4])
    return said | {"bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}


def wanted():
    """Path → text: the manifest, and the README with the counts of now."""
    entries = [entry(path) for path in sorted(path for path in KIT.glob("*/*")
                                              if path.suffix in (".glassine", ".json", ".jsonl"))]
    lines = ",\n".join(json.dumps(one, ensure_ascii=False) for one in entries)
    counts = collections.Counter()
    for one in entries:
        counts[one["kind"]] += one["cases"]
    readme = re.sub(r"(?m)^\| `([a-z]+)` \| [0-9]* \|", lambda row: f"| `{row[1]}` | {counts[row[1]]} |",
                    (KIT / "README.md").read_text(encoding="utf-8"))
    return {KIT / "manifest.json": f'{{\n"about": {json.dumps(ABOUT)},\n"format": "1.0",\n"files": [\n{lines}\n]\n}}\n',
            KIT / "README.md": readme}


def main():
    differs = [path for path, text in wanted().items() if not path.exists() or path.read_text(encoding="utf-8") != text]
    if sys.argv[1:] == ["--check"]:
        for path in differs:
            print(f"testvectors/{path.name} differs: run tests/vectors/make_manifest.py")
        return 1 if differs else 0
    for path in differs:
        path.write_text(wanted()[path], encoding="utf-8")
    print(f"{len(differs)} files written anew")
    return 0


if __name__ == "__main__":
    sys.exit(main())
