#!/usr/bin/env python3
"""The bench: runs the rows that are named (all, where none is), and writes a table of them as Markdown.

usage: run.py --build FOLDER --folder FOLDER [--quick] [--runs N] [--keep] [--list] [ROW…]"""

import argparse
import os
import pathlib
import platform
import shutil
import subprocess
import sys
import time

from measuring import Bench, Failed
import growth
import pages
import plating
import scans
import sheets
import slips

ROWS = {**scans.ROWS, **pages.ROWS, **slips.ROWS, **plating.ROWS, **sheets.ROWS, **growth.ROWS}
VERSIONS = [("cp", ["cp", "--version"]), ("openssl", ["openssl", "version"]), ("zip", ["zip", "-v"]), ("unzip", ["unzip", "-v"]),
            ("bsdtar", ["bsdtar", "--version"]), ("7z", ["7z"]), ("jq", ["jq", "--version"]), ("sqlite3", ["sqlite3", "--version"]),
            ("python3", ["python3", "--version"]), ("borg", ["borg", "--version"]), ("restic", ["restic", "version"]),
            ("rsync", ["rsync", "--version"]), ("valgrind", ["valgrind", "--version"])]


def seconds(value):
    return f"{value * 1000:.1f} ms" if value < 1 else f"{value:.2f} s"


def first_line(name, command):
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    lines = [line.strip() for line in (done.stdout + done.stderr).splitlines() if any(c.isdigit() for c in line)]
    line = next((line for line in lines if name.lower() in line.lower() or "7-zip" in line.lower()), lines[0] if lines else "?")
    return line[:90]


def machine():
    cpu = next((line.split(":")[1].strip() for line in open("/proc/cpuinfo", encoding="utf-8") if line.startswith("model name")), "?")
    memory = next((int(line.split()[1]) for line in open("/proc/meminfo", encoding="utf-8") if line.startswith("MemTotal")), 0)
    return f"{os.cpu_count()} × {cpu}, {memory / 2**20:.0f} GiB of memory, {platform.system()} {platform.release()}"


def table(heads, rows):
    widths = [max(len(str(row[i])) for row in [heads, *rows]) for i in range(len(heads))]
    lines = ["| " + " | ".join(str(cell).ljust(width) for cell, width in zip(row, widths)) + " |" for row in [heads, *rows]]
    return [lines[0], "|" + "|".join("-" * (width + 2) for width in widths) + "|", *lines[1:]]


def write(bench, took, failures, load):
    lines = ["# Measured", "", f"{machine()}. Load when it began {load[0]:.1f}, at the end {os.getloadavg()[0]:.1f}. "
             f"Programs of a row ran in turn; ratios are of the best runs"
             f"{'. Small sizes: the aims are meant for the full ones' if bench.quick else ''}.", ""]
    lines += table(["work", "measured", "found", "aim", "met"],
                   [(*row[:4], "yes" if row[4] else "**no**") for row in bench.targets])
    lines += [""] + table(["work", "program", "best", "median", "processor", "peak memory"],
                          [(work, f.name, seconds(f.best), seconds(f.median), seconds(f.processor), f"{f.peak / 2**20:.0f} MiB")
                           for work, f in bench.times])
    lines += [""] + [f"- {text}" for text in bench.remarks]
    lines += [f"- **{name} failed**: {text}" for name, text in failures]
    lines += ["", "Versions: " + "; ".join(first_line(*each) for each in VERSIONS) + ".", "",
              "Time taken: " + ", ".join(f"{name} {took_:.0f} s" for name, took_ in took) + f"; {sum(t for _, t in took):.0f} s in all.", ""]
    text = "\n".join(lines)
    (bench.folder / "results.md").write_text(text, encoding="utf-8")
    return text


def clear(folder):
    """Data of other sizes, or of a run that was broken off, would be taken for what is to be made."""
    for path in folder.iterdir():
        if path.name != "results.md":
            shutil.rmtree(path) if path.is_dir() else path.unlink()


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--build", required=True)
    parser.add_argument("--folder", required=True)
    parser.add_argument("--quick", action="store_true", help="small sizes")
    parser.add_argument("--runs", type=int, default=0, help="rounds of each comparison")
    parser.add_argument("--keep", action="store_true", help="leave the data where they are, and use what is there")
    parser.add_argument("--list", action="store_true", help="name the rows")
    parser.add_argument("rows", nargs="*", metavar="ROW")
    options = parser.parse_args()
    if options.list:
        print("\n".join(f"{name:10} {row.__doc__.splitlines()[0]}" for name, row in ROWS.items()))
        return 0
    unknown = [name for name in options.rows if name not in ROWS]
    if unknown:
        parser.error(f"no row is called {unknown[0]}: {', '.join(ROWS)}")
    folder = pathlib.Path(options.folder).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    if not options.keep:
        clear(folder)
    (folder / "home").mkdir(exist_ok=True)
    bench = Bench(options.build, folder, options.quick, options.runs or (3 if options.quick else 5))
    took, failures, load = [], [], os.getloadavg()
    for name in options.rows or ROWS:
        began = time.monotonic()
        try:
            ROWS[name](bench)
        except Failed as failure:
            failures.append((name, str(failure)))
        took.append((name, time.monotonic() - began))
        bench.say("")
        write(bench, took, failures, load)  # after each row: a run that is broken off has shown something
    print(write(bench, took, failures, load))
    if not options.keep:
        clear(folder)
    return 1 if failures or not all(row[4] for row in bench.targets) else 0


if __name__ == "__main__":
    sys.exit(main())
