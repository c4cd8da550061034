"""spec/container.md: the ZIP file that grows by appending. Sections are those of that page."""
import hashlib
import re
import struct
import unicodedata
import zlib

import limits
from broken import Broken, need

MAJOR = 1
ALL_16, ALL_32 = 0xFFFF, 0xFFFFFFFF
END, MARK = b"PK\5\6", b"glassine "


# 2 Names

DEVICES = {"con", "prn", "aux", "nul"} | {f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10)}
BASE = re.compile(r"glassine-[a-z0-9-]{1,48}")
SCAN = re.compile(r"data/scans/[0-9a-f]{64}\.[a-z0-9]{1,8}")


def is_letter(character):
    if character < "\x80":
        return character.isascii() and character.isalpha()
    return unicodedata.category(character)[0] in "LM"


def check_part(part, name):
    need(1 <= len(part.encode()) <= 128, "C062", f"a part of {name!r} has 0 or more than 128 bytes")
    need(part[0] not in ". " and part[-1] not in ". ", "C062", f"a part of {name!r} begins or ends with a dot or space")
    need(all(is_letter(c) or c in "0123456789-_. " for c in part), "C062", f"a character of {name!r}")
    need(part.split(".")[0].rstrip(" ").lower() not in DEVICES, "C063", f"{name!r} has a device's name")


def check_name(raw):
    """The text of a name, from its bytes."""
    try:
        name = raw.decode("utf-8")
    except UnicodeDecodeError:
        raise Broken("C060", f"{raw!r} is no UTF-8") from None
    need(unicodedata.is_normalized("NFC", name), "C060", f"{name!r} is not NFC")
    need(len(raw) <= 512, "C062", f"a name of {len(raw)} bytes")
    for part in name.split("/"):
        check_part(part, name)
    base, slash, inner = name.partition("/")
    need(slash and BASE.fullmatch(base), "C061", f"{name!r} is in no base folder")
    if inner.startswith("data/scans/"):
        need(SCAN.fullmatch(inner), "C065", f"{name!r} is not named by a digest")
    return name


def fold(name):
    return unicodedata.normalize("NFC", name.casefold())


def check_names(names):
    """What names must be to each other."""
    need(len({name.partition("/")[0] for name in names}) == 1, "C061", "entries in several base folders")
    spelled, files = {}, set()
    for name in names:
        need(fold(name) not in files, "C064", f"{name!r} is there twice")
        files.add(fold(name))
        folder = name
        while "/" in folder:
            folder = folder.rpartition("/")[0]
            need(spelled.setdefault(fold(folder), folder) == folder, "C064", f"the folder {folder!r} in two spellings")
    both = files & spelled.keys()
    need(not both, "C064", f"a file that is a folder: {both}")


# 3 Entries


def date_exists(time, date):
    day, month, year = date & 31, date >> 5 & 15, 1980 + (date >> 9)
    second, minute, hour = 2 * (time & 31), time >> 5 & 63, time >> 11
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    days = [31, 29 if leap else 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    return 1 <= month <= 12 and 1 <= day <= days[month - 1] and hour < 24 and minute < 60 and second < 60


class Entry:
    """One entry, from its directory record, which starts at `at`."""

    def __init__(self, data, at, end):
        need(at + 46 <= end and data[at:at + 4] == b"PK\1\2", "C030", f"no directory record at {at}")
        (made_by, self.needed, self.flags, self.method, self.time, self.date, self.crc, self.packed, self.size,
         name_length, extra_length, comment_length, disk, internal, external, self.offset,
         ) = struct.unpack("<HHHHHHIIIHHHHHII", data[at + 4:at + 46])
        name_at, extra_at = at + 46, at + 46 + name_length
        self.record_end = extra_at + extra_length + comment_length
        need(self.record_end <= end, "C030", f"the directory record at {at} reaches beyond the directory")
        self.raw_name = data[name_at:extra_at]
        self.record = data[at:self.record_end]
        need(comment_length == 0, "C037", f"a comment at {at}")
        self.take_zip64(data[extra_at:extra_at + extra_length])
        need(made_by == 0x032D, "C031", f"made by {made_by:04x}")
        need(self.needed == (45 if extra_length or self.local_zip64() else 20), "C032", f"version needed {self.needed}")
        need(self.flags == (0x0800 if any(b > 0x7F for b in self.raw_name) else 0), "C033", f"flags {self.flags:04x}")
        need(self.method in (0, 8), "C034", f"method {self.method}")
        need(self.method == 8 or self.packed == self.size, "C035", "a stored entry of two sizes")
        need((disk, internal, external) == (0, 0, 0x81A40000), "C036", "disk or attributes")
        need(date_exists(self.time, self.date), "C040", f"date {self.date:04x} and time {self.time:04x}")
        self.name = check_name(self.raw_name)
        self.inner = self.name.partition("/")[2]
        self.data_at = self.offset + 30 + len(self.raw_name) + (20 if self.local_zip64() else 0)
        self.end = self.data_at + self.packed

    def local_zip64(self):
        return self.size >= ALL_32 or self.packed >= ALL_32

    def take_zip64(self, extra):
        """The values that do not fit, in their order: size, packed size, offset."""
        missing = [name for name in ("size", "packed", "offset") if getattr(self, name) == ALL_32]
        if not missing and not extra:
            return
        need(len(extra) >= 4 and extra[:2] == b"\1\0" or not extra, "C038", "an extra field that is not Zip64")
        need(missing, "C039", "a Zip64 field that nothing asks for")
        need(extra[2:4] == struct.pack("<H", len(extra) - 4) and len(extra) == 4 + 8 * len(missing), "C039",
             "a Zip64 field that does not hold what is missing")
        for name, (value,) in zip(missing, struct.iter_unpack("<Q", extra[4:])):
            need(value >= ALL_32, "C039", f"a Zip64 field with a {name} that needs none")
            setattr(self, name, value)

    def local_header(self):
        """The one local header that goes with the directory record."""
        zip64 = self.local_zip64()
        fixed = struct.pack("<4sHHHHHIIIHH", b"PK\3\4", self.needed, self.flags, self.method, self.time, self.date,
                            self.crc, ALL_32 if zip64 else self.packed, ALL_32 if zip64 else self.size,
                            len(self.raw_name), 20 if zip64 else 0)
        return fixed + self.raw_name + (struct.pack("<HHQQ", 1, 16, self.size, self.packed) if zip64 else b"")

    def content(self, data):
        """Its content, checked."""
        raw = data[self.data_at:self.end]
        if self.method == 8:
            raw = self.inflate(raw)
        need(zlib.crc32(raw) == self.crc, "C071", f"CRC-32 of {self.inner}")
        return raw

    def inflate(self, raw):
        need(self.size <= 2 ** 20 + limits.RATIO * self.packed, "L006", f"{self.inner} inflates too far")
        stream = zlib.decompressobj(-15)
        try:
            content = stream.decompress(raw, self.size + 1)
        except zlib.error as error:
            raise Broken("C070", f"{self.inner}: {error}") from None
        need(len(content) == self.size and stream.eof and not stream.unused_data and not stream.unconsumed_tail,
             "C070", f"{self.inner} does not inflate to its size")
        return content

    def check_no_end_record_inside(self, data):
        at = data.find(END, self.data_at, self.end)
        while at >= 0:
            need(data[at + 22:at + 22 + len(MARK)] != MARK or at + 22 + len(MARK) > self.end, "C072",
                 f"an end record in {self.inner}")
            at = data.find(END, at + 1, self.end)


# 4 The end of an edition

NUMBER = r"(0|[1-9][0-9]*)"
COMMENT = re.compile(rf"glassine {NUMBER}\.{NUMBER} edition {NUMBER} follows {NUMBER} sum ([0-9a-f]{{64}})")


def major_at(data, at):
    """MAJOR of the comment of an end record at `at`, where it is one."""
    found = re.match(rb"glassine ([0-9]{1,20})\.", data[at + 22:at + 22 + 40])
    return int(found[1]) if found else None


class Footer:
    """An edition of the file: its end record at `at`, and what hangs on it. Raises where it is not whole (5)."""

    def __init__(self, data, at, spend=lambda count: None):
        self.at = at
        self.take_end_record(data)
        spend(self.at - self.offset)
        self.take_directory(data)
        self.check_layout()
        check_names([entry.name for entry in self.entries])
        spend(self.offset - self.start)
        for entry in self.entries:
            header = entry.local_header()
            need(data[entry.offset:entry.offset + len(header)] == header, "C054", f"local header of {entry.inner}")
        need(self.sum_of(data) == self.sum, "C025", f"sum of edition {self.number}")

    def take_end_record(self, data):
        at = self.at
        need(at + 22 <= len(data), "C021", "an end record that is cut off")
        disk, first_disk, here, count, size, offset, length = struct.unpack("<HHHHIIH", data[at + 4:at + 22])
        self.end = at + 22 + length
        need(self.end <= len(data), "C021", "a comment that is cut off")
        comment = COMMENT.fullmatch(data[at + 22:self.end].decode("latin-1"))
        need(comment, "C020", f"the comment {data[at + 22:self.end]!r}")
        major, self.minor, self.number, self.start = (int(part) for part in comment.groups()[:4])
        need(max(major, self.minor) <= 9999 and self.start < 2 ** 63, "C020", "a number too great")
        need(self.number <= 99_999_999, "C020", f"edition {self.number}")
        need(self.number >= 1, "C027", f"edition {self.number}")
        need(self.number > 1 or self.start == 0, "C027", "edition 1 follows another")
        need(self.start < at, "C052", "the edition begins behind its end")
        self.version, self.sum = f"{major}.{self.minor}", comment[5]
        need((disk, first_disk) == (0, 0) and here == count, "C021", "disks or counts")
        if count == ALL_16 or size == ALL_32 or offset == ALL_32:
            self.take_zip64(data, count, size, offset)
        else:
            self.count, self.size, self.offset, self.directory_end = count, size, offset, at
            if self.offset + self.size != at:
                between = self.offset + self.size == at - 76 and data[at - 76:at - 72] == b"PK\6\6"
                raise Broken("C023" if between else "C022", "the directory does not end before the end record")

    def take_zip64(self, data, count, size, offset):
        at = self.at - 76
        need(at >= 0 and data[at:at + 4] == b"PK\6\6" and data[at + 56:at + 60] == b"PK\6\7", "C023",
             "no Zip64 records where they are asked for")
        (length, made_by, needed, disks, here, self.count, self.size, self.offset,
         ) = struct.unpack("<QHHQQQQQ", data[at + 4:at + 56])
        first_disk, end_at, disk_count = struct.unpack("<IQI", data[at + 60:at + 76])
        need((length, made_by, needed, disks) == (44, 0x032D, 45, 0) and here == self.count
             and (first_disk, end_at, disk_count) == (0, at, 1), "C024", "the form of the Zip64 records")
        need(self.count >= ALL_16 or self.size >= ALL_32 or self.offset >= ALL_32, "C023",
             "Zip64 records that nothing asks for")
        for short, most, long in ((count, ALL_16, self.count), (size, ALL_32, self.size), (offset, ALL_32, self.offset)):
            need(short == min(long, most), "C023" if short == most or long >= most else "C024",
                 "end record and Zip64 records differ")
        self.directory_end = at
        need(self.offset + self.size == at, "C022", "the directory does not end before the Zip64 records")

    def take_directory(self, data):
        need(self.count <= limits.ENTRIES, "L001", f"{self.count} entries")
        need(self.size <= limits.DIRECTORY_BYTES, "L002", f"a directory of {self.size} bytes")
        self.entries, at = [], self.offset
        for _ in range(self.count):
            self.entries.append(Entry(data, at, self.directory_end))
            at = self.entries[-1].record_end
        need(self.entries and at == self.directory_end, "C030", "the directory holds something else")
        self.base = self.entries[0].name.partition("/")[0]

    def check_layout(self):
        for before, entry in zip(self.entries, self.entries[1:]):
            need(before.offset < entry.offset, "C050", "the order of the directory")
            need(before.end <= entry.offset, "C051", f"{before.inner} and {entry.inner} overlap")
        need(self.entries[-1].end <= self.offset, "C051", "an entry reaches into the directory")
        self.own = [entry for entry in self.entries if entry.offset >= self.start]
        self.kept = [entry for entry in self.entries if entry.offset < self.start]
        need(not self.kept or self.kept[-1].end <= self.start, "C051", "a kept entry reaches into the edition")
        need(self.own, "C052", "an edition that adds nothing")
        at = self.start
        for entry in self.own:
            need(entry.offset == at, "C052", f"bytes before {entry.inner}")
            at = entry.end
        need(at == self.offset, "C052", "bytes before the directory")
        need(len({(entry.time, entry.date) for entry in self.own}) == 1, "C040", "two times in one edition")

    def sum_of(self, data):
        total = hashlib.sha256()
        for entry in self.own:
            bare = entry.method == 0 and entry.inner.startswith("data/scans/")
            total.update(data[entry.offset:entry.data_at if bare else entry.end])
        total.update(data[self.offset:self.at])
        return total.hexdigest()


# 5 History


def footer_ending_at(data, end):
    at = data.rfind(END, 0, end)
    while at >= 0:
        if data[at + 22:at + 22 + len(MARK)] == MARK:
            need(at + 22 + struct.unpack("<H", data[at + 20:at + 22])[0] == end, "C026", f"no edition ends at {end}")
            return Footer(data, at)
        at = data.rfind(END, 0, at + len(END) - 1)
    raise Broken("C026", f"no edition ends at {end}")


def history(data, footer):
    """All editions of the file from the last to the first, each held against the next."""
    yield footer
    while footer.start:
        before = footer_ending_at(data, footer.start)
        need(before.number == footer.number - 1, "C027", f"edition {before.number} before {footer.number}")
        listed = {entry.name: entry.record for entry in before.entries}
        for entry in footer.kept:
            need(listed.get(entry.name) == entry.record, "C053", f"{entry.inner} was not there like that")
        footer = before
        yield footer


# 6 Reading


class Container:
    """An opened file: `footer`, its `tail`, `tail_is_ours`, and `damage`: what was wrong with the last place."""

    def __init__(self, data):
        need(data[:4] == b"PK\3\4" and data[30:39] == b"glassine-", "C010", "no bundle begins like this")
        self.data, self.read = data, 0
        self.footer, self.damage, places = None, None, 0
        at = data.rfind(END)
        while at >= 0 and not self.footer:
            if data[at + 22:at + 22 + len(MARK)] == MARK:
                places += 1
                self.look(at)
            at = data.rfind(END, 0, at + len(END) - 1)
        if not self.footer:
            raise self.damage or Broken("C011", "no end record of a bundle")
        self.tail = len(data) - self.footer.end
        self.tail_is_ours = places > 1
        length = struct.unpack("<H", data[26:28])[0]
        need(data[30:30 + length].startswith(self.footer.base.encode() + b"/"), "C061", "the first name of the file")

    def look(self, at):
        major = major_at(self.data, at)
        need(major is None or major <= MAJOR, "C012", f"format {major}; this program reads {MAJOR}")
        try:
            self.footer = Footer(self.data, at, self.spend)
        except Broken as broken:
            if broken.rule[0] == "L":
                raise
            self.damage = self.damage or broken

    def spend(self, count):
        self.read += count
        need(self.read <= 2 * len(self.data), "L007", "end records that claim the same bytes")

    def names(self):
        return {entry.inner: entry for entry in self.footer.entries}
