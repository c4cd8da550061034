"""Rows about the page: many scans in one file, in the program and in the browser."""

import json
import pathlib
import shutil

from measuring import Program
from scans import gone

OPENING = pathlib.Path(__file__).resolve().parent.parent / "page" / "opening.mjs"
LIMIT = 900
BESIDE = 120  # scans that ImageMagick makes smaller, to be compared with: all would take as long as all else here


def in_browser(bench, work, page):
    """What the page costs in Chromium, as remarks; needs what tests/page needs."""
    if not (OPENING.parent / "node_modules").exists() or not shutil.which("chromium") or not shutil.which("node"):
        bench.remark(f"{work}: not opened in a browser: chromium, node or the npm packages of tests/page are not there.")
        return
    found = json.loads(bench.make("node", OPENING, page))
    bench.remark(f"{work}, in Chromium: " + ", ".join(f"{what} {value:.0f} {unit}".strip() if unit != "s" else f"{what} {value:.1f} s"
                                                     for what, (value, unit) in found.items()) + ".")


def page(bench):
    """the page of 1,200 scans of 8 megapixels"""
    work, items = page.__doc__, bench.size(400, 4)
    bundle, scans, html, smaller = (bench.path(name) for name in ("page.glassine", "page-scans", "page.html", "page-smaller"))
    gone(bundle, scans, html, smaller)
    bench.make(bench.tool("bench_scans"), scans, items)
    bench.make(bench.glassine, "new", bundle, "title=Sorrel Islands", "--by", "Keeper")
    bench.ours("gather", bundle, scans)
    pictures = sorted(pathlib.Path(scans).iterdir())
    convert = shutil.which("convert")
    pathlib.Path(smaller).mkdir()
    programs = [Program("glassine to-html", [bench.glassine, "to-html", bundle, "-o", html, "--scan-limit", LIMIT],
                        before=lambda _: gone(html))]
    if convert:
        programs.append(Program("ImageMagick mogrify, some of them to the same sizes", [shutil.which("mogrify"), "-path", smaller, "-define",
                                                                        f"jpeg:size={LIMIT}x{LIMIT}", "-resize", f"{LIMIT}x{LIMIT}",
                                                                        "-quality", "86", *pictures[:BESIDE]]))
    found = list(bench.compare(work, programs, runs=1).values())
    if convert:
        beside = min(BESIDE, len(pictures))
        bench.target(work, "processor a scan, to-html ÷ ImageMagick",
                     found[0].processor / len(pictures) / (found[1].processor / beside), "at most 1.5 ×", 1.5)
    bench.target(work, "peak memory", found[0].peak / 2**20, "at most 200 MiB", 200, shown=f"{found[0].peak / 2**20:.0f} MiB")
    size = pathlib.Path(html).stat().st_size
    bench.remark(f"{work}: {len(pictures)} scans at {LIMIT} pixels are a page of {size / 1e6:.0f} MB; "
                 f"{found[0].processor / len(pictures) * 1000:.0f} ms of processor a scan.")
    in_browser(bench, work, html)
    gone(html, scans, smaller)
    fitting(bench, bundle, min(items, 20))
    gone(bundle)


def fitting(bench, bundle, items):
    """a dispatch of 60 scans within 20 MB"""
    folder = bench.path("page-sent")
    bench.ours("enter", bundle, "contributor", "name=Specialist")
    labels = ",".join(f"B-{number + 1:04}" for number in range(items))
    found = bench.compare(fitting.__doc__, [
        Program("glassine dispatch --size-limit 20M", [bench.glassine, "dispatch", bundle, "--to", "Specialist", "--items", labels,
                                                       "-o", f"{folder}/", "--size-limit", "20M"], before=lambda _: gone(folder))],
        runs=1)
    bytes_there = sum(path.stat().st_size for path in pathlib.Path(folder).iterdir())
    bench.target(fitting.__doc__, "size of all that is sent", bytes_there / 1e6, "at most 20 MB", 20, shown=f"{bytes_there / 1e6:.1f} MB")
    bench.remark(f"{fitting.__doc__}: {list(found.values())[0].processor:.1f} s of processor to find it.")
    gone(folder)


ROWS = {"page": page}
