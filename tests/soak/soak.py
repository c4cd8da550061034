#!/usr/bin/env python3
"""Random use of the program, held against a model that knows what must be there.

    soak.py --program PROGRAM [--seconds S | --steps N] [--seed SEED] [--keep FOLDER]
    soak.py --program PROGRAM --prove      a program that forgets a save is found out

A life is a bundle, its three owners' copies, and a number of steps: every verb, several processes on one file, kills
in the middle, merges, backups and restores, damaged copies. At its end everybody merges everybody's, and all copies
hold the same. Each life, and each step in it, depends on the seed and its number alone; what two processes at once and
a kill make of it is up to the machine. PROGRAM is glassine_known, which takes its random numbers from KNOWN_RANDOM."""
import argparse
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import saves
import steps
from world import Broken, Copy, Job, Person, World

NAMES = ["Wren Alderby", "Odile Farrow", "Ann Keeper"]
STEPS_OF_A_LIFE = 160


def verbs_of(program):
    """What `glassine help` lists, and "open", the bundle alone."""
    said = subprocess.run([program, "help"], stdout=subprocess.PIPE, text=True, check=True).stdout
    return set(re.findall(r"^  ([a-z-]+) +\S", said.split("\nmore\n")[0], re.MULTILINE)) | {"open"}


def begin_life(world):
    for name in NAMES:
        folder = world.folder / name.split()[0].lower()
        folder.mkdir()
        world.people.append(Person(name, folder))
    keeper = world.people[0]
    first = Copy(keeper.folder / "sorrel.glassine", keeper)
    world.run(Job("new", [first.path, "title=Sorrel Islands", "--by", keeper.name], keeper))
    lines = [*(f"enter contributor name='{name}'" for name in NAMES[1:]),
             "enter design label=KF title=Kingfisher denomination=Twopence issued=1861",
             "enter plate label=1 design=KF rows=12 columns=10",
             "enter plate_state plate=1 name=early order=1", "enter plate_state plate=1 name=late order=2",
             "enter mark plate=1 positions=41 appearance=dot x=20 y=500",
             *(f"enter item label=S-{number} design=KF" for number in range(1, 7))]
    world.run(Job("batch", [first.path], keeper, stdin="\n".join(lines) + "\n"))
    world.look(first)
    ids = {fields["name"]: one for one, fields in first.records("contributor").items()}
    for person in world.people:
        person.id = ids[person.name]
        copy = Copy(person.folder / "sorrel.glassine", person)
        if person is not keeper:
            shutil.copyfile(first.path, copy.path)
        world.copies.append(copy)
        world.look(copy)


def end_life(world):
    """All that anybody's copy holds is in everybody's, and says the same there."""
    everything = set().union(*(copy.slips for copy in world.copies))
    first, *others = world.copies
    for _ in range(2):  # in the first round somebody may have put a key forward
        steps.merge_into(world, first, others)
        for copy in others:
            steps.merge_into(world, copy, [first])
    told = set()
    for copy in world.copies:
        steps.same(copy.slips, first.slips, f"{copy.path} does not hold what {first.path} does")
        steps.hold(everything <= copy.slips, f"{copy.path} does not hold everything")
        world.digest(copy)
        world.audit(copy.path, "--images")
        if not world.keys:  # with keys, it matters which was seen first
            told.add("".join(world.run(Job(verb, [copy.path, *words], first.owner, done=(0, 1))).out
                             for verb, words in (("standing", []), ("dates", ["1"]), ("chart", ["1"]))))
    steps.hold(len(told) < 2, "copies that hold the same do not say the same")


class Soak:
    def __init__(self, arguments):
        self.program = arguments.program.resolve()
        self.seed, self.steps, self.seconds = arguments.seed, arguments.steps, arguments.seconds
        self.verbs = verbs_of(self.program)
        self.ran, self.refused, self.killed, self.done = {}, {}, 0, 0
        self.began = time.monotonic()
        self.root = arguments.keep or Path(tempfile.mkdtemp(prefix="glassine-soak-"))
        self.root.mkdir(parents=True, exist_ok=True)

    def over(self):
        return self.done >= self.steps if self.steps else time.monotonic() - self.began >= self.seconds

    def count(self, world):
        for mine, theirs in ((self.ran, world.ran), (self.refused, world.refused)):
            for verb, number in theirs.items():
                mine[verb] = mine.get(verb, 0) + number
        self.killed += world.killed

    def live(self, number):
        folder = self.root / f"life-{number}"
        folder.mkdir()
        world = World(self.program, folder, f"{self.seed} {number}", print)
        world.verbs, world.keys = self.verbs, number % 2 == 1
        begin_life(world)
        deck = []
        for step in range(1, STEPS_OF_A_LIFE + 1):
            if self.over():
                break
            world.step = step
            chance = world.chance(step)
            if not deck:
                deck = list(steps.STEPS)
                chance.shuffle(deck)
            card = deck.pop()
            try:
                card(world, chance)
                if step % 10 == 0:
                    for copy in world.copies:
                        world.digest(copy)
                        world.audit(copy.path)
            except Broken as broken:
                raise Broken(f"life {number}, step {step} ({card.__name__}): {broken}") from broken
            self.done += 1
        try:
            end_life(world)
        except Broken as broken:
            raise Broken(f"the end of life {number}: {broken}") from broken
        self.count(world)
        slips = len(world.copies[0].slips)
        world.diary.close()
        shutil.rmtree(folder)
        print(f"life {number}: {self.done} steps, {sum(self.ran.values())} commands, {self.killed} killed, {slips} statements, "
              f"{time.monotonic() - self.began:.0f} s", flush=True)

    def repeat(self):
        length = f"--steps {self.steps}" if self.steps else f"--seconds {self.seconds}"
        return f"{sys.argv[0]} --program {self.program} {length} --seed {self.seed}"

    def run(self):
        print(f"seed {self.seed}", flush=True)
        number = 0
        try:
            while not self.over():
                number += 1
                self.live(number)
            missing = sorted(self.verbs - set(self.ran))
            if missing and (self.steps or number > 1):
                raise Broken(f"never done: {', '.join(missing)}")
        except Broken as broken:
            print(f"FAIL  {broken}\nkept in {self.root} (diary.txt in it tells every command)\nto repeat: {self.repeat()}\n"
                  f"{self.done} passed, 1 failed")
            return 1
        shutil.rmtree(self.root)
        print("refused: " + ", ".join(f"{verb} {count}" for verb, count in sorted(self.refused.items())))
        print(f"{self.done} passed, 0 failed")
        return 0


FORGETFUL = """#!/bin/sh
# Puts the bundle back to what it was when somebody observes something.
[ "$1" = observe ] && cp "$2" "$2.before"
"%s" "$@" || exit
[ "$1" = observe ] && mv "$2.before" "$2"
exit 0
"""


def prove(arguments):
    with tempfile.TemporaryDirectory(prefix="glassine-soak-") as folder:
        program = Path(folder) / "glassine"
        program.write_text(FORGETFUL % arguments.program.resolve())
        program.chmod(0o755)
        arguments.program, arguments.steps, arguments.keep = program, 100, Path(folder) / "kept"
        found = Soak(arguments).run() == 1
    print("ok    it was found out\n1 passed, 0 failed" if found else "FAIL  a save was lost, and nobody noticed\n0 passed, 1 failed")
    return 0 if found else 1


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", type=Path, required=True)
    parser.add_argument("--seconds", type=int, default=3600)
    parser.add_argument("--steps", type=int)
    parser.add_argument("--seed", type=int, default=random.randrange(1_000_000))
    parser.add_argument("--keep", type=Path, help="where the files lie")
    parser.add_argument("--prove", action="store_true")
    arguments = parser.parse_args()
    sys.exit(prove(arguments) if arguments.prove else Soak(arguments).run())


if __name__ == "__main__":
    main()
