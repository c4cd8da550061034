"""Running programs in turn and keeping their figures."""

import os
import pathlib
import statistics
import subprocess
import sys


class Failed(Exception):
    """A program of a row did not do what it was to do."""


class Program:
    """One program of a comparison: `command` is a list of words or a function of the round's number that gives one;
    `before(round)` prepares a run and is not measured."""

    def __init__(self, name, command, before=None, good=(0,)):
        self.name = name
        self.command = command if callable(command) else lambda _: command
        self.before = before
        self.good = good


class Figures:
    def __init__(self, name, wall, processor, peak):
        self.name = name
        self.best, self.median = min(wall), statistics.median(wall)
        self.processor = min(processor)
        self.peak = max(peak) * 1024


class Bench:
    """What the rows share: where things are, sizes, and what they found."""

    def __init__(self, build, folder, quick, runs):
        self.build, self.folder, self.quick, self.runs = pathlib.Path(build), pathlib.Path(folder), quick, runs
        self.glassine = str((self.build / "glassine").resolve())
        self.times, self.targets, self.remarks = [], [], []
        self.environment = dict(
            os.environ, HOME=str(self.folder / "home"), XDG_CONFIG_HOME=str(self.folder / "home/config"),
            XDG_STATE_HOME=str(self.folder / "home/state"), XDG_CACHE_HOME=str(self.folder / "home/cache"),
            BORG_BASE_DIR=str(self.folder / "home"), RESTIC_PASSWORD="bench", GLASSINE_BY="Keeper", LC_ALL="C.UTF-8")
        self.environment.pop("SOURCE_DATE_EPOCH", None)

    def size(self, full, quick):
        return quick if self.quick else full

    def tool(self, name):
        return str((self.build / "tests" / name).resolve())

    def path(self, name):
        return str(self.folder / name)

    def make(self, *command, good=(0,)):
        """Prepares something; gives what was printed."""
        done = subprocess.run([str(word) for word in command], env=self.environment, cwd=self.folder,
                              stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
        if done.returncode not in good:
            raise Failed(f"{' '.join(map(str, command))[:200]}: status {done.returncode}\n{done.stderr[-600:]}")
        return done.stdout

    def ours(self, *words, good=(0, 1)):
        return self.make(self.glassine, *words, good=good)

    def once(self, program, number):
        if program.before:
            program.before(number)
        report = self.folder / "report"
        command = [self.tool("bench_run"), str(report), *map(str, program.command(number))]
        with open(self.folder / "errors", "w+", encoding="utf-8") as errors:
            subprocess.run(command, env=self.environment, cwd=self.folder, stdin=subprocess.DEVNULL,
                           stdout=subprocess.DEVNULL, stderr=errors, check=True)
            wall, processor, peak, status, _ = report.read_text().split()
            if int(status) not in program.good:
                errors.seek(0)
                raise Failed(f"{program.name}: status {status}\n{errors.read()[-600:]}")
        return float(wall), float(processor), int(peak)

    def compare(self, work, programs, runs=None):
        """Runs the programs in turn, round after round, so that whatever else the machine does meets all of them;
        gives their figures by name."""
        runs = runs or self.runs
        found = {program.name: [] for program in programs}
        for number in range(runs):
            for program in programs:
                self.say(f"{work}: {program.name}, run {number + 1} of {runs}")
                found[program.name].append(self.once(program, number))
        figures = {name: Figures(name, *zip(*runs_of)) for name, runs_of in found.items()}
        self.times += [(work, each) for each in figures.values()]
        return figures

    def target(self, work, what, value, text, bound, least=False, shown=None):
        """One aim: `value` at most (or at least) `bound`."""
        met = value >= bound if least else value <= bound
        self.targets.append((work, what, shown or f"{value:.2f} ×", text, met))

    def remark(self, text):
        self.remarks.append(text)

    @staticmethod
    def say(text):
        if sys.stderr.isatty():
            print(f"\r\033[K{text}", end="", file=sys.stderr, flush=True)
