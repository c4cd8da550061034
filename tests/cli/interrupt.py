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

LARGE = 256 << 20  # a hole: it is read, hashed and written as zeros
FILES = 1000  # merged in one command
ITEMS = 20000
failures = 0


def ok(what, condition, detail=""):
    global failures
    failures += not condition
    print(("ok    " if condition else "FAIL  ") + what + ("" if condition else f"\n      {detail!r}"), flush=True)


def let_it_run(process, seconds):
    """A little further; then it stands still again, however fast the machine is."""
    process.send_signal(signal.SIGCONT)
    time.sleep(seconds)
    process.send_signal(signal.SIGSTOP)


def read(terminal):
    """What it has shown by now; None: it has ended."""
    if not select.select([terminal], [], [], 0.05)[0]:
        return b""
    try:
        return os.read(terminal, 4096) or None
    except OSError:  # the terminal's other end is closed
        return None


def interrupted(program, awaited, *words):
    """Runs it on a terminal of its own, presses Ctrl-C once that progress is shown; gives exit status and what it showed.
    Progress is shown of what lasts over a second: it stands still for longer than that early on, and then goes on by
    small steps, so that it cannot be done before the key is pressed."""
    master, slave = pty.openpty()
    wait = 'kill -STOP $$; exec "$@"'
    process = subprocess.Popen(["sh", "-c", wait, "sh", program, *map(str, words)], stdin=subprocess.DEVNULL,
                               stdout=subprocess.DEVNULL, stderr=slave,
                               preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))  # whoever runs us
    os.close(slave)
    os.waitpid(process.pid, os.WUNTRACED)
    let_it_run(process, 0.03)
    time.sleep(1.2)
    shown, piece = b"", b""
    while piece is not None and awaited not in shown:
        let_it_run(process, 0.004)
        piece = read(master)
        shown += piece or b""
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
        process.send_signal(signal.SIGCONT)
    while piece is not None:
        piece = read(master)
        shown += piece or b""
    os.close(master)
    return process.wait(), shown.decode()


def state(folder):
    return {str(path.relative_to(folder)): path.is_file() and path.stat().st_size for path in folder.rglob("*")}


def check(program, name, folder, doing, *words, unit=None):
    before = state(folder)
    status, shown = interrupted(program, f" {unit}, ".encode() if unit else b" left", *words)
    counted = rf"[0-9]+ of [0-9]+ {unit}, [0-9]+" if unit else "[0-9.]+ of [0-9.]+ MB, [0-9]+ MB"
    ok(f"{name}: what is done, how much of how much, speed, time left",
       re.search(f"(?:{doing}): {counted} a second, [0-9]+ s left", shown), shown[-300:])
    reads = status == -signal.SIGINT  # who changes nothing is ended by the system
    ok(f"{name}: stopped, exit status 3", reads or status == 3 and "stopped; nothing was changed" in shown, (status, shown[-300:]))
    ok(f"{name}: everything is as it was", state(folder) == before, (before, state(folder)))


def merge(program, top, folder):
    one, bundle = pathlib.Path(top, "one.glassine"), folder / "b.glassine"
    for path in one, bundle:
        subprocess.run([program, "new", path, "title=Stopped", "--by", "Keeper"], check=True, stdout=subprocess.DEVNULL)
    sources = [one] * FILES
    check(program, "merge", folder, "merging", "merge", bundle, *sources, unit="files")


def listing(program, top, folder):
    bundle, commands = folder / "c.glassine", "".join(f"enter item label=H-{i}\n" for i in range(ITEMS))
    subprocess.run([program, "new", bundle, "title=Stopped", "--by", "Keeper"], check=True, stdout=subprocess.DEVNULL)
    subprocess.run([program, "batch", bundle], check=True, stdout=subprocess.DEVNULL, input=commands.encode())
    check(program, "to-csv", folder, "going over|writing", "to-csv", bundle, "-o", pathlib.Path(top, "sheets"), unit="records")


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
        merge(program, top, folder)
        listing(program, top, folder)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
