"""Rows about scans: taking them in, checking, saving beside them, taking them out."""

import os
import pathlib
import re
import shutil
import zipfile

import data
from measuring import Program


def gone(*paths):
    for path in map(pathlib.Path, paths):
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)


def settled(*paths):
    """Before a run that writes: what an earlier one left is away, and on disk."""
    def prepare(_):
        gone(*paths)
        os.sync()
    return prepare


def shell(text):
    return ["sh", "-c", text]


def the_scans(bench):
    """The folder of 500 scans, and the bundle that holds them."""
    folder, bundle = bench.path("scans"), bench.path("scans.glassine")
    if not os.path.exists(folder):
        bench.say("making the scans")
        data.make_scans(folder, bench.size(500, 50), bench.size(1 << 30, 32 << 20), 1861)
    if not os.path.exists(bundle):
        bench.ours("new", bundle, "title=Bench", "--by", "Keeper")
        bench.ours("gather", bundle, folder)
        add_plate(bench, bundle)
    return folder, bundle


def add_plate(bench, bundle):
    bench.ours("enter", bundle, "design", "label=KF")
    bench.ours("enter", bundle, "plate", "label=1", "design=KF", "rows=12", "columns=10")


def gather(bench):
    """500 scans, 1 GiB in all, into a new bundle in one durable save"""
    work = gather.__doc__
    folder, _ = the_scans(bench)
    for name in os.listdir(folder):  # all read it from memory
        pathlib.Path(folder, name).read_bytes()
    new, copy, packed, tarred = map(bench.path, ("new.glassine", "copy", "new.zip", "new.tar"))
    found = bench.compare(work, [
        Program("glassine new, gather", shell(f"'{bench.glassine}' new {new} title=Bench --by Keeper && "
                                              f"'{bench.glassine}' gather {new} {folder}"), settled(new)),
        Program("cp -r, sync -f", shell(f"cp -r {folder} {copy} && sync -f {copy}"), settled(copy)),
        Program("zip -0 (not synced)", ["zip", "-0", "-q", "-r", packed, "scans"], settled(packed)),
        Program("bsdtar -c (not synced)", ["bsdtar", "-cf", tarred, "scans"], settled(tarred)),
    ])
    ours, copied, zipped, _ = found.values()
    bench.target(work, "time ÷ cp -r, sync -f", ours.best / copied.best, "at most 1.0 ×", 1.0)
    bench.target(work, "zip -0 ÷ time", zipped.best / ours.best, "at least 2.5 ×", 2.5, least=True)
    bench.remark(f"{work}: peak memory {ours.peak / 2**20:.0f} MiB.")
    gone(new, copy, tarred)


def audit(bench):
    """full audit of the 500 scans"""
    work = audit.__doc__
    folder, bundle = the_scans(bench)
    files = sorted(str(path) for path in pathlib.Path(folder).iterdir())
    found = bench.compare(work, [
        Program("glassine audit", [bench.glassine, "audit", bundle], good=(0, 1)),
        Program("openssl dgst -sha256", ["openssl", "dgst", "-sha256", *files]),
        Program("unzip -t", ["unzip", "-tqq", bundle]),
        Program("7z t", ["7z", "t", "-bso0", "-bsp0", bundle]),
        Program("bsdtar -xO", ["bsdtar", "-xOf", bundle]),
    ])
    ours, hashed, unzipped, *_ = found.values()
    bench.target(work, "time ÷ openssl dgst -sha256", ours.best / hashed.best, "at most 0.6 ×", 0.6)
    bench.target(work, "unzip -t ÷ time", unzipped.best / ours.best, "at least 9 ×", 9, least=True)


def unpack(bench):
    """the 500 scans unpacked"""
    work = unpack.__doc__
    _, bundle = the_scans(bench)
    out = bench.path("out")

    def empty(_):
        gone(out)
        os.mkdir(out)
        os.sync()
    bench.compare(work, [
        Program("glassine unpack", [bench.glassine, "unpack", bundle, out], empty),
        Program("unzip -q", ["unzip", "-q", bundle, "-d", out], empty),
        Program("7z x", ["7z", "x", "-bso0", "-bsp0", f"-o{out}", bundle], empty),
        Program("bsdtar -x", ["bsdtar", "-xf", bundle, "-C", out], empty),
    ])
    gone(out)


def claims(bench, bundle, first):
    """Commands of one claim each, no two the same."""
    return lambda number: [bench.glassine, "claim", bundle, f"S-{first + number:05}", "1", str(1 + number % 120)]


def with_note(folder):
    """Before a run of a backup program: one small file more, as a claim is one small thing more."""
    def prepare(number):
        pathlib.Path(folder, f"note-{number:03}.txt").write_text(f"position {1 + number % 120}\n", encoding="utf-8")
        os.sync()
    return prepare


def claim(bench):
    """one claim saved into the 500 scans, as a whole process"""
    work = claim.__doc__
    folder, bundle = the_scans(bench)
    packed, kept, borg, restic = map(bench.path, ("claim.zip", "kept", "borg", "restic"))
    gone(packed, kept, borg, restic)
    shutil.copytree(folder, kept)
    bench.make("zip", "-0", "-q", "-r", packed, "kept")
    bench.make("borg", "init", "-e", "none", borg)
    bench.make("borg", "create", f"{borg}::first", "kept")
    bench.make("restic", "-q", "-r", restic, "init")
    bench.make("restic", "-q", "-r", restic, "backup", "kept")
    note = with_note(kept)
    found = bench.compare(work, [
        Program("glassine claim", claims(bench, bundle, 1), lambda _: os.sync()),
        Program("zip -0, one file more", lambda number: ["zip", "-0", "-q", packed, f"kept/note-{number:03}.txt"], note),
        Program("borg create", lambda number: ["borg", "create", f"{borg}::{number}", "kept"], lambda _: os.sync()),
        Program("restic backup", ["restic", "-q", "-r", restic, "backup", "kept"], lambda _: os.sync()),
    ])
    ours, zipped, *others = found.values()
    bench.target(work, "time", ours.best * 1000, "at most 15 ms", 15, shown=f"{ours.best * 1000:.1f} ms")
    bench.target(work, "zip -0 ÷ time", zipped.best / ours.best, "at least 40 ×", 40, least=True)
    bench.target(work, "fastest backup program ÷ time", min(o.best for o in others) / ours.best, "at least 10 ×", 10,
                 least=True)
    gone(packed, kept, borg, restic)


def save_parts(bundle, before):
    """What the last save wrote, by part: {name: bytes}."""
    with zipfile.ZipFile(bundle) as archive:
        parts = {"directory and end record": os.path.getsize(bundle) - archive.start_dir}
        for entry in archive.infolist():
            if entry.header_offset >= before:
                parts[entry.filename.split("/", 1)[1]] = 30 + len(entry.filename.encode()) + entry.compress_size
    return parts


def many(bench):
    """70,000 scans: taken in, and one claim saved"""
    work, count = many.__doc__, bench.size(70000, 2000)
    folder, bundle = bench.path("many"), bench.path("many.glassine")
    gone(folder, bundle)
    bench.say("making many scans")
    data.make_small_scans(folder, count, 70)
    bench.compare(f"{count} small scans taken in", [
        Program("glassine new, gather", shell(f"'{bench.glassine}' new {bundle} title=Bench --by Keeper && "
                                              f"'{bench.glassine}' gather {bundle} {folder}"), settled(bundle)),
        Program("cp -r, sync -f", shell(f"cp -r {folder} {folder}-copy && sync -f {folder}-copy"), settled(f"{folder}-copy")),
    ], runs=1)
    gone(f"{folder}-copy", folder)
    add_plate(bench, bundle)
    claim_at = claims(bench, bundle, 1)
    found = bench.compare(work, [Program("glassine claim", claim_at, lambda _: os.sync()),
                                 Program("glassine editions (opening alone)", [bench.glassine, "editions", bundle])])
    bench.target(work, "one claim saved", found["glassine claim"].best, "at most 0.5 s", 0.5,
                 shown=f"{found['glassine claim'].best * 1000:.0f} ms")
    before = os.path.getsize(bundle)
    bench.ours(*claim_at(99)[1:])
    grown = os.path.getsize(bundle) - before
    parts = ", ".join(f"{name} {size:,}" for name, size in save_parts(bundle, before).items())
    bench.remark(f"{work}: the save wrote {grown:,} bytes: {parts}. The payload's manifest is not among them.")
    bench.compare(f"full audit of {count} small scans", [
        Program("glassine audit", [bench.glassine, "audit", bundle], good=(0, 1)), Program("unzip -t", ["unzip", "-tqq", bundle])],
        runs=1)
    gone(bundle)


def deep(bench):
    """a scan of 5 GiB attached, audited, unpacked"""
    work, size = deep.__doc__, bench.size(5 << 30, 64 << 20)
    scan, bundle, out = map(bench.path, ("deep.bin", "deep.glassine", "deep"))
    gone(bundle, out)
    bench.say("making the large scan")
    data.make_one(scan, size, 5)
    bench.ours("new", bundle, "title=Deep", "--by", "Keeper")
    bench.ours("enter", bundle, "item", "label=D-1")
    steps = [Program("glassine attach", [bench.glassine, "attach", bundle, "D-1", scan], lambda _: os.sync()),
             Program("glassine audit", [bench.glassine, "audit", bundle], good=(0, 1)),
             Program("glassine unpack", [bench.glassine, "unpack", bundle, out])]
    peak = max(figures.peak for figures in bench.compare(work, steps, runs=1).values()) / 2**20
    bench.target(work, "peak memory", peak, "at most 64 MiB", 64, shown=f"{peak:.0f} MiB")
    gone(scan, out)
    referees = [Program("unzip -t", ["unzip", "-tqq", bundle]), Program("7z t", ["7z", "t", "-bso0", "-bsp0", bundle]),
                Program("bsdtar -xO", ["bsdtar", "-xOf", bundle]),
                Program("python3 -m zipfile -t", ["python3", "-m", "zipfile", "-t", bundle])]
    bench.compare(f"{work}: other programs read all of it", referees, runs=1)
    bench.target(work, "Zip64 read by unzip, 7z, bsdtar, Python", 1, "accepted", 1, shown="accepted")
    gone(bundle)


def sent(text):
    """Bytes that rsync says it sent."""
    return int(re.search(r"Total bytes sent: ([0-9,]+)", text).group(1).replace(",", ""))


def carry(bench):
    """a copy elsewhere brought up to date after one save, with rsync"""
    _, bundle = the_scans(bench)
    claim_at, copy = claims(bench, bundle, 30), bench.path("carried.glassine")
    shutil.copyfile(bundle, copy)
    for number, how in enumerate(("--append", "--append-verify")):
        before = os.path.getsize(bundle)
        bench.ours(*claim_at(number)[1:])
        told = bench.make("rsync", how, "--stats", "--no-whole-file", bundle, copy)
        grown = os.path.getsize(bundle) - before
        bench.remark(f"rsync {how} after one save: the file grew by {grown:,} bytes, rsync sent {sent(told):,}.")
        bench.make("cmp", bundle, copy)
    gone(copy)


def backup(bench):
    """`backup` after one save, beside rsync and cp"""
    work = backup.__doc__
    _, bundle = the_scans(bench)
    kept, synced, copied = (bench.path(f"{name}.glassine") for name in ("kept", "synced", "copied"))
    gone(kept, synced, copied)
    bench.make(bench.glassine, "backup", bundle, kept)
    shutil.copyfile(bundle, synced)
    claim_at = claims(bench, bundle, 40)

    def one_save(number):
        bench.ours(*claim_at(number)[1:])
        os.sync()
    found = bench.compare(work, [
        Program("glassine backup", [bench.glassine, "backup", bundle, kept], one_save),
        Program("rsync --append-verify", ["rsync", "--append-verify", "--no-whole-file", bundle, synced]),
        Program("cp, sync -f", shell(f"cp {bundle} {copied} && sync -f {copied}"), settled(copied)),
    ])
    ours = found["glassine backup"]
    bench.make("cmp", bundle, kept)
    bench.target(work, "time", ours.best * 1000, "at most 30 ms", 30, shown=f"{ours.best * 1000:.1f} ms")
    gone(kept, synced, copied)


ROWS = {"gather": gather, "audit": audit, "unpack": unpack, "claim": claim, "carry": carry, "backup": backup, "many": many,
        "deep": deep}
