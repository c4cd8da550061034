#!/usr/bin/env python3
"""What a dispatch sends of the scans, and how it is answered with a sheet.

ImageMagick makes scans, exiftool writes places, names and serial numbers into them. In the dispatch exiftool must
find none of it, ImageMagick the same pixels, resolution and profile; and the page must hold no byte of it either.
Sizes are measured on disk. The sheet is read and filled in by Python's csv.
"""

import base64
import csv
import io
import json
import re
import shutil
import subprocess
import sys
import zipfile

from checks import Checks

PRIVATE = ("Sorrel Bay", "A. Keeper", "4711", "Box Camera")
METADATA = ["-GPSLatitude=51.5", "-GPSLatitudeRef=N", "-GPSLongitude=1.25", "-GPSLongitudeRef=W", "-EXIF:SerialNumber=4711",
            "-EXIF:OwnerName=A. Keeper", "-EXIF:Artist=A. Keeper", "-EXIF:ImageDescription=Sorrel Bay", "-EXIF:Make=Box Camera",
            "-XMP-photoshop:City=Sorrel Bay", "-XMP-dc:Creator=A. Keeper", "-XMP-aux:SerialNumber=4711"]
SCANS = {"front.jpg": 6, "back.png": 1, "detail.tif": 3}  # and EXIF's number for how each is turned
FORM = "%w %h %x %y %U %[colorspace] %#"


def run(*command):
    return subprocess.run([str(part) for part in command], check=True, capture_output=True, text=True).stdout


def make_scans(folder, convert):
    folder.mkdir()
    for number, (name, turn) in enumerate(SCANS.items()):
        path = folder / f"H-001 {name}"
        run(convert, "-size", "900x1200", "-seed", number + 1, "plasma:", "-density", 1200, "-units", "PixelsPerInch", path)
        run("exiftool", "-q", "-overwrite_original", *METADATA, f"-Orientation#={turn}", path)


def collection(checks, convert):
    bundle = checks.new("kept.glassine")
    make_scans(checks.folder / "scans", convert)
    checks.call("batch", bundle, text="""\
enter contributor "name=Odile Farrow"
enter design label=KF width_um=18000 height_um=22000
enter plate label=1 design=KF rows=12 columns=10
enter plate_state plate=1 name=early order=1
""")
    told = checks.json("gather", bundle, checks.folder / "scans")
    warned = [one["message"] for one in told["findings"] if one["weight"] == "warning"]
    checks.equal("gather says what each picture carries", [("place" in one, "serial" in one, "name" in one) for one in warned],
                 [(True, True, True)] * 3)
    checks.call("batch", bundle, text="""\
revise H-001.1 design=KF
enter item label=H-002 design=KF
enter item label=H-003 design=KF
""")
    return bundle


def pictures(path):
    """Name and bytes of every scan in a bundle, and of every picture in a page."""
    if path.suffix == ".html":
        found = re.findall(r'src="data:image/(\w+);base64,([^"]+)"', path.read_text(encoding="utf-8"))
        return [(f"picture{i}.{kind}", base64.b64decode(data)) for i, (kind, data) in enumerate(found)]
    with zipfile.ZipFile(path) as archive:
        return [(name.rsplit("/", 1)[1], archive.read(name)) for name in archive.namelist() if "/data/scans/" in name]


def exif(path, *tags):
    return json.loads(run("exiftool", "-j", "-n", *tags, path))[0]


def check_clean(checks, what, path):
    folder = checks.folder / f"looked-at-{what.replace(' ', '-')}"
    folder.mkdir()
    for name, data in pictures(path):
        (folder / name).write_bytes(data)
    told = run("exiftool", "-ee", "-u", "-a", "-G1", "-r", folder)
    found = [line for line in told.splitlines()
             if any(word in line for word in PRIVATE) or re.search(r"GPS|Serial|Owner|Artist|Creator |City", line)]
    checks.equal(f"{what}: exiftool finds no place, name or serial number", found, [])
    raw = b"".join(file.read_bytes() for file in folder.iterdir())
    checks.ok(f"{what}: no byte of it is left", not any(word.encode() in raw for word in PRIVATE))
    return folder


def check_pixels(checks, folder, scans):
    """The same pictures, by what ImageMagick says of their pixels."""
    def signs(paths):
        return sorted((run("identify", "-quiet", "-format", FORM, f"{path}[0]"), exif(path, "-Orientation").get("Orientation", 1))
                      for path in paths)
    checks.equal("ImageMagick: pixels, size and resolution are the originals', and how they are turned",
                 signs(folder.iterdir()), signs(scans.iterdir()))


def dispatch(checks, bundle, out, *more):
    return checks.json("dispatch", bundle, "--to", "Odile Farrow", "--items", "H-001,H-002,H-003", "-o", out, *more)["result"]


def check_scans(checks, bundle):
    folder = checks.folder
    result = dispatch(checks, bundle, f"{folder}/full/")
    checks.equal("by default every scan goes, without metadata", [result[k] for k in ("scans", "scans_cleared", "scans_reduced")], [3, 3, 0])
    sent = folder / "full" / "full.glassine"
    checks.call("audit", sent)
    clean = check_clean(checks, "the bundle", sent)
    check_pixels(checks, clean, folder / "scans")
    check_clean(checks, "the page beside it", folder / "full" / "open-me.html")
    with zipfile.ZipFile(sent) as archive:
        inner = next(name for name in archive.namelist() if name.endswith("/open-me.html"))
        checks.ok("the page inside is the page beside", archive.read(inner) == (folder / "full" / "open-me.html").read_bytes())
    listed = checks.json("list", bundle, "scan")["result"]["records"]
    checks.equal("both bundles know the copies", len(listed), 6)
    again = dispatch(checks, bundle, f"{folder}/again.glassine")
    checks.equal("sent again: no further copies", len(checks.json("list", bundle, "scan")["result"]["records"]), 6)
    checks.equal("and the same goes", again["scans_cleared"], 3)
    kept = dispatch(checks, bundle, f"{folder}/kept-metadata.glassine", "--keep-metadata")
    checks.equal("--keep-metadata: as they are", [kept["scans"], kept["scans_cleared"]], [3, 0])
    checks.equal("byte for byte", sorted(data for _, data in pictures(folder / "kept-metadata.glassine")),
                 sorted(path.read_bytes() for path in (folder / "scans").iterdir()))
    none = dispatch(checks, bundle, f"{folder}/none/", "--scans", "none")
    checks.equal("--scans none: none", [none["scans"], pictures(folder / "none" / "none.glassine")], [0, []])
    checks.equal("but the page has its pictures", len(pictures(folder / "none" / "open-me.html")), 3)
    check_clean(checks, "the page without scans", folder / "none" / "open-me.html")
    reduced = dispatch(checks, bundle, f"{folder}/reduced.glassine", "--scans", "reduced", "--scan-limit", "400")
    checks.equal("--scans reduced: three smaller ones", reduced["scans_reduced"], 3)
    look = check_clean(checks, "reduced scans", folder / "reduced.glassine")
    checks.equal("of at most 400 pixels, at the resolution that goes with it",
                 sorted(run("identify", "-format", "%w %h %x ", path) for path in look.iterdir()), ["300 400 400 "] * 3)
    checks.call("audit", folder / "reduced.glassine")


def check_size(checks, bundle):
    limits = []
    for number, size in enumerate((250_000, 400_000, 1_500_000)):
        out = checks.folder / f"size-{number}"
        result = dispatch(checks, bundle, f"{out}/", "--size-limit", f"{size // 1000}K")
        bytes_there = sum(path.stat().st_size for path in out.iterdir())
        checks.ok(f"{size} bytes: all of it fits ({bytes_there}, {result['scan_limit']} pixels)", bytes_there <= size)
        checks.equal("it says how much it is", result["bytes"], bytes_there)
        more = dispatch(checks, bundle, f"{out}-more/", "--scans", "reduced", "--scan-limit", str(result["scan_limit"] + 20))
        checks.ok("20 pixels more would not fit, or there are no more", more["bytes"] > size or result["scan_limit"] >= 1200,
                  more["bytes"])
        limits.append(result["scan_limit"])
    checks.ok("more room, larger pictures", limits == sorted(limits) and len(set(limits)) == 3, limits)
    refused = checks.run("dispatch", bundle, "--to", "Odile Farrow", "--items", "H-001", "-o", checks.folder / "tiny.glassine",
                         "--size-limit", "2K")
    checks.ok("too little room is refused, and nothing written", refused.status == 2 and "does not fit" in refused.err
              and not (checks.folder / "tiny.glassine").exists(), refused)
    page = checks.folder / "page.html"
    result = checks.json("to-html", bundle, "-o", page, "--size-limit", "300K")["result"]
    checks.ok(f"to-html: {page.stat().st_size} bytes at {result['scan_limit']} pixels", 200_000 < page.stat().st_size <= 300_000)


def check_sheet(checks, bundle):
    dispatch(checks, bundle, f"{checks.folder}/asked/", "--sheet")
    sheet = checks.folder / "asked" / "answers.csv"
    text = sheet.read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    checks.equal("the sheet has a row for each stamp", [row["stamp"] for row in rows], ["H-001", "H-002", "H-003"])
    rows[0].update({"positions": "R6/3", "state": "early", "how sure": "certain", "remark": "not 54, the \"other\" dot; or?"})
    rows[1].update({"positions": "column 4 but not row 2"})
    rows[2].update({"otherwise": "cannot tell", "remark": "too heavily cancelled"})

    def save(name, delimiter=","):
        path = checks.folder / name
        with open(path, "w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, rows[0].keys(), delimiter=delimiter)
            writer.writeheader()
            writer.writerows(rows)
        return path

    filled = save("filled.csv")
    checks.call("merge", bundle, filled, status=(0, 1))
    claims = checks.json("list", bundle, "claim")["result"]["records"]
    checks.equal("two claims", len(claims), 2)
    shown = json.dumps(checks.json("list", bundle, "claim"))
    checks.ok("as they were filled in", all(word in shown for word in ("certain", "probable", "not 54")), shown)
    checks.equal("one opinion", len(checks.json("list", bundle, "opinion")["result"]["records"]), 1)
    before = bundle.read_bytes()
    checks.call("merge", bundle, filled, status=(0, 1))
    checks.ok("taken in twice is once", bundle.read_bytes() == before)
    rows[1]["positions"] = "34"
    checks.call("merge", bundle, save("corrected.csv", ";"), status=(0, 1))
    after = checks.json("list", bundle, "claim")["result"]["records"]
    checks.equal("corrected, with semicolons: the same claims", sorted(one["record"] for one in after), sorted(one["record"] for one in claims))
    checks.ok("one says otherwise now", "34" in json.dumps(after))
    rows[0]["positions"] = "131"
    before = bundle.read_bytes()
    told = checks.call("merge", bundle, save("wrong.csv"), status=1)
    checks.ok("an impossible position is asked about, and nothing is written", "120" in told.out + told.err and bundle.read_bytes() == before, told)
    rows[0]["sent"] = rows[1]["sent"] = rows[2]["sent"] = "event/00000000-0000-4000-8000-000000000000"
    checks.call("merge", bundle, save("another.csv"), status=2)
    checks.ok("a sheet of another sending is refused", bundle.read_bytes() == before)


def check_opening(checks, bundle):
    """`glassine FILE` with openers that note what they are asked to open."""
    bin_folder = checks.folder / "bin"
    bin_folder.mkdir()
    for name, ends in (("noting-browser", 0), ("xdg-open", 0), ("broken-browser", 3)):
        path = bin_folder / name
        path.write_text(f'#!/bin/sh\nprintf "%s\\n" "$@" > "{checks.folder}/{name}.asked"\nexit {ends}\n')
        path.chmod(0o755)
    odd = checks.folder / "odd name #1 é.glassine"
    shutil.copyfile(bundle, odd)
    usual = {"PATH": f"{bin_folder}:/usr/bin:/bin", "XDG_CACHE_HOME": str(checks.folder / "cache")}

    def asked(name):
        path = checks.folder / f"{name}.asked"
        text = path.read_text() if path.exists() else ""
        path.unlink(missing_ok=True)
        return text.splitlines()

    def opened(*words, status=0, **environment):
        told = checks.call(*words, status=status, environment={**usual, **environment})
        return told.out + told.err

    told = opened(odd, BROWSER="noting-browser")
    page = re.search(r"written\s+(\S+)", told)
    checks.ok("it says where the page is", bool(page), told)
    found = asked("noting-browser")
    checks.ok("the browser is given that page", len(found) == 1 and found[0].startswith("file:///") and found[0].endswith(".html"), found)
    path = checks.folder / "cache" / "glassine"
    pages = list(path.iterdir())
    checks.ok("one page, readable by its owner alone", len(pages) == 1 and pages[0].stat().st_mode & 0o077 == 0, pages)
    opened(odd, BROWSER="noting-browser")
    checks.equal("shown again: in its place", len(list(path.iterdir())), 1)
    asked("noting-browser")
    opened(odd, BROWSER="missing-browser:broken-browser:noting-browser --new-window %s")
    checks.equal("one after the other, with their words", [len(asked("broken-browser")), asked("noting-browser")[:1]], [1, ["--new-window"]])
    opened(odd, BROWSER="")
    checks.equal("else the desktop's opener", len(asked("xdg-open")), 1)
    out = checks.folder / "a page %41.html"
    opened(odd, "-o", out, BROWSER="noting-browser")
    checks.ok("-o names the page, whatever its name", asked("noting-browser")[0].endswith("/a%20page%20%2541.html") and out.exists())
    told = opened(odd, BROWSER="broken-browser", PATH=str(checks.folder / "nothing-there"))
    checks.ok("without any browser it says so, and where the page is", "no browser could be started" in told and "written" in told, told)
    told = opened(odd, "list", status=2)
    checks.ok("a command comes before the bundle", "comes before" in told, told)
    told = opened(checks.folder / "scans" / "H-001 back.png", status=2, BROWSER="noting-browser")
    checks.equal("what is no bundle is refused, and nothing opened", asked("noting-browser"), [])


def main():
    checks = Checks(__doc__.splitlines()[0])
    convert = shutil.which("magick") or shutil.which("convert")
    if checks.tool("exiftool", "what a dispatch sends of the scans") and checks.tool("identify", "the same"):
        bundle = collection(checks, convert)
        check_scans(checks, bundle)
        check_size(checks, bundle)
        check_sheet(checks, bundle)
        check_opening(checks, bundle)
    checks.finish()


if __name__ == "__main__":
    sys.exit(main())
