"""spec/ranking.md: what known marks say about where a stamp comes from. Sections are those of that page."""
import collections
import itertools
import math

import expressions
import plates

VISIBILITY, VISIBILITY_LEAST, VISIBILITY_MOST = 0.8, 0.05, 0.95
SPREAD_LEAST, TOGETHER, REACH = 15, 30, 3
OTHER_APPEARANCE, NO_PLACE, TRACE, SILENT, HASTY = 0.03, 0.3, 0.5, 0.5, 0.3
STRAY, STRAY_SHARED, STRAY_LEAST = 0.01, 0.03, 0.00025


def spot(thing):
    """Its place; None where it has none."""
    return (thing["x"], thing["y"]) if "x" in thing and "y" in thing else None


def margins(place):
    if place is None:
        return set()
    x, y = place
    return {side for side, there in (("left", x < 0), ("right", x > 1000), ("top", y < 0), ("bottom", y > 1000)) if there}


# Things seen


class Thing:
    def __init__(self, observations):
        self.observations = observations
        self.appearance = observations[0]["appearance"]
        places = [spot(o) for o in observations]
        self.place = None if None in places else tuple(sum(axis) / len(places) for axis in zip(*places))
        said = {o.get("seen", "present") for o in observations}
        self.seen = ("unclear" if {"present", "absent"} <= said else "present" if "present" in said
                     else "absent" if "absent" in said else "unclear")


def apart(one, other):
    """How far two observations lie apart; None where they are never one thing."""
    a, b = spot(one), spot(other)
    if one["appearance"] != other["appearance"] or one["by"] == other["by"] or (a is None) != (b is None):
        return None
    distance = math.dist(a, b) if a else 0
    return distance if distance <= TOGETHER else None


def things_of(observations):
    pairs = []
    for one, other in itertools.combinations(sorted(observations, key=lambda o: o["id"]), 2):
        if apart(one, other) is not None:
            pairs.append((apart(one, other), one["id"], other["id"]))
    group = {o["id"]: [o] for o in observations}
    for _, one, other in sorted(pairs):
        first, second = group[one], group[other]
        if first is not second and all(apart(a, b) is not None for a in first for b in second):
            for observation in second:
                group[observation["id"]] = first
            first += second
    return [Thing(those) for those in {id(those): those for those in group.values()}.values()]


# The product of a place


class Mark:
    """A mark as seen from a place: itself there, or in the margin of a neighbour."""

    def __init__(self, mark, place, neighbours=False):
        self.appearance, self.place = mark["appearance"], place
        said = mark["visibility"] / 100 if "visibility" in mark else VISIBILITY
        self.visibility = min(max(said, VISIBILITY_LEAST), VISIBILITY_MOST)
        self.spread = max(mark.get("spread", 0), SPREAD_LEAST)
        self.re_entry = mark.get("cause") == "re_entry" and not neighbours

    def fit(self, thing):
        kind = 1 if thing.appearance == self.appearance else OTHER_APPEARANCE
        if thing.place is None or self.place is None:
            return kind * NO_PLACE
        distance = math.dist(thing.place, self.place)
        return kind * (SPREAD_LEAST / self.spread) ** 2 * math.exp(-distance ** 2 / (2 * self.spread ** 2))

    def reached_by(self, thing):
        if thing.appearance != self.appearance:
            return False
        return thing.place is None or self.place is None or math.dist(thing.place, self.place) <= REACH * self.spread

    def left_over(self, things, silent):
        reached = {thing.seen for thing in things if self.reached_by(thing)}
        if "absent" in reached:
            return 1 - self.visibility
        sides = margins(self.place)
        unseen = sides and not any(margins(thing.place) & sides for thing in things)
        return 1 if "unclear" in reached or unseen else silent(self.visibility)


def greatest(things, marks, stray, silent):
    """The greatest product over all ways to match present things with marks, one to one."""
    present = [thing for thing in things if thing.seen == "present"]
    best = {(0, False): 1.0}      # (things that are matched, was a re-entry?) → product of the marks so far
    for mark in marks:
        left = mark.left_over(things, silent)
        further = collections.defaultdict(float)
        for (taken, re_entry), product in best.items():
            further[taken, re_entry] = max(further[taken, re_entry], product * left)
            for n, thing in enumerate(present):
                if not taken >> n & 1:
                    key = taken | 1 << n, re_entry or mark.re_entry
                    further[key] = max(further[key], product * mark.visibility * mark.fit(thing))
        best = further
    return max(product * math.prod(TRACE if re_entry and thing.appearance in ("doubling", "remains") else stray
                                   for n, thing in enumerate(present) if not taken >> n & 1)
               for (taken, re_entry), product in best.items())


class Ranking:
    """plates, marks, observations: dicts as in testvectors/ranking."""

    def __init__(self, case):
        self.things = things_of(case["observations"])
        self.plates = [(said, plates.Plate(said["rows"], said["columns"], label=said["label"])) for said in case["plates"]]
        self.marks = collections.defaultdict(list)
        for mark in case["marks"]:
            self.marks[mark["plate"]].append(mark)

    # Prior

    def states(self, said):
        return [s for s in said.get("states", [None]) if s not in said.get("not_begun", [])]

    def weights(self):
        """(plate, number, state) → weight"""
        open_plates = [(said, plate) for said, plate in self.plates if self.states(said)]
        shared = max(STRAY_LEAST, STRAY_SHARED / max(1, sum(plate.count for _, plate in open_plates)))
        found = {}
        for said, plate in open_plates:
            asked = expressions.parse(said.get("within", "any"), plate)[0]
            for position, state in itertools.product(asked, self.states(said)):
                marks = list(self.marks_at(said, plate, position, state))
                found[said["label"], plate.number(position), state] = self.weight(marks, min(STRAY, shared)) / len(
                    self.states(said))
        total = sum(found.values())
        return {key: weight / total for key, weight in found.items()}

    def weight(self, marks, stray):
        careful = greatest(self.things, marks, stray, lambda v: 1 - v * SILENT)
        n = max(1, sum(thing.seen == "present" for thing in self.things))
        return max(careful, HASTY ** n * greatest(self.things, marks, stray, lambda v: 1))

    # M

    def marks_at(self, said, plate, position, state):
        for mark in self.marks[said["label"]]:
            if "positions" not in mark or not self.in_state(said, mark, state):
                continue
            there = expressions.parse(mark["positions"], plate)[0]
            if position in there:
                yield Mark(mark, spot(mark))
            for down, across in itertools.product((-1, 0, 1), repeat=2):
                neighbour = (position[0], position[1] + down, position[2] + across)
                if (down or across) and neighbour in there:
                    seen = self.seen_from(said, mark, down, across)
                    if seen:
                        yield Mark(mark, seen, neighbours=True)

    @staticmethod
    def in_state(said, mark, state):
        order = said.get("states", [])
        if state is None:
            return True
        at = order.index(state)
        return (order.index(mark["first_state"]) if "first_state" in mark else 0) <= at <= (
            order.index(mark["last_state"]) if "last_state" in mark else len(order))

    @staticmethod
    def seen_from(said, mark, down, across):
        """Where a stamp shows a mark in the margin of its neighbour; None where it does not (plates.md, Limits of marks)."""
        place, pitches = spot(mark), (said.get("pitch_x", 0), said.get("pitch_y", 0))
        if not margins(place) or min(pitches) <= 1000:
            return None
        seen = (place[0] + across * pitches[0], place[1] + down * pitches[1])
        return seen if all(1000 - pitch <= at <= pitch for at, pitch in zip(seen, pitches)) else None
