#!/usr/bin/env python3
"""Seeds for the fuzzing targets, out of testvectors/: make_seeds.py FOLDER writes FOLDER/TARGET/… anew."""
import io
import json
import pathlib
import shutil
import sys
import zipfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
VECTORS = ROOT / "testvectors"
LAYOUTS = {"120": 0, "240": 1, "two panes": 2, "whole sheet": 3, "down": 4}
WORKBOOK = ["xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet1.xml", "xl/styles.xml",
            "xl/sharedStrings.xml"]


def read(path):
    return json.loads((VECTORS / path).read_text())


def containers():
    for path in sorted(VECTORS.glob("valid/*.glassine")) + sorted(VECTORS.glob("bad/*.glassine")):
        if path.stat().st_size < 9000:
            yield path.read_bytes()


def lines():
    for text in (VECTORS / "lines/lines.jsonl").read_text().splitlines():
        case = json.loads(text)
        if "line" in case:
            yield case["line"].encode(errors="surrogatepass")


def expressions():
    for name in ("good", "bad"):
        for case in read(f"expressions/{name}.json")["cases"]:
            if case["layout"] in LAYOUTS:
                yield bytes([LAYOUTS[case["layout"]] | 0x80]) + case["expression"].encode()


def dates():
    for case in read("dates/forms.json")["cases"]:
        yield case["edtf"].encode()
    for case in read("dates/refused.json")["cases"]:
        yield case["text"].encode()
    for case in read("dates/typed.json")["cases"]:
        yield (case[0] if isinstance(case, list) else str(case)).encode()


def sheets():
    for path in sorted(VECTORS.glob("sheets/*/*.csv")):
        if path.stat().st_size < 20000 and "map" not in path.name:
            yield path.read_bytes()


def maps():
    for folder in sorted(VECTORS.glob("sheets/*")):
        sheet = next((path for path in sorted(folder.glob("*.csv")) if "map" not in path.name), None)
        for path in sorted(folder.glob("*map*.csv")):
            rest = sheet.read_bytes() if sheet and sheet.stat().st_size < 20000 else b""
            yield path.read_bytes() + b"\0" + rest


def workbooks():
    for path in sorted(VECTORS.glob("sheets/*/*.xlsx")):
        yield path.read_bytes()
        with zipfile.ZipFile(path) as book:
            yield b"\0".join(book.read(name) if name in book.namelist() else b"" for name in WORKBOOK)


def pictures():
    for path in sorted(VECTORS.glob("valid/*.glassine")):
        with zipfile.ZipFile(io.BytesIO(path.read_bytes())) as bundle:
            for name in bundle.namelist():
                if "/data/scans/" in name and bundle.getinfo(name).file_size < 20000:
                    yield bundle.read(name)


def answers():
    for path in sorted(VECTORS.glob("answers/*.json")):
        yield "\n".join(json.loads(path.read_text())["text"]).encode() + b"\n"


def uuid(end):
    return "00000000-0000-4000-8000-0000000000" + end


def replies():
    """The bundle is that of asked.h."""
    version = {"at": "2026-03-02T10:00:00Z", "plates": ["plate/" + uuid("f1")], "positions": "14",
               "state": "plate_state/" + uuid("a1"), "confidence": "probable", "remark": "a « dot »"}
    given = [{"number": 1, "record": "claim", "stamp": "stamp/" + uuid("31"), "versions": [version]},
             {"number": 2, "record": "opinion", "stamp": "stamp/" + uuid("32"),
              "versions": [{"at": "2026-03-02T10:00:00Z", "about": "cannot tell", "text": "too pale"},
                           {"at": "2026-03-03T10:00:00Z", "withdrawn": True}]},
             {"number": 3, "record": "observation", "stamp": "stamp/" + uuid("33"),
              "versions": [{"at": "2026-03-02T10:00:00Z", "appearance": "dot", "x": 20, "y": 500, "seen": "present"}]}]
    sheet = {"format": "glassine reply sheet 1.0", "sheet": uuid("51"), "bundle": uuid("52"),
             "answers": "event/" + uuid("e1"), "by": "contributor/" + uuid("0b"), "via": "contributor/" + uuid("0a"),
             "made": "2026-03-02T10:00:00Z", "given": given}
    for count in range(4):
        yield json.dumps({**sheet, "given": given[:count]}, ensure_ascii=False).encode()
    yield json.dumps({**sheet, "answers": None}).encode()


MAKERS = {"container": containers, "line": lines, "expression": expressions, "date": dates, "csv": sheets, "map": maps,
          "xlsx": workbooks, "image": pictures, "answers": answers, "sheet": replies}


def main():
    out = pathlib.Path(sys.argv[1])
    for target, make in MAKERS.items():
        folder = out / target
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir(parents=True)
        seeds = list(make())
        if not seeds:
            print("no seeds for", target)
            return 1
        for number, seed in enumerate(seeds):
            (folder / f"{number:04}").write_bytes(seed)
        print(target, len(seeds))
    return 0


if __name__ == "__main__":
    sys.exit(main())
