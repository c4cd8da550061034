#!/usr/bin/env python3
"""The grammars of spec/ (RFC 5234): each is sound and whole, says what testvectors/ says, and what the library says.

usage: grammars.py JUDGE EDTF_BOUNDS POSITIONS_READ TYPED GLASSINE_KNOWN     (programs of tests/tools/ and tests/portable/)

A vector that is malformed by its syntax must be outside the grammar, every other inside. Texts made at random by a
grammar, and such texts with one character altered, must be taken or refused by the library, and what is typed by the program, as the grammar says. Numbered answers are held against the library in answers.py."""
import collections
import csv
import hashlib
import json
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import zipfile

import abnf
from grammar_prose import MONTHS, MORE, below

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests/second-reader"))
import answers as second_answers  # noqa: E402
SPEC, KIT = ROOT / "spec", ROOT / "testvectors"
COUNTS = collections.Counter()
FAILED = []


def ok(what, condition, detail=""):
    COUNTS[bool(condition)] += 1
    if not condition:
        FAILED.append(what)
        if len(FAILED) <= 40:
            print(f"FAIL {what} {detail}")
    return condition


# ---- the grammars: each page's rules, with those that it takes from other pages


def blocks(page):
    return re.findall(r"(?ms)^```abnf\n(.*?)^```$", (SPEC / page).read_text(encoding="utf-8"))


def taken(text):
    """(page, rule) for `; of PAGE: RULE, RULE; of PAGE: RULE`."""
    for line in re.findall(r"(?m)^; (of .*)$", text):
        for page, names in re.findall(r"of ([a-z-]+\.md): ([a-z-]+(?:, [a-z-]+)*)", line):
            for name in names.split(", "):
                yield page, name


class Page:
    """One page's grammar; `own` are the rules that it defines."""

    def __init__(self, page, prose=None):
        text = "\n".join(blocks(page))
        self.page, self.own, self.taken = page, abnf.definitions(text), set(taken(text))
        self.clashes = set()
        rules, more = dict(self.own), dict(MORE.get(page, {}))
        for other, name in self.taken:
            from_there = Page(other)
            needed = from_there.reached({name})
            self.clashes |= {rule for rule in needed & set(rules) if rules[rule] != from_there.grammar.rules[rule]}
            rules.update({rule: from_there.grammar.rules[rule] for rule in needed})
            more.update({rule: test for rule, test in from_there.grammar.more.items() if rule in needed})
        self.grammar = abnf.Grammar(rules, more, prose)
        self.accepts, self.make = self.grammar.accepts, self.grammar.make

    def reached(self, names):
        known, left = set(), set(names)
        while left:
            name = left.pop()
            known.add(name)
            left |= set(abnf.referred(self.grammar.rules[name])) - known
        return known


# The rules that texts are held against below; every other rule must be part of one of these.
ENTRIES = {
    "answers.md": {"line"},
    "bag.md": {"manifest", "oxum"},
    "commands.md": {"field", "edition", "line", "as-of", "record", "proposal", "size", "pixels", "percent", "number", "decimal", "stamps"},
    "container.md": {"name", "comment"},
    "csv.md": {"header", "version", "list", "contested"},
    "dates.md": {"edtf", "typed"},
    "expressions.md": {"expression"},
    "foreign-sheets.md": {"as"},
    "json-document.md": {"key"},
    "log.md": {"segment-name", "segment", "payload-line"},
    "records.md": {"integer", "hundredths", "truth", "hex", "texts", "region"},
    "slips.md": {"object", "time", "record", "field-name", "digest", "key", "signature"},
    "versions.md": {"version"},
}


def grammars_are_whole():
    with_grammar = {path.name for path in SPEC.glob("*.md") if blocks(path.name)}
    ok("every page with a grammar is looked at", with_grammar == set(ENTRIES), with_grammar ^ set(ENTRIES))
    core = set(abnf.definitions(abnf.CORE))
    for name in sorted(with_grammar):
        try:
            page = Page(name)
            reached = page.reached(ENTRIES[name] | core)
        except (abnf.Wrong, KeyError) as wrong:
            ok(f"{name}: every rule is ABNF, and defined", False, repr(wrong))
            continue
        ok(f"{name}: no rule is unused", not set(page.own) - reached, set(page.own) - reached)
        ok(f"{name}: no rule is defined here and taken from elsewhere, or a core rule",
           not set(page.own) & (core | {rule for _, rule in page.taken}))
        ok(f"{name}: no rule that comes along from elsewhere is another one here", not page.clashes, page.clashes)
        ok(f"{name}: what is taken from other pages is used", {rule for _, rule in page.taken} <= reached)
        for rule in MORE.get(name, {}):
            ok(f"{name}: {rule} is a rule with a comment, or one of those that a comment speaks of", rule in page.own)


# ---- the kit


def names_of(data):
    """Of the records of all directories, as they stand."""
    for found in re.finditer(b"PK\x01\x02", data):
        at = found.start()
        length = int.from_bytes(data[at + 28:at + 30], "little")
        yield data[at + 46:at + 46 + length].decode("utf-8", "surrogateescape")


def comments_of(data):
    for found in re.finditer(b"PK\x05\x06.{16}(..)(?=glassine )", data, re.DOTALL):
        yield data[found.end():found.end() + int.from_bytes(found[1], "little")].decode("latin-1")


def bad(code):
    return sorted((KIT / "bad").glob(code + "-*.glassine"))


# Bundles whose names are of the grammar each by itself.
NAMES_THAT_DIFFER = {
    "C061-a-second-edition-in-another-base-folder": "two base folders, each of the grammar",
    "C061-an-entry-beside-the-base-folder": "two base folders, each of the grammar",
}


def names_and_comments():
    page = Page("container.md")
    for path in sorted((KIT / "valid").glob("*.glassine")):
        data = path.read_bytes()
        for name in set(names_of(data)):
            ok(f"{path.name}: {name!r}", page.accepts("name", name))
        found = list(comments_of(data))
        ok(f"{path.name}: comments are found", found)
        for text in found:
            ok(f"{path.name}: {text!r}", page.accepts("comment", text))
    for path in [path for code in ("C060", "C061", "C062", "C063", "C065") for path in bad(code)]:
        outside = not all(page.accepts("name", name) for name in names_of(path.read_bytes()))
        ok(f"{path.name}: a name is outside the grammar", outside == (path.stem not in NAMES_THAT_DIFFER))
    for path in bad("C020"):
        ok(f"{path.name}: the comment is outside the grammar",
           not all(page.accepts("comment", text) for text in comments_of(path.read_bytes())))


def bags_and_segments():
    bag, log = Page("bag.md"), Page("log.md")

    def texts(path):
        """Inner name → text. By Python's own reader of ZIP files."""
        with zipfile.ZipFile(path) as archive:
            for name in archive.namelist():
                inner = name.partition("/")[2]
                if inner.startswith("slips/") or inner in ("bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"):
                    yield inner, archive.read(name).decode("utf-8", "surrogateescape")

    for path in sorted((KIT / "valid").glob("*.glassine")):
        if json.loads(path.with_suffix(".json").read_text()).get("tail"):
            continue            # programs that look for an end record at the very end see nothing
        for inner, text in texts(path):
            if inner == "bag-info.txt":
                oxum = [line for line in text.split("\n") if line.startswith("Payload-Oxum")]
                ok(f"{path.name}: {oxum}", len(oxum) == 1 and bag.accepts("oxum", oxum[0]))
            elif inner.startswith("slips/"):
                ok(f"{path.name}: {inner}", log.accepts("segment-name", inner) and log.accepts("segment", text))
            else:
                ok(f"{path.name}: {inner}", bag.accepts("manifest", text))
    for path in bad("B021"):
        ok(f"{path.name}: a manifest is outside the grammar",
           not all(bag.accepts("manifest", text) for inner, text in texts(path) if "manifest" in inner))
    for path in bad("S010") + bad("S011"):
        ok(f"{path.name}: the segment is outside the grammar",
           not all(log.accepts("segment", text) for inner, text in texts(path) if inner.startswith("slips/")))
    for name in ("slips/1-2.jsonl", "slips/00000001-00000002.json", "slips/000000001-00000002.jsonl", "Slips/00000001-00000002.jsonl"):
        ok(f"{name}: no segment's name", not log.accepts("segment-name", name))


# Codes of rules on members of a line, by the member and the rule of the grammar that it must follow.
CONTRIBUTOR = ("record", "contributor/")
MEMBERS = {
    "S021": ("after", ("digest", "")), "S023": ("at", ("time", "")), "S024": ("by", CONTRIBUTOR),
    "S025": ("via", CONTRIBUTOR), "S027": ("record", ("record", "")), "S029": ("set", ("field-name", "")),
    "S030": ("clear", ("field-name", "")), "K010": ("key", ("key", "")), "K011": ("of", ("digest", "")),
    "K012": ("sig", ("signature", "")), "E014": ("format", ("version", "")), "E016": ("brings", ("payload-line", "")),
    "E018": ("key", ("key", "")), "E041": ("lost", ("payload-line", "")),
}
LISTS = {"S021": list, "S029": dict, "S030": list, "E016": list, "E041": list}
# Vectors of these codes whose members are of the grammar, so that what is wrong is something else.
NOT_SYNTAX = {"S030": "sorted, each once, at least one", "S029": "a `clear` that holds a number"}
BY_KIND = {"slip": ("S021", "S023", "S024", "S025", "S027", "S029", "S030"), "signature": ("K010", "K011", "K012"),
           "edition": ("E014", "E016", "E018", "E041"), "other": ()}


def member_follows(pages, line, code):
    member, (rule, start) = MEMBERS[code]
    if member not in line:
        return code in ("S025", "S030", "E018", "E041")         # optional
    said = line[member]
    texts = said if isinstance(said, LISTS.get(code, str)) else None
    if texts is None:
        return False
    texts = [texts] if isinstance(texts, str) else list(texts)
    page = next(page for page in pages if rule in page.own)
    return all(isinstance(text, str) and text.startswith(start) and page.accepts(rule, text) for text in texts)


def lines():
    slips = Page("slips.md")
    pages = [slips, Page("log.md"), Page("versions.md")]
    for number, text in enumerate((KIT / "lines/lines.jsonl").read_text(encoding="utf-8").splitlines(), 1):
        case = json.loads(text)
        line = bytes.fromhex(case["hex"]).decode("utf-8", "surrogateescape") if "hex" in case else case["line"]
        what, rule = f"lines.jsonl, line {number}", case.get("rule")
        inside = slips.accepts("object", line)
        if not ok(f"{what}: {rule or case['kind']}", inside == (rule != "S010"), line[:300]) or not inside:
            continue
        members = json.loads(line)
        for code in BY_KIND.get(case.get("kind"), ()):
            ok(f"{what}: {MEMBERS[code][0]}", member_follows(pages, members, code), line[:300])
        if rule in MEMBERS and rule not in NOT_SYNTAX:
            ok(f"{what}: {MEMBERS[rule][0]} is outside the grammar", not member_follows(pages, members, rule), line[:300])


def dates_of_the_kit():
    page = Page("dates.md")
    said = {path.stem: json.loads(path.read_text()) for path in (KIT / "dates").glob("*.json")}
    good = [case["edtf"] for case in said["forms"]["cases"]] + [edtf for _, edtf in said["typed"]["cases"]]
    for text in good + [text for pair in said["order"]["before"] + said["order"]["either"] for text in pair]:
        ok(f"date {text!r}", page.accepts("edtf", text))
    for case in said["refused"]["cases"]:
        ok(f"no date {case['text']!r}", not page.accepts("edtf", case["text"]))


STAMPS = "what a stamp that was asked about is called"


def answers_of_the_kit():
    """Which rule a line is taken by depends on what came before; that a head is one does not."""
    labels = [f"H-{number:03}" for number in range(1, 7)]
    page, heads = Page("answers.md", {STAMPS: labels}), 0
    for path in sorted((KIT / "answers").glob("*.json")):
        for line in json.loads(path.read_text())["text"]:
            line = line.strip()
            ok(f"{path.name}: {line!r}", page.accepts("line", line))
            ok(f"{path.name}: {line!r} is quoted, or not", page.accepts("quoted", line) == line.startswith(">"))
            if second_answers.head_of(line, labels):
                heads += 1
                ok(f"{path.name}: {line!r} is a head", page.accepts("head", line))
    ok("heads were found", heads > 50)


def maps_of_the_kit():
    page, count = Page("foreign-sheets.md"), 0
    for path in sorted((KIT / "sheets").glob("*/map.csv")):
        for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()):
            text = row["as"] or ""
            # A question that nobody answered is no instruction yet.
            ok(f"{path.parent.name}: {text!r}", page.accepts("as", text) == ("?" not in text))
            count += bool(text)
    ok("instructions were found", count > 15)
    for text in ("date month year", "date day month", "years 1850", "money EURO", "decimal", "unit m", "split slash", "split slash 0",
                 "list", "guess", "date day month year, unit mm"):
        ok(f"no instruction {text!r}", not page.accepts("as", text))


NOTHING = "\U0010ffff"      # the name of a pane, or a label, that no text has
NAMES, LABELS = "the name of a pane of the plate", "the label of the plate"


def pane_names(layout):
    """By spec/plates.md, for the layouts of the kit."""
    if "pane_names" in layout:
        return layout["pane_names"].split(",")
    across, down = layout.get("panes_across", 1), layout.get("panes_down", 1)
    return {(1, 1): [NOTHING], (2, 1): ["L", "R"], (1, 2): ["T", "B"], (2, 2): ["UL", "UR", "LL", "LR"]}[across, down]


def expressions_on(layout, more_names=(), more_labels=()):
    return Page("expressions.md", {NAMES: [*pane_names(layout), *more_names],
                                   LABELS: [layout.get("label", NOTHING), *more_labels]})


def expressions_of_the_kit():
    for name in ("good", "bad"):
        said = json.loads((KIT / f"expressions/{name}.json").read_text())
        for case in said["cases"]:
            text, rule, layout = case["expression"], case.get("rule"), said["layouts"][case["layout"]]
            inside = expressions_on(layout).accepts("expression", text)
            ok(f"expression {text!r}, {rule or 'good'}", inside == (rule not in ("R200", "R203", "R204")))
            if rule in ("R203", "R204"):
                ok(f"expression {text!r} were good with other names or labels",
                   expressions_on(layout, ["L", "R", "M", "X"], ["1", "2", "12"]).accepts("expression", text))
            if "prints" in case:
                ok(f"canonical {case['prints']!r}", expressions_on(layout).accepts("expression", case["prints"]))


# ---- the library


def answers_of(program, asked):
    ran = subprocess.run(program if isinstance(program, list) else [program], input="\n".join(asked) + "\n", text=True, capture_output=True, check=True)
    found = ran.stdout.splitlines()
    if len(found) != len(asked):
        sys.exit(f"{program}: {len(found)} answers to {len(asked)} questions")
    return found


def altered(text, random):
    """One character taken out, put in, doubled or replaced."""
    at, other = random.randrange(len(text) + 1), random.choice("0129-/:.,~?%XTZYa Réß\t()\"\\[]{}")
    return random.choice((text[:at] + text[at + 1:], text[:at] + other + text[at:], text[:at] + other + text[at + 1:],
                          text[:at] + text[max(0, at - 1):]))


def made_and_altered(page, rule, count, random):
    for _ in range(count):
        text = page.make(rule, random)
        yield text
        yield altered(text, random)


def compare(what, page, rule, texts, judged):
    """`judged`: for each text whether the library takes it."""
    inside = [page.accepts(rule, text) for text in texts]
    for text, grammar, library in zip(texts, inside, judged):
        ok(f"{what} {text[:200]!r}: {'inside' if grammar else 'outside'} the grammar", grammar == library)
    ok(f"{what}: some are inside and some outside", 0 < sum(inside) < len(inside), sum(inside))


def the_library_judges(judge, random):
    for name, rule, count in (("container.md", "path", 1500), ("container.md", "base", 300), ("container.md", "scan-name", 300),
                              ("container.md", "comment", 600), ("log.md", "segment-name", 300), ("slips.md", "object", 2000)):
        page = Page(name)
        texts = [text for text in made_and_altered(page, rule, count, random)
                 if rule != "path" or not text.startswith("data/scans/")]
        told = answers_of(judge, [json.dumps({"rule": rule, "text": text}) for text in texts])
        # Of a line only its form is judged here: what members mean is for the schemas.
        judged = [code != "S010" if rule == "object" else code == "good" for code in told]
        compare(rule, page, rule, texts, judged)


def the_library_reads_dates(edtf_bounds, random):
    page = Page("dates.md")
    texts = list(made_and_altered(page, "edtf", 3000, random))
    judged = [told != "refused" for told in answers_of(edtf_bounds, texts)]
    compare("date", page, "edtf", texts, judged)


def the_library_reads_expressions(positions_read, random):
    said = json.loads((KIT / "expressions/good.json").read_text())
    for name, layout in said["layouts"].items():
        page = expressions_on(layout)
        page.grammar.instead["number"] = ["1", "2", "3 ", "010", "0", "7\t"]
        plate = {key: value for key, value in layout.items() if key != "states"}
        texts = [text for text in made_and_altered(page, "expression", 400, random) if len(text.encode()) < 1000
                 and NOTHING not in text]
        asked = [json.dumps({"layout": plate, "expression": text}) for text in texts]
        for text, told in zip(texts, map(json.loads, answers_of(positions_read, asked))):
            inside, rule = page.accepts("expression", text), told.get("rule")
            # The first fault in reading order is told: what is outside may have another before it.
            ok(f"expression {text!r} on {name}: {'inside' if inside else 'outside'}, {rule}",
               rule not in ("R200", "R203", "R204") if inside else rule)


# What a grammar made at random seldom hits.
TYPED = {
    "field": ("note=", "note=a=b", "Plate-Number=4", "x=@@", "x=@list.txt", "x=@", "=x", "9x=1", "-x=1", "x y=1", "x", "ä=1"),
    "edition": ("b.glassine#1", "b#2#3", "##1", "a/b#007", "b#4294967294", "b#4294967295", "b#0", "b#-1", "b#+1", "b# 1", "b#1 ",
                "b#", "#1", "b", "b#1#", "b#0x1"),
    "size": ("20M", "500k", "1GB", "0", "00", "9223372036854775807", "9223372036854775808", "9223372036G", "9223372037G", "+1", " 1"),
    "pixels": ("0", "65000", "65001", "-1", "007", "18446744073709551616"),
    "percent": ("1", "100", "101", "0", "10%", "10%%", "+10", " 10"),
    "number": ("1", "4294967294", "4294967295", "0", "18446744073709551617"),
    "decimal": (".5", "5.", ".", "0.3", "123456789012345", "1234567890123456", "1e3"),
    "stamps": ("0", "4", "2x3", "2X3", "0x3", "100x100", "100x101", "10001", "x3", "2x"),
    "line": ("", " \t\r", "# note", "enter item label=F-1 # new", "a#b", "a'b c'\"d\"", "'", '"\\"', '"\\"\"', "a\\", "\\ ", "#'"),
}


class Typed:
    """The program typed of tests/tools/, with a bundle to look into."""

    def __init__(self, program, bundle):
        self.command = [program, str(bundle)]

    def judges(self, what, page, rule, texts):
        """What is understood, and refused for a reason of its own, may be inside or outside."""
        told = answers_of(self.command, [json.dumps({"rule": rule, "text": text}) for text in texts])
        kept = [(text, one == "good") for text, one in zip(texts, told) if one != "refused"]
        compare(what, page, rule, *zip(*kept))
        ok(f"{what}: most are judged", 2 * len(kept) > len(texts), f"{len(kept)} of {len(texts)}")


def the_program_takes_apart(typed, random):
    page = Page("commands.md", {CALLED: [NOTHING], ITEM: [NOTHING]})
    page.grammar.instead["file"] = ["b.glassine", "Färöer#2", "a drawer/b.glassine"]
    for rule, chosen in TYPED.items():
        typed.judges(rule, page, rule, [*chosen, *made_and_altered(page, rule, 500, random)])


# ---- dates and values as people type them


# What is made of rules whose other texts would be seldom understood, or are taken only with what stands before them.
DATE_WORDS = {
    "joining-and": [" and "], "blank": [" ", "  ", "\t", ", ", " the ", " of "], "year-number": ["1860", "1861", "1900", "0999"],
    "month-word": [month[:length] for month in MONTHS for length in (3, 4, 9)], "day-number": ["14", "3", "28", "31"],
    "counted": ["1st", "14th", "22nd", "3'rd"], "short-year": ["62", "63", "99"],
}


def dates_as_typed(typed, random):
    said = json.loads((KIT / "dates/typed.json").read_text())
    page = Page("dates.md")
    page.grammar.instead.update(DATE_WORDS)
    for text, _ in said["cases"]:
        ok(f"typed date {text!r}", page.accepts("typed", text.strip()))
    texts = [*said["refused"], *made_and_altered(page, "typed", 6000, random)]
    typed.judges("typed date", page, "typed", [text for text in texts if text == text.strip() and "\0" not in text])
    page = Page("commands.md", {CALLED: [NOTHING], ITEM: [NOTHING]})
    page.grammar.instead.update({**DATE_WORDS, "space": [" ", "\u2003"], "ended": ["1860", "1861-05/1862", "1900-02~", "2026-03-01"]})
    texts = ["1", "007", "000", "900", "9999", "1861-05/..", "1861/", "../1861", "after 1861", "until 1861", *said["refused"],
             *[text for text, _ in said["cases"]], *made_and_altered(page, "as-of", 1500, random)]
    typed.judges("--as-of", page, "as-of", [text for text in texts if "\0" not in text])


# The fields that the library is asked about: their ranges in the table of records.
RANGES = {"integer": ("integer", below(1, 1000)), "hundredths": ("hundredths", lambda text, start, end: 100 <= hundredths(text[start:end]) <= 5000)}


def hundredths(text):
    whole, _, behind = text.replace(",", ".").partition(".")
    return int(whole) * 100 + int(behind.ljust(2, "0")) if behind else int(whole)


def values_as_typed(typed, random):
    for rule, chosen in VALUES.items():
        page = Page("records.md")
        page.grammar.instead["region"] = ["1,2,3,4", "0, 0, 1, 1", "12,\u30000 ,640,480"]
        if rule in RANGES:
            page.grammar.more.update([RANGES[rule]])
        texts = [*chosen, *made_and_altered(page, rule, 500, random)]
        typed.judges(rule, page, rule, [text for text in texts if text == text.strip() and "\t" not in text])


VALUES = {
    "integer": ("1", "1000", "1001", "0", "-1", "+1", "1.0", "007", "9" * 30),
    "hundredths": ("14.25", "14,5", "14.0", "1425", "14.", ".5", "14.255", "-0.5", "14.-5", "14.-0", "0.99", "1,425"),
    "truth": ("Yes", "NO", "true", "FALSE", "1", "0", "-1", "y-es", "2", "on"),
    "hex": ("0" * 64, "aB" * 32, "0" * 63, "0" * 65, "g" * 64),
    "texts": ("a", "a, b", "a\\,b", "a,", ",a", "a,,b", "a\\", "a\\ ,b", "\\ ", "\\\\", "a\nb"),
    "region": ("1,2,3,4", "0, 0, 1, 1", "0,0,0,1", "1,2,3", "1,2,3,4,5", "-1,2,3,4", "\\1,2,3,4", "1,2,3,x"),
}


# ---- what names a record

CALLED, ITEM = "what a record is called", "what an item is called"


class Known:
    """The records of a bundle, as its JSON document has them."""

    def __init__(self, document):
        label = {one["name"]: one.get("label") for one in json.loads((KIT / "records/table.json").read_text())["types"]}
        self.ids, self.called, self.items, stamps = set(), [], {}, collections.Counter()
        for one in document["records"].values():
            self.ids |= {one["id"]} | ({f"{one['id']}/{one['author'].partition('/')[2]}"} if "author" in one else set())
            if label[one["type"]] in one["fields"]:
                self.called.append(one["fields"][label[one["type"]]])
            if one["type"] == "item":
                self.items[one["id"]] = one["fields"]["label"]
            if one["type"] == "stamp":
                stamps[one["fields"]["item"]] += 1
        self.stamps = stamps

    def is_id(self, text, start, end):
        return text[start:end] in self.ids

    def is_beginning(self, text, start, end):
        return any(one.startswith(text[start:end]) or one.partition("/")[2].startswith(text[start:end]) for one in self.ids)

    def has_stamp(self, text, start, end):
        name, _, number = text[start:end].rpartition(".")
        named = ([item for item, label in self.items.items() if label.lower() == name.lower()]
                 or [item for item in self.items if item == name]
                 or [item for item in self.items if item.startswith(name) or item.partition("/")[2].startswith(name)])
        return any(1 <= int(number) <= self.stamps[item] for item in named)


# Labels that look like something else: the second stamp of F-1, the beginning of an id.
ITEMS = ("label=F-1 stamps=2", "label=F-1.2 stamps=1", "label=Färöer stamps=2x2", "label=abcdef12 stamps=0", "label=item/abcdef stamps=1")


def make_bundle(glassine, folder):
    """With dates and identifiers that are the same each time; its file and what is in it."""
    bundle, seed = folder / "b.glassine", 0

    def run(*arguments):
        nonlocal seed
        seed += 1
        known = {**os.environ, "HOME": str(folder), "SOURCE_DATE_EPOCH": str(1772366400 + 86400 * seed), "KNOWN_RANDOM": str(seed)}
        return subprocess.run([glassine, arguments[0], bundle, *arguments[1:]], env=known, check=True, capture_output=True, text=True).stdout

    run("new", "title=Sorrel Islands", "--by", "Wren Alderby")
    run("enter", "design", "label=KF", "title=Kingfisher")
    run("enter", "plate", "label=1", "design=KF", "rows=12", "columns=10")
    for item in ITEMS:
        run("enter", "item", *item.split(" "))
    run("claim", "Färöer.3", "1", "41")
    run("enter", "contributor", "name=Odile Farrow")
    run("revise", "F-1", "set_aside=yes", "--by", "Odile Farrow")
    run("join", "F-1.2", "item/abcdef", "--by", "Odile Farrow")
    return bundle, json.loads(run("to-json", "--with-private"))


def proposals_in(bundle, by):
    """Digests of the slips of somebody who is not the keeper that set a record aside, or join some."""
    with zipfile.ZipFile(bundle) as archive:
        lines = [line for name in archive.namelist() if "/slips/" in name for line in archive.read(name).splitlines()]
    slips = [(line, said) for line in lines for said in [json.loads(line)]
             if said.get("by") == by and "record" in said]
    return [hashlib.sha256(line).hexdigest() for line, said in slips
            if "set_aside" in said["set"] or said["record"].startswith("join/")]


def proposals_as_typed(typed, bundle, document, random):
    odile, = [one["id"] for one in document["records"].values() if one["label"] == "Odile Farrow"]
    digests = proposals_in(bundle, odile)
    ok("there are two proposals", len(digests) == 2, digests)
    page = Page("commands.md", {CALLED: [NOTHING], ITEM: [NOTHING]})
    page.grammar.more["proposal"] = lambda text, start, end: any(one.startswith(text[start:end]) for one in digests)
    texts = [text for one in digests for length in range(5, 66) for whole in [one[:length]]
             for text in (whole, altered(whole, random), whole.upper())]
    typed.judges("proposal", page, "proposal", ["", "F-1", *texts])


def names_as_typed(typed, document, random):
    known = Known(document)
    page = Page("commands.md", {CALLED: known.called, ITEM: list(known.items.values())})
    page.grammar.more.update({"id": known.is_id, "beginning": known.is_beginning, "nth-stamp": known.has_stamp})
    ids = sorted(known.ids)
    page.grammar.instead.update({"space": [" ", "\n", "\u3000"], "id": ids, "beginning": [
        one[start:end] for one in ids for start in (0, one.index("/") + 1) for end in range(start + 6, len(one), 5)]})
    chosen = ["collection", "Collection", "KF", "kf", "F-1.1", "F-1.2", "F-1.3", "F-1.0", "F-1.01", "F-1.2.1", "FÄRÖER.4", "Färöer.5",
              "abcdef12", "abcdef12.1", "item/abcdef", "item/abcdef.1", "wren alderby", "Wren", "", "item/", "item", ids[0].upper()]
    typed.judges("record", page, "record", [*chosen, *made_and_altered(page, "record", 2500, random)])


def main(judge, edtf_bounds, positions_read, typed, glassine):
    seeded = random.Random(1861)
    grammars_are_whole()
    names_and_comments()
    bags_and_segments()
    lines()
    dates_of_the_kit()
    expressions_of_the_kit()
    answers_of_the_kit()
    maps_of_the_kit()
    the_library_judges(judge, seeded)
    the_library_reads_dates(edtf_bounds, seeded)
    the_library_reads_expressions(positions_read, seeded)
    with tempfile.TemporaryDirectory() as folder:
        bundle, document = make_bundle(glassine, pathlib.Path(folder))
        asked = Typed(typed, bundle)
        the_program_takes_apart(asked, seeded)
        dates_as_typed(asked, seeded)
        values_as_typed(asked, seeded)
        names_as_typed(asked, document, seeded)
        proposals_as_typed(asked, bundle, document, seeded)
    print(f"{COUNTS[True]} passed, {COUNTS[False]} failed")
    return 1 if FAILED else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
