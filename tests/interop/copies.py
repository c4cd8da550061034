#!/usr/bin/env python3
"""Stripped and reduced copies of pictures, against ImageMagick (pixels, profile, size) and exiftool (metadata).

Usage: copies.py IMAGE_COPY IMAGE_LOOK    (the programs built from tests/tools)

ImageMagick makes the pictures, exiftool writes metadata into them. Of a stripped copy ImageMagick must find the same
pixels, size, resolution and colour profile, and exiftool nothing but what pixels rest on. A reduced copy must look
like ImageMagick's own reduction of the same picture.
"""

import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

CONVERT = shutil.which("magick") or shutil.which("convert")
COMPARE = shutil.which("compare")

PICTURES = [
    ("plain.jpg", "-density 300 -units PixelsPerInch"),
    ("progressive.jpg", "-density 1200 -units PixelsPerInch -interlace JPEG"),
    ("grey.jpg", "-density 600 -units PixelsPerInch -colorspace Gray"),
    ("cmyk.jpg", "-density 600 -units PixelsPerInch -colorspace CMYK"),
    ("fine_colours.jpg", "-sampling-factor 4:4:4 -density 600 -units PixelsPerInch"),
    ("restarts.jpg", "-define jpeg:restart-interval=4"),
    ("plain.png", "-density 300 -units PixelsPerInch"),
    ("interlaced.png", "-density 472.44 -units PixelsPerCentimeter -interlace PNG"),
    ("palette.png", "-density 600 -units PixelsPerInch -colors 16 -type Palette"),
    ("deep.png", "-depth 16 -density 600 -units PixelsPerInch"),
    ("grey.png", "-colorspace Gray -density 600 -units PixelsPerInch"),
    ("clear.png", "-alpha set -channel A -evaluate multiply 0.5 +channel"),
    ("bits.png", "-colorspace Gray -threshold 50% -type bilevel"),
    ("plain.tif", "-density 1200 -units PixelsPerInch -compress None"),
    ("lzw.tif", "-density 472 -units PixelsPerCentimeter -compress LZW -define tiff:predictor=2"),
    ("big_endian.tif", "-density 300 -units PixelsPerInch -endian MSB -compress Zip -depth 16"),
    ("tiled.tif", "-density 300 -units PixelsPerInch -define tiff:tile-geometry=64x64"),
    ("strips.tif", "-density 300 -units PixelsPerInch -define tiff:rows-per-strip=1"),
    ("jpeg.tif", "-density 300 -units PixelsPerInch -compress JPEG"),
    ("grey.tif", "-colorspace Gray -density 600 -units PixelsPerInch"),
    ("bits.tif", "-colorspace Gray -threshold 50% -type bilevel -compress Group4"),
    ("TIFF64:long.tif", "-density 300 -units PixelsPerInch"),
]

# What exiftool writes, format by format (a JPEG carries all of it), with what is kept: how the picture is turned.
METADATA = ["-GPSLatitude=51.5", "-GPSLatitudeRef=N", "-GPSLongitude=1.25", "-GPSLongitudeRef=W",
            "-EXIF:SerialNumber=4711", "-EXIF:OwnerName=A. Keeper", "-EXIF:Artist=A. Keeper",
            "-EXIF:Copyright=A. Keeper", "-EXIF:ImageDescription=Sorrel Bay", "-EXIF:UserComment=Sorrel Bay",
            "-EXIF:Make=Box Camera", "-EXIF:Model=Model T 4711", "-EXIF:DateTimeOriginal=2024:05:01 10:00:00",
            "-XMP-photoshop:City=Sorrel Bay", "-XMP-dc:Creator=A. Keeper", "-XMP-aux:SerialNumber=4711",
            "-Orientation#=6"]
JPEG_ALONE = ["-IPTC:City=Sorrel Bay", "-IPTC:By-line=A. Keeper", "-Comment=Sorrel Bay"]
# Groups of exiftool's that say nothing beyond pixels, and the tags of IFD0 and of the PNG chunks that stay.
HARMLESS_GROUPS = {"SourceFile", "ExifTool", "System", "File", "Composite", "JFIF", "Adobe", "ICC_Profile",
                   "ICC-header", "ICC-view", "ICC-meas", "PNG", "PNG-pHYs", "PNG-cHRM", "ICC-chrm"}
HARMLESS_TAGS = {"Orientation", "XResolution", "YResolution", "ResolutionUnit", "ImageWidth", "ImageHeight",
                 "BitsPerSample", "Compression", "PhotometricInterpretation", "StripOffsets", "SamplesPerPixel",
                 "RowsPerStrip", "StripByteCounts", "PlanarConfiguration", "FillOrder", "Predictor", "TileWidth",
                 "TileLength", "TileOffsets", "TileByteCounts", "YCbCrSubSampling", "YCbCrPositioning",
                 "YCbCrCoefficients", "ReferenceBlackWhite", "ExtraSamples", "SampleFormat", "PageNumber", "T6Options",
                 "WhitePoint", "PrimaryChromaticities", "ColorMap", "JPEGTables", "SubfileType", "HalftoneHints",
                 "T4Options", "TransferFunction", "InkSet", "NumberofInks",
                 # what exiftool calls the strips of a picture that are JPEG streams
                 "PreviewImageStart", "PreviewImageLength", "PreviewImage"}
PRIVATE = ("Sorrel", "Keeper", "4711", "Box Camera", "2024")

passed = failed = 0


def run(*command):
    return subprocess.run([str(part) for part in command], check=True, capture_output=True, text=True).stdout


def check(what, holds, detail=""):
    global passed, failed
    if holds:
        passed += 1
    else:
        failed += 1
        print(f"FAIL {what} {detail}")


def identify(path, form="%w %h %x %y %U %[colorspace] %[profile:icc] %[orientation] %#\n"):
    """Size, resolution, kind of colours, profile, how it is turned, and the signature of the pixels."""
    return run("identify", "-quiet", "-format", form, f"{path}[0]").split()


def close(a, b):
    return len(a) == len(b) and all(x == y or abs(float(x) - float(y)) < 0.01 * float(x) for x, y in zip(a, b))


def told(path):
    """What exiftool finds that is neither pixels nor colours."""
    tags = json.loads(run("exiftool", "-j", "-G1", "-ee", "-u", "-a", path))[0]
    return {name: value for name, value in tags.items()
            if name.split(":")[0] not in HARMLESS_GROUPS and name.split(":")[-1] not in HARMLESS_TAGS}


def options_of(path):
    return next(options for name, options in PICTURES if name.split(":")[-1] == path.name)


def make(folder, name, options, source):
    path = folder / name.split(":")[-1]
    run(CONVERT, source, *options.split(), str(folder) + "/" + name if ":" not in name
        else f"TIFF64:{path}")
    return path


def with_metadata(path):
    extra = JPEG_ALONE if path.suffix == ".jpg" else []
    run("exiftool", "-q", "-overwrite_original", *METADATA, *extra, path)
    if path.suffix != ".tif":
        with open(path, "ab") as file:
            file.write(b"behind the end: Sorrel Bay 4711")


def check_strip(copy, folder, path):
    out = folder / ("stripped" + path.suffix)
    done = run(copy, "strip", path, out).strip()
    check(f"{path.name}: stripped", done == "done", done)
    raw = out.read_bytes()
    check(f"{path.name}: no word of it is left", not any(word.encode() in raw for word in PRIVATE),
          [word for word in PRIVATE if word.encode() in raw])
    check(f"{path.name}: exiftool finds nothing", told(out) == {}, told(out))
    before, after = identify(path), identify(out)
    check(f"{path.name}: turned the same", turn(path) == turn(out))
    check(f"{path.name}: pixels, size, resolution, profile, turn", before == after, f"{before} {after}")
    again = folder / ("again" + path.suffix)
    check(f"{path.name}: nothing is left to strip", run(copy, "strip", out, again).strip() == "nothing")
    check(f"{path.name}: and the copy of the copy is the same", again.read_bytes() == raw)


def turn(path):
    """EXIF's number for how a picture is turned; ImageMagick does not read it in PNG files."""
    return json.loads(run("exiftool", "-j", "-n", "-Orientation", path))[0].get("Orientation", 1)


def check_reduce(copy, folder, path, untouched):
    """`untouched`: the same picture before it got its metadata; ImageMagick turns some pictures while it reads them."""
    out, wanted = folder / "reduced.jpg", folder / "wanted.png"
    before = identify(path)
    for limit in (97, 40, 0):
        run(copy, "reduce", limit, path, out)
        width, height = int(before[0]), int(before[1])
        longer = max(width, height)
        size = (width, height) if not limit or longer <= limit else \
            (int(width * limit / longer + 0.5), int(height * limit / longer + 0.5))
        after = identify(out)
        check(f"{path.name} at {limit}: size", (int(after[0]), int(after[1])) == size, f"{after[:2]} {size}")
        check(f"{path.name} at {limit}: turned the same", turn(out) == turn(path))
        check(f"{path.name} at {limit}: nothing told", told(out) == {}, told(out))
        dpi = json.loads(run("exiftool", "-j", "-n", "-EXIF:XResolution", out))[0].get("XResolution")
        said = float(before[2]) * (2.54 if before[4] == "PixelsPerCentimeter" else 1)
        if "-density" in options_of(path):
            check(f"{path.name} at {limit}: resolution", dpi and abs(dpi - said * size[0] / width) < 0.02 * dpi,
                  f"{dpi} {said} {size}")
        if "cmyk" in path.name:
            continue  # how inks become light is not agreed on without a profile
        run(CONVERT, f"{untouched}[0]", "-background", "white", "-alpha", "remove", "-alpha", "off", "-filter", "box",
            "-resize", f"{size[0]}x{size[1]}!", "-strip", wanted)
        apart = subprocess.run([COMPARE, "-metric", "RMSE", wanted, out, "null:"], capture_output=True, text=True).stderr
        error = float(apart.split("(")[1].split(")")[0])
        check(f"{path.name} at {limit}: looks the same", error < 0.05, apart)


def main():
    if not CONVERT or not COMPARE or not shutil.which("exiftool"):
        print("SKIP: ImageMagick or exiftool is not installed")
        sys.exit(77)
    copy, look = map(pathlib.Path, sys.argv[1:3])
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        run(CONVERT, "-seed", "4", "-size", "160x120", "plasma:red-blue", "-depth", "8", "-set", "colorspace", "sRGB",
            folder / "source.png")
        for picture, options in PICTURES:
            path = make(folder, picture, options, folder / "source.png")
            plain = run(copy, "strip", path, folder / "untouched").strip()
            check(f"{path.name}: can be stripped", plain in ("nothing", "done"), plain)
            untouched = folder / ("untouched-" + path.name)
            shutil.copy(path, untouched)
            if not picture.startswith("TIFF64:"):  # exiftool does not write these
                with_metadata(path)
                check_strip(copy, folder, path)
            check_reduce(copy, folder, path, untouched)
            run(copy, "strip", path, folder / ("stripped" + path.suffix))
            found = json.loads(run(look, folder / ("stripped" + path.suffix)))
            check(f"{path.name}: tells nothing", not (found["place"] or found["serial"] or found["person"]), found)
    print(f"{passed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
