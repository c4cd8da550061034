#!/usr/bin/env python3
"""A bundle saved sixty times is a ZIP file to every other program, a BagIt bag when unpacked, and every earlier
edition is a prefix of it that stands on its own.

Referees: Info-ZIP unzip and zip, bsdtar (libarchive), 7-Zip, Python's zipfile, java.util.zip.ZipFile, yauzl (npm);
sha256sum for the manifests (RFC 8493, section 2.1.3).
"""

import os
import zipfile

import bundle_file
from checks import HERE, Checks, outside
from pictures import png

SAVES = 60


def grow(checks):
    """The bundle, and what `list` said of its items after each save."""
    bundle = checks.new("grown.glassine")
    listed, label = {1: checks.call("list", bundle, "item").out}, ""
    for save in range(2, SAVES + 1):
        if save % 3 == 0:
            picture = checks.folder / f"{save} front.png"
            picture.write_bytes(png(save, height=30 + save * 40))
            checks.call("attach", bundle, label, picture, "side=front")
        elif save % 7 == 0:
            checks.call("revise", bundle, label, f"title=Füchsgrün, {save}")
        else:
            label = f"H-{save:03}"
            checks.call("enter", bundle, "item", f"label={label}", "kind=single", f"note=Entered at save {save}")
        listed[save] = checks.call("list", bundle, "item").out
    return bundle, listed


def entries(path):
    """{name: (size, crc)} by Python's zipfile, every byte read and checked."""
    with zipfile.ZipFile(path) as archive:
        if archive.testzip():
            raise zipfile.BadZipFile(archive.testzip())
        return {info.filename: (info.file_size, info.CRC) for info in archive.infolist()}


def listing(text):
    """What ListZip.java and list_zip.mjs print: {file: {name: (size, crc)}}"""
    files, current = {}, None
    for line in text.splitlines():
        parts = line.rsplit(" ", 2)
        if line.startswith("/"):
            current = files.setdefault(line, {})
        elif len(parts) == 3:
            current[parts[0]] = (int(parts[1]), int(parts[2], 16))
    return files


def check_testers(checks, what, files):
    """Programs that test an archive, and list its names."""
    commands = {
        "unzip": (["unzip", "-tqq"], ["unzip", "-Z1"]),
        "zip": (["zip", "-T"], None),
        "bsdtar": (["bsdtar", "-tf"], ["bsdtar", "-tf"]),
        "7z": (["7z", "t", "-bso0", "-bsp0"], None),
    }
    for tool, (test, names) in commands.items():
        if not checks.tool(tool, f"{what}: {tool}"):
            continue
        wrong = []
        for file in files:
            done = outside(*test, file)
            if done.returncode != 0:
                wrong.append(f"{file}: {done.stdout}")
            elif names and sorted(outside(*names, file).stdout.splitlines()) != sorted(entries(file)):
                wrong.append(f"{file}: lists other names")
        checks.ok(f"{what}: {' '.join(test)} accepts {len(files)}", not wrong, "\n".join(wrong[:3]))


def check_readers(checks, what, files):
    """Libraries that read every entry: the same names, sizes and CRCs as Python's zipfile."""
    wanted = {str(file): entries(file) for file in files}
    checks.ok(f"{what}: zipfile reads {len(files)}", all(wanted.values()))
    if checks.tool("java", f"{what}: java.util.zip"):
        done = outside("java", HERE / "ListZip.java", *files)
        checks.ok(f"{what}: java.util.zip reads the same", listing(done.stdout) == wanted, done.stdout[-600:])
    if checks.node_package("yauzl", f"{what}: yauzl"):
        done = outside("node", HERE / "list_zip.mjs", *files)
        checks.ok(f"{what}: yauzl reads the same", listing(done.stdout) == wanted, done.stdout[-600:])


def check_bag(checks, what, bundle):
    folder = checks.folder / f"unzipped-{what.replace(' ', '-')}"
    with zipfile.ZipFile(bundle) as archive:
        archive.extractall(folder)
    (base,) = folder.iterdir()
    listed = {"tagmanifest-sha256.txt"}
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        done = outside("sha256sum", "--quiet", "--strict", "-c", manifest, cwd=base)
        checks.ok(f"{what}: sha256sum -c {manifest}", done.returncode == 0, done.stdout)
        listed |= {line.split("  ", 1)[1] for line in (base / manifest).read_text().splitlines()}
    there = {str(path.relative_to(base)) for path in base.rglob("*") if path.is_file()}
    checks.equal(f"{what}: every file is listed, and the reverse", there ^ listed, set())
    oxum = (base / "bag-info.txt").read_text().split("Payload-Oxum: ")[1].split()[0]
    payload = [path for path in (base / "data").rglob("*") if path.is_file()]
    checks.equal(f"{what}: Payload-Oxum", oxum, f"{sum(p.stat().st_size for p in payload)}.{len(payload)}")
    by_program = checks.folder / f"unpacked-{what.replace(' ', '-')}"
    by_program.mkdir()
    checks.call("unpack", bundle, by_program)
    done = outside("diff", "-r", folder, by_program)
    checks.ok(f"{what}: `unpack` gives what zipfile extracts", done.returncode == 0, done.stdout)


def check_editions(checks, what, bundle, listed):
    wrong = {number for number in listed if checks.call("list", f"{bundle}#{number}", "item").out != listed[number]}
    checks.equal(f"{what}: FILE#1 … FILE#{SAVES} list what each edition held", wrong, set())
    extracted = checks.folder / f"extracted-{what.replace(' ', '-')}.glassine"
    checks.call("extract", f"{bundle}#{SAVES // 2}", "-o", extracted)
    checks.equal(f"{what}: an extracted edition lists the same", checks.call("list", extracted, "item").out,
                 listed[SAVES // 2])
    told = checks.call("audit", extracted, status=1)
    checks.ok(f"{what}: an extracted edition is sound, and known to be older than the copy it came from",
              "0 faults, 1 warning." in told.out and f"edition {SAVES} was saved on this computer" in told.err.replace("\n", " "),
              told)


def check_prefixes(checks, bundle, listed):
    ends = bundle_file.edition_ends(bundle)
    checks.equal("every edition can be reached by walking back", sorted(ends), list(range(1, SAVES + 1)))
    data, prefixes = bundle.read_bytes(), []
    for number, end in ends.items():
        prefixes.append(checks.folder / f"prefix-{number:02}.zip")
        prefixes[-1].write_bytes(data[:end])
    check_testers(checks, "prefixes", prefixes)
    check_readers(checks, "prefixes", prefixes)
    wrong = [path.name for path in prefixes
             if checks.call("list", path, "item").out != listed[int(path.stem.split("-")[1])]]
    checks.equal("each prefix opened by the program lists what its edition held", wrong, [])
    for path in prefixes:
        os.unlink(path)


def check_log(checks, bundle):
    _, files = bundle_file.read(bundle)
    lines = bundle_file.log_lines(files)
    checks.equal("the chain over the log's lines holds (hashlib)", bundle_file.broken_editions(lines), [])
    segments = [name for name in files if name.startswith("slips/")]
    checks.ok(f"{SAVES} editions lie in few segments ({len(segments)})", len(segments) <= 7, segments)


def main():
    checks = Checks(__doc__)
    bundle, listed = grow(checks)
    check_testers(checks, "grown bundle", [bundle])
    check_readers(checks, "grown bundle", [bundle])
    check_bag(checks, "grown bundle", bundle)
    check_log(checks, bundle)
    check_prefixes(checks, bundle, listed)
    check_editions(checks, "grown bundle", bundle, listed)
    checks.equal("audit of the grown bundle finds no fault", checks.faults(bundle), [])
    digest, size = checks.call("digest", bundle).out, bundle.stat().st_size

    checks.call("tidy", bundle)
    checks.ok(f"tidy made it smaller ({size} -> {bundle.stat().st_size})", bundle.stat().st_size < size)
    checks.equal("tidy keeps the content digest", checks.call("digest", bundle).out, digest)
    check_testers(checks, "tidied bundle", [bundle])
    check_readers(checks, "tidied bundle", [bundle])
    check_bag(checks, "tidied bundle", bundle)
    check_editions(checks, "tidied bundle", bundle, listed)
    checks.call("enter", bundle, "item", "label=After")
    check_testers(checks, "tidied and saved again", [bundle])
    checks.call("audit", bundle)
    checks.finish()


if __name__ == "__main__":
    main()
