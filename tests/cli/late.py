#!/usr/bin/env python3
"""Libraries that are loaded when they are needed: program and library are linked with none of them; where one cannot be
loaded, what needs it says so in one line, with status 3, and does nothing; everything else goes on.

A file of the library's name that is no library, where the loader looks first, stands for one that is not there.

usage: late.py PROGRAM LIBRARY READELF NAME=FILE…    NAME is tiff, archive or xlsxwriter, FILE as the loader knows it"""
import os
import pathlib
import re
import struct
import subprocess
import sys
import tarfile
import tempfile

if len(sys.argv) < 5:
    sys.exit(__doc__)
program, library, readelf = sys.argv[1:4]
files = dict(pair.split("=") for pair in sys.argv[4:])
passed = failed = 0


def ok(what, condition, detail=""):
    global passed, failed
    passed, failed = passed + bool(condition), failed + (not condition)
    if not condition:
        print(f"FAIL {what}: {detail}")


def tiff():
    """A grey picture of 2 by 2 (TIFF 6.0, sections 3 and 4)."""
    tags = [(256, 3, 2), (257, 3, 2), (258, 3, 8), (259, 3, 1), (262, 3, 1), (273, 4, 8), (277, 3, 1), (278, 3, 2), (279, 4, 4)]
    entries = b"".join(struct.pack("<HHL" + ("HH" if kind == 3 else "L"), tag, kind, 1, value, *([0] if kind == 3 else []))
                       for tag, kind, value in tags)
    return b"II*\0" + struct.pack("<L", 12) + b"\0\x55\xaa\xff" + struct.pack("<H", len(tags)) + entries + bytes(4)


def run(folder, missing, *words):
    """The program without those libraries."""
    hidden = folder / "hidden"
    hidden.mkdir(exist_ok=True)
    for name, file in files.items():
        (hidden / file).unlink(missing_ok=True)
        if name in missing:
            (hidden / file).write_text("no library\n")
    environment = {**os.environ, "HOME": str(folder), "XDG_CONFIG_HOME": str(folder), "XDG_STATE_HOME": str(folder),
                   "LC_ALL": "C.UTF-8", "LD_LIBRARY_PATH": str(hidden), "GLASSINE_BY": "Wren"}
    return subprocess.run([program, *map(str, words)], cwd=folder, env=environment, capture_output=True, text=True)


def make(folder):
    (folder / "H-001 front.tif").write_bytes(tiff())
    steps = [("new", "s.glassine", "title=Sorrel", "--by", "Wren"), ("enter", "s.glassine", "item", "label=H-001"),
             ("attach", "s.glassine", "H-001", "H-001 front.tif"), ("unpack", "s.glassine", "unpacked")]
    for words in steps:
        done = run(folder, files, *words)
        ok(f"{words[0]} needs none of them", done.returncode == 0, done.stderr)
    with tarfile.open(folder / "unpacked.tar", "w") as archive:
        archive.add(folder / "unpacked", "unpacked")
    done = run(folder, [], "to-xlsx", "s.glassine", "-o", "known.xlsx")
    ok("to-xlsx with all of them", done.returncode == 0, done.stderr)


# What needs a library, what it says without it, and what it would have made.
NEEDS = [
    ("tiff", ("audit", "s.glassine", "--images"), "TIFF pictures cannot be read", None),
    ("tiff", ("to-html", "s.glassine", "-o", "s.html"), "TIFF pictures cannot be read", "s.html"),
    ("tiff", ("to-xlsx", "s.glassine", "--pictures", "-o", "p.xlsx"), "TIFF pictures cannot be read", "p.xlsx"),
    ("archive", ("intake", "unpacked.tar", "-o", "i.glassine"), "archives cannot be read", "i.glassine"),
    ("archive", ("from-xlsx", "s.glassine", "known.xlsx"), "workbooks cannot be read", None),
    ("xlsxwriter", ("to-xlsx", "s.glassine", "-o", "s.xlsx"), "workbooks cannot be written", "s.xlsx"),
]


def check_needs(folder):
    for name, words, said, made in NEEDS:
        before = sorted(path.name for path in folder.iterdir())
        bundle = (folder / "s.glassine").read_bytes()
        what = f"{words[0]} without {files[name]}"
        done = run(folder, [name], *words)
        ok(f"{what}: status", done.returncode == 3, f"{done.returncode} {done.stderr}")
        line = rf"[^\n]*{said}: the library {re.escape(files[name])} cannot be loaded \([^\n]*\)\. Install that library\n"
        ok(f"{what}: one line", re.fullmatch(line, done.stderr), done.stderr)
        ok(f"{what}: nothing is made", before == sorted(path.name for path in folder.iterdir()))
        ok(f"{what}: nothing is changed", bundle == (folder / "s.glassine").read_bytes())
        done = run(folder, [], *words)
        ok(f"{words[0]} with all of them", done.returncode == 0, f"{done.returncode} {done.stdout} {done.stderr}")
        ok(f"{words[0]} makes it", not made or (folder / made).exists())


def main():
    for binary in (program, library):
        told = subprocess.run([readelf, "-d", binary], capture_output=True, text=True, check=True).stdout
        needed = re.findall(r"\(NEEDED\)[^[]*\[([^]]+)\]", told)
        ok(f"{binary} says what it is linked with", needed)
        for file in files.values():
            ok(f"{binary} is not linked with {file}", file not in needed)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        make(folder)
        check_needs(folder)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


sys.exit(main())
