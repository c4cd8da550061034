#!/usr/bin/env python3
"""What may go wrong around a save: two writers and a `tidy` at once, SIGKILL at any moment, a full disk, a file that
may not be written, a folder that is not there. A save is done or not done; what was there stays.

Referees: the kernel (signals, limits, mounts, inode flags), Python's zipfile.
"""

import fcntl
import hashlib
import os
import random
import resource
import shutil
import signal
import subprocess
import time
import zipfile

from checks import Checks, outside
from pictures import png

WRITES = 200
KILLS = 200


def labels(checks, bundle):
    return {row["label"] for row in rows(checks.json("list", bundle, "item")["result"])}


def rows(result):
    """The records of `list --json`, whether the result is them or holds them."""
    if isinstance(result, list):
        return result
    return next(value for value in result.values() if isinstance(value, list))


def edition(checks, bundle):
    return checks.json("list", bundle, "item")["edition"]


# ---- two writers


def check_two_writers(checks):
    bundle = checks.new("busy.glassine")

    def writer(name):
        """One shell, so that the two writers' processes follow each other without pause."""
        script = f'for i in $(seq 1 {WRITES}); do "$0" enter "$1" item label={name}-$i >/dev/null || exit; done'
        return subprocess.Popen(["sh", "-c", script, str(checks.program), str(bundle)], env=checks.environment,
                                stderr=subprocess.PIPE, text=True)

    writers = [writer("left"), writer("right")]
    tidied = 0
    while any(process.poll() is None for process in writers):
        time.sleep(0.3)
        tidied += checks.run("tidy", bundle).status == 0
    for process in writers:
        checks.ok("a writer among others saved all it had", process.wait() == 0, process.stderr.read())
    wanted = {f"{name}-{i}" for name in ("left", "right") for i in range(1, WRITES + 1)}
    checks.equal(f"all 2 x {WRITES} records are there", wanted ^ labels(checks, bundle), set())
    checks.ok(f"`tidy` ran meanwhile, {tidied} times", tidied > 0)
    checks.equal("as many editions as saves", edition(checks, bundle), 1 + 2 * WRITES)
    checks.ok("audit is clean", checks.run("audit", bundle).status == 0, checks.run("audit", bundle))


def check_read_while_saved(checks):
    """Half a save behind the last edition: of one who is at work, or of one who died."""
    bundle = checks.new("saving.glassine")
    with open(bundle, "ab") as file:
        file.write(b"PK\3\4half")
        file.flush()
        fcntl.flock(file, fcntl.LOCK_EX)
        ran = checks.run("list", bundle, "item")
        checks.ok("a reader is told who saves", ran.status == 0 and f"process {os.getpid()} (" in ran.err
                  and "is saving into it" in ran.err and "not whole" not in ran.err, ran)
    ran = checks.run("list", bundle, "item")
    checks.ok("a reader is told of a save that is not whole", "the last save is not whole: 8 bytes" in ran.err, ran)


# ---- killed


def typical_time(checks, bundle, picture):
    began = time.monotonic()
    checks.call("attach", bundle, "K-0", picture)
    return time.monotonic() - began


def check_killed(checks):
    bundle = checks.new("killed.glassine")
    checks.call("enter", bundle, "item", "label=K-0")
    picture = checks.folder / "large.png"
    picture.write_bytes(png("first", 1000, 1000))
    span = typical_time(checks, bundle, picture)
    chance, cut, done, wrong = random.Random(1861), 0, 0, []
    for number in range(1, KILLS + 1):
        before = edition(checks, bundle)
        picture.write_bytes(png(number, 1000, 300))
        process = checks.start("attach", bundle, "K-0", picture)
        time.sleep(chance.uniform(0, span * 1.1))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        answer = checks.run("list", bundle, "item", "--json")
        after = edition(checks, bundle) if answer.status == 0 else -1
        if process.returncode == 0:
            done += 1
            if after != before + 1:
                wrong.append(f"{number}: said it was done, edition {before} -> {after}")
        else:
            cut += 1
            if after not in (before, before + 1):
                wrong.append(f"{number}: killed, edition {before} -> {after} {answer}")
        if number % 10 == 0 and checks.run("enter", bundle, "item", f"label=K-{number}").status != 0:
            wrong.append(f"{number}: the next save failed")
    checks.equal(f"{KILLS} saves, {cut} of them killed: the last completed edition opens", wrong, [])
    checks.ok("the kills hit saves at work", cut > KILLS // 10, f"{cut} killed, {done} done")
    checks.call("enter", bundle, "item", "label=Last")
    wanted = {f"K-{number}" for number in range(0, KILLS + 1, 10)} | {"Last"}
    checks.equal("what was saved in between is all there", labels(checks, bundle), wanted)
    answer = checks.run("audit", bundle)
    checks.ok("audit finds no fault", answer.status in (0, 1) and not checks.faults(bundle), answer)
    with zipfile.ZipFile(bundle) as archive:
        checks.equal("zipfile reads it", archive.testzip(), None)


# ---- the system refuses


def fingerprint(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def check_refused(checks, what, bundle, answer, before):
    lines = answer.err.strip().splitlines()
    checks.equal(f"{what}: exit status", answer.status, 3)
    checks.ok(f"{what}: one clear line", len(lines) == 1 and lines[0].startswith("glassine: "), answer)
    if bundle:
        checks.equal(f"{what}: the file is as it was", fingerprint(bundle), before)
        checks.call("list", bundle, "item")


def fill(path):
    """A file that takes all the room that is left."""
    with open(path, "wb", buffering=0) as filler:
        try:
            while filler.write(bytes(4096)):
                pass
        except OSError:
            return


def check_full_disk(checks):
    what = "disk full"
    folder = checks.folder / "small"
    folder.mkdir()
    if outside("mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", folder).returncode != 0:
        checks.skip(what, "a small file system cannot be mounted here (mount needs root)", not_allowed=True)
        return
    try:
        bundle = folder / "full.glassine"
        checks.call("new", bundle, "title=Small", "--by", "Wren Alderby")
        checks.call("enter", bundle, "item", "label=H-1")
        picture = checks.folder / "too-large.png"
        picture.write_bytes(png("too large", 1000, 1000))
        before = fingerprint(bundle)
        check_refused(checks, what, bundle, checks.run("attach", bundle, "H-1", picture), before)
        checks.call("enter", bundle, "item", "label=H-2")
        fill(folder / "filler")
        before = fingerprint(bundle)
        check_refused(checks, f"{what} to the last byte", bundle, checks.run("enter", bundle, "item", "label=H-3"), before)
        check_refused(checks, f"{what}, tidy", bundle, checks.run("tidy", bundle), before)
        checks.equal(f"{what}: nothing is left lying about", sorted(os.listdir(folder)), ["filler", "full.glassine"])
    finally:
        outside("umount", folder)


def check_size_limit(checks):
    """The same without a mount: a file that may not grow (RLIMIT_FSIZE, getrlimit(2))."""
    bundle = checks.new("limited.glassine")
    checks.call("enter", bundle, "item", "label=H-1")
    before, room = fingerprint(bundle), bundle.stat().st_size + 300

    def limit():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))

    answer = checks.run("enter", bundle, "item", "label=H-2", "note=" + "long " * 50, preexec_fn=limit)
    check_refused(checks, "file may not grow", bundle, answer, before)
    checks.call("enter", bundle, "item", "label=H-2")


def check_immutable(checks):
    what = "immutable file"
    bundle = checks.new("fixed.glassine")
    if not shutil.which("chattr") or outside("chattr", "+i", bundle).returncode != 0:
        checks.skip(what, "chattr +i cannot be used here", not_allowed=True)
        return
    try:
        before = fingerprint(bundle)
        check_refused(checks, what, bundle, checks.run("enter", bundle, "item", "label=H-1"), before)
        check_refused(checks, f"{what}, tidy", bundle, checks.run("tidy", bundle), before)
    finally:
        outside("chattr", "-i", bundle)


def check_permission(checks):
    what = "file of somebody else"
    bundle = checks.new("others.glassine")
    before = fingerprint(bundle)
    as_other = {}
    if os.geteuid() == 0:
        os.chmod(checks.folder, 0o755)
        as_other = {"user": 65534, "group": 65534, "extra_groups": []}
    else:
        os.chmod(bundle, 0o444)
    checks.ok(f"{what}: can be read", checks.run("list", bundle, "item", **as_other).status == 0)
    check_refused(checks, what, bundle, checks.run("enter", bundle, "item", "label=H-1", **as_other), before)


def check_missing_folder(checks):
    answer = checks.run("new", checks.folder / "nowhere" / "x.glassine", "title=X", "--by", "Wren Alderby")
    check_refused(checks, "missing folder", None, answer, None)
    bundle = checks.new("here.glassine")
    before = fingerprint(bundle)
    answer = checks.run("tidy", bundle, "-o", checks.folder / "nowhere" / "y.glassine")
    check_refused(checks, "missing folder, tidy", bundle, answer, before)


def main():
    checks = Checks(__doc__)
    check_two_writers(checks)
    check_read_while_saved(checks)
    check_killed(checks)
    check_full_disk(checks)
    check_size_limit(checks)
    check_immutable(checks)
    check_permission(checks)
    check_missing_folder(checks)
    checks.finish()


if __name__ == "__main__":
    main()
