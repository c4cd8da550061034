"""The people of a life, their copies of a bundle, and what must be in them: the model that the program is held against.

Every command that saves carries a note that no other has. So each edition in a file belongs to one command, and after
a step each copy must hold: the log as it was, line for line, and behind it an edition for every command that said it
was done, whole, one or none for each that was killed, and none for any other."""
import hashlib
import json
import os
import random
import re
import resource
import signal
import subprocess
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Callable

from bundle import Bundle, content_digest

PATIENCE = 300  # seconds until a process that has not ended is taken to hang
KILLED = (-signal.SIGKILL, -signal.SIGXFSZ)
BUSY = re.compile(r"is writing to it\. Wait until it is done")  # after ten seconds: the machine is slow
TORN = re.compile(r"of a later one that is damaged \(C013\)")  # whoever saves beside one that is killed in its end record


class Broken(Exception):
    """What must hold does not."""


@dataclass
class Person:
    name: str
    folder: Path
    id: str = ""
    signs: bool = False


@dataclass
class Copy:
    """A file and what must be in it."""

    path: Path
    owner: Person
    bundle: Bundle = None
    slips: set = field(default_factory=set)

    def take_up(self, bundle):
        self.bundle, self.slips = bundle, bundle.slips()

    def records(self, kind, fresh=True):
        """{id: fields}, the last that was said of each, contested or not; `fresh`: none that is set aside."""
        found = {}
        for line in self.bundle.lines:
            slip = json.loads(line)
            if slip.get("record", "").startswith(kind + "/"):
                fields = found.setdefault(slip["record"], {"by": slip["by"]})
                fields.update(slip["set"])
        return {one: fields for one, fields in found.items() if not (fresh and "set_aside" in fields)}


@dataclass
class Job:
    """One run of the program."""

    verb: str
    words: list
    person: Person
    saves: Copy = None  # the copy that an edition of it goes into
    done: tuple = (0,)
    refusable: bool = False  # 2 is an answer, too: then nothing has changed
    may_add_nothing: bool = False
    rewrites: bool = False
    wants: list = field(default_factory=list)  # (type, fields): what its edition must say, by `by`
    by: Person = None
    allowed: Callable = None  # what else its edition may hold: asked for each line, where everything is not right
    stdin: str = ""
    dies: tuple = None  # ("bytes", N): when a file grows beyond N; ("seconds", S)
    note: str = ""  # of its edition
    takes_note: bool = True  # else it is alone, and its edition has whatever note the program gives it
    process: subprocess.Popen = None
    status: int = None
    out: str = ""
    err: str = ""

    def was_done(self):
        return self.status in self.done

    def json(self):
        return json.loads(self.out)["result"]

    def told(self):
        words = " ".join(f"'{word}'" if " " in str(word) else str(word) for word in self.words)
        return f"[{self.person.name}] glassine {self.verb} {words}\n  exit {self.status}: {self.err.strip()[-600:]}"


class World:
    def __init__(self, program, folder, seed, say):
        self.program, self.folder, self.say = program, folder, say
        self.seed = seed
        self.people, self.copies = [], []
        self.clock = 1_700_000_000
        self.count = 0
        self.ran, self.refused, self.killed = {}, {}, 0
        self.step = 0
        self.diary = open(folder / "diary.txt", "w", encoding="utf-8")

    def token(self, what="t"):
        self.count += 1
        return f"{what}{self.count}"

    def path(self, name):
        return self.folder / f"{self.token()}-{name}"

    # ---- running

    def environment(self, person):
        self.clock += 1
        number = int.from_bytes(hashlib.sha256(f"{self.seed} {self.clock}".encode()).digest()[:7], "big")
        return {"PATH": os.environ["PATH"], "HOME": str(person.folder), "LC_ALL": "C.UTF-8", "NO_COLOR": "1",
                "SOURCE_DATE_EPOCH": str(self.clock), "KNOWN_RANDOM": str(number), "BROWSER": "true",
                "GLASSINE_BY": person.name, **{name: value for name, value in os.environ.items() if "SAN_OPTIONS" in name}}

    def start(self, job):
        words = [str(word) for word in job.words]
        if job.saves and job.takes_note and not job.rewrites:
            job.note = self.token("note ")
            words += ["--note", job.note]
        limit = job.dies[1] if job.dies and job.dies[0] == "bytes" else None

        def before():
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            if limit is not None:
                resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

        call = [str(self.program), *([] if job.verb == "open" else [job.verb]), *words]
        said = self.folder / f"said-{self.token()}"
        job.said = [open(f"{said}.{name}", "w+", encoding="utf-8") for name in ("in", "out", "err")]
        job.said[0].write(job.stdin)
        job.said[0].seek(0)
        job.process = subprocess.Popen(call, env=self.environment(job.person), cwd=self.folder, preexec_fn=before,
                                       stdin=job.said[0], stdout=job.said[1], stderr=job.said[2])

    def wait(self, jobs):
        began = time.monotonic()
        left = list(jobs)
        while left:
            now = time.monotonic() - began
            for job in list(left):
                if job.process.poll() is not None:
                    left.remove(job)
                elif job.dies and job.dies[0] == "seconds" and now > job.dies[1]:
                    job.process.send_signal(signal.SIGKILL)
                elif now > PATIENCE:
                    job.process.send_signal(signal.SIGKILL)
                    job.process.wait()
                    raise Broken(f"does not end: {job.told()}")
            time.sleep(0.0005 if now < 0.2 else 0.01)
        for job in jobs:
            job.status = job.process.returncode
            for stream in job.said[1:]:
                stream.seek(0)
            job.out, job.err = job.said[1].read(), job.said[2].read()
            for stream in job.said:
                stream.close()
                os.unlink(stream.name)

    def run(self, *jobs):
        """Runs them at once, then looks at every copy that one of them saves into."""
        for job in jobs:
            self.start(job)
        self.wait(jobs)
        for job in jobs:
            self.judge(job, jobs)
        for copy in {id(job.saves): job.saves for job in jobs if job.saves}.values():
            mine = [job for job in jobs if job.saves is copy]
            self.look(copy, mine)
            if copy.bundle.torn:
                self.mend(copy, {job.note for job in mine if job.status in KILLED})
        return jobs[0]

    def mend(self, copy, notes):
        """A save was killed within its end record: a file that was cut short looks the same, so the program wants it to
        be recovered first. Then that edition is there wholly or not at all."""
        out, was = self.path("mended.glassine"), copy.bundle
        self.run(Job("recover", [copy.path, "-o", out], copy.owner, done=(0, 1)))
        copy.path.write_bytes(out.read_bytes())
        now = Bundle(copy.path)
        came = {members["note"] for members, _ in now.editions[len(was.editions):]}
        if now.lines[: len(was.lines)] != was.lines or not came <= notes | {"recovered"}:
            raise Broken(f"{copy.path}, killed and recovered, is not what it was: {came}")
        copy.take_up(now)

    def judge(self, job, jobs):
        self.diary.write(f"{self.step}: {job.told()}\n")
        self.diary.flush()
        if job.was_done():
            self.ran[job.verb] = self.ran.get(job.verb, 0) + 1
        elif job.dies and job.status in KILLED:
            self.killed += 1
        elif job.status == 3 and len(jobs) > 1 and BUSY.search(job.err):
            self.refused[job.verb] = self.refused.get(job.verb, 0) + 1
        elif job.status == 2 and TORN.search(job.err) and any(other.status in KILLED for other in jobs):
            self.refused[job.verb] = self.refused.get(job.verb, 0) + 1
        elif job.refusable and job.status == 2:
            if len(job.err.strip().splitlines()) < 1 or "glassine: " not in job.err:
                raise Broken(f"a refusal that does not say why: {job.told()}")
            self.refused[job.verb] = self.refused.get(job.verb, 0) + 1
        else:
            raise Broken(job.told())

    # ---- the model

    def look(self, copy, jobs=()):
        """Holds a copy against what it was and what was done to it."""
        try:
            now = Bundle(copy.path)
        except Exception as error:
            raise Broken(f"{copy.path} cannot be read any more: {error!r}") from error
        was = copy.bundle
        if was:
            if now.lines[: len(was.lines)] != was.lines:
                raise Broken(f"{copy.path}: the log is not what it was and more")
            for name, content in was.scans.items():
                if now.scans.get(name) != content:
                    raise Broken(f"{copy.path}: scan {name} is not what it was")
            rewritten = any(job.rewrites for job in jobs)
            if not rewritten and hashlib.sha256(now.data[: was.length]).digest() != was.start:
                raise Broken(f"{copy.path}: the file is not what it was and more")
            now.data = b""
        for name, content in now.scans.items():
            if hashlib.sha256(content).hexdigest() != name:
                raise Broken(f"{copy.path}: scan {name} is not what its name says")
        self.look_at_editions(copy, now, jobs, len(was.editions) if was else len(now.editions))
        copy.take_up(now)

    def look_at_editions(self, copy, now, jobs, known):
        mine = {job.note: job for job in jobs if not job.rewrites}
        came = {}
        for members, lines in now.editions[known:]:
            note = members["note"] if "" not in mine else ""
            if note not in mine or note in came:
                raise Broken(f"{copy.path}: nobody, or somebody twice, saved edition {members['edition']}")
            came[note] = lines
        for note, job in mine.items():
            if note in came:
                if not job.was_done() and job.status not in KILLED:
                    raise Broken(f"an edition, though it was refused: {job.told()}")
                self.look_at_edition(job, came[note])
            elif job.was_done() and not job.may_add_nothing:
                raise Broken(f"no edition, though it was done: {job.told()}")

    def look_at_edition(self, job, lines):
        """It is there wholly: all that the command was to say, by the one who was to say it."""
        slips = [json.loads(line) for line in lines]
        by = (job.by or job.person).id
        for kind, fields in job.wants:
            if not any(slip.get("by") == by and slip["record"].startswith(kind + "/")
                       and all(slip["set"].get(name) == value for name, value in fields.items())
                       for slip in slips if "record" in slip):
                raise Broken(f"not all of it is there ({kind} {fields}): {job.told()}")
        for line in lines:
            if job.allowed and not job.allowed(line):
                raise Broken(f"more than was asked for, {line!r}: {job.told()}")

    def digest(self, copy):
        said = self.run(Job("digest", [copy.path], copy.owner)).out.strip()
        if said != content_digest(copy.slips):
            raise Broken(f"{copy.path}: content digest {said}, computed {content_digest(copy.slips)}")

    def audit(self, path, *options, sound=True):
        job = self.run(Job("audit", [path, *options, "--json"], self.people[0], done=(0, 1)))
        faults = [one for one in json.loads(job.out)["findings"] if one["weight"] == "fault"]
        if faults or not job.json()["sound"]:
            raise Broken(f"audit of {path}: {faults[:3]}")

    def chance(self, *what):
        return random.Random(f"{self.seed} {what}")
