"""A bundle file read and written by other means than the library: Python's zipfile, hashlib and struct, after
spec/container.md and spec/log.md. It makes what the program itself cannot make: files of later versions."""

import hashlib
import json
import re
import struct
import time
import zipfile
import zlib

COMMENT = re.compile(rb"glassine (\d+)\.(\d+) edition (\d+) follows (\d+) sum ([0-9a-f]{64})\Z")
END = b"PK\x05\x06"
MADE_BY, ATTRIBUTES = 0x032D, 0x81A40000


def canonical(value):
    """RFC 8785 for our value set (keys are ASCII here, so sorting by code point is sorting by UTF-16)."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def sha256(data):
    return hashlib.sha256(data).hexdigest()


def footer(data):
    """The comment of a file that ends in a whole end record: (edition, length at the edition before)."""
    at = data.rfind(END)
    found = COMMENT.match(data[at + 22:])
    if at < 0 or not found:
        raise ValueError("no end record of ours at the end of the file")
    return int(found[3]), int(found[4])


def edition_ends(path):
    """{edition: length of the file at it}, walking the end records back."""
    data = path.read_bytes()
    ends, end = {}, len(data)
    while end:
        edition, before = footer(data[:end])
        ends[edition] = end
        end = before
    return ends


def read(path):
    """(base folder, {name below it: bytes})"""
    with zipfile.ZipFile(path) as archive:
        names = archive.namelist()
        base = names[0].split("/")[0]
        return base, {name[len(base) + 1:]: archive.read(name) for name in names}


def log_lines(files):
    """The lines of the log, without their line feeds."""
    text = b"".join(files[name] for name in sorted(files) if name.startswith("slips/"))
    return text.split(b"\n")[:-1]


def chained(lines):
    """(line, the edition's members without log or None, chain value) for every line, after spec/log.md."""
    chain = bytes(32)
    for line in lines:
        members = json.loads(line)
        edition = {name: value for name, value in members.items() if name != "log"} if "log" in members else None
        text = canonical(edition) if edition else line
        chain = hashlib.sha256(chain + hashlib.sha256(text).digest()).digest()
        yield line, edition, chain.hex()


def broken_editions(lines):
    """Numbers of the editions whose `log` is not the chain's value."""
    return [edition["edition"] for line, edition, chain in chained(lines)
            if edition and json.loads(line)["log"] != chain]


def close_log(lines):
    """The log's text, every edition line given its `log` anew."""
    out = (canonical({**edition, "log": chain}) if edition else line for line, edition, chain in chained(lines))
    return b"".join(line + b"\n" for line in out)


def make_bag(files):
    """Both manifests and the Payload-Oxum made again (RFC 8493)."""
    payload = {name: data for name, data in files.items() if name.startswith("data/")}
    oxum = b"Payload-Oxum: %d.%d" % (sum(map(len, payload.values())), len(payload))
    files["bag-info.txt"] = re.sub(rb"Payload-Oxum: [0-9.]+", oxum, files["bag-info.txt"])

    def manifest(names):
        return "".join(f"{sha256(files[name])}  {name}\n" for name in sorted(names)).encode()

    files["manifest-sha256.txt"] = manifest(payload)
    files["tagmanifest-sha256.txt"] = manifest(set(files) - set(payload) - {"tagmanifest-sha256.txt"})


def write(path, base, files, edition, version="1.0", seconds=1_700_000_000):
    """One edition without anything before it, as `tidy` leaves a file."""
    t = time.gmtime(seconds)
    stamp = struct.pack("<HH", t.tm_hour << 11 | t.tm_min << 5 | t.tm_sec // 2,
                        (t.tm_year - 1980) << 9 | t.tm_mon << 5 | t.tm_mday)
    body, directory, summed = b"", b"", hashlib.sha256()
    for inner, data in files.items():
        name = f"{base}/{inner}".encode()
        stored = inner.startswith("data/scans/")
        packer = zlib.compressobj(9, zlib.DEFLATED, -15)
        packed = data if stored else packer.compress(data) + packer.flush()
        common = struct.pack("<HHH", 20, 0x0800 if max(name) >= 0x80 else 0, 0 if stored else 8) + stamp + \
            struct.pack("<LLLHH", zlib.crc32(data), len(packed), len(data), len(name), 0)
        directory += b"PK\x01\x02" + struct.pack("<H", MADE_BY) + common + \
            struct.pack("<HHHLL", 0, 0, 0, ATTRIBUTES, len(body)) + name
        header = b"PK\x03\x04" + common + name
        summed.update(header + (b"" if stored else packed))
        body += header + packed
    summed.update(directory)
    comment = f"glassine {version} edition {edition} follows 0 sum {summed.hexdigest()}".encode()
    end = END + struct.pack("<HHHHLLH", 0, 0, len(files), len(files), len(directory), len(body), len(comment))
    path.write_bytes(body + directory + end + comment)
