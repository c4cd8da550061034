#!/usr/bin/env python3
"""Three copies of a bundle, changed apart by three people, merged in every order and grouping, twice over: always
the same set of statements, the same document, and merging again adds nothing.

Source: the algebra itself. Union of sets is commutative, associative and idempotent (any textbook).
"""

import itertools
import shutil
import json

import bundle_file
from checks import Checks

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
    checks.finish()


if __name__ == "__main__":
    main()
