#!/usr/bin/env python3
"""Runs the commands of documents and compares what they print.

usage: run_docs.py --program PATH [--engraver PATH] DOCUMENT…

A block fenced with ```console holds lines that begin with "$ " (a command) and, below each, what it prints. All
blocks of one document run in order in one fresh folder, in one shell each, with the program on the path and a fixed
clock. In the expected output "…" stands for any run of characters of a line, and a line that is only "…" for any
number of lines. A block fenced with ```console setup is run and not compared. Prints "N passed, M failed" last."""
import argparse
import os
import pathlib
import re
import shlex
import shutil
import subprocess
import sys
import tempfile

root = pathlib.Path(__file__).resolve().parents[2]


def blocks(text):
    """The console blocks of a document, each as (is setup, first line number, lines)."""
    found, lines = [], text.split("\n")
    at = 0
    while at < len(lines):
        if lines[at].startswith("```console"):
            end = next(i for i in range(at + 1, len(lines)) if lines[i].startswith("```"))
            found.append(("setup" in lines[at], at + 2, lines[at + 1:end]))
            at = end
        at += 1
    return found


def commands(lines):
    """The commands of a block with the output that follows each."""
    current = None
    for line in lines:
        if line.startswith("$ "):
            if current:
                yield current
            current = (line[2:], [])
        elif current and (line + " ").startswith("> ") and not current[1]:
            current = (current[0] + "\n" + line[2:], [])
        elif current:
            current[1].append(line)
    if current:
        yield current


def matches(wanted, got):
    """Do the printed lines fit the expected ones?"""
    pattern = []
    for line in wanted:
        if line.strip() == "…":
            pattern.append(r"(?:[^\n]*\n)*?")
        else:
            pattern.append(".*".join(re.escape(part) for part in line.rstrip().split("…")) + r"[ ]*\n")
    return re.fullmatch("".join(pattern), got) is not None


def run_document(path, environment):
    """Each command that did not print what the document says."""
    passed, failures = 0, []
    with tempfile.TemporaryDirectory() as folder:
        environment = dict(environment, HOME=folder, XDG_CONFIG_HOME=folder + "/.config",
                           XDG_STATE_HOME=folder + "/.state")
        work = pathlib.Path(folder, "work")
        work.mkdir()
        for setup, number, lines in blocks(path.read_text()):
            for command, wanted in commands(lines):
                ran = subprocess.run(["bash", "-c", command], cwd=work, env=environment, text=True,
                                     stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
                while wanted and not wanted[-1]:
                    wanted = wanted[:-1]
                if setup and ran.returncode == 0 or not setup and ran.returncode in (0, 1) and matches(
                        wanted, ran.stdout.rstrip("\n") + "\n" if ran.stdout.strip() else ""):
                    passed += 1
                else:
                    failures.append(f"FAIL {path.name}, block at line {number}: {command}\n"
                                    f"--- expected\n" + "\n".join(wanted) + f"\n--- printed (exit {ran.returncode})\n"
                                    + ran.stdout)
    return passed, failures


def draw_once(engraver, tools):
    """A glassine_engraver that draws for the first document, and copies for the others."""
    wrapper = pathlib.Path(tools, "glassine_engraver")
    wrapper.write_text(f"""#!/bin/sh
[ -d {shlex.quote(tools)}/drawn ] || {shlex.quote(engraver)} {shlex.quote(tools)}/drawn || exit 1
cp -r {shlex.quote(tools)}/drawn "$1"
""")
    wrapper.chmod(0o755)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--program", required=True)
    parser.add_argument("--engraver")
    parser.add_argument("documents", nargs="+")
    given = parser.parse_args()
    tools = tempfile.mkdtemp()
    os.symlink(os.path.abspath(given.program), tools + "/glassine")
    if given.engraver:
        draw_once(os.path.abspath(given.engraver), tools)
    environment = dict(os.environ, PATH=tools + ":" + os.environ["PATH"], SOURCE_DATE_EPOCH="1777629600",
                       LC_ALL="C.UTF-8", COLUMNS="80", NO_COLOR="1", PROJECT=str(root))
    environment.pop("GLASSINE_BY", None)
    passed, failures = 0, []
    for document in given.documents:
        good, bad = run_document(pathlib.Path(document), environment)
        passed += good
        failures += bad
    shutil.rmtree(tools)
    for failure in failures:
        print(failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
