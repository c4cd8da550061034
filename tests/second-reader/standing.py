"""spec/standing.md: what all that is said on a stamp amounts to. Sections are those of that page.

A triple is (plate, position, state): the plate's label, (pane, row, column), and None for a state that is not told."""
import collections
import itertools

import expressions
from broken import Broken

GROUPS, SIDES = 16, 4
PLACE, STATE = (lambda t: t[:2]), (lambda t: (t[0], t[2]))

Tie = collections.namedtuple("Tie", "source one other down across one_state")


class Statement:
    """What leaves certain triples of a stamp. `by` is its author for a claim that binds, else None."""

    def __init__(self, name, stamp, triples, by=None, claim=None):
        self.name, self.stamp, self.triples, self.by, self.claim = name, stamp, triples, by, claim


class Survey:
    """plates: label → plates.Plate. stamps, claims, matches: dicts as in testvectors/standing; a stamp's `design` is
    the labels of its design's plates. rests: id of any other record → ids that its basis names."""

    def __init__(self, plates, stamps, claims, matches, rests):
        self.plates, self.claims = plates, claims
        self.stamps = {stamp["id"]: stamp for stamp in stamps}
        self.rests = {record["id"]: record.get("basis", []) for record in [*claims, *matches]} | rests
        self.statements, self.idle = [], []
        for claim in claims:
            if self.counts(claim) and claim.get("confidence") != "possible":
                self.state_it(Statement(claim["id"], claim["stamp"], self.claimed(claim), claim["by"], claim))
        for stamp in stamps:
            self.look_at_item(stamp)
        self.ties = [*self.multiples(stamps), *filter(None, map(self.matched, matches))]

    def state_it(self, statement):
        (self.statements if statement.triples else self.idle).append(statement)

    # Candidates

    def plates_of(self, stamp):
        return [plate for label, plate in self.plates.items() if label in stamp.get("design", self.plates)]

    def everything(self, name):
        return {triple for plate in self.plates_of(self.stamps[name])
                for triple in itertools.product([plate.label], plate.positions, plate.states or [None])}

    # 1 Claims

    def counts(self, claim):
        return not claim.get("withdrawn") and not any(
            other is not claim and other.get("instead_of") == claim["id"] and other["by"] == claim["by"]
            and other["stamp"] == claim["stamp"] for other in self.claims)

    def claimed(self, claim):
        plate_and_state = claim.get("state")
        left = set()
        for plate in self.plates_of(self.stamps[claim["stamp"]]):
            if plate.label not in claim.get("plates", [plate.label]):
                continue
            if plate_and_state and plate_and_state[0] != plate.label:
                continue
            states = [plate_and_state[1]] if plate_and_state else plate.states or [None]
            try:
                positions = expressions.parse(claim.get("positions", "any"), plate)[0]
            except Broken:
                continue
            left |= set(itertools.product([plate.label], positions, states))
        return left

    # 2 The item

    def look_at_item(self, stamp):
        plates = self.plates_of(stamp)
        if "selvedge" in stamp:
            self.fact(stamp, "selvedge", lambda plate, p: all(self.at_edge(plate, p, s) for s in stamp["selvedge"]))
        if "letters" in stamp and any(plate.letters for plate in plates):
            self.fact(stamp, "letters", lambda plate, p: not plate.letters or self.reads(plate.corner(p), stamp["letters"]))
        if "plate_number" in stamp:
            number = expressions.lower(stamp["plate_number"].strip())
            self.fact(stamp, "plate_number", lambda plate, p: expressions.lower(plate.label.strip()) == number)

    def fact(self, stamp, name, fits):
        left = {t for t in self.everything(stamp["id"]) if fits(self.plates[t[0]], t[1])}
        self.state_it(Statement(f"{stamp['id']} {name}", stamp["id"], left))

    @staticmethod
    def at_edge(plate, position, side):
        row, column = plate.sheet(position)
        return {"left": column == 0, "right": column == plate.columns * plate.across - 1,
                "top": row == 0, "bottom": row == plate.rows * plate.down - 1}[side]

    @staticmethod
    def reads(corner, letters):
        return corner is not None and len(letters) == 2 and all(
            seen in ("?", there) for seen, there in zip(letters.upper(), corner))

    # 3 Ties

    def multiples(self, stamps):
        items = collections.defaultdict(list)
        for stamp in stamps:
            if "item" in stamp and "row" in stamp and "column" in stamp:
                items[stamp["item"], tuple(stamp.get("design", ["any"]))].append(stamp)
        for (item, _), those in items.items():
            if len({(stamp["row"], stamp["column"]) for stamp in those}) < len(those):
                continue
            for one, other in itertools.combinations(those, 2):
                yield Tie(item, one["id"], other["id"], other["row"] - one["row"], other["column"] - one["column"], True)

    @staticmethod
    def matched(match):
        said = match["relation"] == "same" or match["relation"] == "neighbour" and ("down" in match or "across" in match)
        if match.get("withdrawn") or match.get("confidence") == "possible" or not said:
            return None
        offset = (0, 0) if match["relation"] == "same" else (match.get("down", 0), match.get("across", 0))
        return Tie(match["id"], *match["stamps"], *offset, False)

    def tied(self, name, ties=None):
        """The stamps that hang together with this one."""
        found, new = {name}, {name}
        while new:
            new = {end for tie in (self.ties if ties is None else ties) for end in (tie.one, tie.other)
                   if {tie.one, tie.other} & found} - found
            found |= new
        return found

    # to a fixed point

    def narrow(self, stamps, statements, ties, aspect=None):
        """stamp → what is left; with an aspect, the places (or states) by themselves."""
        bare = {None: lambda t: t, PLACE: lambda t: (*t[:2], None), STATE: lambda t: (t[0], None, t[2])}[aspect]
        left = {name: {bare(t) for t in self.everything(name)} for name in stamps}
        for statement in statements:
            left[statement.stamp] &= {bare(t) for t in statement.triples}
        changed = True
        while changed:
            changed = False
            for tie in ties:
                for one, other, down, across in ((tie.one, tie.other, tie.down, tie.across),
                                                 (tie.other, tie.one, -tie.down, -tie.across)):
                    there = {self.mould(t, 0, 0, tie) for t in left[other]}
                    fits = {t for t in left[one] if self.mould(t, down, across, tie) in there}
                    changed |= fits != left[one]
                    left[one] = fits
        return left

    @staticmethod
    def mould(triple, down, across, tie):
        plate, position, state = triple
        if position is not None:
            position = (position[0], position[1] + down, position[2] + across)
        return plate, position, state if tie.one_state else None

    # Words

    def standing(self, name):
        stamps = self.tied(name)
        self.near = [s for s in self.statements if s.stamp in stamps]
        self.near_ties = [tie for tie in self.ties if tie.one in stamps]
        self.own = [s for s in self.near if s.stamp == name]
        both = self.narrow(stamps, self.near, self.near_ties)[name]
        told = {"claims": sum(s.claim is not None for s in self.own), "idle": [s.name for s in self.idle if s.stamp == name],
                "in_two_minds": self.in_two_minds(), "groups": [] if both else self.groups(stamps)}
        place, state = both, both
        if not both:
            place = self.narrow(stamps, self.near, self.near_ties, PLACE)[name]
            state = self.narrow(stamps, self.near, self.near_ties, STATE)[name]
        pairs, every = {PLACE(t) for t in place}, {PLACE(t) for t in self.everything(name)}
        voices, independent, blind = self.voices(pairs, PLACE)
        told |= {"candidates": pairs, "count": len(pairs), "voices": len(voices), "independent": len(independent),
                 "blind": blind, "standing": self.word(pairs, every, len(independent), bool(self.own))}
        told |= self.state_told(name, state)
        return told

    @staticmethod
    def word(left, every, independent, said):
        if not left:
            return "disputed" if every else "unplaced"
        if left == every and (len(left) > 1 or not said):
            return "unplaced"
        return "narrowed" if len(left) > 1 else "corroborated" if independent > 1 else "placed"

    @staticmethod
    def view(statements, aspect):
        """The places (or states) of what claims leave together; nothing where their author is in two minds."""
        return {aspect(t) for t in set.intersection(*(s.triples for s in statements))}

    def authors(self):
        return sorted({s.by for s in self.own if s.by is not None})

    def of(self, author):
        return [s for s in self.own if s.by == author]

    def in_two_minds(self):
        return [author for author in self.authors() if not self.view(self.of(author), PLACE)]

    def voices(self, left, aspect):
        """Those whose view is what is left; those independent; how many of these had a blind claim among what counts."""
        if len(left) != 1:
            return [], [], 0
        voices = [a for a in self.authors() if self.view(self.of(a), aspect) == left]
        independent, blind = [], 0
        for author in voices:
            others = {s.name for s in self.own if s.by in voices and s.by != author}
            alone = [s for s in self.of(author) if not self.leads(s.name, others)]
            if alone and self.view(alone, aspect) == left:
                independent.append(author)
                blind += any(s.claim.get("blind") for s in alone)
        return voices, independent, blind

    def leads(self, name, goals):
        seen, new = set(), set(self.rests.get(name, []))
        while new:
            seen |= new
            new = {below for record in new for below in self.rests.get(record, [])} - seen
        return bool(seen & goals)

    # the state

    def state_told(self, name, left):
        pairs = {STATE(t) for t in left if t[2] is not None}
        every = {STATE(t) for t in self.everything(name) if t[2] is not None}
        printing = self.tied(name, [tie for tie in self.near_ties if tie.one_state])
        if not any(self.speaks(s) for s in self.near if s.stamp in printing):
            return {"state": "unplaced", "state_candidates": set()}
        independent = self.voices(pairs, STATE)[1]
        return {"state": self.word(pairs, every, len(independent), True), "state_candidates": pairs}

    def speaks(self, statement):
        left = collections.Counter(PLACE(t) for t in statement.triples)
        return any(count < len(self.plates[plate].states or [None]) for (plate, _), count in left.items())

    # What cannot all be true

    def groups(self, stamps):
        sides = collections.defaultdict(list)
        for statement in self.near:
            sides[statement.stamp, frozenset(statement.triples)].append(statement)
        sides, found = list(sides.values()), []
        for size in range(SIDES + 1):
            for chosen in itertools.combinations(range(len(sides)), size):
                if any(set(group) <= set(chosen) for group in found):
                    continue
                if self.impossible(stamps, [sides[n][0] for n in chosen], self.near_ties):
                    found.append(chosen)
                if found and not found[0] or len(found) == GROUPS:
                    return [self.group(stamps, sides, chosen) for chosen in found]
        return [self.group(stamps, sides, chosen) for chosen in found]

    def impossible(self, stamps, statements, ties):
        return not all(self.narrow(stamps, statements, ties).values())

    def group(self, stamps, sides, chosen):
        statements, kept = [sides[n][0] for n in chosen], list(self.near_ties)
        for source in dict.fromkeys(tie.source for tie in self.near_ties):
            rest = [tie for tie in kept if tie.source != source]
            if self.impossible(stamps, statements, rest):
                kept = rest
        return {"sides": [[s.name for s in sides[n]] for n in chosen], "ties": list(dict.fromkeys(t.source for t in kept))}


def of_case(case):
    """A survey of a case of testvectors/standing."""
    import plates
    made = {p["label"]: plates.Plate(p["rows"], p["columns"], label=p["label"], states=p.get("states"),
                                     corner_letters=p.get("corner_letters", False)) for p in case["plates"]}
    rests = {other["id"]: other.get("basis", []) for other in case.get("others", [])}
    return Survey(made, case["stamps"], case["claims"], case.get("matches", []), rests)
