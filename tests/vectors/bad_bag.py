"""Files that break one rule of spec/bag.md each."""
from bundle import PICTURE, first, sha256
from container import Entry

bad = {}


def in_one(name, **wrong):
    bad[name] = first(**wrong).data


SCAN_LINE = "%s  data/scans/%s.png" % (sha256(PICTURE), sha256(PICTURE))
ZEROS = "0" * 64
INFO = "Bagging-Date: 2026-03-01\n"

in_one("B010-no-declaration", replace={"bagit.txt": None})
in_one("B010-bagit-of-another-version",
       replace={"bagit.txt": b"BagIt-Version: 0.97\nTag-File-Character-Encoding: UTF-8\n"})
in_one("B010-another-encoding",
       replace={"bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: ISO-8859-1\n"})
in_one("B010-a-third-line",
       replace={"bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\nMore: 1\n"})
in_one("B011-no-bag-info", replace={"bag-info.txt": None})
in_one("B011-no-payload-oxum", replace={"bag-info.txt": INFO.encode()})
in_one("B011-payload-oxum-twice",
       replace={"bag-info.txt": (INFO + "Payload-Oxum: %d.2\n" % (236 + len(PICTURE)) * 2).encode()})
in_one("B012-another-number-of-files",
       replace={"bag-info.txt": (INFO + "Payload-Oxum: %d.3\n" % (236 + len(PICTURE))).encode()})
in_one("B012-another-number-of-bytes",
       replace={"bag-info.txt": (INFO + "Payload-Oxum: %d.2\n" % (235 + len(PICTURE))).encode()})
in_one("B020-no-payload-manifest", replace={"manifest-sha256.txt": None})
in_one("B021-one-space", payload_lines=lambda lines: [line.replace("  ", " ") for line in lines])
in_one("B021-digests-in-capitals",
       payload_lines=lambda lines: [line[:64].upper() + line[64:] for line in lines])
in_one("B021-not-sorted", payload_lines=lambda lines: lines[::-1])
in_one("B021-one-line-twice", payload_lines=lambda lines: lines + lines[-1:])
in_one("B021-an-empty-line", payload_lines=lambda lines: lines + [""])
in_one("B021-carriage-returns", payload_lines=lambda lines: [line + "\r" for line in lines])
in_one("B021-tag-manifest-not-sorted", tag_lines=lambda lines: lines[::-1])
in_one("B022-a-scan-without-a-line", payload_lines=lambda lines: lines[:1])
in_one("B023-a-line-without-a-file",
       payload_lines=lambda lines: lines + ["%s  data/scans/%s.png" % ("f" * 64, "f" * 64)])
in_one("B023-a-line-for-a-tag-file",
       payload_lines=lambda lines: lines + ["%s  read-me.txt" % ZEROS])
in_one("B024-another-about-json", payload_lines=lambda lines: [ZEROS + lines[0][64:]] + lines[1:])


def altered_scan():
    """The first pixels of the scan are others, and so is its CRC-32, but not its name."""
    name = "data/scans/%s.png" % sha256(PICTURE)
    other = PICTURE[:45] + b"\0" + PICTURE[46:]
    return first(entries=lambda entries: [Entry(e.inner, other) if e.inner == name else e for e in entries]).data


bad["B024-an-altered-scan"] = altered_scan()
in_one("B025-a-line-that-does-not-fit-the-name",
       payload_lines=lambda lines: lines[:1] + [ZEROS + lines[1][64:]])
in_one("B030-no-tag-manifest", replace={"tagmanifest-sha256.txt": None})
in_one("B032-a-file-without-a-line", tag_lines=lambda lines: lines[1:])
in_one("B032-an-unknown-file-without-a-line", extra=[Entry("notes.txt", b"Nobody lists me.\n")])
in_one("B033-a-line-without-a-file", tag_lines=lambda lines: lines + ["%s  zzz.txt" % ZEROS])
in_one("B033-a-line-for-a-payload-file",
       tag_lines=lambda lines: sorted(lines + [SCAN_LINE], key=lambda line: line[66:]))
in_one("B033-a-line-for-itself", tag_lines=lambda lines: lines + ["%s  tagmanifest-sha256.txt" % ZEROS])
in_one("B034-another-segment",
       tag_lines=lambda lines: [ZEROS + line[64:] if "slips/" in line else line for line in lines])
in_one("B034-another-manifest",
       tag_lines=lambda lines: [ZEROS + line[64:] if "  manifest" in line else line for line in lines])
in_one("B040-an-md5-manifest", others=[("manifest-md5.txt", b"")])
in_one("B040-a-second-tag-manifest", others=[("tagmanifest-sha512.txt", b"")])
in_one("B041-fetch", others=[("fetch.txt", b"https://example.org/ 1 data/x\n")])


in_one("B050-no-about-json", about_text="none")
in_one("B051-no-read-me", replace={"read-me.txt": None})
