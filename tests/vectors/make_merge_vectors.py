"""Writes testvectors/merge/*.json: bundles as lines, the readings of what a merge makes of them, worked out by the
second implementation of make_reading_vectors.py, and what a report of the merge must tell, written down here by hand
from spec/exchange.md."""
import json
import pathlib

from lines import ADA, BEN, CAT, content_digest, slip, uuid
from make_reading_vectors import REACHES, Reading

OUT = pathlib.Path(__file__).resolve().parents[2] / "testvectors" / "merge"
AUTHORED = ("observation", "claim", "match", "opinion", "conclusion", "join")


def rid(kind, number):
    return f"{kind}/{uuid(number)}"


ITEM, ITEM2, STAMP, STAMP2 = rid("item", 1), rid("item", 2), rid("stamp", 3), rid("stamp", 4)
DESIGN, PLATE, PLATE2, PLATE3 = rid("design", 5), rid("plate", 6), rid("plate", 7), rid("plate", 8)
CLAIM, CLAIM2, SCAN, SCAN2, JOIN, JOIN2 = (rid("claim", 9), rid("claim", 16), rid("scan", 17), rid("scan", 18),
                                           rid("join", 19), rid("join", 20))


def t(minute, year=2026):
    return "%04d-03-01T10:%02d:00Z" % (year, minute)


def of(record, by):
    """The key of an authored record."""
    return record + "/" + by.split("/")[1]


def say(set=None, after=(), record=ITEM, **more):
    return slip(record, set, after, **more)


PEOPLE = [slip(person, {"name": name}, by=ADA, at=t(0)) for person, name in ((ADA, "Ada"), (BEN, "Ben"), (CAT, "Cat"))]
FIRST = say({"kind": "cover", "label": "H-001", "rate": "2d"}, at=t(1))
LAYOUT = {"columns": 10, "design": DESIGN, "label": "1", "rows": 12}
PLACES = [slip(DESIGN, {"label": "KF"}, at=t(1)), slip(PLATE, LAYOUT, at=t(1)),
          slip(STAMP, {"design": DESIGN, "item": ITEM}, at=t(1))]


def readings(lines):
    keys = []
    for line in lines:
        members = json.loads(line)
        author = members["by"] if members["record"].split("/")[0] in AUTHORED else None
        if (members["record"], author) not in keys:
            keys.append((members["record"], author))
    out = []
    for record, author in sorted(keys, key=lambda key: (key[0], key[1] or "")):
        reading = Reading(lines, record, author)
        entry = {"record": record}
        if author:
            entry["author"] = author
        entry.update(fields=reading.fields(), incomplete=reading.incomplete)
        out.append(entry)
    return out


def write(name, about, mine, *sources, **told):
    """`mine`: the keeper's (Ada's) lines beside PEOPLE; `told`: what the report tells of each kind, nothing else."""
    mine = PEOPLE + list(mine)
    every = list(dict.fromkeys(mine + [line for source in sources for line in source]))
    vector = {"name": name, "about": about, "keeper": ADA, "bundle": mine, "sources": [list(s) for s in sources],
              "content_digest": content_digest(every), "readings": readings(every),
              "report": {kind: sorted(lines) for kind, lines in sorted(told.items())}}
    (OUT / (name + ".json")).write_text(json.dumps(vector, ensure_ascii=False, indent=1) + "\n")


def edits():
    mine, theirs = say({"kind": "pair"}, [FIRST], at=t(2)), say({"kind": "pair"}, [FIRST], by=BEN, at=t(3))
    write("nothing-new", "a source that holds nothing new", [FIRST], [FIRST])
    write("same-edit-twice", "one person made one edit on two computers: one slip", [FIRST, mine], [FIRST, mine])
    write("new-record", "a record that was not there", [FIRST], [say({"label": "H-002"}, record=ITEM2, by=BEN)],
          new=[ITEM2])
    write("followed", "somebody changed what they had seen", [FIRST], [FIRST, theirs], changed=[ITEM + " kind"])
    write("fast-forward", "two changes one after the other", [FIRST],
          [FIRST, theirs, say({"kind": "strip"}, [theirs], by=CAT, at=t(4))], changed=[ITEM + " kind"])
    write("same-field-same-value", "side by side, the same value: not contested, nothing changed, and both said it",
          [FIRST, mine], [FIRST, theirs], agreed=[ITEM], combined=[ITEM])
    other = say({"rate": "4d"}, [FIRST], by=BEN, at=t(3))
    write("different-fields", "side by side, different fields: a row that nobody wrote", [FIRST, mine], [FIRST, other],
          changed=[ITEM + " rate"], combined=[ITEM])
    strip = say({"kind": "strip"}, [FIRST], by=BEN, at=t(3))
    write("same-field-different-values", "side by side, different values", [FIRST, mine], [FIRST, strip],
          contested=[ITEM + " kind"])
    write("clear-against-set", "one takes away what the other sets anew", [FIRST, say({}, [FIRST], clear=["kind"], at=t(2))],
          [FIRST, strip], contested=[ITEM + " kind"])
    write("clear-against-clear", "both take away", [FIRST, say({}, [FIRST], clear=["kind"], at=t(2))],
          [FIRST, say({}, [FIRST], by=BEN, clear=["kind"], at=t(3))], agreed=[ITEM], combined=[ITEM])
    write("one-person-two-computers", "side by side by one person: contested, and no combination of two people",
          [FIRST, mine], [FIRST, say({"kind": "block", "rate": "4d"}, [FIRST], at=t(3))], changed=[ITEM + " rate"],
          contested=[ITEM + " kind"])
    write("one-person-different-fields", "side by side by one person, different fields", [FIRST, mine],
          [FIRST, say({"rate": "4d"}, [FIRST], at=t(3))], changed=[ITEM + " rate"])
    wrong = say({"kind": "strip"}, [mine], by=BEN, at=t(3, 1987))
    write("clock-years-off", "a clock that is years behind decides nothing", [FIRST, mine], [FIRST, mine, wrong],
          changed=[ITEM + " kind"])
    write("clock-ahead", "a clock that is years ahead decides nothing", [FIRST, mine],
          [FIRST, say({"kind": "strip"}, [FIRST], by=BEN, at=t(3, 2061))], contested=[ITEM + " kind"])
    return mine, strip


def settlements(mine, strip):
    here = say({"kind": "pair"}, [mine, strip], at=t(5))
    there = say({"kind": "block"}, [mine, strip], by=BEN, at=t(5))
    both = [FIRST, mine, strip]
    write("settled-elsewhere", "a contested field, settled by somebody who saw both values", both, both + [there],
          changed=[ITEM + " kind"])
    write("settle-against-settle", "settled on two sides differently: contested again", both + [here], both + [there],
          contested=[ITEM + " kind"])
    write("settle-against-third", "a third value that the settlement had not seen", both + [here],
          [FIRST, say({"kind": "piece"}, [FIRST], by=CAT, at=t(4))], contested=[ITEM + " kind"])
    cross = [say({"rate": "6d"}, [mine, strip], at=t(5)), say({"rate": "8d"}, [mine, strip], by=BEN, at=t(5))]
    write("criss-cross", "both go on from both of two slips, and part again", both + cross[:1], both + cross[1:],
          contested=[ITEM + " kind", ITEM + " rate"])
    write("half-settled", "a slip that follows one of two values leaves the other standing", [FIRST, mine, strip],
          both + [say({"kind": "block"}, [strip], by=BEN, at=t(5))], contested=[ITEM + " kind"])


def partial(mine):
    missing = say({"kind": "piece"}, [mine], by=BEN, at=t(3))
    last = say({"kind": "strip"}, [missing], by=BEN, at=t(4))
    write("missing-ancestor", "a slip that follows one which is not here: it counts, and its record is incomplete",
          [FIRST, mine], [last], contested=[ITEM + " kind"], incomplete=[ITEM])
    write("missing-ancestor-arrives", "the missing slip arrives, and the record is complete", [FIRST, mine, last],
          [missing], changed=[ITEM + " kind"], completed=[ITEM])
    write("missing-arrives-first", "both sources at once, the later slip first", [FIRST, mine], [last], [missing],
          changed=[ITEM + " kind"])
    stray = say({"rate": "4d"}, [FIRST], record=ITEM2, by=BEN, at=t(3))
    write("after-into-another-record", "an `after` that leads to another record is no edge", [FIRST, say(
        {"label": "H-002"}, record=ITEM2, at=t(1))], [stray], changed=[ITEM2 + " rate"], combined=[ITEM2],
          not_counted=[ITEM2 + " S050"])
    private = say({"rate": "4d"}, [FIRST], reach="private", by=ADA, at=t(3))
    write("after-into-another-reach", "an `after` that leads to another reach is no edge", [FIRST], [FIRST, private],
          changed=[ITEM + " rate"], not_counted=[ITEM + " S050"])
    write("private-beside-shared", "the reaches are namespaces of their own", [FIRST],
          [FIRST, say({"kind": "block"}, reach="private", at=t(3))], changed=[ITEM + " kind"])


def whose_word():
    aside = say({"set_aside": True}, [FIRST], by=BEN, at=t(3))
    write("set-aside-by-another", "setting aside is the keeper's: of others it is a proposal", [FIRST], [FIRST, aside],
          changed=[ITEM + " set_aside"], not_counted=[ITEM + " -"])
    write("set-aside-against-revise", "the keeper sets aside what another revises", [FIRST, say(
        {"set_aside": True}, [FIRST], at=t(2))], [FIRST, say({"kind": "pair"}, [FIRST], by=BEN, at=t(3))],
          changed=[ITEM + " kind"], combined=[ITEM])
    base = [FIRST] + PLACES
    own = slip(CLAIM, {"positions": "64", "stamp": STAMP}, by=BEN, at=t(2))
    write("claim", "a claim, and where its stamp stands now", base, base + [own], new=[of(CLAIM, BEN)],
          standings=[STAMP + " placed"])
    write("strangers-slip-on-a-claim", "nobody speaks in another's record: it is one of its own", base + [own],
          [slip(CLAIM, {"withdrawn": True}, [own], by=CAT, at=t(3))], new=[of(CLAIM, CAT)],
          faults=[of(CLAIM, CAT) + " R040"], not_counted=[of(CLAIM, CAT) + " R048", of(CLAIM, CAT) + " S050"])
    write("claims-disagree", "two people name two places", base + [own],
          [slip(CLAIM2, {"positions": "65", "stamp": STAMP}, by=CAT, at=t(3))], new=[of(CLAIM2, CAT)],
          standings=[STAMP + " disputed"])
    write("correspondent-as-keeper", "who says so in a record is not the keeper", [FIRST],
          [slip(rid("collection", 30), {"keeper": BEN, "title": "Mine"}, by=BEN, at=t(3))], new=[rid("collection", 30)])
    write("claim-on-what-is-not-here", "a reference that leads nowhere", [FIRST],
          [slip(CLAIM, {"positions": "64", "stamp": STAMP2}, by=BEN, at=t(2))], new=[of(CLAIM, BEN)],
          leads_nowhere=[of(CLAIM, BEN) + " R032"])
    write("unknown-type-and-field", "what this version does not know is kept", [FIRST],
          [FIRST, slip("wonder/" + uuid(40), {"a": 1}, by=BEN), say({"own_x": ["a"]}, [FIRST], by=BEN, at=t(3))],
          new=["wonder/" + uuid(40)], changed=[ITEM + " own_x"])


def alike():
    write("two-records-one-label", "two items of one label", [FIRST], [say({"label": "h-001"}, record=ITEM2, by=BEN)],
          new=[ITEM2], same_label=[ITEM2 + " " + ITEM])
    twin = slip(PLATE2, LAYOUT, by=BEN, at=t(2))
    write("twin-plates", "two plates of one label and one layout", PLACES + [FIRST], [twin], new=[PLATE2],
          twins=[PLATE2 + " " + PLATE])
    write("plates-of-one-label", "one label, and another layout", PLACES + [FIRST],
          [slip(PLATE2, {**LAYOUT, "rows": 20}, by=BEN, at=t(2))], new=[PLATE2], same_label=[PLATE2 + " " + PLATE])
    third = slip(PLATE3, LAYOUT, by=CAT, at=t(2))
    joins = [slip(JOIN, {"records": [PLATE, PLATE2]}, at=t(3)), slip(JOIN2, {"records": [PLATE2, PLATE3]}, at=t(4))]
    write("three-way-join", "joined by the keeper: no twins any more", PLACES + [FIRST, twin, third], joins,
          new=[of(JOIN, ADA), of(JOIN2, ADA)])
    write("join-undone", "a join taken back", PLACES + [FIRST, twin, third] + joins,
          [slip(JOIN2, {"withdrawn": True}, [joins[1]], at=t(5))], changed=[of(JOIN2, ADA) + " withdrawn"])
    write("join-by-another", "a join by another is a proposal", PLACES + [FIRST, twin],
          [slip(JOIN, {"records": [PLATE, PLATE2]}, by=BEN, at=t(3))], new=[of(JOIN, BEN)],
          not_counted=[of(JOIN, BEN) + " -"])
    scan = {"bytes": 9, "item": ITEM, "media": "image/png", "sha256": "ab" * 32}
    write("equal-scans-under-two-names", "one picture, two records", [FIRST, slip(SCAN, {**scan, "name": "a.png"}, at=t(2))],
          [slip(SCAN2, {**scan, "name": "b.png"}, by=BEN, at=t(3))], new=[SCAN2], twins=[SCAN2 + " " + SCAN])


def many():
    sources = [[FIRST, slip(rid("claim", 1000 + n), {"positions": "64", "stamp": STAMP}, by=BEN, at=t(n % 60))]
               for n in range(1000)]
    write("a-thousand-replies", "a thousand sources in one go", [FIRST] + PLACES, *sources,
          new=[of(rid("claim", 1000 + n), BEN) for n in range(1000)], standings=[STAMP + " placed"])


if __name__ == "__main__":
    OUT.mkdir(exist_ok=True)
    mine, strip = edits()
    settlements(mine, strip)
    partial(mine)
    whose_word()
    alike()
    many()
