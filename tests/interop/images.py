#!/usr/bin/env python3
"""Sizes, resolutions and hidden places of pictures, as ImageMagick and exiftool report them and as we do.

Usage: images.py IMAGE_LOOK    (the program built from tests/tools/image_look.c)

ImageMagick (over libjpeg, libpng, libtiff) makes the pictures, exiftool writes metadata into them; both are asked what
the files say, and image_look must agree.
"""

import json
import math
import pathlib
import shutil
import subprocess
import sys
import tempfile

CONVERT = shutil.which("magick") or shutil.which("convert")

# name, what ImageMagick is told
PICTURES = [
    ("plain.jpg", "-density 300 -units PixelsPerInch"),
    ("centimetres.jpg", "-density 472 -units PixelsPerCentimeter"),
    ("ratio.jpg", "-density 1 -units Undefined"),
    ("progressive.jpg", "-density 1200 -units PixelsPerInch -interlace JPEG"),
    ("grey.jpg", "-density 600 -units PixelsPerInch -colorspace Gray"),
    ("cmyk.jpg", "-density 600 -units PixelsPerInch -colorspace CMYK"),
    ("uneven.jpg", "-density 300x600 -units PixelsPerInch"),
    ("plain.png", "-density 300 -units PixelsPerInch"),
    ("fine.png", "-density 1200 -units PixelsPerInch"),
    ("screen.png", "-density 72 -units PixelsPerInch"),
    ("interlaced.png", "-density 472.44 -units PixelsPerCentimeter -interlace PNG"),
    ("palette.png", "-density 600 -units PixelsPerInch -colors 16 -type Palette"),
    ("plain.tif", "-density 1200 -units PixelsPerInch -compress None"),
    ("centimetres.tif", "-density 472 -units PixelsPerCentimeter -compress LZW"),
    ("big_endian.tif", "-density 300 -units PixelsPerInch -endian MSB -compress Zip"),
    ("tiled.tif", "-density 300 -units PixelsPerInch -define tiff:tile-geometry=64x64"),
    ("strips.tif", "-density 300 -units PixelsPerInch -define tiff:rows-per-strip=1"),
    ("turned.tif", "-density 300 -units PixelsPerInch -orient RightTop"),
    ("TIFF64:long.tif", "-density 300 -units PixelsPerInch"),
    ("plain.gif", ""),
]

# what exiftool writes; what is then told: place, serial number, person
METADATA = [
    (["-GPSLatitude=51.5", "-GPSLatitudeRef=N"], (True, False, False)),
    (["-GPSLongitude=1.25", "-GPSLongitudeRef=W"], (True, False, False)),
    (["-GPSMapDatum=WGS-84"], (False, False, False)),
    (["-EXIF:SerialNumber=4711"], (False, True, False)),
    (["-EXIF:LensSerialNumber=4711"], (False, True, False)),
    (["-EXIF:OwnerName=A. Keeper"], (False, False, True)),
    (["-EXIF:Artist=A. Keeper"], (False, False, True)),
    (["-EXIF:Copyright=A. Keeper"], (False, False, True)),
    (["-EXIF:ImageDescription=a stamp"], (False, False, False)),
    (["-XMP-exif:GPSLatitude=51.5"], (True, False, False)),
    (["-XMP-photoshop:City=Sorrel Bay"], (True, False, False)),
    (["-XMP-iptcExt:LocationShownCity=Sorrel Bay"], (True, False, False)),
    (["-XMP-dc:Creator=A. Keeper"], (False, False, True)),
    (["-XMP-aux:SerialNumber=4711"], (False, True, False)),
    (["-XMP-dc:Title=City and State"], (False, False, False)),
    (["-IPTC:City=Sorrel Bay"], (True, False, False)),
    (["-IPTC:Sub-location=The quay"], (True, False, False)),
    (["-IPTC:By-line=A. Keeper"], (False, False, True)),
    (["-IPTC:Caption-Abstract=a stamp"], (False, False, False)),
]

failures = 0


def run(*command):
    return subprocess.run([str(part) for part in command], check=True, capture_output=True, text=True).stdout


def check(what, got, expected):
    global failures
    if got != expected:
        failures += 1
        print(f"{what}: {got!r}, expected {expected!r}")


def look(tool, path):
    return json.loads(run(tool, path))


def exif(path):
    return json.loads(run("exiftool", "-j", "-n", "-G1", path))[0]


def identify(path):
    """Width, height and resolution in hundredths of a dot per inch, as ImageMagick reads them."""
    width, height, x, y, unit = run("identify", "-format", "%w %h %x %y %U\n", f"{path}[0]").split()
    per_inch = {"PixelsPerInch": 1, "PixelsPerCentimeter": 2.54}.get(unit, 0)
    return int(width), int(height), float(x) * per_inch * 100, float(y) * per_inch * 100


def near(got, expected):
    """ImageMagick prints a few digits only: 0.01 dots per inch may be lost."""
    return math.isclose(got, expected, abs_tol=1.5)


def check_picture(tool, path):
    ours, said = look(tool, path), exif(path)
    width, height, x, y = identify(path)
    check(f"{path.name}: size by ImageMagick", (ours["width"], ours["height"]), (width, height))
    size = [next(said[group] for group in said if group.endswith(":" + name)) for name in ("ImageWidth", "ImageHeight")]
    check(f"{path.name}: size by exiftool", [ours["width"], ours["height"]], size)
    media = said["File:MIMEType"].replace("x-tiff-big", "tiff")  # image/tiff is registered for both
    check(f"{path.name}: media type by exiftool", ours["media"], media)
    check(f"{path.name}: sound", ours.get("trouble"), None)
    if path.suffix == ".gif":
        return
    resolution = f"{path.name}: {ours['dpi_x']} x {ours['dpi_y']} by ImageMagick, {x} x {y}"
    check(resolution, near(ours["dpi_x"], x) and near(ours["dpi_y"], y), True)
    if "IFD0:Orientation" in said:
        check(f"{path.name}: turned, by exiftool", ours["orientation"], said["IFD0:Orientation"])
    check_resolution_by_exiftool(path, ours, said)


def check_resolution_by_exiftool(path, ours, said):
    if path.suffix == ".png":
        expected = [round(said["PNG-pHYs:PixelsPerUnit" + axis] * 2.54) for axis in "XY"]
    else:
        group, units = ("JFIF", {1: 100, 2: 254}) if path.suffix == ".jpg" else ("IFD0", {2: 100, 3: 254})
        factor = units.get(said[f"{group}:ResolutionUnit"], 0)
        expected = [round(said[f"{group}:{axis}Resolution"] * factor) for axis in "XY"]
    check(f"{path.name}: resolution by exiftool", [ours["dpi_x"], ours["dpi_y"]], expected)


def check_metadata(tool, picture, folder):
    for number, (arguments, expected) in enumerate(METADATA):
        path = folder / f"{picture.stem}-{number}{picture.suffix}"
        run("exiftool", "-q", "-q", "-m", "-o", path, *arguments, picture)
        ours = look(tool, path)
        check(f"{picture.name} {' '.join(arguments)}", (ours["place"], ours["serial"], ours["person"]), expected)
        check(f"{picture.name} {' '.join(arguments)}: sound", ours.get("trouble"), None)


def check_stripped(tool, picture, folder):
    path = folder / f"stripped{picture.suffix}"
    run("exiftool", "-q", "-q", "-m", "-o", path, *[argument for arguments, _ in METADATA for argument in arguments], picture)
    ours = look(tool, path)
    check(f"{picture.name} with everything", (ours["place"], ours["serial"], ours["person"]), (True,) * 3)
    run("exiftool", "-q", "-q", "-m", "-overwrite_original", "-all=", "-CommonIFD0=", path)
    ours = look(tool, path)
    check(f"{picture.name} stripped", (ours["place"], ours["serial"], ours["person"]), (False,) * 3)


def check_cuts(tool, picture, folder):
    """What ImageMagick calls damaged, cut where its pixels are, we call damaged too."""
    content = picture.read_bytes()
    for part in (0.5, 0.9, 0.99):
        path = folder / f"cut{picture.suffix}"
        path.write_bytes(content[: int(len(content) * part)])
        complains = subprocess.run([CONVERT, str(path), "null:"], capture_output=True, text=True)
        check(f"{picture.name} cut: ImageMagick complains", bool(complains.stderr), True)
        check(f"{picture.name} cut: so do we", "trouble" in look(tool, path), True)


def main():
    tool = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory(prefix="glassine-images-") as name:
        folder = pathlib.Path(name)
        for number, (target, arguments) in enumerate(PICTURES):
            prefix, _, file = target.rpartition(":")
            path = folder / file
            run(CONVERT, "-seed", "1", "-size", f"{211 + number}x{160 - number}", "plasma:tan-green", *arguments.split(),
                f"{prefix}:{path}" if prefix else path)
            check_picture(tool, path)
        for picture in ("plain.jpg", "plain.png", "plain.tif"):
            check_metadata(tool, folder / picture, folder)
            check_stripped(tool, folder / picture, folder)
        for picture in ("plain.jpg", "plain.png", "plain.tif"):
            check_cuts(tool, folder / picture, folder)
    print(f"{failures} differences")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
