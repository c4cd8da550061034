"""Lines of a log, their digests and the chain, written from spec/log.md and spec/slips.md with hashlib and json
alone. Shared by the scripts that make test vectors; the library is not involved."""
import hashlib
import json
import pathlib
import re


def canonical(value):
    """RFC 8785 for what the vectors hold: ASCII member names, strings, integers, booleans, arrays, objects."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def digest(line):
    return hashlib.sha256(line.encode()).hexdigest()


def content_digest(lines):
    return hashlib.sha256(b"".join(sorted(bytes.fromhex(digest(line)) for line in set(lines)))).hexdigest()


def uuid(number):
    return "00000000-0000-4000-8000-%012x" % number


def person(number):
    return "contributor/" + uuid(number)


ADA, BEN, CAT = person(0xA), person(0xB), person(0xC)


def slip(record, set=None, after=(), by=ADA, at="2026-03-01T10:00:00Z", reach="shared", clear=(), **more):
    """A slip's line; `after` holds lines (whose digests are taken) or digests."""
    members = {
        "after": sorted(a if len(a) == 64 else digest(a) for a in after),
        "at": at,
        "by": by,
        "reach": reach,
        "record": record,
        "set": set or {},
    }
    if clear:
        members["clear"] = sorted(clear)
    members.update(more)
    return canonical(members)


def chain_on(chain, line):
    return hashlib.sha256(chain + hashlib.sha256(line.encode()).digest()).digest()


def lines_of_page(page):
    """The lines of a log that a page of spec/ shows as examples."""
    text = (pathlib.Path(__file__).resolve().parents[2] / "spec" / page).read_text(encoding="utf-8")
    shown = [line for block in re.findall(r"(?ms)^```lines\n(.*?)^```", text) for line in block.split("\n")]
    return [line for line in shown if line.startswith("{") and "bundle" not in json.loads(line)]


class Log:
    def __init__(self):
        self.chain, self.lines, self.slips, self.editions = bytes(32), [], 0, []

    def add(self, line):
        members = json.loads(line)
        self.chain = chain_on(self.chain, line)
        self.lines.append(line)
        self.slips += "after" in members

    def close(self, at="2026-03-01T12:00:00Z", by=ADA, note="", tool="vectors", brings=(), **more):
        members = {
            "at": at,
            "brings": sorted(brings),
            "by": by,
            "edition": len(self.editions) + 1,
            "format": "1.0",
            "note": note,
            "slips": self.slips,
            "tool": tool,
        }
        members.update(more)
        self.chain = chain_on(self.chain, canonical(members))
        members["log"] = self.chain.hex()
        self.lines.append(canonical(members))
        self.editions.append({"number": members["edition"], "slips": self.slips, "log": members["log"]})
