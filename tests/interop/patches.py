#!/usr/bin/env python3
"""`diff --as patch`: on more than 500 random pairs of bundles and editions the patch makes the second document of the
first, exactly.

Referee: fast-json-patch (npm), an implementation of RFC 6902.
"""

import random
import shutil

from checks import HERE, Checks, outside

PEOPLE = ("Wren Alderby", "Odile Farrow", "Jory Penhallow")
WORDS = ("blue", "deep blue", "a/b", "~tilde~", 'quo"te', "é鳥", "", "line\\nbreak", "0123", "=1+1")
PAIRS = 520


def change(luck, labels):
    """One line for `batch`: something said, taken away, or new."""
    label = luck.choice(labels)
    word = luck.choice(WORDS)
    kind = luck.randrange(6)
    if kind == 0:
        labels.append(f"H-{len(labels) + 1:03}")
        return f"enter item label={labels[-1]} design=KF kind={luck.choice(('single', 'pair', 'cover'))}"
    if kind == 1:
        return f"claim {label} 1 {luck.randrange(1, 120)} confidence={luck.choice(('certain', 'possible'))}"
    if kind == 2:
        return f"observe {label} appearance=dot x={luck.randrange(1000)} y={luck.randrange(1000)}"
    if kind == 3:
        return f"revise {label} set_aside={luck.choice(('yes', 'no'))}"
    field = luck.choice(("title", "note", "rate", "provenance", "contents"))
    return f"revise {label} '{field}={word}'"


def grow(checks, luck, path, labels, saves):
    """Each save a few changes by somebody; what a contested field refuses is left out."""
    for _ in range(saves):
        for _ in range(luck.randrange(1, 5)):
            checks.run("batch", path, "--by", luck.choice(PEOPLE), write(checks, change(luck, labels)))


def write(checks, line):
    path = checks.folder / "changes.txt"
    path.write_text(line + "\n")
    return path


def collections(checks, luck):
    """Three copies of one beginning that went apart, each merged from the others now and then."""
    base = checks.new("base.glassine")
    for name in PEOPLE[1:]:
        checks.call("enter", base, "contributor", f"name={name}")
    checks.call("batch", base, text="enter design label=KF\nenter plate label=1 design=KF rows=12 columns=10\n"
                "enter item label=H-001 design=KF\nenter item label=H-002 design=KF\n")
    copies = [checks.folder / f"copy-{i}.glassine" for i in range(3)]
    labels = [["H-001", "H-002"] for _ in copies]
    for copy in copies:
        shutil.copy(base, copy)
    for _ in range(3):
        for i, copy in enumerate(copies):
            grow(checks, luck, copy, labels[i], 2)
        checks.call("merge", copies[0], copies[1], status=(0, 1))
        checks.call("merge", copies[2], copies[0], status=(0, 1))
    return copies


def editions(checks, copies):
    """Every edition of every copy, with its document written out."""
    out = []
    for copy in copies:
        for edition in checks.json("editions", copy)["result"]:
            name = f"{copy}#{edition['edition']}"
            document = checks.folder / f"{copy.stem}-{edition['edition']}.json"
            document.write_text(checks.call("to-json", name).out)
            out.append((name, document))
    return out


def main():
    checks = Checks(__doc__)
    if not checks.node_package("fast-json-patch", "patches applied"):
        checks.finish()
    luck = random.Random(6902)
    all_editions = editions(checks, collections(checks, luck))
    lines, empty = [], 0
    for number in range(PAIRS):
        (one, one_document), (other, other_document) = luck.choice(all_editions), luck.choice(all_editions)
        patch = checks.folder / f"{number}.patch.json"
        answer = checks.call("diff", one, other, "--as", "patch", status=(0, 1))
        patch.write_text(answer.out)
        empty += answer.status == 0
        lines.append(f"{one_document} {other_document} {patch}")
    (checks.folder / "pairs.txt").write_text("\n".join(lines) + "\n")
    done = outside("node", HERE / "apply_patches.mjs", checks.folder / "pairs.txt")
    checks.ok(f"{PAIRS} patches between {len(all_editions)} editions make the second document of the first",
              done.returncode == 0, done.stdout[-3000:])
    checks.equal("each was applied", done.stdout.strip().split("\n")[-1], f"{PAIRS} made, 0 not")
    checks.ok("most of them say something", empty < PAIRS / 10, empty)
    checks.finish()


if __name__ == "__main__":
    main()
