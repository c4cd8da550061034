#!/usr/bin/env python3
"""Runs testvectors/ with this reader: every file that manifest.json names.

    run_kit.py [KIND…]"""
import collections
import json
import pathlib
import sys

import answers
import bundle
import container
import dates
import ed25519
import expressions
import limits
import log
import plates
import ranking
import readings
import records
import slips
import standing
import trust
import typed_dates
from broken import Broken

KIT = pathlib.Path(__file__).resolve().parents[2] / "testvectors"


def must(holds, what):
    if not holds:
        raise AssertionError(what)


def same(found, expected, what):
    must(found == expected, f"{what}: {found!r}, expected {expected!r}")


def load(path):
    return json.loads(path.read_text(encoding="utf-8"))


# Each of these runs one file and gives the number of cases in it.


def run_valid(path):
    expected, made = load(path.with_suffix(".json")), bundle.Bundle(path.read_bytes())
    box = made.container
    same(box.footer.base, expected["base"], "base")
    footers = [{"edition": f.number, "start": f.start, "end": f.end} for f in container.history(box.data, box.footer)]
    same(footers[::-1], expected["footers"], "footers")
    editions = [{"number": e["edition"], "slips": e["slips"], "log": e["log"]} for e in made.log.editions]
    same(editions, expected["editions"], "editions")
    same(len(made.log.slips), expected["slips"], "slips")
    same(made.log.unknown, expected["unknown_lines"], "unknown lines")
    same(readings.content_digest(made.log.slips), expected["digest"], "content digest")
    entries = [{"name": name, "size": e.size, "sha256": slips.digest(made.bag.read(name)), "method": e.method}
               for name, e in sorted(made.bag.entries.items(), key=lambda entry: entry[0].encode())]
    same(entries, expected["entries"], "entries")
    same((box.tail, box.tail_is_ours), (expected.get("tail", 0), expected.get("tail_is_ours", False)), "tail")
    if not box.tail:
        same(list(made.audit()), [], "findings")
    return 1


def run_bad(path):
    aside = path.with_suffix(".json")
    usual = dict(vars(limits))
    if aside.exists():
        vars(limits).update({name.upper(): value for name, value in load(aside)["limits"].items()})
    try:
        found = [rule for rule, _ in bundle.Bundle(path.read_bytes()).audit()]
    except Broken as broken:
        found = [broken.rule]
    finally:
        vars(limits).update(usual)
    code = path.name[:4]
    must(code in found, f"found {found}")
    must(set(found) <= {code}, f"found besides: {found}")
    return 1


def slips_of(lines):
    made = [slips.Slip(line.encode(), log.check_line(line.encode())[1]) for line in lines]
    return list({slip.digest: slip for slip in made}.values())


def value_of(said):
    return {"slip": said.slip.digest} | ({"cleared": True} if said.cleared else {"value": said.value})


def check_readings(expected, made, members):
    must(made.keys() <= {(entry["record"], entry.get("author")) for entry in expected}, "a reading too many")
    for entry in expected:
        key = entry["record"], entry.get("author")
        reading = made.get(key) or readings.Reading([], {})     # of nothing
        fields = [{"name": name, "reach": reach, "contested": reading.contested((name, reach)),
                   "said": [value_of(said) for said in values]} for (name, reach), values in reading.fields.items()]
        found = {"fields": fields, "incomplete": reading.incomplete, "stray": reading.stray, "latest": reading.latest,
                 "order": reading.order}
        for name in members:
            same(found[name], entry[name], f"{name} of {key}")


def run_readings(path):
    case = load(path)
    those = slips_of(case["lines"])
    same(readings.content_digest(those), case["content_digest"], "content digest")
    authored = {entry["record"].partition("/")[0] for entry in case["readings"] if "author" in entry}
    made = readings.readings(those, authored, case.get("uncounted", ()))
    check_readings(case["readings"], made, ("fields", "incomplete", "stray", "latest", "order"))
    return 1


def run_merge(path):
    """The set that a merge makes, in two orders; what a program tells of it is its own affair."""
    case = load(path)
    sources = [case["bundle"], *case["sources"]]
    for order in (sources, sources[::-1] + sources):
        those = slips_of([line for source in order for line in source])
        same(readings.content_digest(those), case["content_digest"], "content digest")
        check_readings(case["readings"], readings.readings(those, records.AUTHORED), ("fields", "incomplete"))
    return 1


def run_log(path):
    case = load(path)
    names = [f"slips/{s['first']:08}-{s['last']:08}.jsonl" for s in case["segments"]]
    texts = {name: segment["text"].encode() for name, segment in zip(names, case["segments"])}
    made = log.Log([(*segment, texts[segment[2]]) for segment in log.segments_of(names)])
    found = [{"number": e["edition"], "slips": e["slips"], "log": e["log"]} for e in made.editions]
    same(found, case["editions"], "editions")
    return 1


def run_lines(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    for number, case in enumerate(map(json.loads, lines), 1):
        text = bytes.fromhex(case["hex"]) if "hex" in case else case["line"].encode("utf-8", "surrogatepass")
        try:
            found = {"kind": log.check_line(text)[0]}
        except Broken as broken:
            found = {"rule": broken.rule}
        same(found, {name: case[name] for name in ("kind", "rule") if name in case}, f"line {number}")
    return len(lines)


def run_expressions(path):
    said = load(path)
    layouts = {name: dict(layout) for name, layout in said["layouts"].items()}
    for layout in layouts.values():
        if "pane_names" in layout:
            layout["pane_names"] = layout["pane_names"].split(",")
    for case in said["cases"]:
        plate, text = plates.Plate(**layouts[case["layout"]]), case["expression"]
        try:
            positions, state = expressions.parse(text, plate)
        except Broken as broken:
            same((broken.rule, broken.character), (case.get("rule"), case.get("character")), repr(text))
            continue
        must("rule" not in case, f"{text!r} was taken")
        same(len(positions), case.get("count", len(positions)), f"count of {text!r}")
        if "positions" in case:
            there = sorted([pane, row + 1, column + 1] for pane, row, column in positions)
            same(there, sorted(case["positions"]), repr(text))
        same((state or "").lower()[:1], case.get("state", "").lower()[:1], f"state of {text!r}")
        same(expressions.canonical(positions, plate), case["prints"], f"canonical form of {text!r}")
    return len(said["cases"])


def run_answers(path):
    case = load(path)
    labels = [f"H-{number:03}" for number in range(1, 7)]
    named = {str(number): plates.Plate(rows=12, columns=10, label=str(number), states=["early", "late"])
             for number in range(1, case.get("plates", 1) + 1)}
    understood, asked = answers.understand("\n".join(case["text"]), labels, named)
    same({str(number): said for number, said in understood.items()}, case["answers"], "answers")
    same(sorted(asked), sorted(int(number) for number, _ in case["questions"]), "questions")
    return 1


def day_text(day):
    if day is None:
        return None
    year = f"{day[0]:05d}" if day[0] < 0 else f"{day[0]:04d}"
    return f"{year}-{day[1]:02d}-{day[2]:02d}"


def refuses(function, text):
    try:
        function(text)
    except (ValueError, KeyError):
        return True
    return False


def run_dates(path):
    said = load(path)
    if path.name == "forms.json":
        for case in said["cases"]:
            date = dates.Date(case["edtf"])
            found = day_text(date.first), day_text(date.last), date.flags
            same(found, (case["first"], case["last"], set(case.get("flags", []))), case["edtf"])
        return len(said["cases"])
    if path.name == "refused.json":
        for case in said["cases"]:
            must(refuses(dates.Date, case["text"]), f"{case['text']!r} was taken")
        return len(said["cases"])
    if path.name == "order.json":
        for way, pairs in (("before", said["before"]), ("either", said["either"])):
            for pair in pairs:
                one, other = map(dates.Date, pair)
                same(dates.certainly_before(one, other), way == "before", pair)
                must(not dates.certainly_before(other, one), pair)
        return len(said["before"]) + len(said["either"])
    for text, edtf in said["cases"]:
        same(typed_dates.understand(text), edtf, repr(text))
    for text in said["refused"]:
        must(refuses(typed_dates.understand, text), f"{text!r} was taken")
    return len(said["cases"]) + len(said["refused"])


def told(survey, name):
    """A standing as the vectors write it."""
    made = survey.standing(name)
    places = sorted(f"{label}/{survey.plates[label].number(position)}" for label, position in made["candidates"])
    states = sorted(f"{label}:{state}" for label, state in made["state_candidates"])
    return made | {"candidates": places, "state_candidates": states, "groups": sorted_groups(made["groups"])}


def sorted_groups(groups):
    return sorted((sorted(map(sorted, group["sides"])), sorted(group["ties"])) for group in groups)


def run_standing(path):
    cases = load(path)["cases"]
    for case in cases:
        survey = standing.of_case(case)
        for name, expected in case["expect"].items():
            found = told(survey, name)
            expected = {key: sorted(value) if isinstance(value, list) and key != "groups" else value
                        for key, value in expected.items()}
            if "groups" in expected:
                expected["groups"] = sorted_groups(expected["groups"])
            for key, value in expected.items():
                same(found[key], value, f"{case['name']}: {key} of {name}")
    return len(cases)


def run_ranking(path):
    cases = load(path)["cases"]
    for case in cases:
        found = ranking.Ranking(case).weights()
        expected = {(w["plate"], w["position"], w.get("state")): w["weight"] for w in case["weights"]}
        same(found.keys(), expected.keys(), case["name"])
        for key, weight in expected.items():
            must(abs(found[key] - weight) < 1e-6, f"{case['name']}: {key}: {found[key]}, expected {weight}")
    return len(cases)


def taken_in(keeper, sources):
    """The keeper's log with one more edition for each source, and whose word counts then."""
    held = {slip.digest: slip for slip in keeper.log.slips}
    signatures, editions = list(keeper.log.signatures), list(keeper.log.editions)
    for source in sources:
        editions.append({"by": keeper.about["keeper"]})
        for slip in source.log.slips:
            if slip.digest not in held:
                slip.edition = len(editions)
                held[slip.digest] = slip
        new = [line for line in source.log.signatures if line not in signatures and ed25519.holds(
            *(bytes.fromhex(line[name]) for name in ("key", "of", "sig")))]
        signatures += new
    made = trust.Trust(list(held.values()), signatures, editions, keeper.about["keeper"])
    return made, readings.readings(made.slips, records.AUTHORED, made.uncounted)


def run_attacks(path):
    aside = path.with_suffix(".json")
    if not aside.exists():
        return 1                        # the keeper's own bundle
    case = load(aside)
    if case["do"] == "nothing":
        return 1
    if case["do"] == "open":
        made = bundle.Bundle(path.read_bytes())
        same((made.container.footer.number, made.container.tail), (case["edition"], case.get("tail", 0)), "edition, tail")
        older = made.container.footer.number < case["remembered"]["edition"]
        same(older, case.get("older", False), "older")
        if not older:
            then = made.log.editions[case["remembered"]["edition"] - 1]["log"]
            same(then != case["remembered"]["log"], case.get("other", False), "another log")
        return 1
    keeper, sources = bundle.Bundle((KIT / "attacks/keeper.glassine").read_bytes()), []
    try:
        for name in filter(None, (path.name, case.get("then"))):
            sources.append(bundle.Bundle((path.parent / name).with_suffix(".glassine").read_bytes()))
    except Broken as broken:
        same(broken.rule, case.get("refused"), "refused")
        sources = []
    made, reading = taken_in(keeper, sources[:1])
    told = {rule for rule, _ in made.found + records.Audit(reading, lambda _: None, False).found}
    must(set(case.get("tells", ())) <= told, f"it tells of {told}")
    must(set(case.get("first_uncounted", ())) <= set(made.uncounted), "a slip that does not count before the second")
    made, reading = taken_in(keeper, sources)
    same(keeper.about["keeper"], case["keeper"], "keeper")
    same({person: sorted(keys) for person, keys in made.keys.items()},
         {person: sorted(keys) for person, keys in case["keys"].items()}, "keys")
    counts = {slip.digest for slip in made.slips} - set(made.uncounted)
    must(set(case["counts"]) <= counts, "a slip that counts is passed over")
    same(set(case["does_not_count"]) & counts, set(), "a slip that does not count")
    for record, fields in case["values"].items():
        kind, identity, *author = record.split("/", 2)
        found = reading.get((f"{kind}/{identity}", f"contributor/{author[0]}" if author else None))
        for name, value in fields.items():
            same(found.value(name)[0] if found else None, value, f"{name} of {record}")
    return 1


def run_signatures(path):
    cases = load(path)["cases"]
    for case in cases:
        key, message, signature = (bytes.fromhex(case[name]) for name in ("public", "message", "signature"))
        must(ed25519.holds(key, message, signature), case["name"])
        must(not ed25519.holds(key, message + b"!", signature), case["name"] + ", another message")
    return len(cases)


def run_records(path):
    """The table for programs is the one of spec/records.md, section 5."""
    page = (KIT.parent / "spec" / "records.md").read_text(encoding="utf-8")
    found, kind = {}, None
    for line in page.partition("## 5 Fields")[2].partition("\n## ")[0].splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if line.startswith("### "):
            kind = line[4:]
        elif len(cells) == 6 and cells[0].startswith("`"):
            found[kind, cells[0].strip("`")] = cells[1], cells[2], cells[3] == "required", cells[5]
    expected = {key: (field["kind"], field["reach"], field.get("required", False), field["help"])
                for key, field in records.FIELDS.items()}
    same(set(found.items()) ^ set(expected.items()), set(), "fields")
    return 1


def main(kinds):
    manifest, counts, failed = load(KIT / "manifest.json"), collections.Counter(), 0
    for entry in manifest["files"]:
        kind, run = entry["kind"], globals().get("run_" + entry["kind"])
        if kinds and kind not in kinds or entry.get("beside"):
            continue
        try:
            same(run(KIT / entry["path"]), entry["cases"], "number of cases")
            counts[kind] += entry["cases"]
        except (AssertionError, Broken, ValueError, KeyError) as error:
            failed += 1
            print(f"FAIL {entry['path']}: {type(error).__name__}: {str(error)[:1000]}")
    for kind, count in sorted(counts.items()):
        print(f"{count:6}  {kind}")
    print(f"{sum(counts.values()):6}  cases run; {failed} files failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
