#!/usr/bin/env python3
"""Ranking vectors against a second computation, written from spec/ranking.md alone: every matching is tried.

    ranking.py VECTORS            checks testvectors/ranking/*.json
    ranking.py --fill VECTORS     writes the weights in (for a new case; then look at them)
"""
import glob
import itertools
import json
import math
import os
import sys

P = dict(visibility=0.8, visibility_least=0.05, visibility_most=0.95, spread_least=15.0, together=30.0,
         other_appearance=0.03, no_place=0.3, stray=0.01, stray_shared=0.03, stray_least=0.00025,
         trace=0.5, reach=3.0, silent=0.5, hasty=0.3)
TRACES = ("doubling", "remains")


def spot(thing):
    return (thing["x"], thing["y"]) if "x" in thing and "y" in thing else None


def distance(a, b):
    return math.hypot(a[0] - b[0], a[1] - b[1])


def margins(at):
    if at is None:
        return set()
    sides = {"left": at[0] < 0, "right": at[0] > 1000, "top": at[1] < 0, "bottom": at[1] > 1000}
    return {side for side, there in sides.items() if there}


def gap(a, b):
    """Distance of two observations that may be one, else None. Two without a place are at one place."""
    one, other = spot(a), spot(b)
    if (one is None) != (other is None):
        return None
    far = 0.0 if one is None else distance(one, other)
    return far if far <= P["together"] else None


def gather(observations):
    """Observations of one appearance, by different people, near each other: one thing. Closest first."""
    by_id = sorted(observations, key=lambda o: o["id"])
    groups = [[o] for o in by_id]
    pairs = []
    for a, b in itertools.combinations(by_id, 2):
        if a["appearance"] == b["appearance"] and a["by"] != b["by"] and gap(a, b) is not None:
            pairs.append((gap(a, b), a["id"], b["id"]))
    for _, a, b in sorted(pairs):
        one = next(g for g in groups if any(o["id"] == a for o in g))
        other = next(g for g in groups if any(o["id"] == b for o in g))
        if one is other or {o["by"] for o in one} & {o["by"] for o in other}:
            continue
        if all(gap(x, y) is not None for x in one for y in other):
            one.extend(other)
            groups.remove(other)
    return [thing(group) for group in groups]


def thing(group):
    seen = [o.get("seen", "present") for o in group]
    if "present" in seen and "absent" not in seen:
        here = "present"
    else:
        here = "absent" if "absent" in seen and "present" not in seen else "unclear"
    at = None
    if spot(group[0]) is not None:
        at = tuple(sum(spot(o)[i] for o in group) / len(group) for i in (0, 1))
    return dict(appearance=group[0]["appearance"], at=at, seen=here)


class Plate:
    def __init__(self, record):
        self.record = record
        self.rows, self.columns = record["rows"], record["columns"]
        self.states = record.get("states", [None])
        self.left = [s for s in self.states if s not in record.get("not_begun", [])]
        self.within = self.parse(record.get("within", "any"))

    def parse(self, text):
        """The few expressions that the vectors use."""
        found = set()
        for part in text.split(","):
            part = part.strip()
            if part == "any":
                part = f"1-{self.rows * self.columns}"
            first, _, last = part.partition("-")
            found |= set(range(int(first), int(last or first) + 1))
        return found

    def neighbour(self, position, down, across):
        row, column = divmod(position - 1, self.columns)
        row, column = row + down, column + across
        inside = 0 <= row < self.rows and 0 <= column < self.columns
        return row * self.columns + column + 1 if inside else None

    def in_state(self, mark, state):
        number = self.states.index(state)
        first = self.states.index(mark["first_state"]) if "first_state" in mark else 0
        last = self.states.index(mark["last_state"]) if "last_state" in mark else len(self.states)
        return first <= number <= last

    def shown(self, marks, position, state):
        out = []
        for mark in marks:
            if mark["plate"] != self.record["label"] or "positions" not in mark or not self.in_state(mark, state):
                continue
            places, at = self.parse(mark["positions"]), spot(mark)
            if position in places:
                out.append(dict(mark, at=at, own=True))
            width, height = self.record.get("pitch_x", 0), self.record.get("pitch_y", 0)
            if width <= 1000 or height <= 1000 or not margins(at):
                continue
            for down, across in itertools.product((-1, 0, 1), repeat=2):
                there = (at[0] + across * width, at[1] + down * height)
                near = 1000 - width <= there[0] <= width and 1000 - height <= there[1] <= height
                if (down, across) != (0, 0) and near and margins(there) and \
                        self.neighbour(position, down, across) in places:
                    out.append(dict(mark, at=there, own=False))
        return out


def sigma(mark):
    return max(mark.get("spread", 0), P["spread_least"])


def visibility(mark):
    said = mark["visibility"] / 100 if "visibility" in mark else P["visibility"]
    return min(max(said, P["visibility_least"]), P["visibility_most"])


def fit(seen, mark):
    kind = 1 if seen["appearance"] == mark["appearance"] else P["other_appearance"]
    if seen["at"] is None or mark["at"] is None:
        return kind * P["no_place"]
    s, d = sigma(mark), distance(seen["at"], mark["at"])
    return kind * (P["spread_least"] / s) ** 2 * math.exp(-d * d / (2 * s * s))


def reaches(seen, mark):
    if seen["appearance"] != mark["appearance"]:
        return False
    if seen["at"] is None:
        return True
    return mark["at"] is not None and distance(seen["at"], mark["at"]) <= P["reach"] * sigma(mark)


def left_over(mark, things, hasty):
    v = visibility(mark)
    if any(t["seen"] == "absent" and reaches(t, mark) for t in things):
        return 1 - v
    if any(t["seen"] == "unclear" and reaches(t, mark) for t in things):
        return 1.0
    sides = margins(mark["at"])
    if sides and not any(sides & margins(t["at"]) for t in things):
        return 1.0
    return 1.0 if hasty else 1 - v * P["silent"]


def matchings(things, marks, taken=()):
    if not things:
        yield {}
        return
    yield from matchings(things[1:], marks, taken)
    for j in range(len(marks)):
        if j not in taken:
            for rest in matchings(things[1:], marks, taken + (j,)):
                yield {**rest, things[0]: j}


def product_of(match, things, marks, leave, stray):
    met = any(marks[j]["own"] and marks[j].get("cause") == "re_entry" for j in match.values())
    product = 1.0
    for i, seen in enumerate(things):
        if i in match:
            product *= visibility(marks[match[i]]) * fit(seen, marks[match[i]])
        elif seen["seen"] == "present":
            product *= P["trace"] if met and seen["appearance"] in TRACES else stray
    for j in range(len(marks)):
        product *= 1.0 if j in match.values() else leave[j]
    return product


def best(things, marks, stray):
    present = [i for i, t in enumerate(things) if t["seen"] == "present"]
    greatest = 0.0
    for hasty in (False, True):
        leave = [left_over(m, things, hasty) for m in marks]
        share = P["hasty"] ** max(1, len(present)) if hasty else 1.0
        for match in matchings(present, marks):
            greatest = max(greatest, share * product_of(match, things, marks, leave, stray))
    return greatest


def rank(case):
    plates = [Plate(p) for p in case["plates"]]
    pairs = sum(len(p.within) for p in plates if p.left)
    in_question = sum(p.rows * p.columns for p in plates if p.left)
    stray = min(P["stray"], max(P["stray_shared"] / in_question, P["stray_least"]))
    things = gather(case.get("observations", []))
    weights = []
    for plate in plates:
        for position in sorted(plate.within):
            for state in plate.left:
                product = best(things, plate.shown(case.get("marks", []), position, state), stray)
                weights.append((product / pairs / len(plate.left), plate.record["label"], position, state))
    total = sum(w[0] for w in weights)
    out = []
    for weight, label, position, state in weights:
        named = {"state": state} if state is not None else {}
        out.append({"plate": label, "position": position, **named, "weight": round(weight / total, 6)})
    return out


def same(one, other):
    return len(one) == len(other) and all(
        {**a, "weight": 0} == {**b, "weight": 0} and abs(a["weight"] - b["weight"]) < 2e-6
        for a, b in zip(one, other))


def main():
    fill, folder, bad, count = sys.argv[1] == "--fill", sys.argv[-1], 0, 0
    for path in sorted(glob.glob(os.path.join(folder, "*.json"))):
        with open(path, encoding="utf-8") as file:
            document = json.load(file)
        for case in document["cases"]:
            count += 1
            weights = rank(case)
            if fill:
                case.setdefault("weights", weights)
            if not same(weights, case["weights"]):
                bad += 1
                print(f"{path}: {case['name']}: {weights}")
        if fill:
            with open(path, "w", encoding="utf-8") as file:
                json.dump(document, file, indent=1, ensure_ascii=False)
                file.write("\n")
    print(f"{count} cases, {bad} differ")
    return 1 if bad or not count else 0


if __name__ == "__main__":
    sys.exit(main())
