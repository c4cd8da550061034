"""A bundle on top of the container: bag (spec/bag.md), log (spec/log.md), and a small invented collection."""
import hashlib
import json
import struct
import zlib

from container import Entry, File
from deflate import deflate
from lines import ADA, BEN, Log, canonical, chain_on, content_digest, slip, uuid

BASE = "glassine-kingfisher"
README = """A bundle of stamps, their scans, and who holds them to come from which place on a printing plate.
Unpack it with any unzip program. The images are in data/scans, what was said is in slips: one JSON object a line.
"""


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def as_bytes(text):
    return text.encode(errors="surrogateescape")


def day(number):
    return "2026-03-%02dT12:00:00Z" % number


def png(width, height, grey):
    """A picture of one tone of grey (ISO/IEC 15948)."""
    rows = (b"\0" + bytes([grey]) * width) * height
    packed = b"\x78\x01" + deflate(rows) + struct.pack(">L", zlib.adler32(rows))

    def chunk(kind, data):
        return struct.pack(">L", len(data)) + kind + data + struct.pack(">L", zlib.crc32(kind + data))

    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">LLBBBBB", width, height, 8, 0, 0, 0, 0)) +
            chunk(b"IDAT", packed) + chunk(b"IEND", b""))


def about(**more):
    members = {"base": BASE, "bundle": uuid(0xB0), "format": "glassine", "keeper": ADA, "made": day(1),
               "title": "Kingfisher, twopence", "version": "1.0"}
    members.update(more)
    return (canonical({name: value for name, value in members.items() if value is not None}) + "\n").encode()


class Bundle:
    """`files` is what the bundle holds as of its last edition: inner name -> content."""

    def __init__(self, base=BASE):
        self.file, self.log, self.files, self.segments = File(base), Log(), {}, []
        self.unknown = 0

    def add_line(self, line):
        """A line that is no JSON object is chained as it stands; a surrogate from U+DC80 on is a byte."""
        try:
            slips = "after" in json.loads(line)
        except (ValueError, RecursionError):
            slips = False
        log = self.log
        log.chain = hashlib.sha256(log.chain + hashlib.sha256(as_bytes(line)).digest()).digest()
        log.lines.append(line)
        log.slips += slips

    def close(self, at, by, note, brings, changed):
        """The edition line; `changed`: members as they are to be, None for one that is left out."""
        log = self.log
        members = {"at": at, "brings": sorted(brings), "by": by, "edition": len(log.editions) + 1, "format": "1.0",
                   "note": note, "slips": log.slips, "tool": "vectors", **changed}
        members = {name: value for name, value in members.items() if value is not None}
        log.chain = chain_on(log.chain, canonical(members))
        log.lines.append(canonical({**members, "log": log.chain.hex()}))
        log.editions.append({"number": len(log.editions) + 1, "slips": log.slips, "log": log.chain.hex()})

    def segment(self, number, lines):
        """While the segment before spans no more editions than the new one, both become one."""
        first, text, drop = number, "".join(line + "\n" for line in lines), []
        while self.segments and self.segments[-1][1] - self.segments[-1][0] <= number - first:
            before, last, old = self.segments.pop()
            drop.append("slips/%08d-%08d.jsonl" % (before, last))
            first, text = before, old + text
        self.segments.append((first, number, text))
        return "slips/%08d-%08d.jsonl" % (first, number), as_bytes(text), drop

    def bag(self, at, replace, payload_lines, tag_lines):
        """The files of the bag for what is in self.files; `replace` and the two functions write them wrong."""
        payload = {name: data for name, data in self.files.items() if name.startswith("data/")}
        oxum = "%d.%d" % (sum(len(data) for data in payload.values()), len(payload))
        info = ("Bag-Software-Agent: vectors\nBagging-Date: %s\nExternal-Description: Kingfisher, twopence\n"
                "External-Identifier: urn:uuid:%s\nPayload-Oxum: %s\n" % (at[:10], uuid(0xB0), oxum))
        bag = {"bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
               "read-me.txt": README.encode(),
               "bag-info.txt": info.encode(),
               "manifest-sha256.txt": manifest(payload, payload_lines)}
        bag.update(replace)
        bag = {name: data for name, data in bag.items() if data is not None}
        tags = {name: data for name, data in {**self.files, **bag}.items() if not name.startswith("data/")}
        tags.pop("tagmanifest-sha256.txt", None)
        if replace.get("tagmanifest-sha256.txt", b"") is not None:
            bag["tagmanifest-sha256.txt"] = manifest(tags, tag_lines)
        return bag

    def save(self, lines=(), scans=(), others=(), drop=(), at=None, note="", by=ADA, replace=(), payload_lines=None,
             tag_lines=None, tamper=None, segment_name=None, entries=None, entry_fields=(), edition=(), extra=(),
             segment_text=None, about_text=None, brings=None, **wrong):
        """One edition. `scans`: contents; `others`: (inner name, content); `extra`: entries added as they are, which
        no manifest lists. `tamper`: the lines of this edition as they are to be written. `entry_fields`: inner name
        -> arguments of its Entry. `entries`: the list of entries as it is to be written. `about_text`: what
        about.json holds, or "none" where it is left out."""
        number, fields = len(self.log.editions) + 1, dict(entry_fields)
        at = at or day(number)
        new = {}
        if number == 1 and about_text != "none":
            new["data/about.json"] = about_text or about()
        for content in scans:
            new["data/scans/%s.png" % sha256(content)] = content
        new.update(others)
        brought = ["%s  %s" % (sha256(data), name) for name, data in new.items() if name.startswith("data/")]
        begin = len(self.log.lines)
        for line in lines:
            self.add_line(line)
        self.close(at, by, note, brought if brings is None else brings, dict(edition))
        closed = self.log.lines[begin:]
        name, text, merged = self.segment(number, tamper(closed) if tamper else closed)
        new[segment_name or name] = segment_text(text) if segment_text else text
        gone = list(drop) + merged
        for inner in gone:
            self.files.pop(inner, None)
        self.files.update(new)
        bag = self.bag(at, dict(replace), payload_lines, tag_lines)
        new.update({inner: data for inner, data in bag.items() if self.files.get(inner) != data})
        self.files.update(bag)
        written = [Entry(inner, data, **dict(fields.get(inner, {}))) for inner, data in new.items()] + list(extra)
        self.file.save(number, at, entries(written) if entries else written, drop=gone, **wrong)
        return self

    def pack(self, number, at):
        """All that self.files holds, as one edition that follows 0."""
        self.files.update(self.bag(at, {}, None, None))
        self.file.save(number, at, [Entry(inner, data) for inner, data in self.files.items()])

    @property
    def data(self):
        return self.file.data

    def expected(self):
        """What a reader must find in the file."""
        slips = [line for line in self.log.lines if "after" in json.loads(line)]
        kinds = [set(json.loads(line)) & {"after", "sig", "log"} for line in self.log.lines]
        return {
            "base": self.file.base,
            "footers": self.file.footers,
            "editions": self.log.editions,
            "slips": len(slips),
            "unknown_lines": sum(not kind for kind in kinds),
            "digest": content_digest(slips),
            "entries": sorted(({"name": inner, "size": len(data), "sha256": sha256(data),
                                "method": 0 if self.file.entry(inner).stored else 8}
                               for inner, data in self.files.items()), key=lambda entry: entry["name"].encode()),
        }


def manifest(files, change=None):
    lines = ["%s  %s" % (sha256(files[name]), name) for name in sorted(files, key=str.encode)]
    return "".join(line + "\n" for line in (change(lines) if change else lines)).encode()


# The collection: one cover with a stamp of the Kingfisher, and its scan.
PICTURE = png(40, 30, 0xC8)
SECOND = png(24, 32, 0x60)
DESIGN, PLATE = "design/" + uuid(0x10), "plate/" + uuid(0x11)
ITEM, STAMP, SCAN, CLAIM = ("item/" + uuid(0x20), "stamp/" + uuid(0x21), "scan/" + uuid(0x22),
                            "claim/" + uuid(0x23))
ITEM_SLIP = slip(ITEM, {"holding": "owned", "kind": "cover", "label": "H-014"})
STAMP_SLIP = slip(STAMP, {"design": DESIGN, "item": ITEM})


def scan_slip(record, picture, **more):
    return slip(record, {"bytes": len(picture), "item": ITEM, "media": "image/png", "sha256": sha256(picture),
                         "side": "front", **more})


FIRST_LINES = [
    slip(ADA, {"name": "Keeper"}),
    slip("collection/" + uuid(0xC0), {"title": "Kingfisher, twopence"}),
    slip(DESIGN, {"denomination": "2d", "label": "KF", "title": "Kingfisher"}),
    slip(PLATE, {"columns": 10, "design": DESIGN, "label": "1", "rows": 12}),
    ITEM_SLIP,
    STAMP_SLIP,
    scan_slip(SCAN, PICTURE, height=30, width=40),
]
CLAIM_SLIP = slip(CLAIM, {"confidence": "probable", "plates": [PLATE], "positions": "14", "stamp": STAMP})
SECOND_LINES = [slip(BEN, {"name": "Specialist"}), CLAIM_SLIP]


def first(**wrong):
    """A bundle of one edition."""
    bundle = Bundle()
    return bundle.save(wrong.pop("lines", FIRST_LINES), wrong.pop("scans", [PICTURE]), **wrong)


def two(**wrong):
    """A bundle of two editions, the second written wrong."""
    return first().save(wrong.pop("lines", SECOND_LINES), **wrong)
