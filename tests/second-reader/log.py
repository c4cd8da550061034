"""spec/log.md: segments, lines, editions, the chain, about.json."""
import hashlib
import re

import limits
import slips
from broken import Broken, need
from slips import CONTRIBUTOR, DIGEST, UUID, canonical, is_time, matches

MAJOR = 1

# Segments

SEGMENT = re.compile(r"slips/(\d{8})-(\d{8})\.jsonl", re.ASCII)


def segments_of(names):
    """(first edition, last edition, name), in the order of the log."""
    found = sorted((int(m[1]), int(m[2]), m[0]) for m in map(SEGMENT.fullmatch, names) if m)
    expected = 1
    for first, last, name in found:
        need(first == expected and last >= first, "E020", f"{name} where edition {expected} is expected")
        expected = last + 1
    return found


# Lines


def kind_of(members):
    kinds = [kind for name, kind in (("after", "slip"), ("sig", "signature"), ("log", "edition")) if name in members]
    need(len(kinds) <= 1, "S012", f"a line that is {kinds}")
    return kinds[0] if kinds else "other"


def check_line(text):
    """(kind, members) of a line by itself."""
    members = slips.parse_line(text)
    kind = kind_of(members)
    if kind == "slip":
        slips.check_slip(members)
    elif kind == "signature":
        check_signature(members)
    elif kind == "edition":
        check_edition(members)
    return kind, members


# Signature lines


def check_signature(members):
    for name, digits, rule in (("key", 64, "K010"), ("of", 64, "K011"), ("sig", 128, "K012")):
        need(matches(re.compile(rf"[0-9a-f]{{{digits}}}"), members.get(name)), rule, f"{name} of a signature")


# Edition lines

VERSION = re.compile(r"([1-9][0-9]{0,3})\.(0|[1-9][0-9]{0,3})")
BRINGS = re.compile(r"[0-9a-f]{64}  data/[^\n]+")


def check_version(version, form, too_new):
    need(matches(VERSION, version), form, f"version {version!r}")
    major = int(version.partition(".")[0])
    need(major <= MAJOR, too_new, f"format {version}; this program reads {MAJOR}")


def check_edition(members):
    check_version(members.get("format"), "E014", "E015")
    forms = {"at": is_time, "by": lambda v: matches(CONTRIBUTOR, v), "edition": lambda v: is_count(v) and v >= 1,
             "log": lambda v: matches(DIGEST, v), "note": lambda v: isinstance(v, str), "slips": is_count,
             "tool": lambda v: isinstance(v, str)}
    for name, form in forms.items():
        need(name in members and form(members[name]), "E010", f"{name} of an edition")
    need(members["edition"] <= 99_999_999, "E010", f"edition {members['edition']}")
    brings = members.get("brings")
    need(isinstance(brings, list) and all(matches(BRINGS, line) for line in brings), "E016", "brings")
    need(is_sorted(brings), "E017", "brings is not sorted")
    need("key" not in members or matches(DIGEST, members["key"]), "E018", "key of an edition")
    lost = members.get("lost", [])
    need(isinstance(lost, list) and all(matches(BRINGS, line) for line in lost) and is_sorted(lost), "E041", "lost")


def is_sorted(lines):
    return all(a.encode() < b.encode() for a, b in zip(lines, lines[1:]))


def is_count(value):
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


# The chain


def link(before, text, kind, members):
    if kind == "edition":
        text = canonical({name: value for name, value in members.items() if name != "log"})
    return hashlib.sha256(before + hashlib.sha256(text).digest()).digest()


class Log:
    """The log of the given segments: (first, last, name, content)."""

    def __init__(self, segments):
        self.slips, self.editions, self.signatures, self.unknown = [], [], [], 0
        self.by_digest, self.payload, self.chain, size = {}, set(), bytes(32), 0
        for first, last, name, content in segments:
            size += len(content)
            need(len(content) <= limits.SEGMENT_BYTES, "L004", f"{name} is too long")
            need(size <= limits.LOG_BYTES, "L005", "the log is too long")
            need(content.endswith(b"\n"), "S011", f"{name} ends without a line feed")
            self.take_segment(first, last, name, content[:-1].split(b"\n"))

    def take_segment(self, first, last, name, lines):
        before = len(self.editions)
        for text in lines:
            kind, members = check_line(text)
            self.chain = link(self.chain, text, kind, members)
            if kind == "slip":
                self.take_slip(slips.Slip(text, members))
            elif kind == "signature":
                self.signatures.append(members)
            elif kind == "edition":
                self.take_edition(members)
            else:
                self.unknown += 1
        need(kind == "edition", "E021", f"{name} does not end with an edition line")
        need((first, last) == (before + 1, len(self.editions)), "E020", f"the editions of {name}")

    def take_slip(self, slip):
        need(slip.digest not in self.by_digest, "S013", f"slip {slip.digest} twice")
        need(len(self.slips) < limits.SLIPS, "L021", "too many slips")
        slip.edition = len(self.editions) + 1
        self.by_digest[slip.digest] = slip
        self.slips.append(slip)

    def take_edition(self, members):
        number = members["edition"]
        need(number == len(self.editions) + 1, "E011", f"edition {number} is number {len(self.editions) + 1}")
        need(members["slips"] == len(self.slips), "E012", f"edition {number} counts {members['slips']} slips")
        need(members["log"] == self.chain.hex(), "E013", f"the chain of edition {number}")
        need(number <= limits.EDITIONS, "L024", "too many editions")
        lost = set(members.get("lost", []))
        need(lost <= self.payload, "E041", f"edition {number} lost what was not there")
        self.payload = self.payload - lost | set(members["brings"])
        self.editions.append(members)


def check_end_record(log, footer):
    need(log.editions and len(log.editions) == footer.number, "E022", "the end record and the last edition line")
    check_version_said(log, footer)


def check_version_said(log, footer):
    """Of any end record in the file."""
    need(log.editions[footer.number - 1]["format"] == footer.version, "E022", f"the version of edition {footer.number}")


# about.json

ABOUT = {"base": lambda v: isinstance(v, str), "bundle": lambda v: matches(re.compile(UUID), v),
         "format": lambda v: v == "glassine", "keeper": lambda v: matches(CONTRIBUTOR, v), "made": is_time,
         "title": lambda v: isinstance(v, str), "version": lambda v: matches(VERSION, v)}
ABOUT_TOO = {"answer_by": ABOUT["keeper"], "answers": ABOUT["bundle"], "blind": lambda v: v is True,
             "event": lambda v: matches(re.compile(rf"event/{UUID}"), v)}


def check_about(content, base):
    need(content.endswith(b"\n"), "E030", "about.json ends without a line feed")
    try:
        about = slips.parse_line(content[:-1])
    except Broken as broken:
        raise Broken("E030", f"about.json: {broken.what}") from None
    check_version(about.get("version"), "E031", "E032")
    for name, form in ABOUT.items():
        need(name in about and form(about[name]), "E031", f"{name} of about.json")
    for name, form in ABOUT_TOO.items():
        need(name not in about or form(about[name]), "E031", f"{name} of about.json")
    need(about["base"] == base, "E033", f"about.json is of {about['base']}")
    return about
