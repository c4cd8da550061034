"""Reads a case: what is there before, the commands, and what must come of each. README.md has the format."""
import re
import shlex
from dataclasses import dataclass, field


class CaseError(Exception):
    pass


@dataclass
class Step:
    """One thing that is done, or one command with what is expected of it."""

    line: int
    word: str
    rest: str
    text: list = field(default_factory=list)  # of a file, or standard input
    exit: int = 0
    expected: list = field(default_factory=list)  # (word, rest, line)
    flags: set = field(default_factory=set)


MAKING = {"file", "image", "broken", "bytes", "folder", "copy", "cut", "flip", "remove", "env", "lock"}
EXPECTING = {">", ">~", "!", "!~", "out", "err", "json", "keep", "same", "grown", "absent", "exists", "holds", "lacks"}
FLAGS = {"terminal", "full", "gone", "rewrites", "escaped"}


def read_case(path, folder):
    """The steps of a case, those of what it uses first."""
    steps = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        take_line(line, number, steps, path, folder)
    return steps


def take_line(line, number, steps, path, folder):
    word, _, rest = line.partition(" ")
    last = steps[-1] if steps else None
    running = last is not None and last.word == "run"
    if line.startswith("|") and last is not None and last.word == "file":
        last.text.append(line[2:])
    elif not line.strip() or word in ("#", "about"):
        return
    elif word == "use":
        steps.extend(read_case(folder / (rest + ".setup"), folder))
    elif word in MAKING or word == "run":
        steps.append(Step(number, word, rest))
    elif word == "<" and running:
        last.text.append(rest)
    elif word == "exit" and running:
        last.exit = int(rest)
    elif word in FLAGS and running:
        last.flags.add(word)
    elif word in EXPECTING and running:
        last.expected.append((word, rest, number))
    else:
        raise CaseError(f"{path.name}:{number}: {line!r} is not understood here")


def expand(text, names):
    """$NAME becomes what `keep` found."""

    def value(match):
        if match.group(1) not in names:
            raise CaseError(f"${match.group(1)} was not kept")
        return names[match.group(1)]

    return re.sub(r"\$([A-Z]+)", value, text)


def words(text):
    return shlex.split(text)
