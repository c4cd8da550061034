#!/usr/bin/env python3
"""Standing vectors against a second computation, written from spec/standing.md alone: sets of triples, narrowed
until nothing changes; groups of statements by trying every one.

    standing.py VECTORS                 checks testvectors/standing/*.json
    standing.py --fill VECTORS          writes what is expected into cases that have nothing
    standing.py --random COUNT SEED     prints random cases
"""
import glob
import itertools
import json
import os
import random
import sys

GROUPS_MOST, SIDES_MOST = 16, 4


class Plate:
    def __init__(self, record):
        self.label = record["label"]
        self.rows, self.columns = record["rows"], record["columns"]
        self.states = record.get("states", [])
        self.letters = record.get("corner_letters", False)
        self.positions = range(1, self.rows * self.columns + 1)

    def cell(self, position):
        return divmod(position - 1, self.columns)

    def step(self, position, down, across):
        row, column = self.cell(position)
        row, column = row + down, column + across
        inside = 0 <= row < self.rows and 0 <= column < self.columns
        return row * self.columns + column + 1 if inside else None

    def parse(self, text):
        """The few expressions that the vectors use; None where the plate lacks what is named."""
        found = set()
        for part in text.split(","):
            words = part.split()
            if words == ["any"]:
                found |= set(self.positions)
                continue
            kind = words[0] if words[0] in ("row", "column") else None
            first, _, last = words[-1].partition("-")
            first, last = int(first), int(last or first)
            if kind:
                if last > (self.rows if kind == "row" else self.columns):
                    return None
                axis = 0 if kind == "row" else 1
                found |= {p for p in self.positions if first <= self.cell(p)[axis] + 1 <= last}
            else:
                if last > len(self.positions):
                    return None
                found |= set(range(first, last + 1))
        return found


class Case:
    def __init__(self, case):
        self.plates = {p["label"]: Plate(p) for p in case["plates"]}
        self.stamps = {s["id"]: s for s in case["stamps"]}
        self.claims = {c["id"]: c for c in case.get("claims", [])}
        self.matches = {m["id"]: m for m in case.get("matches", [])}
        self.others = {o["id"]: o for o in case.get("others", [])}
        self.statements = {}   # id -> (stamp, contributor or None, set of triples)
        self.order = []
        self.idle = {}
        for stamp in case["stamps"]:
            self.facts(stamp)
        replaced = {c["instead_of"] for c in self.claims.values() if self.replaces(c)}
        for claim in case.get("claims", []):
            if claim.get("withdrawn") or claim["id"] in replaced or claim.get("confidence") == "possible":
                continue
            self.add(claim["id"], claim["stamp"], claim["by"], self.allowed(claim))
        self.ties = self.find_ties()

    def replaces(self, claim):
        other = self.claims.get(claim.get("instead_of"))
        return other is not None and other is not claim and other["by"] == claim["by"] \
            and other["stamp"] == claim["stamp"]

    def plates_of(self, stamp):
        return [self.plates[l] for l in self.stamps[stamp].get("design", list(self.plates))]

    def everything(self, stamp):
        return {(p.label, n, s) for p in self.plates_of(stamp) for n in p.positions for s in (p.states or [None])}

    def allowed(self, claim):
        labels = claim.get("plates") or [p.label for p in self.plates_of(claim["stamp"])]
        triples = set()
        for label in labels:
            plate = self.plates[label]
            named = claim.get("state")
            if named and named[0] != label:
                continue
            positions = plate.parse(claim.get("positions", "any"))
            states = [named[1]] if named else (plate.states or [None])
            triples |= {(label, n, s) for n in positions or () for s in states}
        return triples

    def add(self, name, stamp, by, triples):
        triples &= self.everything(stamp)
        if triples:
            self.statements[name] = (stamp, by, triples)
            self.order.append(name)
        else:
            self.idle.setdefault(stamp, []).append(name)

    def facts(self, stamp):
        every = self.everything(stamp["id"])
        sides = stamp.get("selvedge", [])
        if sides:
            def fits(label, position):
                plate = self.plates[label]
                row, column = plate.cell(position)
                edge = {"left": column == 0, "right": column == plate.columns - 1,
                        "top": row == 0, "bottom": row == plate.rows - 1}
                return all(edge[s] for s in sides)
            self.add(stamp["id"] + " selvedge", stamp["id"], None, {t for t in every if fits(t[0], t[1])})
        letters = stamp.get("letters")
        if letters and any(p.letters for p in self.plates_of(stamp["id"])):
            def reads(label, position):
                plate = self.plates[label]
                row, column = plate.cell(position)
                own = chr(65 + row) + chr(65 + column)
                return not plate.letters or all(a in ("?", b) for a, b in zip(letters.upper(), own))
            self.add(stamp["id"] + " letters", stamp["id"], None, {t for t in every if reads(t[0], t[1])})
        number = stamp.get("plate_number")
        if number:
            self.add(stamp["id"] + " plate_number", stamp["id"], None, {t for t in every if t[0] == number})

    def find_ties(self):
        """(source, a, b, down, across, same state?)"""
        ties = []
        items = {}
        for stamp in self.stamps.values():
            if "item" in stamp and "row" in stamp:
                items.setdefault(stamp["item"], []).append(stamp)
        for item, stamps in items.items():
            for other in stamps[1:]:
                ties.append((item, stamps[0]["id"], other["id"], other["row"] - stamps[0]["row"],
                             other["column"] - stamps[0]["column"], True))
        for match in self.matches.values():
            if match.get("withdrawn") or match.get("confidence") == "possible" or match["relation"] == "different":
                continue
            down, across = (match.get("down", 0), match.get("across", 0)) if match["relation"] == "neighbour" else (0, 0)
            ties.append((match["id"], *match["stamps"], down, across, False))
        return ties

    # ---- narrowing until nothing changes

    def component(self, stamp):
        found = {stamp}
        grown = True
        while grown:
            grown = False
            for _, a, b, *_ in self.ties:
                if (a in found) != (b in found):
                    found |= {a, b}
                    grown = True
        return sorted(found, key=list(self.stamps).index)

    def blind(self, triples, aspect):
        if aspect == "place":
            return {(p, n, None) for p, n, s in triples}
        if aspect == "state":
            return {(p, None, s) for p, n, s in triples}
        return triples

    def narrow(self, stamps, names, sources, aspect="both"):
        left = {s: self.blind(self.everything(s), aspect) for s in stamps}
        for name in names:
            stamp, _, triples = self.statements[name]
            left[stamp] &= self.blind(triples, aspect)
        changed = True
        while changed:
            changed = False
            for source, a, b, down, across, same in self.ties:
                if source not in sources or a not in left or b not in left:
                    continue
                for one, other, d, x in ((a, b, down, across), (b, a, -down, -across)):
                    def key(t, d=0, x=0):
                        place = None if t[1] is None else self.plates[t[0]].step(t[1], d, x)
                        return (t[0], place, t[2] if same else None)
                    there = {key(t) for t in left[other]}
                    kept = {t for t in left[one] if key(t, d, x) in there and (t[1] is None or key(t, d, x)[1])}
                    if kept != left[one]:
                        left[one] = kept
                        changed = True
        return left

    # ---- who says so

    def view(self, stamp, names, who):
        triples = self.everything(stamp)
        for name in names:
            if self.statements[name][0] == stamp and self.statements[name][1] == who:
                triples &= self.statements[name][2]
        return triples

    def reaches(self, claim):
        found, ahead = set(), [claim]
        while ahead:
            record = self.claims.get(ahead[-1]) or self.matches.get(ahead[-1]) or self.others.get(ahead[-1]) or {}
            ahead.pop()
            for to in record.get("basis", []):
                if to not in found:
                    found.add(to)
                    ahead.append(to)
        return found

    def independent(self, stamp, own, says_so):
        """Contributors whose view is it, and those who still say so without claims that rest on another of them."""
        people = {self.statements[n][1] for n in own}
        voices = {who for who in people if says_so(self.view(stamp, own, who))}
        free = []
        for name in own:
            who = self.statements[name][1]
            others = {n for n in own if self.statements[n][1] != who and self.statements[n][1] in voices}
            if who in voices and not self.reaches(name) & others:
                free.append(name)
        alone = {who for who in voices if says_so(self.view(stamp, free, who))}
        blind = {who for who in alone
                 if any(self.claims[n].get("blind") for n in free if self.statements[n][1] == who)}
        return voices, alone, blind

    # ---- what cannot all be true

    def groups(self, stamps):
        names = [n for s in stamps for n in self.order if self.statements[n][0] == s]
        sources = sorted({t[0] for t in self.ties if t[1] in stamps})
        sides = []
        for name in names:
            for side in sides:
                if self.statements[side[0]][0] == self.statements[name][0] and \
                        self.statements[side[0]][2] == self.statements[name][2]:
                    side.append(name)
                    break
            else:
                sides.append([name])

        def dead(chosen, kept):
            left = self.narrow(stamps, [side[0] for side in chosen], kept)
            involved = {self.statements[side[0]][0] for side in chosen} or set(stamps)
            return any(not left[s] for s in involved)

        def needed(chosen):
            kept = list(sources)
            for source in sources:
                fewer = [s for s in kept if s != source]
                if dead(chosen, fewer):
                    kept = fewer
            return {"sides": [list(side) for side in chosen], "ties": kept}
        if dead([], sources):
            return [needed([])]
        found = []
        for size in range(1, SIDES_MOST + 1):
            for chosen in itertools.combinations(sides, size):
                if any(all(s in chosen for s in group) for group in found):
                    continue
                if dead(chosen, sources):
                    found.append(chosen)
        return [needed(group) for group in found[:GROUPS_MOST]]

    def standing(self, stamp):
        together = self.component(stamp)
        names = [n for n in self.order if self.statements[n][0] in together]
        sources = {t[0] for t in self.ties}
        both = self.narrow(together, names, sources)
        disputed = not both[stamp]
        places = both[stamp] if not disputed else self.narrow(together, names, sources, "place")[stamp]
        states = both[stamp] if not disputed else self.narrow(together, names, sources, "state")[stamp]
        candidates = sorted({(p, n) for p, n, _ in places})
        state_candidates = sorted({(p, s) for p, _, s in states if s is not None})
        own = [n for n in names if self.statements[n][0] == stamp and self.statements[n][1] is not None]
        voices, alone, blind = self.independent(
            stamp, own, lambda view: len(candidates) == 1 and {(p, n) for p, n, _ in view} == set(candidates))
        _, on_state, _ = self.independent(
            stamp, own, lambda view: len(state_candidates) == 1 and
            {(p, s) for p, _, s in view if s is not None} == set(state_candidates))
        total = len({(p, n) for p, n, _ in self.everything(stamp)})
        said = any(self.statements[n][0] == stamp for n in names)
        if total == 0:
            word = "unplaced"
        elif not candidates:
            word = "disputed"
        elif len(candidates) == total and (total > 1 or not said):
            word = "unplaced"
        elif len(candidates) > 1:
            word = "narrowed"
        else:
            word = "corroborated" if len(alone) >= 2 else "placed"
        out = {"standing": word, "count": len(candidates), "state": self.state_word(stamp, names, state_candidates,
                                                                                    on_state)}
        if 0 < len(candidates) <= 4:
            out["candidates"] = [f"{p}/{n}" for p, n in candidates]
        if out["state"] not in ("unplaced", "disputed"):
            out["state_candidates"] = [f"{p}:{s}" for p, s in state_candidates]
        out["claims"] = len(own)
        out["voices"], out["independent"] = len(voices), len(alone)
        out["blind"] = len(blind)
        if stamp in self.idle:
            out["idle"] = self.idle[stamp]
        if disputed and total:
            minds = {self.statements[n][1] for n in own}
            out["in_two_minds"] = sorted(who for who in minds if not self.view(stamp, own, who))
            out["groups"] = self.groups(together)
        return out

    def state_word(self, stamp, names, candidates, on_state):
        printed = {stamp}
        for _ in self.stamps:
            for _, a, b, _, _, same in self.ties:
                if same and (a in printed or b in printed):
                    printed |= {a, b}

        def speaks(name):
            claim = self.claims.get(name)
            return claim is not None and "state" in claim
        if not any(speaks(n) and self.statements[n][0] in printed for n in names):
            return "unplaced"
        if not candidates:
            return "disputed"
        if len(candidates) > 1:
            return "narrowed"
        return "corroborated" if len(on_state) >= 2 else "placed"


def random_case(rng, number):
    plates = [{"label": str(i + 1), "rows": rng.randint(1, 4), "columns": rng.randint(1, 4),
               **({"states": ["E", "L"]} if rng.random() < 0.5 else {})} for i in range(rng.randint(1, 2))]
    stamps = []
    for i in range(rng.randint(1, 4)):
        stamp = {"id": f"s{i}"}
        if rng.random() < 0.2:
            stamp["selvedge"] = [rng.choice(["left", "right", "top", "bottom"])]
        if rng.random() < 0.3:
            stamp.update(item="block", row=1 + i // 2, column=1 + i % 2)
        stamps.append(stamp)
    claims, matches = [], []
    for i in range(rng.randint(0, 6)):
        plate = rng.choice(plates)
        size = plate["rows"] * plate["columns"]
        first = rng.randint(1, size)
        claim = {"id": f"c{i}", "stamp": rng.choice(stamps)["id"], "by": rng.choice("ABC")}
        if rng.random() < 0.7:
            claim["plates"] = [plate["label"]]
        claim["positions"] = rng.choice([str(first), f"{first}-{rng.randint(first, size)}",
                                         f"row {rng.randint(1, plate['rows'])}", "any"])
        if "states" in plate and rng.random() < 0.3:
            claim["state"] = [plate["label"], rng.choice(plate["states"])]
        if rng.random() < 0.1:
            claim["confidence"] = "possible"
        if rng.random() < 0.1:
            claim["withdrawn"] = True
        if rng.random() < 0.2:
            claim["blind"] = True
        if claims and rng.random() < 0.3:
            claim["basis"] = [rng.choice(claims)["id"]]
        if claims and rng.random() < 0.15:
            claim["instead_of"] = rng.choice(claims)["id"]
        claims.append(claim)
    if len(stamps) > 1:
        for i in range(rng.randint(0, 2)):
            a, b = rng.sample(stamps, 2)
            relation = rng.choice(["same", "neighbour", "different"])
            match = {"id": f"m{i}", "by": "A", "stamps": [a["id"], b["id"]], "relation": relation}
            if relation == "neighbour":
                match.update(down=rng.randint(-1, 1), across=rng.randint(-1, 1))
            matches.append(match)
    return {"name": f"random {number}", "plates": plates, "stamps": stamps, "claims": claims, "matches": matches}


def expected(case):
    solved = Case(case)
    return {stamp["id"]: solved.standing(stamp["id"]) for stamp in case["stamps"]}


def main():
    if sys.argv[1] == "--random":
        rng = random.Random(int(sys.argv[3]))
        cases = [random_case(rng, i) for i in range(int(sys.argv[2]))]
        for case in cases:
            case["expect"] = expected(case)
        lines = ",\n  ".join(json.dumps(case, ensure_ascii=False) for case in cases)
        print('{\n "about": "Random cases, what is expected worked out by tests/interop/standing.py.",\n "cases": [\n  '
              + lines + "\n ]\n}")
        return 0
    fill, bad, count = sys.argv[1] == "--fill", 0, 0
    for path in sorted(glob.glob(os.path.join(sys.argv[-1], "*.json"))):
        with open(path, encoding="utf-8") as file:
            document = json.load(file)
        for case in document["cases"]:
            count += 1
            found = expected(case)
            wanted = case.setdefault("expect", found if fill else {})
            for stamp, says in found.items():
                for key, value in wanted.get(stamp, {}).items():
                    if says.get(key) != value:
                        bad += 1
                        print(f"{path}: {case['name']}: {stamp}: {key}: {says.get(key)}, expected {value}")
                if fill:
                    wanted.setdefault(stamp, {})
                    wanted[stamp] = {**says, **wanted[stamp]}
        if fill:
            lines = ",\n  ".join(json.dumps(case, ensure_ascii=False) for case in document["cases"])
            with open(path, "w", encoding="utf-8") as file:
                file.write('{\n "about": ' + json.dumps(document["about"], ensure_ascii=False) +
                           ',\n "cases": [\n  ' + lines + "\n ]\n}\n")
    print(f"{count} cases, {bad} differences")
    return 1 if bad or not count else 0


if __name__ == "__main__":
    sys.exit(main())
