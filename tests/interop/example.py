#!/usr/bin/env python3
"""The examples in C, built against the shared library and its public header alone, say what the program says; and the
shared library exports nothing but the public names."""

import re
import shutil

from checks import HERE, Checks, outside


def preview_of_ones_own(checks, bundle):
    """A program of somebody else's shows its own report of a merge, note by note, and writes nothing."""
    other = checks.folder / "other.glassine"
    shutil.copy(bundle, other)
    checks.call("batch", other, "--by", "Odile Farrow", text="revise H-001 title=Hers paper=thick\nclaim H-002 1 9\n")
    checks.call("revise", bundle, "H-001", "title=Mine")
    before = bundle.read_bytes()
    done = outside(checks.program.parent / "examples" / "preview_merge", bundle, other)
    wanted = {"Odile Farrow: 3 statements, 1 new record", "stamp H-001: paper: (unsaid) -> thick",
              "item H-001: title is contested: Hers (Odile Farrow), Mine (Wren Alderby)",
              "H-002: unplaced -> placed"}
    said = {line if not line.startswith("H-002: ") else re.sub(r"(narrowed|placed): .*?(?= ->|$)", r"\1", line)
            for line in done.stdout.splitlines()}
    checks.equal("the second example shows its own report of a merge", (done.returncode, said), (0, wanted))
    checks.ok("and writes nothing", bundle.read_bytes() == before)
    done = outside(checks.program.parent / "examples" / "preview_merge", bundle, checks.folder / "nothing.glassine")
    checks.ok("and tells of an error in one line", done.returncode != 0 and len(done.stdout.splitlines()) == 1,
              done.stdout)


def main():
    checks = Checks(__doc__)
    build = checks.program.parent
    bundle = checks.new("example.glassine")
    checks.call("enter", bundle, "contributor", "name=Odile Farrow")
    checks.call("batch", bundle, text="""\
enter design label=KF
enter plate label=1 design=KF rows=12 columns=10
enter item label=H-001 design=KF
enter item label=H-002 design=KF
claim H-001 1 R1/4 confidence=certain
claim H-002 1 "column 9" confidence=possible
""")
    checks.call("claim", bundle, "H-001", "1", "4", "--by", "Odile Farrow")

    example = build / "examples" / "list_claims"
    done = outside(example, bundle)
    wanted = ["H-001: positions R1/4, certain, says Wren Alderby", "H-001: positions 4, probable, says Odile Farrow",
              "H-002: positions column 9, possible, says Wren Alderby"]
    checks.equal("the example lists the claims", (done.returncode, sorted(done.stdout.splitlines())), (0, sorted(wanted)))
    done = outside(example, checks.folder / "nothing.glassine")
    checks.ok("the example tells of an error in one line", done.returncode != 0 and len(done.stdout.splitlines()) == 1,
              done.stdout)
    preview_of_ones_own(checks, bundle)
    linked = outside("ldd", example).stdout
    checks.ok("the example uses the shared library", re.search(r"libglassine\.so", linked), linked)

    header = (HERE.parent.parent / "libformat" / "glassine.h").read_text()
    if checks.tool("nm", "names that the shared library exports"):
        names = {line.split()[-1].split("@")[0] for line in
                 outside("nm", "-D", "--defined-only", build / "libglassine.so").stdout.splitlines()}
        names = {name for name in names if not re.match(r"_(init|fini|edata|end|_bss_start|_odr_asan)|__|GLASSINE_[0-9]+$", name)}
        undeclared = {name for name in names if not re.search(rf"\b{re.escape(name)}\(", header)}
        checks.ok(f"the shared library exports {len(names)} names", len(names) > 50)
        checks.equal("all of them stand in glassine.h", undeclared, set())
        declared = set(re.findall(r"GLASSINE_API[^;{]*?\b(glassine_\w+)\(", header))
        checks.equal("and everything that stands there is exported", declared - names, set())
    checks.finish()


if __name__ == "__main__":
    main()
