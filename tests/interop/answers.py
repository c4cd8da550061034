#!/usr/bin/env python3
"""Numbered answers: random texts, made by the grammar of spec/answers.md and of its phrases, as the program
understands them and as the second reader does, which was written from that page.

usage: answers.py --program PATH"""
import json
import random
import sys

import checks
import grammars

sys.path.insert(0, str(grammars.ROOT / "tests/second-reader"))
import answers as second  # noqa: E402
import plates  # noqa: E402

TEXTS = 400
LABELS = [f"H-{number:03}" for number in range(1, 7)]
PHRASES = [phrase for phrases in (*second.VERDICTS.values(), *second.SURE.values()) for phrase in phrases]
PLACES = ["64", "65", "7", "120", "131", "1-12", "41\u201350", "R6/3", "r1/2", "row 3", "rows 4-5", "column 4", "col 4", "cols. 2",
          "any", "anywhere", "either 3", "pos. 9", "position 9", "5 or 6", "5 to 9", "row 3 column 4", "64 and row 7", "TL", "0"]
OTHERS = ["early", "late", "state early", "late state", "plate 1", "pl. 1", "plate 2", "plate", "a lovely copy", "no doubling",
          "dot left of the value", "scratch unclear", "without wear", "it", "I think", "is", "my", "but", "or", "\u0663", "17th",
          "don\u2019t know", "guideline", "who knows", "if", "state"]
GLUE = [" ", " ", " ", ", ", "; ", ". ", " - ", " \u2013 ", " (", ") ", " and ", " or ", " to ", " not ", " but not ", " except in ", "! "]
LINES = ["", "", "> 2. H-002 - KF", "> From which position does it come?", ">1. H-001", "Best wishes", "-- ", "Tel. 0555 12", "Date: x",
         "many thanks for the scans.", "thanks", "1/2 of it is clipped", "and that is all", "H-003: 64", "H-004 - cannot say", "H-005 = 7",
         "h-001: 3", "H-006:", "9: 3", "2 and 3 64", "3 64", "1-3: 5", "No. 1, 65 66", "1 \u2013 64", "3-1: 64", "1: 64, 2: 65 and 3: 7"]


def answer(random):
    return "".join(part for _ in range(random.randint(1, 4))
                   for part in (random.choice(random.choice((PHRASES, PLACES, OTHERS))), random.choice(GLUE))).strip()


def head(page, random):
    return page.make("number-head", random) + answer(random)


def line(page, random):
    kind = random.random()
    if kind < 0.25:
        return random.choice(LINES)
    if kind < 0.45:
        return f"{random.randint(1, 6)}: {answer(random)}"
    return head(page, random) if kind < 0.85 else answer(random)


def made(check):
    """The world of testvectors/answers, and six stamps sent to somebody."""
    bundle = check.new("asked.glassine")
    for words in (["contributor", "name=Odile"], ["design", "label=KF"], ["plate", "label=1", "design=KF", "rows=12", "columns=10"],
                  ["plate_state", "plate=1", "name=early", "order=1"], ["plate_state", "plate=1", "name=late", "order=2"],
                  *(["item", f"label={label}", "design=KF"] for label in LABELS)):
        check.call("enter", bundle, *words)
    check.call("dispatch", bundle, "--to", "Odile", "--items", ",".join(LABELS), "-o", check.folder / "sent")
    return bundle


def main():
    check = checks.Checks(__doc__)
    page = grammars.Page("answers.md", {grammars.STAMPS: LABELS})
    page.grammar.instead.update({"number": ["1", "2", "3", "4", "6", "9", "0"]})
    seeded, bundle = random.Random(1862), made(check)
    for number in range(TEXTS):
        text = "\n".join(line(page, seeded) for _ in range(seeded.randint(1, 4)))
        if not text.strip() or text.lstrip().startswith("{") or "question" in text and "," in text.split("\n")[0]:
            continue
        path = check.folder / "text.txt"
        path.write_text(text + "\n")
        told = check.json("merge", bundle, path, "--by", "Odile", "--preview")["result"]
        plate = plates.Plate(rows=12, columns=10, label="1", states=["early", "late"])
        understood, asked = second.understand(text.strip(), LABELS, {"1": plate})
        found = ({one["number"]: one["understood"] for one in told["answers"]}, sorted(one["number"] for one in told["questions"]))
        if found == (understood, sorted(asked)):
            check.passed += 1
        else:
            check.equal(json.dumps(text, ensure_ascii=False), found, (understood, sorted(asked)))
    check.finish()


if __name__ == "__main__":
    main()
