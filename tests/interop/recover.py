#!/usr/bin/env python3
"""Damages bundles in every way that disks, transfers and people do, has them recovered, and counts by its own means
(zlib and struct, from spec/container.md and spec/recovery.md) what must have come out: it knows the sound file and
which bytes were changed, and needs no checksum to tell.

usage: recover.py --program PROGRAM [--files 200] [--seed N] [--keep]
PROGRAM is glassine_known (tests/portable/known_random.c), whose random numbers follow from the seed: equal seeds, equal
runs."""
import argparse
import hashlib
import json
import pathlib
import random
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zlib

MARK = b"\0\0\xff\xff"
SECTOR = 512


class Entry:
    def __init__(self, name, header_at, data_at, packed, method):
        self.name, self.header_at, self.data_at, self.packed, self.method = name, header_at, data_at, packed, method
        self.inner = name.split("/", 1)[1]
        self.end = data_at + packed
        self.records = []  # (offset, length) of directory records that speak of it


class Sound:
    """A sound file, taken apart."""

    def __init__(self, data):
        self.data, self.entries, self.directories = data, {}, []
        for match in re.finditer(rb"PK\x05\x06.{18}glassine [0-9.]+ edition (\d+) follows (\d+) sum [0-9a-f]{64}", data, re.S):
            size, at = struct.unpack_from("<II", data, match.start() + 12)
            self.read_directory(at, size)
            self.directories.append((at, match.end()))
        self.list = sorted(self.entries.values(), key=lambda entry: entry.header_at)
        self.texts = {entry.header_at: self.text(entry) for entry in self.list if entry.inner.startswith("slips/")}

    def read_directory(self, at, size):
        end = at + size
        while at < end:
            fields = struct.unpack_from("<4s6H3I5H2I", self.data, at)
            method, packed, name_size, extra, comment, header_at = (fields[4], fields[8], fields[10], fields[11],
                                                                    fields[12], fields[16])
            name = self.data[at + 46:at + 46 + name_size].decode()
            length = 46 + name_size + extra + comment
            if header_at not in self.entries:
                self.entries[header_at] = Entry(name, header_at, header_at + 30 + name_size, packed, method)
            self.entries[header_at].records.append((at, length))
            at += length

    def raw(self, entry):
        return self.data[entry.data_at:entry.end]

    def text(self, entry):
        return self.raw(entry) if entry.method == 0 else zlib.decompress(self.raw(entry), -15)

    def lines(self, entry):
        return self.texts[entry.header_at].split(b"\n")[:-1]


class Damage:
    """The damaged file, and where each byte of the sound one has come to lie in it, or that it is gone."""

    def __init__(self, data):
        self.sound, self.data = data, bytearray(data)
        self.changed = []  # (from, to) in the sound file
        self.before = 0

    def overwrite(self, at, new):
        new = new[:max(0, len(self.data) - at)]
        if new:
            self.data[at:at + len(new)] = new
            self.changed.append((at, at + len(new)))

    def cut(self, length):
        self.changed.append((length, len(self.sound)))
        del self.data[length:]

    def bytes(self):
        return bytes(self.data)

    def intact(self, start, end):
        return all(end <= a or start >= b or self.sound[max(a, start):min(b, end)] == self.now(max(a, start), min(b, end))
                   for a, b in self.changed)

    def now(self, start, end):
        return bytes(self.data[start:end])

    def first_change(self, start, end):
        for at in range(start, end):
            if at >= len(self.data) or self.data[at] != self.sound[at]:
                return at
        return end


# ------------------------------------------------------------------------------------------- what must come out

def whole_entries(sound, damage):
    """Content untouched, and a local header or a directory record that says what it is."""
    return [entry for entry in sound.list
            if damage.intact(entry.data_at, entry.end) and (
                damage.intact(entry.header_at, entry.data_at) or
                any(damage.intact(at, at + length) for at, length in entry.records))]


def intact_lines(sound, damage, entry):
    """Indexes of the lines of a segment whose deflated form, from a place where it can be taken up, is untouched: from
    where the segment begins, if that is known; behind a mark; and behind a damaged one, if the text up to it came out."""
    raw, text = sound.raw(entry), sound.texts[entry.header_at]
    known = damage.intact(entry.header_at, entry.data_at) or any(damage.intact(a, a + n) for a, n in entry.records)
    stretches, inflater, given, at = [], zlib.decompressobj(-15), 0, 0
    while at < len(raw):
        mark = raw.find(MARK, at)
        to = len(raw) if mark < 0 else mark + 4
        bad = damage.first_change(entry.data_at + at, entry.data_at + to) - entry.data_at
        part = len(inflater.copy().decompress(raw[at:bad])) if bad < to else None
        whole = len(inflater.decompress(raw[at:to]))
        if known:
            stretches.append((given, given + (whole if part is None else part)))
        known = damage.intact(entry.data_at + to - 4, entry.data_at + to) or (known and bad >= to - 4)
        given, at = given + whole, to
    joined = []
    for start, end in stretches:
        if joined and joined[-1][1] == start:
            joined[-1][1] = end
        else:
            joined.append([start, end])
    good, offset = set(), 0
    for index, line in enumerate(text.split(b"\n")[:-1]):
        if any(start <= offset and offset + len(line) + 1 <= end for start, end in joined):
            good.add(index)
        offset += len(line) + 1
    return good


def is_slip(line):
    return b'"after":[' in line and "after" in json.loads(line)


def edition_of(line):
    members = json.loads(line)
    return members["edition"] if "log" in members else None


def expected(sound, damage):
    """(slips that must be in the new bundle, slips of which every byte is there, scans that must be in it)."""
    must, there, scans = set(), set(), set()
    whole = whole_entries(sound, damage)
    for entry in whole:
        if entry.inner.startswith("slips/"):
            must |= {line for line in sound.lines(entry) if is_slip(line)}
        elif entry.inner.startswith("data/scans/"):
            scans.add(entry.inner)
    whole_at = {entry.header_at for entry in whole}
    for entry in sound.list:
        if not entry.inner.startswith("slips/") or entry.header_at in whole_at:
            continue
        lines, good = sound.lines(entry), intact_lines(sound, damage, entry)
        there |= {lines[i] for i in good if is_slip(lines[i])}
        start = 0
        for i, line in enumerate(lines):
            if edition_of(line) is None:
                continue
            # a whole edition, with the edition line before it: the chain holds from there
            if all(k in good for k in range(start, i + 1)) and (start - 1 in good or edition_of(line) == 1):
                must |= {one for one in lines[start:i] if is_slip(one)}
            start = i + 1
    return must, there | must, scans


# -------------------------------------------------------------------------------------------------- kinds of damage

def zero_sectors(luck, damage, sound):
    for _ in range(luck.randint(1, 6)):
        damage.overwrite(luck.randrange(0, len(damage.data)) // SECTOR * SECTOR, bytes(SECTOR * luck.randint(1, 3)))


def overwrite_middle(luck, damage, sound):
    size = luck.randint(1, max(2, len(damage.data) // 4))
    damage.overwrite(luck.randrange(0, len(damage.data)), luck.randbytes(size))


def flip_bits(luck, damage, sound):
    for _ in range(luck.randint(1, 12)):
        at = luck.randrange(0, len(damage.data))
        damage.overwrite(at, bytes([damage.data[at] ^ 1 << luck.randrange(8)]))


def cut_short(luck, damage, sound):
    damage.cut(luck.randrange(len(damage.data) // 8, len(damage.data)))


def lose_directory(luck, damage, sound):
    for start, end in sound.directories:
        damage.overwrite(start, bytes(end - start))


def lose_headers(luck, damage, sound):
    for entry in luck.sample(sound.list, max(1, len(sound.list) // 3)):
        damage.overwrite(entry.header_at, luck.randbytes(20))


def several(luck, damage, sound):
    for way in luck.sample([zero_sectors, flip_bits, lose_headers, lose_directory], 2):
        way(luck, damage, sound)
    if luck.random() < 0.4:
        damage.cut(luck.randrange(len(damage.data) // 2, len(damage.data)))


WAYS = [zero_sectors, overwrite_middle, flip_bits, cut_short, lose_directory, lose_headers, several]


def join_rubbish(luck, data):
    """Bytes before, behind, or both: noise, text, a piece of another archive."""
    def rubbish():
        kinds = [luck.randbytes(luck.randint(1, 5000)), b"Received: from nowhere\r\n" * luck.randint(1, 99),
                 b"PK\x03\x04" + luck.randbytes(300), b"PK\x05\x06" + bytes(18), bytes(luck.randint(1, 9000))]
        return luck.choice(kinds)
    where = luck.randrange(4)
    return (rubbish() if where in (1, 3) else b"") + data + (rubbish() if where in (2, 3) else b"")


# --------------------------------------------------------------------------------------------------------- driving

class Workshop:
    def __init__(self, program, seed, folder):
        self.program, self.folder, self.clock = str(pathlib.Path(program).resolve()), folder, 1764000000
        self.numbers = random.Random("numbers of the program %d" % seed)

    def run(self, *words, stdin="", status=(0,)):
        self.clock += 60
        done = subprocess.run([self.program, *words], cwd=self.folder, input=stdin, capture_output=True, text=True,
                              env={"HOME": str(self.folder / "home"), "PATH": "/usr/bin:/bin",
                                   "SOURCE_DATE_EPOCH": str(self.clock),
                                   "KNOWN_RANDOM": str(self.numbers.getrandbits(63))})
        if done.returncode not in status:
            raise SystemExit("FAIL %s: %d\n%s%s" % (" ".join(words), done.returncode, done.stdout, done.stderr))
        return done.stdout

    def picture(self, luck, name):
        rows = b"".join(b"\0" + luck.randbytes(60) for _ in range(luck.randint(20, 80)))
        def chunk(kind, data):
            return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        head = struct.pack(">IIBBBBB", 60, len(rows) // 61, 8, 0, 0, 0, 0)
        (self.folder / name).write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) +
                                         chunk(b"IDAT", zlib.compress(rows, 1)) + chunk(b"IEND", b""))
        return name

    def grown(self, luck, name, saves, large):
        self.run("new", name, "title=Sorrel Islands", "--by", "Keeper")
        for number in range(saves):
            commands = ["enter item label=H-%03d-%d title='Item %s'" % (number, i, luck.randbytes(luck.randint(4, 30)).hex())
                        for i in range(luck.randint(1, 4) if number != large else 700)]
            self.run("batch", name, stdin="\n".join(commands) + "\n")
            if number % 2 == 0:
                self.run("attach", name, "H-%03d-0" % number, self.picture(luck, "scan-%d.png" % number))
        return name

    def slips(self, name):
        """Slip lines and scans of a bundle, by Python's zipfile."""
        import zipfile
        lines, scans = set(), {}
        with zipfile.ZipFile(self.folder / name) as archive:
            for one in archive.namelist():
                inner = one.split("/", 1)[1]
                if inner.startswith("slips/"):
                    lines |= {line for line in archive.read(one).split(b"\n")[:-1] if is_slip(line)}
                elif inner.startswith("data/scans/"):
                    scans[inner] = archive.read(one)
        return lines, scans


def check(shop, sound, damage, bundle, wrapped):
    must, there, scans = expected(sound, damage)
    all_slips = {line for entry in sound.list if entry.inner.startswith("slips/") for line in sound.lines(entry) if is_slip(line)}
    (shop.folder / "damaged.glassine").write_bytes(wrapped)
    before = hashlib.sha256(wrapped).digest()
    for old in ("out.glassine",):
        (shop.folder / old).unlink(missing_ok=True)
    shutil.rmtree(shop.folder / "out.glassine.damaged", ignore_errors=True)
    if not must and not scans:
        shop.run("recover", "damaged.glassine", "-o", "out.glassine", status=(0, 1, 2))
        return 0, 0, 0
    report = json.loads(shop.run("recover", "damaged.glassine", "-o", "out.glassine", "--json", status=(0, 1)))["result"]
    got, got_scans = shop.slips("out.glassine")
    aside = shop.folder / "out.glassine.damaged" / "lines.jsonl"
    doubtful = set(aside.read_bytes().split(b"\n")) if aside.exists() else set()
    assert hashlib.sha256((shop.folder / "damaged.glassine").read_bytes()).digest() == before, "the old file was touched"
    assert must <= got, "%d slips are whole and were not recovered" % len(must - got)
    assert got <= all_slips, "%d slips were made up" % len(got - all_slips)
    assert there <= got | doubtful, "%d slips were there and are nowhere" % len(there - got - doubtful)
    assert scans <= set(got_scans), "scans are whole and were not recovered: %s" % (scans - set(got_scans))
    for inner, content in got_scans.items():
        assert hashlib.sha256(content).hexdigest() == inner[11:75], "a scan that is not whole was taken in"
    assert report["slips"] == len(got), "it says %d slips, and there are %d" % (report["slips"], len(got))
    assert report["scans"] == len(got_scans), "it says %d scans, and there are %d" % (report["scans"], len(got_scans))
    if report["whole"] and report["ended_whole"]:
        assert got == all_slips, "%d slips are lost, and it says nothing is" % len(all_slips - got)
    lost = {row["name"] for row in report["lost"]}
    all_scans = {entry.inner for entry in sound.list if entry.inner.startswith("data/scans/")}
    assert not lost & set(got_scans), "it says that scans are lost which are there: %s" % (lost & set(got_scans))
    audit = json.loads(shop.run("audit", "out.glassine", "--json", status=(0, 1)))
    faults = [f for f in audit["findings"] if f["weight"] == "fault"]
    assert audit["result"]["sound"] and not faults, "the new bundle is not sound: %s" % faults
    return len(got), len(all_slips), len(all_scans - set(got_scans))


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--program", required=True)
    arguments.add_argument("--files", type=int, default=200)
    arguments.add_argument("--seed", type=int, default=8)
    arguments.add_argument("--keep", action="store_true")
    options = arguments.parse_args()
    luck = random.Random(options.seed)
    folder = pathlib.Path(tempfile.mkdtemp(prefix="glassine-recover-"))
    shop = Workshop(options.program, options.seed, folder)
    bundles = []
    for number, (saves, large) in enumerate([(9, None), (4, 2), (14, None), (6, 1)]):
        name = shop.grown(luck, "grown-%d.glassine" % number, saves, large)
        shop.run("tidy", name, "-o", "tidied-%d.glassine" % number)
        bundles += [name, "tidied-%d.glassine" % number]
    sounds = {name: Sound((folder / name).read_bytes()) for name in bundles}
    failed = recovered = total = lost_scans = 0
    for number in range(options.files):
        name, way = bundles[number % len(bundles)], WAYS[number // len(bundles) % len(WAYS)]
        damage = Damage(sounds[name].data)
        way(luck, damage, sounds[name])
        wrapped = join_rubbish(luck, damage.bytes())
        try:
            got, all_of, scans = check(shop, sounds[name], damage, name, wrapped)
            recovered, total, lost_scans = recovered + got, total + all_of, lost_scans + scans
        except (AssertionError, SystemExit) as wrong:
            failed += 1
            print("FAIL seed %d, file %d (%s, %s): %s" % (options.seed, number, name, way.__name__, wrong))
            if options.keep:
                shutil.copy(folder / "damaged.glassine", "failed-%d.glassine" % number)
    print("%d of %d slips recovered; %d scans lost" % (recovered, total, lost_scans))
    print("%d passed, %d failed" % (options.files - failed, failed))
    shutil.rmtree(folder)
    sys.exit(1 if failed else 0)


main()
