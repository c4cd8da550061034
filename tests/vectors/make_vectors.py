#!/usr/bin/env python3
"""Writes testvectors/valid/, bad/ and attacks/, from spec/ alone: the library is not involved. With --check it
writes nothing and says whether what is there is the same, byte for byte."""
import json
import pathlib
import sys

import attacks
import bad_bag
import bad_container
import bad_log
import bad_records
import bad_sign
import valid

ROOT = pathlib.Path(__file__).resolve().parents[2] / "testvectors"


def wanted():
    files = {}
    for module in (bad_container, bad_bag, bad_log, bad_records, bad_sign):
        for name, data in module.bad.items():
            files[ROOT / "bad" / (name + ".glassine")] = data
    files[ROOT / "attacks" / "keeper.glassine"] = attacks.KEEPERS.data
    for name, (data, expected) in attacks.made.items():
        files[ROOT / "attacks" / (name + ".glassine")] = data
        files[ROOT / "attacks" / (name + ".json")] = (json.dumps(expected, ensure_ascii=False, indent=1) + "\n").encode()
    for name, lower in bad_sign.limits.items():
        files[ROOT / "bad" / (name + ".json")] = (json.dumps({"limits": lower}, indent=1) + "\n").encode()
    for name, bundle in valid.made.items():
        expected = {**bundle.expected(), **valid.more.get(name, {})}
        files[ROOT / "valid" / (name + ".glassine")] = bundle.data + valid.tails.get(name, b"")
        files[ROOT / "valid" / (name + ".json")] = (json.dumps(expected, ensure_ascii=False, indent=1) + "\n").encode()
    return files


def main():
    files = wanted()
    there = {path for folder in ("attacks", "bad", "valid") for path in (ROOT / folder).glob("*") if path.suffix != ".md"}
    wrong = sorted(path for path in there | set(files) if path not in there or
                   path not in files or path.read_bytes() != files[path])
    if sys.argv[1:] == ["--check"]:
        for path in wrong:
            print("differs:", path.relative_to(ROOT))
        return 1 if wrong else 0
    for path in wrong:
        if path in files:
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(files[path])
        else:
            path.unlink()
    print("%d files, %d written anew, %d bytes" % (len(files), len(wrong), sum(map(len, files.values()))))
    return 0


if __name__ == "__main__":
    sys.exit(main())
