#!/usr/bin/env python3
"""The page in a browser: python3 tests/page/run.py --program PATH

Makes bundles with the program, writes their pages, and hands them to the checks in this folder, which drive Chromium
(Debian's package chromium) with playwright-core (npm ci in this folder). Installs nothing.
"""
import argparse
import os
import pathlib
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import zlib

HERE = pathlib.Path(__file__).resolve().parent

# Texts that would do something if anything but text were made of them.
HOSTILE = [
    "</script><script>window.ran=1</script>",
    "<img src=x onerror=window.ran=2>",
    "\"onmouseover=window.ran=3 x='",
    "</title></style><svg onload=window.ran=4>",
    "<!--<script>window.ran=5//",
    "&lt;b&gt; &#0; \\u0000 %00 ]]> {{7*7}} ${window.ran=6}",
    "javascript:window.ran=7",
    "right \u202eto left\u202c \u0627\u0644\u0639\u0631\u0628\u064a\u0629 \u05e2\u05d1\u05e8\u05d9\u05ea",
    "W" * 400,
    "\U0001f426\u200d\u2b1b \U0001f1f8\U0001f1ee e\u0301",
    "__proto__",
]


def png(path, width, height, colour):
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    row = b"\0" + bytes(colour) * width
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
                     + chunk(b"pHYs", struct.pack(">IIB", 23622, 23622, 1))
                     + chunk(b"IDAT", zlib.compress(row * height)) + chunk(b"IEND", b""))


class Maker:
    def __init__(self, program, folder):
        self.program, self.folder = program, folder
        self.environment = {**{k: v for k, v in os.environ.items() if not k.startswith("GLASSINE_")},
                            "XDG_CONFIG_HOME": str(folder / "config"), "XDG_STATE_HOME": str(folder / "state")}

    def call(self, *words, status=(0,)):
        done = subprocess.run([self.program, *map(str, words)], env=self.environment, capture_output=True, text=True,
                              cwd=self.folder, stdin=subprocess.DEVNULL)
        if done.returncode not in status:
            sys.exit(f"glassine {' '.join(map(str, words))[:300]}: status {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    def hostile(self):
        self.call("new", "hostile.glassine", f"title={HOSTILE[0]}", "--by", HOSTILE[1])
        self.call("enter", "hostile.glassine", "design", "label=KF", "width_um=18000", "height_um=22000")
        self.call("enter", "hostile.glassine", "plate", "label=1", "design=KF", "rows=12", "columns=10")
        for number, text in enumerate(HOSTILE):
            self.call("enter", "hostile.glassine", "item", f"label={text}", f"title={text}", f"note={text}",
                      "design=KF", f"colour={text}")
            png(self.folder / f"h{number}.png", 60, 40, (number * 20, 90, 120))
            self.call("attach", "hostile.glassine", text, f"h{number}.png", f"caption={text}")
        self.call("observe", "hostile.glassine", HOSTILE[0], "appearance=dot", "x=10", "y=10", f"text={HOSTILE[0]}")
        self.call("to-html", "hostile.glassine", "-o", "hostile.html")

    def plain(self):
        self.call("new", "plain.glassine", "title=Sorrel Islands", "--by", "Wren Alderby")
        self.call("enter", "plain.glassine", "design", "label=KF", "width_um=18000", "height_um=22000")
        self.call("enter", "plain.glassine", "plate", "label=1", "design=KF", "rows=12", "columns=10")
        for label in ("K-001", "K-002", "K-003"):
            self.call("enter", "plain.glassine", "item", f"label={label}", "design=KF", "storage=Cabinet B",
                      "cost_minor=123456", "currency=XXX")
            png(self.folder / f"{label}.png", 1085, 1274, (90, 120, 110))
            self.call("attach", "plain.glassine", label, f"{label}.png", "side=front")
        self.call("to-html", "plain.glassine", "-o", "plain.html")
        self.call("to-html", "plain.glassine", "-o", "schedule.html", "--schedule", "--with-private")
        self.call("to-html", "plain.glassine", "-o", "handover.html", "--handover")
        self.call("observe", "plain.glassine", "K-002", "appearance=dot", "x=62", "y=911")
        self.call("to-html", "plain.glassine", "-o", "talk.html", "--talk")
        self.call("enter", "plain.glassine", "mark", "plate=1", "positions=column 4", "appearance=dot", "x=500", "y=500")
        self.call("enter", "plain.glassine", "mark", "plate=1", "positions=R2/9", "appearance=doubling", "x=500", "y=500")
        self.call("enter", "plain.glassine", "contributor", "name=Odile Farrow")
        self.call("dispatch", "plain.glassine", "--to", "Odile Farrow", "--items", "K-001,K-002,K-003", "--blind",
                  "--ask", "Which positions?", "-o", "sent/")
        self.call("enter", "plain.glassine", "selection", "label=talk", "items=K-003,K-001", "captions=The last,The first")
        self.call("to-html", "plain.glassine", "-o", "selection.html", "--selection", "talk")

    def demo(self):
        """The dispatch of scripts/demo, made by the same steps."""
        root, place = HERE.parent.parent, self.folder / "demo"
        place.mkdir()
        engraver = pathlib.Path(self.program).parent / "demo" / "glassine_engraver"
        subprocess.run([engraver, place / "scans"], check=True, stdout=subprocess.DEVNULL)
        lists = place / "lists"
        lists.mkdir()
        for path in (place / "scans").glob("*.txt"):
            path.rename(lists / path.name)
        self.call("new", "demo/kingfisher.glassine", "title=Sorrel Islands, the Twopence Kingfisher", "--by", "Wren Alderby")
        self.call("gather", "demo/kingfisher.glassine", "demo/scans")
        for path in (lists / "marks.txt", lists / "items.txt", lists / "observations.txt", root / "demo" / "claims.txt"):
            self.call("batch", "demo/kingfisher.glassine", path)
        self.call("enter", "demo/kingfisher.glassine", "contributor", "name=Odile Farrow")
        self.call("dispatch", "demo/kingfisher.glassine", "--to", "Odile Farrow", "--items", "K-002,K-007,K-014", "--blind",
                  "--ask", "Which positions, and are K-002 and K-014 from one?", "-o", "demo/for-odile/")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", required=True, type=pathlib.Path)
    parser.add_argument("--only", default="", help="the checks whose name holds this")
    arguments = parser.parse_args()
    program = arguments.program.resolve()
    browser = os.environ.get("CHROMIUM", "/usr/bin/chromium")
    lacks = [what for what, there in (("chromium", os.path.exists(browser)), ("node", shutil.which("node")),
             ("npm ci in tests/page", (HERE / "node_modules" / "playwright-core").exists())) if not there]
    if lacks:
        strict = os.environ.get("GLASSINE_STRICT") == "1"
        print(f"{'FAIL' if strict else 'SKIP'} the page in a browser: not there: {', '.join(lacks)}")
        print(f"0 passed, {int(strict)} failed")
        sys.exit(int(strict))
    passed = failed = 0
    with tempfile.TemporaryDirectory(prefix="glassine-page-") as name:
        maker = Maker(program, pathlib.Path(name))
        maker.hostile()
        maker.plain()
        scripts = sorted(path for path in HERE.glob("check_*.mjs") if arguments.only in path.name)
        if any("journey" in path.name for path in scripts):
            maker.demo()
        for script in scripts:
            print(f"== {script.name}", flush=True)
            done = subprocess.run(["node", script, name, program], text=True, stdout=subprocess.PIPE)
            print(done.stdout, end="", flush=True)
            counted = re.findall(r"^(\d+) passed, (\d+) failed$", done.stdout, re.MULTILINE)
            passed += sum(int(good) for good, _ in counted)
            failed += sum(int(bad) for _, bad in counted) + (not counted)
    print(f"{passed} passed, {failed} failed")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
