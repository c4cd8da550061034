"""The container, written from spec/container.md with struct and hashlib alone. Every field can be written wrong."""
import hashlib
import struct
import zlib

from deflate import deflate

FULL16, FULL32 = 0xFFFF, 0xFFFFFFFF
MADE_BY, ATTRIBUTES = 0x032D, 0x81A40000
SCANS = "data/scans/"


class Entry:
    """`both`, `local`, `record`: fields to be written otherwise than they should be, in both headers or in one.
    `raw`: the data as they lie in the file. `name`: the whole name as bytes. `listed`: has a directory record."""

    def __init__(self, inner, content, stored=None, raw=None, both=(), local=(), record=(), name=None, listed=True):
        self.inner, self.content, self.name, self.listed = inner, content, name, listed
        self.stored = inner.startswith(SCANS) if stored is None else stored
        self.raw = raw if raw is not None else content if self.stored else deflate(content)
        self.local, self.record = {**dict(both), **dict(local)}, {**dict(both), **dict(record)}
        self.offset = self.date = self.time = None

    def place(self, base, offset, at):
        self.offset = offset
        self.name = self.name if self.name is not None else ("%s/%s" % (base, self.inner)).encode()
        self.date, self.time = dos_time(at)

    def fields(self, wrong):
        zip64 = max(len(self.content), len(self.raw), self.offset) >= FULL32
        fields = {
            "needed": 45 if zip64 else 20,
            "flags": 0x0800 if any(byte > 0x7F for byte in self.name) else 0,
            "method": 0 if self.stored else 8,
            "time": self.time,
            "date": self.date,
            "crc": zlib.crc32(self.content),
            "packed": len(self.raw),
            "size": len(self.content),
            "extra": b"",
            "made_by": MADE_BY,
            "comment": b"",
            "disk": 0,
            "internal": 0,
            "external": ATTRIBUTES,
            "offset": self.offset,
            "name": self.name,
        }
        fields.update(wrong)
        return fields

    @staticmethod
    def common(f):
        return struct.pack("<HHHHHLLLHH", f["needed"], f["flags"], f["method"], f["time"], f["date"], f["crc"],
                           f["packed"], f["size"], len(f["name"]), len(f["extra"]))

    def local_header(self):
        f = self.fields(self.local)
        return b"PK\x03\x04" + self.common(f) + f["name"] + f["extra"]

    def directory_record(self):
        f = self.fields(self.record)
        return (b"PK\x01\x02" + struct.pack("<H", f["made_by"]) + self.common(f) +
                struct.pack("<HHHLL", len(f["comment"]), f["disk"], f["internal"], f["external"], f["offset"]) +
                f["name"] + f["extra"] + f["comment"])


def dos_time(at):
    """'YYYY-MM-DDTHH:MM:SSZ' -> date, time"""
    year, month, day = (int(part) for part in at[:10].split("-"))
    hour, minute, second = (int(part) for part in at[11:19].split(":"))
    return (year - 1980) << 9 | month << 5 | day, hour << 11 | minute << 5 | second // 2


def zip64_records(entries, size, offset, **wrong):
    f = {"total": entries, "entries": entries, "size": size, "offset": offset, "at": offset + size, **wrong}
    return (b"PK\x06\x06" + struct.pack("<QHHLLQQQQ", 44, MADE_BY, 45, 0, 0, f["entries"], f["total"], f["size"],
                                        f["offset"]) +
            b"PK\x06\x07" + struct.pack("<LQL", 0, f["at"], 1))


class File:
    def __init__(self, base):
        self.base, self.data, self.listed, self.footers = base, b"", [], []

    def entry(self, inner):
        return next(entry for entry in self.listed if entry.inner == inner)

    def save(self, number, at, entries, drop=(), version="1.0", between=b"", order=None, directory=None, end=(),
             zip64=None, comment=None, follows=None, claim=None):
        """Appends an edition. The keyword arguments write it wrong: `between` entries and directory, the `order` of
        the directory, the bytes of the `directory`, fields of the `end` record, `zip64` records, the `comment`,
        what the edition `follows`. `claim` changes the list of records."""
        start = len(self.data) if follows is None else follows
        gone = set(drop) | {entry.inner for entry in entries}
        kept = [entry for entry in self.listed if entry.inner not in gone]
        unsummed = []
        for entry in entries:
            entry.place(self.base, len(self.data), at)
            self.data += entry.local_header()
            if entry.stored and entry.inner.startswith(SCANS):
                unsummed.append((len(self.data), len(self.data) + len(entry.raw)))
            self.data += entry.raw
        self.listed = kept + [entry for entry in entries if entry.listed]
        self.data += between
        listed = claim(self.listed) if claim else self.listed
        offset = len(self.data)
        records = b"".join(entry.directory_record() for entry in (order(listed) if order else listed))
        records = directory(records) if directory else records
        self.data += records
        self.data += zip64(len(listed), len(records), offset) if zip64 else b""
        total = self.sum(start, unsummed)
        text = "glassine %s edition %d follows %d sum %s" % (version, number, start, total)
        text = (comment(text) if comment else text).encode()
        f = {"disks": 0, "entries": len(listed), "total": len(listed), "size": len(records), "offset": offset,
             "comment": len(text)}
        f.update({name: value(f[name]) if callable(value) else value for name, value in dict(end).items()})
        self.data += b"PK\x05\x06" + struct.pack("<LHHLLH", f["disks"], f["entries"], f["total"], f["size"],
                                                 f["offset"], f["comment"]) + text
        self.footers.append({"edition": number, "start": start, "end": len(self.data)})

    def sum(self, start, unsummed):
        total = hashlib.sha256()
        for begin, end in unsummed:
            total.update(self.data[start:begin])
            start = max(start, end)
        total.update(self.data[start:])
        return total.hexdigest()
