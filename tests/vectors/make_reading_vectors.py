"""Writes testvectors/readings/*.json: slips as lines, and the readings that they amount to, worked out by a second
implementation that follows the definition in spec/readings.md word by word, however slowly."""
import itertools
import json
import pathlib

from lines import ADA, BEN, CAT, canonical, content_digest, digest, lines_of_page, slip, uuid

OUT = pathlib.Path(__file__).resolve().parents[2] / "testvectors" / "readings"
REACHES = ("shared", "telling", "private")


class Reading:
    """Of `record`; where `author` is given, of that person's word alone. `uncounted`: digests of slips that stay in
    the set and do not count."""

    def __init__(self, lines, record, author=None, uncounted=()):
        known = {digest(line): json.loads(line) for line in lines}
        ours = {
            d: s for d, s in known.items() if s["record"] == record and (author is None or s["by"] == author)
        }
        self.slips, self.stray, self.incomplete, self.edges = ours, 0, False, {d: set() for d in ours}
        for d, s in ours.items():
            for other in s["after"]:
                if other not in known:
                    self.incomplete = True
                elif other in ours and ours[other]["reach"] == s["reach"]:
                    self.edges[d].add(other)
                else:
                    self.stray += 1
        self.counting = [d for d in ours if d not in uncounted]

    def follows(self, one, other):
        """Directly or through others."""
        seen, waiting = set(), [one]
        while waiting:
            for d in self.edges[waiting.pop()]:
                if d == other:
                    return True
                if d not in seen:
                    seen.add(d)
                    waiting.append(d)
        return False

    def touching(self, field, reach):
        return [
            d
            for d in self.counting
            if self.slips[d]["reach"] == reach
            and (field in self.slips[d]["set"] or field in self.slips[d].get("clear", []))
        ]

    def field(self, name, reach):
        touching = self.touching(name, reach)
        standing = [d for d in touching if not any(self.follows(o, d) for o in touching if o != d)]
        said = []
        for d in standing:
            s = self.slips[d]
            entry = {"slip": d, "cleared": True} if name not in s["set"] else {"slip": d, "value": s["set"][name]}
            value = b"" if "cleared" in entry else canonical(entry["value"]).encode()
            said.append(((value, s["at"], d), entry))
        said.sort(key=lambda pair: pair[0])
        return {
            "name": name,
            "reach": reach,
            "contested": len({key[0] for key, _ in said}) > 1,
            "said": [entry for _, entry in said],
        }

    def fields(self):
        names = sorted({n for s in self.slips.values() for n in itertools.chain(s["set"], s.get("clear", []))})
        return [self.field(n, r) for n in names for r in REACHES if self.touching(n, r)]

    def latest(self, reach):
        """What a new slip follows."""
        ours = [d for d in self.counting if self.slips[d]["reach"] == reach]
        return sorted(d for d in ours if not any(self.follows(o, d) for o in ours if o != d))

    def order(self):
        left, order = set(self.slips), []
        while left:
            ready = [d for d in left if not self.edges[d] & left]
            order.append(min(ready, key=lambda d: (self.slips[d]["at"], d)))
            left.remove(order[-1])
        return order


def write(name, about, lines, *asked, uncounted=()):
    """`asked`: records, or (record, author) for those that speak for their author alone."""
    assert len(set(lines)) == len(lines)
    silent = sorted(digest(line) for line in uncounted)
    readings = []
    for ask in asked:
        record, author = ask if isinstance(ask, tuple) else (ask, None)
        reading = Reading(lines, record, author, silent)
        entry = {"record": record}
        if author:
            entry["author"] = author
        entry.update(
            fields=reading.fields(),
            incomplete=reading.incomplete,
            stray=reading.stray,
            latest={r: reading.latest(r) for r in REACHES},
            order=reading.order(),
        )
        readings.append(entry)
    vector = {"name": name, "about": about, "lines": list(lines), "content_digest": content_digest(lines)}
    if silent:
        vector["uncounted"] = silent
    vector["readings"] = readings
    (OUT / (name + ".json")).write_text(json.dumps(vector, ensure_ascii=False, indent=1) + "\n")


ITEM, OTHER, CLAIM = "item/" + uuid(1), "item/" + uuid(2), "claim/" + uuid(3)


def t(minute):
    return "2026-03-01T10:%02d:00Z" % minute


def say(set=None, after=(), **more):
    return slip(ITEM, set, after, **more)


def simple():
    write("nothing", "no slip at all", [], ITEM)
    a = say({"label": "H-014", "kind": "cover"})
    write("one", "one slip: its fields", [a], ITEM)
    write("empty-slip", "a slip that sets nothing is a slip, and touches nothing", [say()], ITEM)
    b = say({"kind": "piece"}, [a], at=t(1))
    write("revised", "the second value follows the first; the other field stays", [a, b], ITEM)
    c = say({"kind": "cover"}, [b], at=t(2))
    write("back-again", "a value that comes back: only the last slip speaks", [a, b, c], ITEM)
    write("every-kind", "strings, integers, booleans, arrays, an object",
          [say({"text": "Größe \"a\"\nb", "n": -9007199254740991, "yes": True, "list": ["a", 1, False], "empty": [],
                "one": {"a": 1, "b": ["x"], "c": ""}})], ITEM)


def concurrent():
    a = say({"label": "H-014"})
    b, c = say({"kind": "cover"}, [a], at=t(1)), say({"rate": "2d"}, [a], by=BEN, at=t(1))
    write("different-fields", "two people, side by side, different fields: both hold", [a, b, c], ITEM)
    b, c = say({"kind": "cover"}, [a], at=t(1)), say({"kind": "cover"}, [a], by=BEN, at=t(2))
    write("same-value", "two people, side by side, the same value: not contested, both named", [a, b, c], ITEM)
    c = say({"kind": "piece"}, [a], by=BEN, at=t(2))
    write("contested", "two people, side by side, two values: contested", [a, b, c], ITEM)
    d = say({"kind": "piece"}, [b, c], by=ADA, at=t(3))
    write("settled", "a slip that follows both values settles the field", [a, b, c, d], ITEM)
    d = say({"kind": "strip"}, [b], at=t(3))
    write("half-settled", "a slip that follows one of two values leaves the other standing", [a, b, c, d], ITEM)
    e, f = say({"kind": "pair"}, [b, c], at=t(4)), say({"kind": "block"}, [b, c], by=BEN, at=t(4))
    write("settled-twice", "two answers side by side are contested again", [a, b, c, e, f], ITEM)
    g = say({"note": "seen at the fair"}, [b, c], by=CAT, at=t(5))
    write("not-settled", "following both without touching the field settles nothing", [a, b, c, g], ITEM)
    h = say({"kind": "single"}, [g], by=CAT, at=t(6))
    write("through-others", "a field is followed through a slip that does not touch it", [a, b, c, g, h], ITEM)
    roots = [say({"label": "H-014"}), say({"label": "H-014", "kind": "cover"}, by=BEN)]
    write("two-roots", "two first slips on one record, one equal value", roots, ITEM)
    write("same-edit-twice", "one person makes the same edit on two computers at the same second: one slip, one "
          "line, however often it comes", [a, b], ITEM)


def cleared():
    a = say({"note": "loose", "label": "H-014"})
    b = say(after=[a], clear=["note"], at=t(1))
    write("cleared", "a cleared field's value is that it has none", [a, b], ITEM)
    c = say({"note": "hinged"}, [a], by=BEN, at=t(1))
    write("cleared-or-set", "cleared and set side by side: contested", [a, b, c], ITEM)
    d = say(after=[a], clear=["note"], by=BEN, at=t(2))
    write("cleared-twice", "cleared by two, side by side: not contested", [a, b, d], ITEM)
    e = say({"note": ""}, [a], by=BEN, at=t(1))
    write("cleared-or-empty", "an empty string is a value, and another than none", [a, b, e], ITEM)
    write("cleared-first", "a field can be cleared before anybody set it", [say(clear=["note"])], ITEM)
    f = say({"note": "found again"}, [b], at=t(3))
    write("set-again", "a value after the clearing", [a, b, f], ITEM)


def shapes():
    root = say({"kind": "cover", "rate": "2d"})
    a, b = say({"kind": "piece"}, [root], at=t(1)), say({"rate": "4d"}, [root], by=BEN, at=t(1))
    c, d = say({"rate": "6d"}, [a, b], at=t(2)), say({"kind": "pair"}, [a, b], by=BEN, at=t(2))
    e = say({"kind": "strip", "rate": "8d"}, [c], at=t(3))
    f = say({"note": "x"}, [c, d], by=CAT, at=t(4))
    write("criss-cross", "two people go on from both of two slips, and part again", [root, a, b, c, d, e, f], ITEM)
    chain = [say({"rate": "0d"})]
    for i in range(1, 8):
        chain.append(say({"rate": "%dd" % i}, [chain[-1]], at=t(i)))
    write("chain", "eight slips in a row", chain, ITEM)
    write("star", "eight slips side by side, then one after all", [root] + [
        say({"rate": "%dd" % (i % 3)}, [root], at=t(i)) for i in range(1, 9)], ITEM)
    redundant = say({"kind": "block"}, [root, a, c], at=t(5))
    write("redundant", "following an ancestor besides its follower changes nothing", [root, a, b, c, redundant], ITEM)
    late = say({"kind": "piece"}, [root], at="1999-12-31T23:59:59Z")
    write("wrong-clock", "a clock that runs wrong: what follows counts, not the time", [root, late], ITEM)
    tie = [say({"kind": k}, at=t(0), by=p) for k, p in (("cover", ADA), ("cover", BEN), ("cover", CAT))]
    write("tie", "equal value and time: sorted by digest", tie, ITEM)
    more = [say({"f%03d" % i: "first" for i in range(100)})]
    more.append(say({"f%03d" % i: "second" for i in range(0, 100, 2)}, more, at=t(1)))
    more.append(say({"f%03d" % i: "third" for i in range(0, 100, 3)}, more[:1], by=BEN, at=t(1)))
    write("hundred-fields", "more fields than fit one word of 64", more, ITEM)


def gaps():
    a = say({"kind": "cover"})
    b = say({"kind": "piece", "rate": "2d"}, [a], at=t(1))
    c = say({"kind": "pair"}, [b], at=t(2))
    write("missing", "a slip follows one that is not there: it counts, the record is incomplete", [b], ITEM)
    write("missing-between", "the link between two is missing: both values stand until it comes", [a, c], ITEM)
    write("missing-arrived", "the link has come", [a, b, c], ITEM)


def namespaces():
    a = say({"note": "in the album"})
    b = say({"note": "in the bank", "storage": "safe 4"}, reach="private", at=t(1))
    c = say({"note": "position 17"}, reach="telling", at=t(2))
    write("three-reaches", "shared, telling and private do not contest each other", [a, b, c], ITEM)
    d = say({"note": "moved"}, [a], reach="private", at=t(3))
    write("other-reach", "an entry of `after` into another reach is no edge, and is counted as stray", [a, b, d], ITEM)
    e = slip(OTHER, {"note": "another item"}, [a], at=t(3))
    write("other-record", "an entry of `after` into another record is no edge, and is counted as stray",
          [a, e], ITEM, OTHER)
    f = say({"note": "after both"}, [a, digest(e)], by=BEN, at=t(4))
    write("edge-and-stray", "one entry leads inside the record, one outside", [a, e, f], ITEM, OTHER)
    bridge = [a, slip(OTHER, {"note": "x"}, [a], at=t(1))]
    bridge.append(say({"note": "y"}, [bridge[1]], at=t(2)))
    write("no-bridge", "nothing is followed through another record", bridge, ITEM, OTHER)


def authors():
    stamp = "stamp/" + uuid(9)
    a = slip(CLAIM, {"stamp": stamp, "positions": "41", "confidence": "certain"})
    b = slip(CLAIM, {"stamp": stamp, "positions": "42"}, [a], by=BEN, at=t(1))
    write("two-authors", "two authors on one UUID of an authored type are two records; neither follows the other",
          [a, b], (CLAIM, ADA), (CLAIM, BEN), (CLAIM, CAT))
    c = slip(CLAIM, {"positions": "43"}, [a, b], at=t(2))
    write("two-authors-again", "an author goes on from both: the edge to the other's slip is stray",
          [a, b, c], (CLAIM, ADA), (CLAIM, BEN))
    write("two-authors-one-record", "the same slips read as a type that is not authored", [a, b, c], CLAIM)


def uncounted():
    a = say({"kind": "cover"})
    b = say({"kind": "forgery", "note": "x"}, [a], by=BEN, at=t(1))
    write("uncounted", "a slip that does not count touches nothing and is followed by nobody's next slip", [a, b],
          ITEM, uncounted=[b])
    c = say({"kind": "piece"}, [b], at=t(2))
    write("uncounted-between", "what a slip says it follows holds also through one that does not count", [a, b, c],
          ITEM, uncounted=[b])


def examples():
    a, b, c, d, e = shown = lines_of_page("readings.md")
    record = json.loads(a)["record"]
    write("example", "the example of spec/readings.md: settled by the last slip, through one that does not touch the field", shown,
          record)
    write("example-contested", "the same without the last slip", shown[:4], record)
    write("example-incomplete", "the same without the second and the fourth", [a, c, e], record)
    write("example-slips", "the example of spec/slips.md", lines_of_page("slips.md"), record)


OUT.mkdir(parents=True, exist_ok=True)
for make in (simple, concurrent, cleared, shapes, gaps, namespaces, authors, uncounted, examples):
    make()
