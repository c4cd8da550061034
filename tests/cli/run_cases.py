#!/usr/bin/env python3
"""Runs tests/cli/*.case, each in a folder of its own. See README.md for the format of a case."""
import argparse
import concurrent.futures
import errno
import json
import os
import pty
import re
import select
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import picture
from case import CaseError, expand, read_case, words
from schema import Schema

HERE = Path(__file__).resolve().parent
SCHEMAS = HERE.parent.parent / "spec" / "schemas"
BEGIN = 1760000000  # 2025-10-09T08:53:20Z; every command comes a minute after the one before

TIMEOUT = 60


class Failed(Exception):
    pass


def snapshot(folder):
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


class Run:
    """One case in its folder."""

    def __init__(self, path, program, folder):
        self.path = path
        self.program = program
        self.folder = folder
        self.work = folder / "work"
        self.work.mkdir()
        self.names = {}
        self.commands = 0
        self.environment = {
            "PATH": os.environ.get("PATH", ""),
            "HOME": str(folder / "home"),
            "XDG_CONFIG_HOME": str(folder / "config"),
            "XDG_STATE_HOME": str(folder / "state"),
            "TMPDIR": str(folder),
            "LC_ALL": "C.UTF-8",
            "TERM": "xterm",
        }
        for name in ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS"):
            if name in os.environ:
                self.environment[name] = os.environ[name]

    def all(self):
        for step in read_case(self.path, HERE):
            try:
                getattr(self, "do_" + step.word)(step)
            except (Failed, CaseError, OSError) as fault:
                raise Failed(f"{self.path.name}:{step.line}: {step.word} {step.rest}\n{fault}") from fault

    # ------------------------------------------------------------------------------ what is there before

    def place(self, name):
        if name.startswith("~config/"):
            path = self.folder / "config" / name[len("~config/") :]
        else:
            path = self.work / name
        path.parent.mkdir(parents=True, exist_ok=True)
        return path

    def do_file(self, step):
        lines = [expand(line, self.names) for line in step.text]
        self.place(step.rest).write_text("".join(line + "\n" for line in lines), encoding="utf-8")

    def do_image(self, step):
        name, size, *seed = words(step.rest)
        width, height = size.split("x")
        self.place(name).write_bytes(picture.png(int(width), int(height), int(seed[0]) if seed else 0))

    def do_broken(self, step):
        """A picture cut off in the middle."""
        whole = picture.png(40, 50, 99)
        self.place(step.rest).write_bytes(whole[: len(whole) // 2])

    def do_bytes(self, step):
        name, digits = words(step.rest)
        self.place(name).write_bytes(bytes.fromhex(digits))

    def do_folder(self, step):
        self.place(step.rest).mkdir(parents=True)

    def do_copy(self, step):
        source, target = words(step.rest)
        shutil.copyfile(self.place(source), self.place(target))

    def do_remove(self, step):
        self.place(step.rest).unlink()

    def do_cut(self, step):
        """Takes so many bytes off the end."""
        name, count = words(step.rest)
        data = (self.work / name).read_bytes()
        (self.work / name).write_bytes(data[: len(data) - int(count)])

    def do_flip(self, step):
        """Changes one bit of the byte at an offset; a negative one counts from the end."""
        name, offset = words(step.rest)
        data = bytearray((self.work / name).read_bytes())
        data[int(offset)] ^= 1
        (self.work / name).write_bytes(data)

    def do_lock(self, step):
        """Nobody may write there."""
        (self.work / step.rest).chmod(0o555)

    def do_env(self, step):
        name, _, value = step.rest.partition("=")
        self.environment[name] = value

    # ----------------------------------------------------------------------------------------- commands

    def do_run(self, step):
        arguments = words(expand(step.rest, self.names))
        if "escaped" in step.flags:
            arguments = [unescape(word) for word in arguments]
        self.commands += 1
        environment = dict(self.environment, SOURCE_DATE_EPOCH=str(BEGIN + 60 * self.commands))
        before = snapshot(self.work)
        given = "".join(line + "\n" for line in step.text)
        if "terminal" in step.flags:
            code, out, err = self.at_terminal(arguments, environment, given)
        else:
            code, out, err = self.in_pipes(arguments, environment, given, step.flags)
        told = f"exit status {code}\n--- standard output\n{out}--- standard error\n{err}"
        try:
            if code != step.exit:
                raise Failed(f"the exit status should be {step.exit}")
            after = snapshot(self.work)
            self.check_always(arguments, step, code, out, err, before, after)
            self.check_lines(step, out, err)
            for word, rest, line in step.expected:
                check = getattr(self, "expect_" + word, None)
                if check is not None:
                    try:
                        check(expand(rest, self.names) if word != "keep" else rest, out, err, before, after)
                    except Failed as fault:
                        raise Failed(f"line {line}: {fault}") from fault
        except Failed as fault:
            raise Failed(f"{fault}\n{told}") from fault

    def in_pipes(self, arguments, environment, given, flags):
        out = subprocess.PIPE
        if "full" in flags:
            out = open("/dev/full", "wb")
        elif "gone" in flags:
            reader, out = os.pipe()
            os.close(reader)
        done = subprocess.run(
            [self.program, *arguments],
            cwd=self.work,
            env=environment,
            input=given.encode(),
            stdout=out,
            stderr=subprocess.PIPE,
            timeout=TIMEOUT,
        )
        if "full" in flags:
            out.close()
        elif "gone" in flags:
            os.close(out)
        return done.returncode, decode(done.stdout or b"", "standard output"), decode(done.stderr, "standard error")

    def at_terminal(self, arguments, environment, given):
        """All three streams are one terminal; what it showed comes as standard output."""
        ours, theirs = pty.openpty()
        process = subprocess.Popen(
            [self.program, *arguments], cwd=self.work, env=environment, stdin=theirs, stdout=theirs, stderr=theirs
        )
        os.close(theirs)
        os.write(ours, given.encode())
        shown = b""
        try:
            while select.select([ours], [], [], TIMEOUT)[0]:
                piece = os.read(ours, 65536)
                if not piece:
                    break
                shown += piece
        except OSError as fault:
            if fault.errno != errno.EIO:  # what Linux says when the other side is closed
                raise
        os.close(ours)
        return process.wait(TIMEOUT), shown.decode("utf-8", "replace").replace("\r\n", "\n"), ""

    # --------------------------------------------------------------------------- what must come of them

    def check_always(self, arguments, step, code, out, err, before, after):
        """What holds of every command, said or not."""
        if "terminal" not in step.flags:
            for name, text in (("standard output", out), ("standard error", err)):
                if re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f]", text):
                    raise Failed(f"a control character stands on {name}")
        if code >= 2 and before != after and "full" not in step.flags and "gone" not in step.flags:
            changed = sorted(name for name in before.keys() | after.keys() if before.get(name) != after.get(name))
            raise Failed(f"refused, but changed {', '.join(changed)}")
        for name, old in before.items():
            grown = name in after and old is not None and after[name].startswith(old)
            if name.endswith(".glassine") and old is not None and not grown and "rewrites" not in step.flags:
                raise Failed(f"{name} did not merely grow")
        bare = arguments[:1] == ["to-json"] and "-o" not in arguments
        if "--json" in arguments and not bare and "terminal" not in step.flags:
            if step.flags & {"full", "gone"}:
                return
            self.check_json(out, err, code)

    def check_json(self, out, err, code):
        try:
            document = json.loads(out, object_pairs_hook=once)
        except ValueError as fault:
            raise Failed(f"standard output is no JSON: {fault}") from fault
        if err:
            raise Failed("with --json all is told on standard output")
        faults = Schema(SCHEMAS / "report.schema.json").faults(document)
        verb = SCHEMAS / "verbs" / f"{document.get('verb')}.schema.json"
        if code < 2:
            if not verb.exists():
                raise Failed(f"{verb.name} is missing")
            faults += Schema(verb).faults(document["result"])
        elif "error" not in document:
            faults.append("$: lacks error")
        if faults:
            raise Failed("the document does not fit its schema:\n  " + "\n  ".join(faults[:10]))

    def check_lines(self, step, out, err):
        """The lines that are expected come in this order; others may stand between."""
        for exact, pattern, text in ((">", ">~", out), ("!", "!~", err)):
            lines = text.splitlines()
            at = 0
            for word, rest, number in step.expected:
                if word not in (exact, pattern):
                    continue
                wanted = expand(rest, self.names)
                while at < len(lines) and not (
                    lines[at] == wanted if word == exact else re.search(wanted, lines[at])
                ):
                    at += 1
                if at == len(lines):
                    raise Failed(f"line {number}: no line {word} {wanted}")
                at += 1

    def expect_out(self, rest, out, err, before, after):
        check_whole(rest, out)

    def expect_err(self, rest, out, err, before, after):
        check_whole(rest, err)

    def expect_json(self, rest, out, err, before, after):
        path, how, wanted = rest.split(" ", 2)
        value = json.loads(out)
        for part in path.split("."):
            try:
                value = pick(value, part)
            except (KeyError, IndexError, TypeError) as fault:
                raise Failed(f"there is no {path}") from fault
        fits = {
            "=": lambda: value == json.loads(wanted),
            "~": lambda: isinstance(value, str) and re.search(wanted, value),
            "count": lambda: len(value) == int(wanted),
        }[how]()
        if not fits:
            raise Failed(f"{path} is {json.dumps(value, ensure_ascii=False)[:300]}")

    def expect_keep(self, rest, out, err, before, after):
        name, _, pattern = rest.partition(" ~ ")
        match = re.search(pattern, out, re.MULTILINE)
        if match is None:
            raise Failed(f"nothing to keep as {name}")
        self.names[name] = match.group(1)

    def expect_same(self, rest, out, err, before, after):
        if before.get(rest) != after.get(rest):
            raise Failed(f"{rest} changed")

    def expect_grown(self, rest, out, err, before, after):
        if not (after[rest].startswith(before[rest]) and len(after[rest]) > len(before[rest])):
            raise Failed(f"{rest} did not grow")

    def expect_absent(self, rest, out, err, before, after):
        if rest in after:
            raise Failed(f"{rest} is there")

    def expect_exists(self, rest, out, err, before, after):
        if rest not in after:
            raise Failed(f"{rest} is not there")

    def expect_holds(self, rest, out, err, before, after):
        name, _, pattern = rest.partition(" ~ ")
        if name not in after or not re.search(pattern.encode(), after[name], re.MULTILINE):
            raise Failed(f"{name} does not hold {pattern}")

    def expect_lacks(self, rest, out, err, before, after):
        name, _, pattern = rest.partition(" ~ ")
        if name not in after or re.search(pattern.encode(), after[name], re.MULTILINE):
            raise Failed(f"{name} holds {pattern}")


def check_whole(rest, text):
    """`empty`, or ~ REGEX over all of it, or !~ REGEX that must not be found."""
    how, _, pattern = rest.partition(" ")
    if how == "empty":
        good = text == ""
    elif how == "~":
        good = re.search(pattern, text, re.DOTALL)
    else:
        good = not re.search(pattern, text, re.DOTALL)
    if not good:
        raise Failed(f"it should be {rest}")


def unescape(word):
    """\\xNN becomes that byte, as the command line can carry it."""
    raw = re.sub(rb"\\x([0-9a-f]{2})", lambda match: bytes.fromhex(match.group(1).decode()), word.encode())
    return os.fsdecode(raw)


def pick(value, part):
    """A member by name, an element by number, or by what one of its members is: `field=note`."""
    name, equals, wanted = part.partition("=")
    if equals:
        return next((element for element in value if element[name] == wanted), None)
    return value[int(part)] if part.lstrip("-").isdigit() else value[part]


def once(pairs):
    """An object, if none of its names stands twice (RFC 8259 section 4)."""
    document = dict(pairs)
    if len(document) < len(pairs):
        raise ValueError(f"a name stands twice among {[name for name, value in pairs]}")
    return document


def decode(data, name):
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise Failed(f"{name} is no UTF-8: {data[:200]!r}") from fault


def run_case(path, program):
    """None, or what went wrong."""
    with tempfile.TemporaryDirectory(prefix="glassine-case-") as folder:
        try:
            Run(path, program, Path(folder)).all()
        except (Failed, CaseError) as fault:
            return str(fault)
        except subprocess.TimeoutExpired as fault:
            return f"{path.name}: {fault}"
    return None


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--program", required=True, type=lambda text: str(Path(text).resolve()))
    parser.add_argument("cases", nargs="*", help="names of cases, without .case; else all")
    options = parser.parse_args()
    paths = sorted(HERE.glob("*.case"))
    if options.cases:
        paths = [path for path in paths if path.stem in options.cases]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        results = list(pool.map(lambda path: run_case(path, options.program), paths))
    failed = [result for result in results if result is not None]
    for result in failed:
        print(result + "\n")
    print(f"{len(results) - len(failed)} passed, {len(failed)} failed")
    return 1 if failed or not results else 0


if __name__ == "__main__":
    sys.exit(main())
