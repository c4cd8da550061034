"""Files that break one rule of spec/container.md each. `bad` maps CODE-what-is-wrong to the bytes of the file."""
import io
import struct
import zipfile
import zlib

import container
from bundle import BASE, FIRST_LINES, PICTURE, SECOND, SECOND_LINES, Bundle, first, sha256, two
from container import Entry
from deflate import deflate, zeros
from lines import slip, uuid

bad = {}


def vector(name):
    def keep(make):
        made = make()
        bad[name] = made if isinstance(made, bytes) else made.data
        return make
    return keep


def in_one(name, **wrong):
    """A bundle of one edition, so that nothing whole is left to fall back to."""
    bad[name] = first(**wrong).data


def tagged(inner, content=b"Notes that somebody keeps with the bundle.\n"):
    """Arguments for one more file outside data/."""
    return {"others": [(inner, content)]}


def field(inner, **fields):
    """Arguments that write fields of one entry wrong in both headers."""
    return {"entry_fields": {inner: {"both": fields}}}


def record(inner, **fields):
    return {"entry_fields": {inner: {"record": fields}}}


# ------------------------------------------------------------------------------------------------ the file

bad["C010-an-empty-file"] = b""
bad["C010-a-text-file"] = b"glassine-kingfisher is not here\n"


def packed_by_another_program(base):
    """Python's zipfile, without compression so that the bytes are always the same."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for inner, data in first().files.items():
            archive.writestr(zipfile.ZipInfo("%s/%s" % (base, inner), (2026, 3, 1, 12, 0, 0)), data)
    return out.getvalue()


bad["C010-an-ordinary-zip-file"] = packed_by_another_program("kingfisher")
bad["C011-packed-by-another-program"] = packed_by_another_program(BASE)
bad["C011-cut-in-the-first-edition"] = first().data[:-200]
in_one("C012-of-format-2", version="2.0")
bad["C012-a-later-edition-of-format-10"] = two(version="10.1").data
bad["C013-bytes-behind-the-last-edition"] = two().data + b"added by a mail program\n"
bad["C013-cut-in-the-second-edition"] = two().data[:-100]

# ------------------------------------------------------------------------------------------- the end record

in_one("C020-a-leading-zero-in-the-edition", comment=lambda text: text.replace("edition 1", "edition 01"))
in_one("C020-a-sum-of-63-digits", comment=lambda text: text[:-1])
in_one("C020-a-sum-in-capitals", comment=lambda text: text[:-64] + text[-64:].upper())
in_one("C020-a-space-at-the-end", comment=lambda text: text + " ")
in_one("C020-without-a-minor-version", comment=lambda text: text.replace("glassine 1.0", "glassine 1"))
in_one("C020-a-minor-version-of-five-digits", comment=lambda text: text.replace("glassine 1.0", "glassine 1.10000"))
in_one("C020-edition-of-nine-digits", comment=lambda text: text.replace("edition 1", "edition 100000000"))
in_one("C020-a-comment-of-65535-bytes", comment=lambda text: text + " " * (0xFFFF - len(text)))
in_one("C021-on-the-second-disk", end={"disks": 1})
in_one("C021-two-counts-of-entries", end={"total": lambda count: count + 1})
in_one("C021-a-comment-that-is-cut-off", end={"comment": lambda length: length + 1})
in_one("C022-the-directory-lies-elsewhere", end={"offset": lambda offset: offset - 1})
in_one("C022-the-directory-is-said-to-be-longer", end={"size": lambda size: size + 1})
bad["C022-bytes-between-directory-and-end-record"] = first(zip64=lambda *numbers: b"between").data
in_one("C023-zip64-records-that-nothing-asks-for", zip64=container.zip64_records)
in_one("C023-a-count-that-asks-for-zip64-records", end={"entries": 0xFFFF, "total": 0xFFFF})
in_one("C023-zip64-records-of-a-small-count", zip64=container.zip64_records, end={"entries": 0xFFFF, "total": 0xFFFF})
in_one("C024-zip64-records-that-count-in-two-ways", end={"entries": 0xFFFF, "total": 0xFFFF},
       zip64=lambda entries, size, offset: container.zip64_records(70000, size, offset, total=70001))
in_one("C024-a-locator-that-points-elsewhere", end={"entries": 0xFFFF, "total": 0xFFFF},
       zip64=lambda entries, size, offset: container.zip64_records(70000, size, offset, at=offset))
in_one("C024-two-places-of-the-directory", end={"entries": 0xFFFF, "total": 0xFFFF},
       zip64=lambda entries, size, offset: container.zip64_records(70000, size, offset - 46, at=offset + size))


def other_sum(text):
    return text[:-1] + ("0" if text[-1] != "0" else "1")


in_one("C025-another-sum", comment=other_sum)
in_one("C025-a-sum-with-the-scan", comment=lambda text: text[:-64] + sha256(text.encode()))


@vector("C025-a-changed-byte-in-what-no-edition-lists")
def changed_old_byte():
    """The first edition's tag manifest, which the second replaced, is changed: only the walk can see that."""
    data = bytearray(two().data)
    at = data.index(b"tagmanifest-sha256.txt") + len(b"tagmanifest-sha256.txt") + 20
    data[at] ^= 1
    return bytes(data)


@vector("C026-bytes-between-two-editions")
def between_editions():
    bundle = first()
    bundle.file.data += b"between"
    return bundle.save(SECOND_LINES)


@vector("C026-follows-the-middle-of-an-edition")
def follows_the_middle():
    """The second edition says that it begins where the first one's directory does. So that directory, its end
    record and what follows are in no entry; an entry is made of them."""
    bundle = first()
    hidden = bundle.data.index(b"PK\x01\x02")
    lost = bundle.data[hidden:]
    bundle.file.data = bundle.data[:hidden]
    return bundle.save(SECOND_LINES, others=[("left over.bin", lost.replace(b"glassine 1", b"Glassine 1"))])


@vector("C027-editions-5-and-2")
def five_and_two():
    return first(comment=lambda text: text.replace("edition 1", "edition 5")).save(SECOND_LINES)


in_one("C027-edition-0", comment=lambda text: text.replace("edition 1", "edition 0"))
bad["C027-edition-1-that-follows-another"] = two(comment=lambda text: text.replace("edition 2", "edition 1")).data

# ------------------------------------------------------------------------------------------- the directory


def other_name(inner, other):
    """Info-ZIP Unicode Path (APPNOTE 4.6.9): the name that some programs take instead."""
    name, path = ("%s/%s" % (BASE, inner)).encode(), ("%s/%s" % (BASE, other)).encode()
    return struct.pack("<HHBL", 0x7075, 5 + len(path), 1, zlib.crc32(name)) + path



in_one("C030-one-record-too-few", end={"entries": lambda n: n + 1, "total": lambda n: n + 1})
in_one("C030-one-record-too-many", end={"entries": lambda n: n - 1, "total": lambda n: n - 1})
in_one("C030-bytes-behind-the-records", directory=lambda records: records + b"more")
in_one("C030-a-record-that-is-none",
       directory=lambda records: records[::-1].replace(b"\x02\x01KP", b"\x05\x05KP", 1)[::-1])
in_one("C031-made-by-another-version", **record("read-me.txt", made_by=0x0314))
in_one("C032-version-needed-10", **field("read-me.txt", needed=10))
in_one("C032-version-needed-45", **field("read-me.txt", needed=45))
in_one("C033-encrypted", **field("read-me.txt", flags=0x0001))
in_one("C033-a-data-descriptor", **field("read-me.txt", flags=0x0008))
in_one("C033-utf-8-flag-for-an-ascii-name", **field("read-me.txt", flags=0x0800))
in_one("C033-no-utf-8-flag", **tagged("été.txt"), **field("été.txt", flags=0))
in_one("C034-method-9", **field("read-me.txt", method=9))
in_one("C034-method-12", **field("read-me.txt", method=12))
in_one("C035-stored-with-two-sizes", entry_fields={"bagit.txt": {"stored": True, "both": {"size": 53}}})
in_one("C036-executable", **record("read-me.txt", external=0x81ED0000))
in_one("C036-a-symbolic-link", **record("read-me.txt", external=0xA1FF0000))
in_one("C036-said-to-be-text", **record("read-me.txt", internal=1))
in_one("C036-on-disk-1", **record("read-me.txt", disk=1))
in_one("C037-a-comment", **record("read-me.txt", comment=b"hello"))
in_one("C038-an-extra-field-of-times", **record("read-me.txt", extra=b"UT\x05\x00\x03\x00\x00\x00\x00"))
in_one("C038-a-second-name-in-an-extra-field", **record("read-me.txt", extra=other_name("read-me.txt", "other.txt")))
in_one("C038-an-extra-field-of-one-byte", **record("read-me.txt", extra=b"\x00"))
in_one("C039-a-zip64-field-that-nothing-asks-for", **record("read-me.txt", extra=struct.pack("<HHQ", 1, 8, 213)))
in_one("C039-an-empty-zip64-field", **record("read-me.txt", extra=struct.pack("<HH", 1, 0)))
in_one("C039-a-zip64-field-of-a-small-size",
       **record("read-me.txt", size=0xFFFFFFFF, extra=struct.pack("<HHQ", 1, 8, 213)))
in_one("C039-a-zip64-field-that-lacks-a-value",
       **record("read-me.txt", size=0xFFFFFFFF, packed=0xFFFFFFFF, extra=struct.pack("<HHQ", 1, 8, 1 << 32)))
in_one("C040-month-0", at="2026-00-01T12:00:00Z")
in_one("C040-29-february-2025", at="2025-02-29T12:00:00Z")
in_one("C040-second-60", at="2026-03-01T12:00:60Z")
in_one("C040-two-times-in-one-edition", **field("read-me.txt", time=0x6002))

# ---------------------------------------------------------------------------------------------- places

in_one("C050-two-records-exchanged", order=lambda listed: listed[:2] + [listed[3], listed[2]] + listed[4:])
in_one("C050-an-entry-listed-twice", claim=lambda listed: listed[:3] + [listed[2]] + listed[3:])


@vector("C051-an-entry-inside-another")
def inside_another():
    """The data of the first entry, which is stored, are a whole entry, and the directory lists this one, too."""
    inner = Entry("inner.txt", b"Notes that somebody keeps with the bundle.\n", stored=True)
    inner.place(BASE, 30 + len("%s/outer.bin" % BASE), "2026-03-01T12:00:00Z")
    outer = Entry("outer.bin", inner.local_header() + inner.content, stored=True)

    def with_both(lines):
        more = ["%s  %s" % (sha256(entry.content), entry.inner) for entry in (inner, outer)]
        return sorted(lines + more, key=lambda line: line[66:].encode())

    return first(entries=lambda entries: [outer] + entries, tag_lines=with_both,
                 claim=lambda listed: [listed[0], inner] + listed[1:])


in_one("C051-an-entry-that-reaches-into-the-directory",
       **field("tagmanifest-sha256.txt", packed=1000))
in_one("C052-bytes-before-the-directory", between=b"hidden")
in_one("C052-an-entry-that-is-not-listed",
       extra=[Entry("hidden.txt", b"Nobody lists me.\n", stored=True, listed=False)])
in_one("C052-an-entry-that-is-not-listed-in-the-middle",
       entries=lambda entries: entries[:2] + [Entry("hidden.txt", b"x\n", stored=True, listed=False)] + entries[2:])
bad["C052-an-edition-that-adds-nothing"] = two(entries=lambda entries: [], claim=lambda listed: first().file.listed).data


@vector("C053-brings-back-what-was-dropped")
def brings_back():
    """The third edition lists the entry of the first that the second dropped."""
    bundle = first(**tagged("notes.txt"))
    old = bundle.file.entry("notes.txt")
    bundle.save(SECOND_LINES, drop=["notes.txt"])
    bundle.files["notes.txt"] = old.content
    back = [entry for entry in bundle.file.listed if entry.offset < old.offset]
    bundle.file.listed = back + [old] + [entry for entry in bundle.file.listed if entry not in back]
    return bundle.save([slip("item/" + uuid(0x30), {"kind": "single", "label": "H-015"})])


in_one("C054-another-crc-in-the-local-header", entry_fields={"read-me.txt": {"local": {"crc": 1}}})
in_one("C054-another-name-in-the-local-header",
       entry_fields={"read-me.txt": {"local": {"name": (BASE + "/Read-me.txt").encode()}}})
in_one("C052-an-extra-field-in-the-local-header-alone",
       entry_fields={"read-me.txt": {"local": {"extra": b"UT\x05\x00\x03\x00\x00\x00\x00"}}})
# Of a scan: seen only when it is read, since its header is taken as it must be until then.
bad["C054-another-time-in-the-local-header-of-a-scan"] = first().data.replace(
    b"PK\x03\x04\x14\x00\x00\x00\x00\x00\x00\x60", b"PK\x03\x04\x14\x00\x00\x00\x00\x00\x01\x60")

# ------------------------------------------------------------------------------------------------ names


def named(code, what, name):
    """A file of that whole name, in no manifest, since a line for it would break B021 as well."""
    in_one("%s-%s" % (code, what), extra=[Entry("x", b"x\n", name=name if isinstance(name, bytes) else name.encode())])


named("C060", "a-name-in-latin-1", BASE.encode() + b"/\xe9t\xe9.txt")
named("C060", "a-name-that-is-not-nfc", BASE + "/e\u0301te\u0301.txt")
named("C061", "an-entry-outside-the-base-folder", "elsewhere/x.txt")
named("C061", "an-entry-beside-the-base-folder", BASE + "-two/x.txt")
named("C061", "an-entry-in-no-folder", "x.txt")
named("C062", "two-dots", BASE + "/../x.txt")
named("C062", "a-backslash", BASE + "/..\\x.txt")
named("C062", "an-absolute-path", "/" + BASE + "/x.txt")
named("C062", "a-folder", BASE + "/empty/")
named("C062", "an-empty-part", BASE + "/a//x.txt")
named("C062", "a-hidden-file", BASE + "/.x")
named("C062", "a-dot-at-the-end", BASE + "/x.")
named("C062", "a-space-at-the-beginning", BASE + "/ x")
named("C062", "a-colon", BASE + "/x:y")
named("C062", "a-line-feed", BASE + "/x\ny")
named("C062", "a-nul-byte", BASE + "/x\0y")
named("C062", "a-right-to-left-override", BASE + "/x\u202ey")
named("C062", "a-part-of-129-bytes", BASE + "/" + "x" * 129)
named("C062", "a-name-of-513-bytes", (BASE + "/" + "/".join(["x" * 120] * 5))[:513])
named("C063", "a-device-name", BASE + "/aux.txt")
named("C063", "a-device-name-in-capitals", BASE + "/notes/COM1")
in_one("C064-names-that-differ-in-case", **tagged("Read-Me.txt"))
in_one("C064-names-that-differ-in-case-beyond-ascii", others=[("été.txt", b"a\n"), ("ÉTÉ.txt", b"b\n")])
in_one("C064-folders-that-differ-in-case", others=[("notes/a.txt", b"a\n"), ("Notes/b.txt", b"b\n")])
in_one("C064-a-file-that-is-a-folder", others=[("notes", b"a\n"), ("notes/b.txt", b"b\n")])
in_one("C064-one-name-twice", extra=[Entry("read-me.txt", b"Another.\n")])
in_one("C065-a-scan-named-by-hand", others=[("data/scans/kingfisher.png", SECOND)])
in_one("C065-an-extension-in-capitals", others=[("data/scans/%s.PNG" % sha256(SECOND), SECOND)])
in_one("C065-a-folder-among-scans", others=[("data/scans/more/%s.png" % sha256(SECOND), SECOND)])


@vector("C061-a-base-folder-in-capitals")
def capital_base():
    return Bundle("glassine-Kingfisher").save(FIRST_LINES, [PICTURE])


@vector("C061-a-second-edition-in-another-base-folder")
def another_base():
    """The second edition keeps nothing, and writes all anew somewhere else."""
    bundle, after = first(), two()
    bundle.file.base, bundle.file.listed = "glassine-other", []
    bundle.file.save(2, "2026-03-02T12:00:00Z", [Entry(inner, data) for inner, data in after.files.items()])
    return bundle


@vector("C061-a-base-folder-without-a-slug")
def no_slug():
    return Bundle("glassine-").save(FIRST_LINES, [PICTURE])


# ---------------------------------------------------------------------------------------------- content

NOTE = b"Notes that somebody keeps with the bundle.\n"


def deflated(code, what, raw, **both):
    in_one("%s-%s" % (code, what), **tagged("notes.txt", NOTE), entry_fields={"notes.txt": {"raw": raw, "both": both}})


deflated("C070", "a-damaged-stream", b"\x07" + deflate(NOTE)[1:])
deflated("C070", "a-stream-that-does-not-end", deflate(NOTE)[:-1])
deflated("C070", "bytes-behind-the-stream", deflate(NOTE) + b"hidden")
deflated("C070", "more-than-its-size", deflate(NOTE), size=len(NOTE) - 1)
deflated("C070", "less-than-its-size", deflate(NOTE), size=len(NOTE) + 1)
deflated("C070", "an-empty-stream", b"")
deflated("C071", "another-crc", deflate(NOTE), crc=0x12345678)
MARKED = b"PK\x05\x06" + bytes(18) + b"glassine 1.0 edition 9 follows 0 sum " + b"0" * 64
in_one("C072-an-end-record-in-a-scan", others=[("data/scans/%s.bin" % sha256(MARKED), MARKED)])
in_one("C072-an-end-record-in-a-stored-file", **tagged("notes.bin", MARKED), entry_fields={"notes.bin": {"stored": True}})

# ----------------------------------------------------------------------------------------------- limits


@vector("L007-end-records-that-claim-the-same-bytes")
def claims():
    """Each end record says that all before it is its directory."""
    data = first().data
    for _ in range(40):
        text = b"glassine 1.0 edition 9 follows 0 sum " + b"0" * 64
        data += b"PK\x05\x06" + struct.pack("<LHHLLH", 0, 1, 1, len(data) - 1, 1, len(text)) + text
    return data


in_one("L006-zeros-for-ever", **tagged("zeros.bin", bytes(3 << 20)),
       entry_fields={"zeros.bin": {"raw": zeros(3 << 20)}})
