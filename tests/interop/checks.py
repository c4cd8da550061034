"""What the interop scripts share: running the program, counting checks, leaving out loudly what cannot be checked.

With GLASSINE_STRICT=1 in the environment (the project's own test run) a missing tool is a failure, not a skip; what
the machine does not allow (mounting, inode flags) stays a skip.
"""

import argparse
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent


class Checks:
    def __init__(self, description):
        parser = argparse.ArgumentParser(description=description)
        parser.add_argument("--program", required=True, type=pathlib.Path, help="the glassine program to check")
        self.program = parser.parse_args().program.resolve()
        self.passed = self.failed = self.skipped = 0
        self.strict = os.environ.get("GLASSINE_STRICT") == "1"
        self._folder = tempfile.TemporaryDirectory(prefix="glassine-interop-")
        self.folder = pathlib.Path(self._folder.name)
        # Nobody's configuration and remembered state takes part, and every run sees the same clock.
        self.clock = 1_700_000_000
        self.environment = {
            **{name: value for name, value in os.environ.items() if not name.startswith("GLASSINE_")},
            "XDG_CONFIG_HOME": str(self.folder / "config"),
            "XDG_STATE_HOME": str(self.folder / "state"),
            "LC_ALL": "C.UTF-8",
            "NO_COLOR": "1",
        }

    def ok(self, what, condition, detail=""):
        """One check, one line. Returns the condition."""
        if condition:
            self.passed += 1
            print(f"ok    {what}")
        else:
            self.failed += 1
            print(f"FAIL  {what}" + (f"\n      {str(detail).strip()[:2000]}" if str(detail).strip() else ""))
        sys.stdout.flush()
        return bool(condition)

    def equal(self, what, found, wanted):
        return self.ok(what, found == wanted, f"found  {found!r}\n      wanted {wanted!r}")

    def skip(self, what, why, not_allowed=False):
        if self.strict and not not_allowed:
            self.ok(what, False, f"cannot be checked: {why}")
        else:
            self.skipped += 1
            print(f"SKIP  {what}: {why}")

    def tool(self, name, what):
        """The path of a program outside the project, or None and a loud skip."""
        path = shutil.which(name)
        if not path:
            self.skip(what, f"{name} is not installed")
        return path

    def node_package(self, name, what):
        if not shutil.which("node"):
            self.skip(what, "node is not installed")
        elif not (HERE / "node_modules" / name).exists():
            self.skip(what, f"npm package {name} is not there (npm ci in tests/interop)")
        else:
            return True
        return False

    # ---- running

    def start(self, *words, **options):
        """The program as a process of its own."""
        self.clock += 1
        environment = {**self.environment, "SOURCE_DATE_EPOCH": str(self.clock), **options.pop("environment", {})}
        return subprocess.Popen([str(self.program), *map(str, words)], env=environment, text=True,
                                stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **options)

    def call(self, *words, status=0, text=None, **options):
        """Runs the program and stops everything where it does not end as it should: what follows rests on it.
        `status`: one exit status or a tuple of those that are fine."""
        if text is not None:
            (self.folder / "stdin.txt").write_text(text)
            words = (*words, self.folder / "stdin.txt")
        process = self.start(*words, **options)
        out, err = process.communicate()
        fine = status if isinstance(status, tuple) else (status,)
        if process.returncode not in fine:
            self.ok("glassine " + " ".join(map(str, words)), False,
                    f"exit status {process.returncode}, wanted {status}\n{out[-500:]}\n{err[-1500:]}")
            self.finish()
        return Answer(process.returncode, out, err)

    def run(self, *words, **options):
        """Runs the program, however it ends."""
        process = self.start(*words, **options)
        out, err = process.communicate()
        return Answer(process.returncode, out, err)

    def json(self, *words, status=(0, 1)):
        return json.loads(self.call(*words, "--json", status=status).out)

    def faults(self, bundle):
        """What the audit finds broken; advice and notes left out."""
        return [one for one in self.json("audit", bundle)["findings"] if one["weight"] == "fault"]

    def new(self, name, title="Sorrel Islands", by="Wren Alderby"):
        path = self.folder / name
        self.call("new", path, f"title={title}", "--by", by)
        return path

    def finish(self):
        note = f" ({self.skipped} skipped)" if self.skipped else ""
        print(f"{self.passed} passed, {self.failed} failed{note}")
        self._folder.cleanup()
        sys.exit(1 if self.failed else 0)


class Answer:
    def __init__(self, status, out, err):
        self.status, self.out, self.err = status, out, err

    def __str__(self):
        return f"exit status {self.status}\n{self.out[-800:]}\n{self.err[-1500:]}"


def outside(*words, **options):
    """Runs another program; both streams in one text."""
    return subprocess.run([str(word) for word in words], text=True, stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, errors="replace", **options)
