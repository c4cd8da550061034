#!/usr/bin/env python3
"""Checks who includes whom: a layer of libformat/ only itself and the layers before it, the converters and the program
only glassine.h, converters.h and their own headers, the unit tests of a layer only that layer and those before it.

--prove makes small trees that break each rule, and sees that each is caught.
"""
import argparse
import re
import sys
import tempfile
from pathlib import Path

INCLUDE = re.compile(r'^\s*#\s*include\s*"([^"]+)"', re.MULTILINE)
LAYERS = re.compile(r"set\(GLASSINE_LAYERS ([a-z ]+)\)")
PUBLIC = "glassine.h"


def includes(path):
    return INCLUDE.findall(path.read_text(encoding="utf-8"))


def sources(folder):
    return sorted(path for path in folder.rglob("*") if path.suffix in (".c", ".h"))


def check_layer(root, layer, below):
    """Files of a layer name headers by layer: "base/span.h"."""
    for path in sources(root / "libformat" / layer):
        for name in includes(path):
            first = name.split("/")[0]
            if name != PUBLIC and (first not in below or not (root / "libformat" / name).exists()):
                yield f"{path.relative_to(root)}: {layer} may not include {name}"


def check_outside(root, folder, extra):
    """The converters and the program stand on the public headers."""
    for path in sources(root / folder):
        for name in includes(path):
            own = (path.parent / name).exists() or (root / folder / name).exists()
            if name != PUBLIC and name not in extra and not (own and ".." not in name):
                yield f"{path.relative_to(root)}: {folder} may not include {name}"


def check_tests(root, layer, below):
    """Tests may also include what lies beside them or in tests/, and the tables of rules, which are data."""
    folder = root / "tests" / layer
    for path in sources(folder):
        for name in includes(path):
            beside = (folder / name).exists() or (root / "tests" / name).exists()
            if name != PUBLIC and not beside and not name.endswith(".def") and name.split("/")[0] not in below:
                yield f"{path.relative_to(root)}: a test of {layer} may not include {name}"


def check_tree(root):
    layers = LAYERS.search((root / "CMakeLists.txt").read_text(encoding="utf-8")).group(1).split()
    for number, layer in enumerate(layers):
        below = layers[: number + 1]
        yield from check_layer(root, layer, below)
        yield from check_tests(root, layer, below)
    for path in sorted((root / "libformat").iterdir()):
        if path.is_dir() and path.name not in layers:
            yield f"libformat/{path.name}: is no layer that CMakeLists.txt names"
    yield from check_outside(root, "converters", {"converters.h"})
    yield from check_outside(root, "cli", {"converters.h"})


def plant(root, name, text):
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def prove():
    """None, or which breach was not caught."""
    sound = {
        "CMakeLists.txt": "set(GLASSINE_LAYERS base slips)\n",
        "libformat/glassine.h": "",
        "libformat/base/a.h": '#include "glassine.h"\n',
        "libformat/slips/b.h": '#include <stdio.h>\n#include "base/a.h"\n',
        "converters/converters.h": '#include "glassine.h"\n',
        "cli/c.c": '#include "converters.h"\n#include "d.h"\n',
        "cli/d.h": "",
        "tests/base/test_a.c": '#include "base/a.h"\n',
    }
    breaches = {
        "libformat/base/x.c": '#include "slips/b.h"\n',
        "libformat/slips/x.c": '#include "a.h"\n',
        "libformat/other/x.c": "",
        "converters/x.c": '#include "base/a.h"\n',
        "cli/x.c": ' # include "../libformat/base/a.h"\n',
        "cli/y.c": '#include "base/a.h"\n',
        "tests/base/test_x.c": '#include "slips/b.h"\n',
    }
    for name, text in [(None, None), *breaches.items()]:
        with tempfile.TemporaryDirectory() as folder:
            root = Path(folder)
            for file, content in sound.items():
                plant(root, file, content)
            if name is not None:
                plant(root, name, text)
            found = list(check_tree(root))
            if len(found) != (name is not None):
                return f"{name}: found {found}"
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("root", nargs="?", type=Path, default=Path(__file__).parents[2])
    parser.add_argument("--prove", action="store_true")
    options = parser.parse_args()
    faults = [fault for fault in [prove()] if fault] if options.prove else list(check_tree(options.root.resolve()))
    for fault in faults:
        print(fault)
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
