"""spec/slips.md: canonical lines, and the members of a slip. Sections are those of that page."""
import datetime
import hashlib
import json
import re
import unicodedata

import limits
from broken import Broken, need

# Canonical form and values


def canonical(value):
    """A value of the value set as the bytes that it has in the log."""
    if isinstance(value, bool):
        return b"true" if value else b"false"
    if isinstance(value, int):
        need(abs(value) < 2 ** 53, "S010", f"the integer {value}")
        return str(value).encode()
    if isinstance(value, str):
        need(all(c >= " " or c == "\n" for c in value), "S010", "a control character")
        text = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        try:
            return b'"' + text.encode("utf-8") + b'"'
        except UnicodeEncodeError:
            raise Broken("S010", "half a surrogate pair") from None
    if isinstance(value, list):
        return b"[" + b",".join(canonical(element) for element in value) + b"]"
    need(isinstance(value, dict), "S010", f"{value!r} is no value")
    names = sorted(value, key=lambda name: name.encode("utf-16-be", "surrogatepass"))
    return b"{" + b",".join(canonical(name) + b":" + canonical(value[name]) for name in names) + b"}"


def check_depth(value, objects_below):
    if isinstance(value, list):
        need(not any(isinstance(element, (list, dict)) for element in value), "S010", "an array holds arrays or objects")
    elif isinstance(value, dict):
        need(objects_below >= 0, "S010", "objects lie too deep")
        for member in value.values():
            check_depth(member, objects_below - 1)


def members_once(pairs):
    need(len(dict(pairs)) == len(pairs), "S010", "a member twice")
    return dict(pairs)


def no_fraction(text):
    raise Broken("S010", f"the number {text}")


def parse_line(text):
    """The object of a line, from its bytes without the line feed."""
    need(len(text) <= limits.LINE_BYTES, "L020", "a line too long")
    try:
        value = json.loads(text.decode("utf-8"), object_pairs_hook=members_once, parse_float=no_fraction,
                           parse_constant=no_fraction)
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise Broken("S010", str(error)) from None
    except ValueError as error:  # an integer of more digits than Python reads
        raise Broken("S010", str(error)) from None
    need(isinstance(value, dict), "S010", "not an object")
    check_depth(value, 2)
    need(canonical(value) == text, "S010", "not in canonical form")
    return value


def strings_of(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for element in value:
            yield from strings_of(element)
    elif isinstance(value, dict):
        for name, member in value.items():
            yield name
            yield from strings_of(member)


def not_nfc(value):
    """S051: reported, never refused."""
    return [text for text in strings_of(value) if not unicodedata.is_normalized("NFC", text)]


# Members

UUID = r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}"
RECORD = re.compile(rf"[a-z][a-z0-9_]{{0,31}}/{UUID}")
CONTRIBUTOR = re.compile(rf"contributor/{UUID}")
FIELD = re.compile(r"[a-z][a-z0-9_]{0,63}")
DIGEST = re.compile(r"[0-9a-f]{64}")
TIME = re.compile(r"(\d{4})-(\d\d)-(\d\d)T([01]\d|2[0-3]):[0-5]\d:[0-5]\dZ", re.ASCII)
REACHES = ("shared", "telling", "private")


def matches(pattern, value):
    return isinstance(value, str) and pattern.fullmatch(value) is not None


def is_time(value):
    found = TIME.fullmatch(value) if isinstance(value, str) else None
    if not found:
        return False
    year, month, day = (int(part) for part in found.groups()[:3])
    try:  # a year that the calendar repeats after 400 years: Python's begins with 1
        datetime.date(year % 400 + 400, month, day)
    except ValueError:
        return False
    return True


def check_slip(slip):
    for name in ("after", "at", "by", "reach", "record", "set"):
        need(name in slip, "S020", f"a slip without {name}")
    after = slip["after"]
    need(isinstance(after, list) and all(matches(DIGEST, digest) for digest in after), "S021", "after")
    need(len(after) <= limits.AFTER, "L022", f"{len(after)} digests in after")
    need(all(a < b for a, b in zip(after, after[1:])), "S022", "after is not sorted")
    need(is_time(slip["at"]), "S023", f"at {slip['at']!r}")
    need(matches(CONTRIBUTOR, slip["by"]), "S024", f"by {slip['by']!r}")
    need("via" not in slip or matches(CONTRIBUTOR, slip["via"]), "S025", "via")
    need(slip["reach"] in REACHES, "S026", f"reach {slip['reach']!r}")
    need(matches(RECORD, slip["record"]), "S027", f"record {slip['record']!r}")
    need(isinstance(slip["set"], dict), "S028", "set is no object")
    need("why" not in slip or isinstance(slip["why"], str), "S032", "why is no string")
    need(all(matches(FIELD, name) for name in slip["set"]), "S029", "the name of a field that is set")
    check_clear(slip)


def check_clear(slip):
    clear = slip.get("clear", [])
    if "clear" in slip:
        need(isinstance(clear, list) and clear, "S030", "clear")
        need(all(matches(FIELD, name) for name in clear), "S029", "the name of a field that is cleared")
        need(all(a < b for a, b in zip(clear, clear[1:])), "S030", "clear is not sorted")
        need(not set(clear) & slip["set"].keys(), "S031", "a field both set and cleared")
    need(len(slip["set"]) + len(clear) <= limits.FIELDS, "L023", "too many fields")


# Digest


def digest(text):
    return hashlib.sha256(text).hexdigest()


class Slip:
    """One slip of a log: its line's digest, and its members by name."""

    def __init__(self, text, members):
        self.digest = digest(text)
        self.members = members
        self.after, self.at, self.by = members["after"], members["at"], members["by"]
        self.reach, self.record, self.set = members["reach"], members["record"], members["set"]
        self.clear = members.get("clear", [])
        self.type = self.record.partition("/")[0]
