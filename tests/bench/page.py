#!/usr/bin/env python3
"""How long the page takes, and how much memory: python3 tests/bench/page.py --program PATH [--items 400]

Makes a bundle of ITEMS items with 3 scans of 8 megapixels each (bench_scans, seeded), gathers them, writes the page
and a dispatch that fits an e-mail, and opens the page in Chromium: seconds, bytes, peak memory. Prints one line a
figure, "NAME VALUE UNIT", and as JSON with --json. Needs the target bench_scans, and for the browser what
tests/page needs. With 400 items it uses about 9 GB of disk while it runs.
"""
import argparse
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent


def timed(*words, environment=None):
    """Seconds, and the peak of its memory in MiB (Linux counts ru_maxrss in KiB)."""
    began = time.monotonic()
    child = subprocess.Popen([str(word) for word in words], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                             env=environment)
    out = child.stdout.read()
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit(f"{words}: {child.returncode}\n{out[-2000:]}")
    return time.monotonic() - began, usage.ru_maxrss / 1024, out


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--program", required=True, type=pathlib.Path)
    parser.add_argument("--items", type=int, default=400)
    parser.add_argument("--scan-limit", type=int, default=900)
    parser.add_argument("--folder", type=pathlib.Path, help="where the files go (default: the system's temporary folder)")
    parser.add_argument("--json", action="store_true")
    options = parser.parse_args()
    program = options.program.resolve()
    maker = program.parent / "tests" / "bench_scans"
    figures = {}

    def note(name, value, unit):
        figures[name] = {"value": round(value, 2), "unit": unit}
        if not options.json:
            print(f"{name:28} {value:12.2f} {unit}", flush=True)

    with tempfile.TemporaryDirectory(prefix="glassine-bench-", dir=options.folder) as name:
        folder = pathlib.Path(name)
        environment = {**os.environ, "XDG_CONFIG_HOME": name, "XDG_STATE_HOME": name, "SOURCE_DATE_EPOCH": "1700000000"}
        bundle, page = folder / "large.glassine", folder / "large.html"

        def call(*words):
            return timed(program, *words, environment=environment)

        if not maker.exists():
            sys.exit(f"{maker} is not there: cmake --build --preset release --target bench_scans")
        subprocess.run([maker, folder / "scans", str(options.items)], check=True, stdout=subprocess.DEVNULL)
        call("new", bundle, "title=Sorrel Islands", "--by", "Wren Alderby")
        call("enter", bundle, "design", "label=KF", "width_um=18000", "height_um=22000")
        call("enter", bundle, "plate", "label=1", "design=KF", "rows=12", "columns=10")
        call("enter", bundle, "contributor", "name=Odile Farrow")
        seconds, memory, _ = call("gather", bundle, folder / "scans")
        shutil.rmtree(folder / "scans")
        note("items", options.items, "")
        note("scans", options.items * 3, "")
        note("bundle", bundle.stat().st_size / 1e6, "MB")
        note("gather", seconds, "s")
        note("gather memory", memory, "MiB")
        seconds, memory, _ = call("to-html", bundle, "-o", page, "--scan-limit", str(options.scan_limit))
        note("page", seconds, "s")
        note("page for each scan", seconds / options.items / 3 * 1000, "ms")
        note("page memory", memory, "MiB")
        note("page size", page.stat().st_size / 1e6, "MB")
        labels = ",".join(f"B-{number + 1:04}" for number in range(min(20, options.items)))
        seconds, memory, _ = call("dispatch", bundle, "--to", "Odile Farrow", "--items", labels, "-o", f"{folder}/sent/",
                                  "--size-limit", "20M")
        note("dispatch of 20 within 20 MB", seconds, "s")
        note("dispatch memory", memory, "MiB")
        note("dispatch size", sum(file.stat().st_size for file in (folder / "sent").iterdir()) / 1e6, "MB")
        if (ROOT / "tests" / "page" / "node_modules").exists() and shutil.which("node"):
            done = subprocess.run(["node", ROOT / "tests" / "page" / "opening.mjs", page], capture_output=True, text=True)
            if done.returncode != 0:
                sys.exit(done.stderr[-2000:])
            for what, (value, unit) in json.loads(done.stdout).items():
                note(what, value, unit)
    if options.json:
        print(json.dumps(figures))


if __name__ == "__main__":
    main()
