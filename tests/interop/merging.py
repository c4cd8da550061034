#!/usr/bin/env python3
"""Three copies of a bundle, changed apart by three people, merged in every order and grouping, twice over: always
the same set of statements, the same document, and merging again adds nothing.

Source: the algebra itself. Union of sets is commutative, associative and idempotent (any textbook).
"""

import itertools
import shutil
import json

import bundle_file
from checks import HERE, Checks

PEOPLE = {"a": "Wren Alderby", "b": "Odile Farrow", "c": "Jory Penhallow"}


def beginnings(checks):
    """A common bundle, and three copies in which each changed some of the same fields, and other ones."""
    base = checks.new("base.glassine")
    for name in ("b", "c"):
        checks.call("enter", base, "contributor", f"name={PEOPLE[name]}")
    checks.call("batch", base, text="""\
enter design label=KF title=Kingfisher
enter plate label=1 design=KF rows=12 columns=10
enter item label=H-001 kind=single design=KF title=Common
enter item label=H-002 kind=single design=KF
enter item label=H-003 kind=cover design=KF
""")
    copies = {}
    for name in PEOPLE:
        copies[name] = checks.folder / f"{name}.glassine"
        shutil.copy(base, copies[name])

    def change(name, *lines):
        checks.call("batch", copies[name], "--by", PEOPLE[name], text="".join(line + "\n" for line in lines))

    change("a", "revise H-001 'title=As A has it' rate=2d", "revise H-002 kind=pair", "claim H-001 1 R1/4",
           "enter item label=A-001")
    change("b", "revise H-001 'title=As B has it' rate=2d", "revise H-002 kind=strip", "claim H-001 1 'column 4'",
           "observe H-003 appearance=dot x=20 y=500")
    change("c", "revise H-001 title= rate=4d", "revise H-003 kind=piece", "claim H-001 1 R2/4", "enter item label=C-001")
    change("a", "revise H-003 note=Later")
    change("c", "revise H-002 kind=pair")
    return base, copies


def document(checks, path):
    """The to-json document without what tells of editions."""
    whole = json.loads(checks.call("to-json", path).out)
    return {name: value for name, value in whole.items() if name not in ("edition", "editions", "log")}


def slips(path):
    return {line for line in bundle_file.log_lines(bundle_file.read(path)[1]) if b'"after":' in line}


def merged(checks, number, target, *rounds):
    """A copy of `target` into which each round's sources went, one merge a round."""
    path = checks.folder / f"merged-{number}.glassine"
    shutil.copy(target, path)
    for sources in rounds:
        checks.call("merge", path, *sources, status=(0, 1))
    return path


def outcomes(checks, copies):
    """Every way to bring the three together: each order one by one, two at once, and the others merged first."""
    number = itertools.count()
    for first, second, third in itertools.permutations(copies.values()):
        yield "one after the other", merged(checks, next(number), first, [second], [third])
        yield "both at once", merged(checks, next(number), first, [second, third])
        pair = merged(checks, next(number), second, [third])
        yield "the others merged before", merged(checks, next(number), first, [pair])
        yield "twice over", merged(checks, next(number), first, [second], [third], [pair, second], [third, third])
        yield "merged with a merge of itself", merged(checks, next(number), pair, [first], [pair, first])


# Opening these falls back to an edition that is whole; or reads a folder in an archive, or a text of answers.
FALLS_BACK = ("C013-bytes", "C013-cut", "C027-edition-1", "C052-an-edition")
READ_OTHERWISE = ("C010-an-ordinary", "C010-a-text-file", "C011-packed", "C072-")


def refuse_what_is_unsound(checks, good):
    """Every file that breaks a rule of the container, the bag, the log or the editions is refused whole, by that rule;
    what is left out does not keep the others out."""
    target = checks.new("target.glassine")
    before = target.read_bytes()
    wrong, count = [], 0
    for path in sorted((HERE.parents[1] / "testvectors/bad").glob("[BCES]*.glassine")):
        rule = path.name[:4]
        if rule in ("S050", "S051", "S060", "S061") or path.name.startswith(READ_OTHERWISE):
            continue
        falls_back = path.name.startswith(FALLS_BACK)
        found = checks.run("merge", target, path, "--preview")
        told = found.err.replace("\n", " ")
        refused = found.status == 2 and f"({rule})" in told
        if not (found.status == 1 and "the last save in it is not whole" in told if falls_back else refused):
            wrong.append(f"{path.name}: {found}")
        if falls_back:
            continue
        count += 1
        told = checks.json("merge", target, path, good, "--skip-bad", "--preview", status=1)["result"]["sources"]
        if [(source["refused"], source["slips"] > 0) for source in told] != [(True, False), (False, True)]:
            wrong.append(f"{path.name}, skipped: {told}")
    checks.equal(f"{count} unsound files are refused by the rule that they break, or left out alone", wrong, [])
    checks.ok("none of that changed the bundle", target.read_bytes() == before)


def main():
    checks = Checks(__doc__)
    base, copies = beginnings(checks)
    union = set().union(*(slips(path) for path in copies.values()))
    checks.ok(f"the copies overlap and differ ({len(union)} slips in all)",
              all(slips(base) < slips(path) < union for path in copies.values()))
    digests, documents, ways = set(), {}, 0
    wrong = []
    for how, path in outcomes(checks, copies):
        ways += 1
        digests.add(checks.call("digest", path).out.strip())
        documents[json.dumps(document(checks, path), sort_keys=True)] = how
        if slips(path) != union:
            wrong.append(how)
        last = path
    checks.equal(f"{ways} orders and groupings hold the union of all slips", wrong, [])
    checks.equal(f"{ways} orders and groupings give one content digest", len(digests), 1)
    checks.ok(f"{ways} orders and groupings give one document", len(documents) == 1,
              f"{len(documents)} different: {sorted(documents.values())}")

    size = last.stat().st_size
    for path in copies.values():
        checks.call("merge", last, path, status=(0, 1))
    checks.equal("merging again does not grow the file", last.stat().st_size, size)

    found = checks.run("contested", last)
    checks.equal("contradictions are contested", found.status, 1)
    checks.ok("all three titles are shown, the cleared one too", "As A has it" in found.out and "As B has it" in found.out,
              found)
    checks.call("settle", last, "H-001", "title=Settled")
    for other in copies.values():
        checks.call("merge", last, other, status=(0, 1))
    checks.ok("a settled field stays settled when the old values come again",
              "As A has it" not in checks.run("contested", last).out)
    fresh = merged(checks, "late", copies["b"], [last])
    checks.ok("a settlement travels: taken in elsewhere it settles there", "As A has it" not in
              checks.run("contested", fresh).out)
    checks.equal("audit of a merged bundle is clean", checks.run("audit", fresh).status, 0)
    refuse_what_is_unsound(checks, copies["c"])
    checks.finish()


if __name__ == "__main__":
    main()
