#!/usr/bin/env python3
"""Which lines of libformat/ the tests run, by what gcov counted in a build with --coverage.

    measure.py BUILD_FOLDER [--least PERCENT] [--show [FILE…]]

Prints coverage by file and layer, and of what sort the lines are that never ran (left-out.md says what stays, and
why); with --show these lines, of all files or of each FILE (below libformat/). Fails under PERCENT of all lines."""
import argparse
import collections
import gzip
import json
import pathlib
import re
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
LIBRARY = ROOT / "libformat"

# What a stretch of lines that never ran is about, by what stands in it; the first that fits.
SORTS = {
    "memory runs out": r"gl_(?:bundle_)?fail_memory|ENOMEM|NO_MEMORY|[.>]failed = ",
    "the system fails": r"gl_fail_system|gl_fault_reading|gl_fail_making|GLASSINE_SYSTEM|errno|return code;|rmdir|gl_file_remove",
    "a failure is handed on": r"^(?:\s*(?:return (?:status|false|NULL|true|0|-1|GL_NONE|GL_NO_SPAN|\w+\.status);|break;|continue;"
                              r"|goto \w+;|[{}]|(?:gl|glassine|free)\w*\([^;]*\);|\*?error = \w+;|if \(error\))\s*)+$",
}
OTHER = "anything else"


def counts(build):
    """{path below libformat/: {line: times}}, of the library's own objects, which tests and program share."""
    lines = collections.defaultdict(lambda: collections.defaultdict(int))
    notes = [note for note in (build.resolve() / "CMakeFiles").rglob("*.gcno")
             if "/libformat/" in note.as_posix() and note.parent.parent.parent.name.startswith("gl_")]
    with tempfile.TemporaryDirectory() as folder:
        for at in range(0, len(notes), 40):
            subprocess.run(["gcov", "--json-format", "--hash-filenames", *map(str, notes[at: at + 40])], cwd=folder, check=True,
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        for made in pathlib.Path(folder).glob("*.gcov.json.gz"):
            for file in json.loads(gzip.decompress(made.read_bytes()))["files"]:
                path = pathlib.Path(file["file"]).resolve()
                if path.is_relative_to(LIBRARY):
                    for line in file["lines"]:
                        lines[path.relative_to(LIBRARY).as_posix()][line["line_number"]] += line["count"]
    return lines


def stretches(file):
    """Lines that never ran, those together between which none ran."""
    together = []
    for line, times in sorted(file.items()):
        if times and together:
            yield together
            together = []
        elif not times:
            together.append(line)
    if together:
        yield together


def sort_of(text):
    return next((sort for sort, pattern in SORTS.items() if re.search(pattern, text)), OTHER)


def tell_left_out(lines, show):
    sorts = collections.Counter()
    for path, file in sorted(lines.items()):
        text = (LIBRARY / path).read_text(encoding="utf-8").splitlines()
        for together in stretches(file):
            sort = sort_of("\n".join(text[line - 1] for line in together))
            sorts[sort] += len(together)
            if show is not None and (path in show or not show):
                print(*(f"{path}:{line}: [{sort}] {text[line - 1].strip()}" for line in together), sep="\n")
    print("\nlines that never ran, where")
    for sort in [*SORTS, OTHER]:
        print(f"{sorts[sort]:6}  {sort}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("--least", type=float, default=95.0, help="per cent of all lines")
    parser.add_argument("--show", nargs="*", metavar="FILE")
    arguments = parser.parse_args()
    lines = counts(arguments.build)
    layers = collections.defaultdict(lambda: [0, 0])
    for path, file in sorted(lines.items()):
        ran = sum(times > 0 for times in file.values())
        for name in (path.split("/")[0], "all of libformat/"):
            layers[name][0] += ran
            layers[name][1] += len(file)
        print(f"{100 * ran / len(file):6.1f} %  {ran:5} of {len(file):5}  {path}")
    tell_left_out(lines, arguments.show)
    print()
    for name, (ran, every) in layers.items():
        print(f"{100 * ran / every:6.1f} %  {ran:5} of {every:5}  {name}")
    ran, every = layers["all of libformat/"]
    good = 100 * ran >= arguments.least * every
    print("1 passed, 0 failed" if good else f"0 passed, 1 failed: less than {arguments.least} %")
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
