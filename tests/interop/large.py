#!/usr/bin/env python3
"""Zip64 in front of other people's programs: a file of 70,002 entries, and (with GLASSINE_LARGE=1, since it takes
minutes) one with a scan of more than 4 GiB, so that sizes, offsets and the directory's place do not fit 32 bits.

Referees: Info-ZIP unzip and zip, bsdtar (libarchive), 7-Zip, Python's zipfile, java.util.zip.ZipFile.

usage: large.py LARGE_BUNDLE"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import zipfile

HERE = pathlib.Path(__file__).resolve().parent
SCANS, DEEP = 70_000, (1 << 32) + 100_000_000
failures = 0


def ok(what, condition, detail=""):
    global failures
    failures += not condition
    print(("ok    " if condition else "FAIL  ") + what + ("" if condition else "\n      " + str(detail)[-600:]))
    sys.stdout.flush()


def run(*command):
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def accepts(tool, file, *words):
    if not shutil.which(tool):
        print(f"SKIP  {tool} is not there")
        return
    status, said = run(tool, *words, file)
    ok(f"{tool} {' '.join(words)} accepts {file.name}", status == 0, said)


def lists(tool, file, names, *words):
    if shutil.which(tool):
        ok(f"{tool} {' '.join(words)} lists {file.name}", sorted(run(tool, *words, file)[1].splitlines()) == names)


def ours(tool, file, entries):
    status, said = run(tool, "check", file)
    ok(f"the library opens and walks {file.name}", status == 0 and f"{entries} entries, edition 2, tail 0" in said, said)
    print("      " + said.splitlines()[-1])


def check(tool, file, entries):
    ours(tool, file, entries)
    with zipfile.ZipFile(file) as archive:
        names = sorted(archive.namelist())
        ok(f"zipfile lists {file.name}", len(names) == entries)
        ok(f"zipfile reads {file.name}", archive.testzip() is None)
    accepts("unzip", file, "-tqq")
    accepts("7z", file, "t", "-bso0", "-bsp0")
    accepts("bsdtar", file, "-tf")
    accepts("zip", file, "-T")
    lists("unzip", file, names, "-Z1")
    lists("bsdtar", file, names, "-tf")
    if shutil.which("java"):
        status, said = run("java", HERE / "ListZip.java", file)
        ok(f"java.util.zip reads {file.name}", status == 0 and len(said.splitlines()) == entries + 1, said)


def main():
    tool = sys.argv[1]
    with tempfile.TemporaryDirectory(prefix="glassine-large-") as folder:
        many, deep = pathlib.Path(folder) / "many.zip", pathlib.Path(folder) / "deep.zip"
        ok("70,000 scans are written", run(tool, "many", many, SCANS)[0] == 0)
        check(tool, many, SCANS + 2)
        if os.environ.get("GLASSINE_LARGE") == "1":
            ok("a scan of more than 4 GiB is written", run(tool, "deep", deep, DEEP)[0] == 0)
            check(tool, deep, 3)
        else:
            print("SKIP  a scan of more than 4 GiB (set GLASSINE_LARGE=1)")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
