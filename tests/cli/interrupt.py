#!/usr/bin/env python3
"""Long work on a terminal says how far it is, and Ctrl-C leaves everything as it was.

usage: interrupt.py PROGRAM"""

import os
import pathlib
import pty
import re
import select
import signal
import subprocess
import sys
import tempfile
import time

LARGE = 2 << 30  # a hole: it is read, hashed and written as zeros
failures = 0


def ok(what, condition, detail=""):
    global failures
    failures += not condition
    print(("ok    " if condition else "FAIL  ") + what + ("" if condition else f"\n      {detail!r}"), flush=True)


def interrupted(program, *words):
    """Runs it on a terminal of its own, presses Ctrl-C once progress is shown; gives exit status and what it showed.
    Progress is shown of what lasts over a second: where the machine is fast, a halt early on makes it last."""
    master, slave = pty.openpty()
    shown = b""
    process = subprocess.Popen([program, *map(str, words)], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=slave,
                               preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))  # whoever runs us
    os.close(slave)
    time.sleep(0.15)
    process.send_signal(signal.SIGSTOP)
    time.sleep(1.2)
    process.send_signal(signal.SIGCONT)
    pressed = False
    while True:
        ready, _, _ = select.select([master], [], [], 60)
        try:
            piece = os.read(master, 4096) if ready else b""
        except OSError:  # the terminal's other end is closed
            piece = b""
        if not piece:
            break
        shown += piece
        if not pressed and b" left" in shown:
            process.send_signal(signal.SIGINT)
            pressed = True
    os.close(master)
    return process.wait(), shown.decode()


def state(folder):
    return {str(path.relative_to(folder)): path.is_file() and path.stat().st_size for path in folder.rglob("*")}


def check(program, name, folder, doing, *words):
    before = state(folder)
    status, shown = interrupted(program, *words)
    ok(f"{name}: what is done, how much of how much, speed, time left",
       re.search(doing + r": [0-9.]+ of [0-9.]+ MB, [0-9]+ MB a second, [0-9]+ s left", shown), shown[-300:])
    ok(f"{name}: stopped, exit status 3", status == 3 and "stopped; nothing was changed" in shown, (status, shown[-300:]))
    ok(f"{name}: everything is as it was", state(folder) == before, (before, state(folder)))


def main():
    program = os.path.abspath(sys.argv[1])
    with tempfile.TemporaryDirectory(prefix="glassine-interrupt-") as top:
        folder = pathlib.Path(top, "here")
        folder.mkdir()
        os.environ["HOME"] = os.environ["XDG_STATE_HOME"] = os.environ["XDG_CONFIG_HOME"] = top
        scans, bundle = pathlib.Path(top, "scans"), folder / "a.glassine"
        scans.mkdir()
        with open(scans / "H-1.tif", "wb") as scan:
            scan.truncate(LARGE)
        subprocess.run([program, "new", bundle, "title=Stopped", "--by", "Keeper"], check=True, stdout=subprocess.DEVNULL)
        check(program, "gather", folder, "taking scans in", "gather", bundle, scans)
        quiet = subprocess.run([program, "gather", bundle, scans], capture_output=True, text=True, check=False)
        ok("without a terminal nothing is shown of it", quiet.returncode == 0 and " left" not in quiet.stderr, quiet.stderr)
        check(program, "unpack", folder, "unpacking", "unpack", bundle, folder / "out")
        check(program, "tidy", folder, "checking|copying", "tidy", bundle, "-o", folder / "tidied.glassine")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
