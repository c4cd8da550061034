#!/usr/bin/env python3
"""Completion: what the program offers, and that bash and zsh take the scripts and offer it.

usage: check_completion.py PROGRAM"""
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

root = pathlib.Path(__file__).resolve().parents[2]
program = os.path.abspath(sys.argv[1])
passed, failures = 0, []

OFFERED = [  # what was typed, and what must be (or must not be: "!") among the candidates
    (["c"], ["claim", "contested", "!merge"]),
    (["help", "po"], ["positions"]),
    (["help", "ite"], ["item"]),
    (["list", "s.glassine", "pl"], ["plate", "plate_state", "!item"]),
    (["enter", "s.glassine", "item", "ki"], ["kind="]),
    (["enter", "s.glassine", "item", "kind=co"], ["kind=cover", "!kind=pair"]),
    (["enter", "s.glassine", "stamp", "selvedge=left,"], ["selvedge=left,right"]),
    (["enter", "s.glassine", "item", "design="], ["design=KF"]),
    (["claim", "s.glassine", "K"], ["K-001", "K 2"]),
    (["claim", "s.glassine", "K-001", ""], ["1", "confidence="]),
    (["claim", "s.glassine", "K-001", "--by", "W"], ["Wren Alderby", "!Odile Farrow"]),
    (["dispatch", "s.glassine", "--items", "K-001,K"], ["K-001,K 2"]),
    (["dispatch", "s.glassine", "--to", ""], ["Odile Farrow"]),
    (["merge", "s.glassine", "--pre"], ["--preview"]),
    (["merge", "s.glassine", ""], ["!K-001"]),
    (["nothing", ""], ["!claim"]),
    (["list", "missing.glassine", "it"], ["item"]),
    (["show", "missing.glassine", ""], ["!K-001"]),
]


def check(holds, what):
    global passed
    if holds:
        passed += 1
    else:
        failures.append(what)


def run(*words, **more):
    return subprocess.run(words, text=True, capture_output=True, **more)


def offered():
    for typed, wanted in OFFERED:
        ran = run(program, "--complete", *typed)
        found = ran.stdout.splitlines()
        for want in wanted:
            there = want.lstrip("!") in found
            check(there != want.startswith("!") and ran.returncode == 0 and not ran.stderr,
                  f"{typed}: {want} in {found[:8]} {ran.stderr}")


BASH = """
source "$1"; cd "$2"
PATH=$3:$PATH
try() {
    COMP_LINE=$1 COMP_POINT=${#1} COMPREPLY=() COMP_WORDS=("${@:2}") COMP_CWORD=$(($# - 2))
    _glassine
    printf '%s\\n' "${COMPREPLY[@]}" "--"
}
try 'glassine cla' glassine cla
try 'glassine enter s.glassine item kind=co' glassine enter s.glassine item kind = co
try 'glassine claim s.glassine --by W' glassine claim s.glassine --by W
try 'glassine show s.glassine K\\ ' glassine show s.glassine 'K\\ '
try 'glassine show s.glassine $(touch trodden)' glassine show s.glassine '$(touch trodden)'
"""


def in_bash(folder, tools):
    ran = run("bash", "-c", BASH, "bash", str(root / "completion/glassine.bash"), folder, tools)
    lists = [part.split("\n") for part in ran.stdout.split("--\n")]
    for number, want in enumerate(["claim", "cover", "Wren\\ Alderby", "K\\ 2"]):
        check(want in lists[number], f"bash: {want} in {lists[number]} {ran.stderr}")
    check(not os.path.exists(folder + "/trodden"), "bash: completing ran what was typed")


ZSH = """
PS1=; autoload -Uz compinit; fpath=($1 $fpath); compinit -u -d $2/dump; compdef _glassine glassine; cd $2
print READY
"""


def in_zsh(folder, tools):
    """On a terminal of its own, as somebody types."""
    import pty
    import select
    import time
    child, terminal = pty.fork()
    if child == 0:
        os.environ.update(TERM="dumb", PATH=tools + ":" + os.environ["PATH"], ZDOTDIR=folder)
        os.execvp("zsh", ["zsh", "-f", "-i"])
    seen = b""

    def until(text, seconds=30):
        nonlocal seen
        end = time.monotonic() + seconds
        while text not in seen and time.monotonic() < end:
            if select.select([terminal], [], [], 0.2)[0]:
                try:
                    seen += os.read(terminal, 4096)
                except OSError:
                    return
    setup = f"{ZSH.replace('$1', str(root / 'completion')).replace('$2', folder)}"
    pathlib.Path(folder, "setup.zsh").write_text(setup)
    os.write(terminal, b"source " + folder.encode() + b"/setup.zsh\n")
    until(b"READY")
    for typed, want in ((b"echo glassine; glassine contes\t", b"contested"),
                        (b"\x15glassine claim s.glassine --by Wr\t", b"Wren\\ Alderby"),
                        (b"\x15glassine enter s.glassine item kind=co\t", b"kind=cover")):
        seen = b""
        os.write(terminal, typed)
        until(want)
        check(want in seen, f"zsh: {want} in {seen!r}")
    os.write(terminal, b"\x15exit\n")
    os.waitpid(child, 0)


def main():
    folder, tools = tempfile.mkdtemp(), tempfile.mkdtemp()
    os.symlink(program, tools + "/glassine")
    os.chdir(folder)
    os.environ.update(XDG_STATE_HOME=folder, XDG_CONFIG_HOME=folder, LC_ALL="C.UTF-8")
    os.environ.pop("GLASSINE_BY", None)
    for words in (["new", "s.glassine", "title=S", "--by", "Wren Alderby"],
                  ["enter", "s.glassine", "contributor", "name=Odile Farrow"],
                  ["enter", "s.glassine", "design", "label=KF"],
                  ["enter", "s.glassine", "plate", "label=1", "design=KF", "rows=12", "columns=10"],
                  ["enter", "s.glassine", "item", "label=K-001", "design=KF"],
                  ["enter", "s.glassine", "item", "label=K 2"]):
        ran = run(program, *words)
        check(ran.returncode == 0, f"{words}: {ran.stderr}")
    offered()
    in_bash(folder, tools)
    if shutil.which("zsh"):
        in_zsh(folder, tools)
    else:
        print("SKIP zsh is not installed")
    shutil.rmtree(folder)
    shutil.rmtree(tools)
    for failure in failures:
        print("FAIL", failure)
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
