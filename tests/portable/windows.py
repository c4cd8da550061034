#!/usr/bin/env python3
"""What Windows does otherwise than POSIX, by the program for Windows under Wine.

    windows.py --program COMMAND --against COMMAND

Both are glassine_known (same_bytes.py). Where both can do a thing, both must say and make the same; what only Windows
knows (backslashes, drives, names of more than 260 characters) is compared with the same thing in other words. The code
pages are Python's."""
import argparse
import concurrent.futures
import pathlib
import shlex
import subprocess
import sys
import tempfile

from same_bytes import Run, png

ITEMS = "Nº;Farbe;Bemerkung\nF-1;grün;Café\nF-2;rot;naïf\n"
# What a map calls an encoding, and Python.
ENCODINGS = (("Windows-1252", "cp1252"), ("ISO-8859-1", "latin-1"), ("CP850", "cp850"), ("ISO-8859-15", "iso8859-15"),
             ("UTF-16", "utf-16"), ("UTF-16BE", "utf-16-be"), ("UTF-32LE", "utf-32-le"), ("macintosh", "mac-roman"))
MAP = ("column,header,goes_to,as\n1,Nº,item.label,\n2,Farbe,item.source,\n3,Bemerkung,item.note,\n"
       "sheet,encoding,{},\n")


class Trial:
    """One program, in a folder of its own."""

    def __init__(self, command, folder):
        self.run, self.folder, self.seed = Run(command), folder, 0

    def __call__(self, *arguments, fails=None):
        """Runs it; what it said. Exit status 0 and 1 are wanted, or with `fails` that one."""
        self.seed += 1
        said, ran = self.run.call(arguments, self.folder, self.seed)
        wanted = (0, 1) if fails is None else (fails,)
        if ran.returncode not in wanted:
            raise AssertionError(f"{shlex.join(arguments)}: exit {ran.returncode}: {ran.stderr.decode(errors='replace')}")
        return said if fails is None else ran.stderr

    def begin(self, name="b.glassine"):
        self("new", name, "title=Färöer", "--by", "Wren Alderby")
        return self


def encodings(windows, here):
    for trial in (windows, here):
        trial.begin()
        for number, (said, codec) in enumerate(ENCODINGS):
            (trial.folder / "s.csv").write_bytes(ITEMS.replace("F-", f"F{number}-").encode(codec))
            (trial.folder / "m.csv").write_text(MAP.format(said), encoding="utf-8")
            trial("from-csv", "b.glassine", "s.csv", "--map", "m.csv")
    assert windows("to-json", "b.glassine") == here("to-json", "b.glassine"), "encodings are read otherwise"


def bytes_that_are_nothing(windows, here):
    """0x81 stands for nothing in Windows-1252, and half a character in UTF-16."""
    for trial in (windows, here):
        trial.begin()
    for said, bad in (("Windows-1252", b"\x81"), ("UTF-16LE", b"\x00\xd8"), ("ASCII", b"\xe9")):
        told = []
        for trial in (windows, here):
            (trial.folder / "s.csv").write_bytes(b"x;y;z\n" + bad)
            (trial.folder / "m.csv").write_text(MAP.format(said), encoding="utf-8")
            told.append(trial("from-csv", "b.glassine", "s.csv", "--map", "m.csv", fails=2).replace(b"\r", b""))
        assert told[0] == told[1], (said, told)


def backslashes(windows, here):
    for trial, parted in ((windows, "\\"), (here, "/")):
        (trial.folder / "drawer" / "scans").mkdir(parents=True)
        (trial.folder / "drawer" / "scans" / "F-1 front.png").write_bytes(png(20, 20, 1))
        name = parted.join(("drawer", "b.glassine"))
        trial.begin(name)
        trial("gather", name, parted.join(("drawer", "scans")))
        trial("enter", name, "contributor", "name=Odile")
        trial("revise", name, "F-1", "note=up\\down")
        trial("dispatch", name, "--to", "Odile", "--items", "F-1", "-o", "sent" + parted)
        trial("to-csv", name, "-o", parted.join(("drawer", "sheets")))
        trial("backup", name, "drawer" + parted + "kept.glassine")
    compare_files(windows, here)


def drives(windows, here):
    for trial in (windows, here):
        trial.begin()
    whole = "Z:" + str(windows.folder / "b.glassine").replace("/", "\\")
    assert windows("to-json", whole) == here("to-json", "b.glassine"), "a bundle is another one with its drive"


def streams(windows, here):
    """"a:b" would be a stream of the file a, which nobody sees."""
    windows.begin()
    windows("new", "a:b.glassine", "title=A", "--by", "Wren Alderby", fails=3)
    assert not (windows.folder / "a").exists() and not (windows.folder / "a:b.glassine").exists(), "a stream was written"


def long_names(windows, here):
    for trial in (windows, here):
        folder = pathlib.Path(*["a drawer of the cabinet by the window"] * 9)
        (trial.folder / folder).mkdir(parents=True)
        trial.begin(f"{folder.as_posix()}/b.glassine")
        trial("enter", f"{folder.as_posix()}/b.glassine", "item", "label=F-1")
    compare_files(windows, here)


def other_letters(windows, here):
    for trial in (windows, here):
        trial.begin("Färöer, карта, 切手.glassine")
        (trial.folder / "Größe.png").write_bytes(png(20, 20, 2))
        trial("enter", "Färöer, карта, 切手.glassine", "item", "label=Ø-1")
        trial("attach", "Färöer, карта, 切手.glassine", "Ø-1", "Größe.png")
        trial("to-xlsx", "Färöer, карта, 切手.glassine", "-o", "Übersicht.xlsx")
        trial("tidy", "Färöer, карта, 切手.glassine", "-o", "Ordnung.glassine")
        trial("unpack", "Färöer, карта, 切手.glassine", "außen")
        subprocess.run(["tar", "-cf", "päckchen.tar", "-C", "außen", "--sort=name", "--mtime=@0", "--owner=0", "--group=0",
                        "--numeric-owner", "."], cwd=trial.folder, check=True)
        (trial.folder / "päckchen.tar").rename(trial.folder / "gepackt-ä.tar")
        trial("intake", "gepackt-ä.tar", "-o", "wieder.glassine")
        (trial.folder / "gepackt-ä.tar").unlink()
    compare_files(windows, here)


def line_ends(windows, here):
    """As a Windows editor leaves them."""
    for trial in (windows, here):
        trial.begin()
        (trial.folder / "list.txt").write_bytes(b"enter item label=F-1\r\nrevise F-1 colour=green\r\n")
        trial("batch", "b.glassine", "list.txt")
    compare_files(windows, here)


def two_at_once(windows, here):
    """Each waits for the other."""
    del here
    windows.begin()

    def enter(number):
        return windows.run.call(["enter", "b.glassine", "item", f"label=T-{number}"], windows.folder, 100 + number)[1]
    with concurrent.futures.ThreadPoolExecutor(4) as pool:
        for ran in pool.map(enter, range(4)):
            assert ran.returncode == 0, ran.stderr
    windows("audit", "b.glassine")
    said = windows("list", "b.glassine", "item")
    assert all(f"T-{number}".encode() in said for number in range(4)), "an item is lost"


def compare_files(windows, here):
    def of(trial):
        return {path.relative_to(trial.folder).as_posix(): path.read_bytes() for path in trial.folder.rglob("*")
                if path.is_file() and ".state" not in path.parts}
    ours, theirs = of(windows), of(here)
    differ = sorted(name for name in {**ours, **theirs} if ours.get(name) != theirs.get(name))
    assert not differ, f"other bytes: {differ}"


CASES = (encodings, bytes_that_are_nothing, backslashes, drives, streams, long_names, other_letters, line_ends, two_at_once)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", required=True)
    parser.add_argument("--against", required=True)
    parser.add_argument("cases", nargs="*")
    given = parser.parse_args()
    failed = 0
    chosen = [case for case in CASES if not given.cases or case.__name__ in given.cases]
    for case in chosen:
        with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
            try:
                case(Trial(given.program, pathlib.Path(one)), Trial(given.against, pathlib.Path(other)))
            except AssertionError as fault:
                failed += 1
                print(f"FAIL {case.__name__}: {fault}")
    print(f"{len(chosen) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
