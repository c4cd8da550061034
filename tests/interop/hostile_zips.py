#!/usr/bin/env python3
"""What other programs make of the files in testvectors/bad/ whose ZIP structure is wrong, beside what this one does:
spec/other-programs.md holds the table.

usage: hostile_zips.py --program GLASSINE           checks the table
       hostile_zips.py --program GLASSINE --write   writes it anew

Where another version of a program is installed than the table was made with, its column is left out, loudly. Python is
the distribution's own where there is one, whichever comes first on the PATH."""
import argparse
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import warnings
import zipfile
import zlib

ROOT = pathlib.Path(__file__).resolve().parents[2]
PAGE = ROOT / "spec" / "other-programs.md"
PYTHON = "/usr/bin/python3"
NAMES = {"unzip": "Info-ZIP UnZip", "bsdtar": "bsdtar (libarchive)", "7z": "7-Zip", "Python": "zipfile of Python",
         "Java": "java.util.zip.ZipFile of OpenJDK"}
COLUMNS = list(NAMES)

HEAD = """# What other programs make of hostile files

This page is not normative. It records, for each file of `testvectors/bad/` whose ZIP structure is wrong on purpose, what some programs that read ZIP files make of it, beside what `glassine audit` says. `tests/interop/hostile_zips.py --write` makes it, and the tests run it again.

The entry says how many files a program lists, and whether it reads all of them:

- **N**: N files, all read, nothing to complain of.
- **N, warns**: N files, all read, with a warning.
- **N, fails**: N files are listed, and at least one cannot be read.
- **other names**: the names that it lists are not, byte by byte, those of the directory: it takes them from elsewhere, cuts them off, or shows characters otherwise.
- **refuses**: nothing is listed.

Where programs differ in a row, the file shows different people different things. That is why a bundle is refused as a whole, or opened at its last edition that is whole, wherever its structure is in doubt. Nothing here is a fault of these programs: most of these files are sound ZIP files of a kind that a bundle is not.

"""


def run(*words):
    return subprocess.run([str(word) for word in words], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, env={**os.environ, "LC_ALL": "C.UTF-8"}, timeout=60)


def verdict(names, said, status):
    """`names`: those of the directory; None where they are not known."""
    if not said:
        return "refuses"
    other = names is not None and sorted(said) != sorted(names)
    return f"{len(said)}{', other names' if other else ''}{status}"


def lines_of(data):
    return data.decode(errors="surrogateescape").splitlines()


def by_unzip(path, names):
    listed = run("unzip", "-Z1", path)
    said = lines_of(listed.stdout) if listed.returncode in (0, 1) else []
    return verdict(names, said, {0: "", 1: ", warns"}.get(run("unzip", "-tqq", path).returncode, ", fails"))


def by_bsdtar(path, names):
    whole = run("bsdtar", "-xOf", path).returncode
    said = subprocess.run(["bsdtar", "-tf", str(path)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                          env={**os.environ, "LC_ALL": "C.UTF-8"})
    return verdict(names, lines_of(said.stdout), ", fails" if whole else "")


def by_7z(path, names):
    listed = run("7z", "l", "-slt", "-p-", path).stdout.split(b"----------", 1)
    said = [line[7:] for line in lines_of(listed[-1]) if line.startswith("Path = ")] if len(listed) > 1 else []
    done = run("7z", "t", "-p-", path)
    return verdict(names, said, ", fails" if done.returncode > 1 else ", warns" if b"WARNING" in done.stdout.upper() else "")


def by_python(path, names):
    try:
        archive = zipfile.ZipFile(path)
    except (zipfile.BadZipFile, NotImplementedError, UnicodeDecodeError, OSError, ValueError):
        return "refuses"
    said = [info.filename for info in archive.infolist()]
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        try:
            broken = archive.testzip()
        except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, zlib.error):
            broken = "something"
    return verdict(names, said, ", fails" if broken else ", warns" if told else "")


def all_by_java(paths, names):
    done = lines_of(run("java", "-Dstdout.encoding=UTF-8", ROOT / "tests" / "interop" / "TryZip.java", *paths).stdout)
    said = {line.split("\t")[0]: line.split("\t")[1:] for line in done}
    return [verdict(names[path], said[str(path)][1:], said[str(path)][0]) for path in paths]


def names_of(path):
    """The names in the directory as they stand, by Python's zipfile; None where it finds no directory."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return [info.orig_filename for info in zipfile.ZipFile(path).infolist()]
    except (zipfile.BadZipFile, NotImplementedError, UnicodeDecodeError, OSError, ValueError):
        return None


def version_of(column):
    words = {"unzip": ["unzip", "-v"], "bsdtar": ["bsdtar", "--version"], "7z": ["7z"], "Java": ["java", "-version"]}
    if column == "Python":
        return f"{NAMES[column]} %d.%d.%d" % sys.version_info[:3]
    if not shutil.which(words[column][0]):
        return None
    text = run(*words[column]).stdout.decode(errors="replace")
    patterns = {"unzip": r"UnZip ([\d.]+)", "bsdtar": r"bsdtar ([\d.]+)", "7z": r"7-Zip [^:]*?([\d.]+) :",
                "Java": r'openjdk version "(\d+)'}
    found = re.search(patterns[column], text)
    return f"{NAMES[column]} {found[1]}" if found else None


def ours(program, path):
    """What the audit says: refused, or opened at which edition, and the codes."""
    done = subprocess.run([program, "audit", "--json", path], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    report = json.loads(done.stdout)
    faults = [*report["findings"], *([report["error"]] if report.get("error") else [])]
    codes = sorted({one["rule"] for one in faults if one.get("rule")})
    opened = f"edition {report['edition']}" if report.get("edition") else "refused"
    return f"{opened}: {', '.join(codes)}" if codes else "read as another program's archive"


def table(program, paths):
    names = {path: names_of(path) for path in paths}
    there = {column for column in COLUMNS if version_of(column)}
    java = all_by_java(paths, names) if "Java" in there else ["?"] * len(paths)
    for path, by_java in zip(paths, java):
        cells = [by(path, names[path]) if column in there else "?"
                 for column, by in zip(COLUMNS, (by_unzip, by_bsdtar, by_7z, by_python))]
        yield path.stem, [ours(program, path), *cells, by_java]


def recorded(text):
    versions = dict(re.findall(r"^- (\w+): (.+)$", text, re.MULTILINE))
    rows = re.findall(r"^\| `(.+?)` \| (.+) \|$", text, re.MULTILINE)
    return versions, {name: cells.split(" | ") for name, cells in rows}


def check(program, paths):
    versions, rows = recorded(PAGE.read_text())
    wrong = [name for name in {path.stem for path in paths} ^ set(rows)]
    for name in wrong:
        print(f"FAIL  {name} is in testvectors/bad/ or in the table, and not in both")
    same = [column for column in COLUMNS if version_of(column) == versions.get(column)]
    for column in COLUMNS:
        if column not in same:
            print(f"SKIP  {column}: the table was made with {versions.get(column)}, here is {version_of(column)}")
    columns = ["glassine", *COLUMNS]
    for name, found in table(program, paths):
        for column, cell, wanted in zip(columns, found, rows.get(name, found)):
            if cell != wanted and (column == "glassine" or column in same):
                wrong.append(name)
                print(f"FAIL  {name}: {column}: {cell}, and the table says {wanted}")
    print(f"{len(paths) - len(set(wrong))} passed, {len(set(wrong))} failed")
    return 1 if wrong else 0


def write(program, paths):
    lines = [HEAD + "Made with:\n"]
    lines += [f"- {column}: {version_of(column)}" for column in COLUMNS]
    lines += ["", "| file | glassine | " + " | ".join(COLUMNS) + " |", "| --- " * (len(COLUMNS) + 2) + "|"]
    rows = list(table(program, paths))
    lines += [f"| `{name}` | " + " | ".join(cells) + " |" for name, cells in rows]
    PAGE.write_text("\n".join(lines) + "\n")
    return 0


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--program", required=True, type=pathlib.Path)
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    paths = sorted(path for pattern in ("C*", "L00[67]*") for path in (ROOT / "testvectors/bad").glob(pattern + ".glassine"))
    return (write if given.write else check)(given.program.resolve(), paths)


if __name__ == "__main__":
    if os.path.exists(PYTHON) and not os.path.samefile(PYTHON, sys.executable):
        os.execv(PYTHON, [PYTHON, *sys.argv])
    sys.exit(main())
