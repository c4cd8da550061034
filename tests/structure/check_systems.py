#!/usr/bin/env python3
"""Checks that what differs between systems lies where it is looked for: library, converters and program include only the
headers of C, of the libraries, and those of POSIX that base/windows gives or its compiler has; and none asks for Windows.

--prove shows that each breach is caught."""
import argparse
import re
import sys
import tempfile
from pathlib import Path

INCLUDE = re.compile(r"^\s*#\s*include\s*<([^>]+)>", re.MULTILINE)
C17 = set("assert complex ctype errno fenv float inttypes iso646 limits locale math setjmp signal stdalign stdarg stdatomic "
          "stdbool stddef stdint stdio stdlib stdnoreturn string tgmath threads time uchar wchar wctype".split())
OF_THE_COMPILER = {"pthread.h", "strings.h", "sys/types.h"}
LIBRARIES = {"archive.h", "archive_entry.h", "expat.h", "jansson.h", "jpeglib.h", "libdeflate.h", "png.h", "tiffio.h",
             "utf8proc.h", "xlsxwriter.h", "zlib.h"}
OWN = re.compile(r"libformat/base/(platform\.c|windows/.*)|cli/[a-z_]+_(posix|windows)\.c")


def check_tree(root):
    given = {path.relative_to(root / "libformat/base/windows").as_posix()
             for path in (root / "libformat/base/windows").rglob("*.h")}
    for folder in ("libformat", "converters", "cli"):
        for path in sorted((root / folder).rglob("*.[ch]")):
            name = path.relative_to(root).as_posix()
            if OWN.fullmatch(name):
                continue
            text = path.read_text(encoding="utf-8")
            for header in INCLUDE.findall(text):
                known = header.removesuffix(".h") in C17 or header in OF_THE_COMPILER | LIBRARIES | given
                if not known and not header.startswith("openssl/"):
                    yield f"{name}: Windows lacks <{header}>; base/platform.h or cli/system.h is where that belongs"
            if "_WIN32" in text and name != "libformat/glassine.h":
                yield f"{name}: asks for Windows; base/windows is where that belongs"


def prove():
    """Which breach was not caught."""
    breaches = {"libformat/slips/a.c": "#include <sys/ioctl.h>\n", "cli/a.c": "#ifdef _WIN32\n#endif\n"}
    sound = {"libformat/base/windows/unistd.h": "", "libformat/base/platform.c": "#include <sys/file.h>\n",
             "cli/system_posix.c": "#include <termios.h>\n", "converters/a.c": "#include <unistd.h>\n#include <stdio.h>\n"}
    for name, text in [(None, None), *breaches.items()]:
        with tempfile.TemporaryDirectory() as folder:
            for planted, content in {**sound, **({name: text} if name else {})}.items():
                path = Path(folder) / planted
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(content, encoding="utf-8")
            if bool(list(check_tree(Path(folder)))) != bool(name):
                return [f"{name or 'the sound tree'}: judged wrongly"]
    return []


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--prove", action="store_true")
    parser.add_argument("root", nargs="?", type=Path, default=Path(__file__).resolve().parents[2])
    given = parser.parse_args()
    faults = prove() if given.prove else list(check_tree(given.root))
    print("\n".join(faults) or "nothing stands where it should not")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
