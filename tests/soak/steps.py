"""What a step may be. STEPS is a deck: each card comes once before any comes twice."""
import csv
import json
import re
import tarfile
import zipfile
from pathlib import Path

import saves
from bundle import Bundle, content_digest, slips_of
from saves import forget, pick, speak
from world import KILLED, Broken, Copy, Job, Person

STEPS = []


def step(weight=1):
    def put(make):
        STEPS.extend([make] * weight)
        return make
    return put


def hold(condition, what):
    if not condition:
        raise Broken(what)


def same(found, wanted, what):
    hold(found == wanted, f"{what}: found {str(found)[:300]}, wanted {str(wanted)[:300]}")


def mortal(world, chance, job):
    """The job, to be killed somewhere in its work: where it has written so many bytes, or after some time."""
    size = job.saves.path.stat().st_size if job.saves else 0
    if chance.random() < 0.5:
        job.dies = ("bytes", max(1, int(size * 0.2) if job.rewrites else size) + int(3 ** chance.uniform(0, 10)))
    else:
        job.dies = ("seconds", chance.uniform(0, 0.05))
    return job


# ---- saving


@step(8)
def saves_alone(world, chance):
    copy = chance.choice(world.copies)
    world.run(chance.choice(saves.SAVES)(world, chance, copy))


@step(6)
def saves_killed(world, chance):
    copy = chance.choice(world.copies)
    world.run(mortal(world, chance, chance.choice(saves.SAVES)(world, chance, copy)))


@step(8)
def saves_at_once(world, chance):
    """Several processes on one file; some are killed; others read it meanwhile."""
    copy = chance.choice(world.copies)
    jobs = [chance.choice(saves.SAVES)(world, chance, copy) for _ in range(chance.randint(2, 4))]
    for job in jobs:
        if job.verb == "withdraw":
            job.refusable = job.may_add_nothing = True  # somebody was faster
        if chance.random() < 0.3:
            mortal(world, chance, job)
    readers = [Job(verb, [copy.path, *words], copy.owner, done=(0, 1))
               for verb, words in (("list", ["item"]), ("audit", ["--quick"]), ("standing", []), ("to-json", []))]
    world.run(*jobs, *chance.sample(readers, 2))


def every_save(make):
    @step()
    def one(world, chance):
        world.run(make(world, chance, chance.choice(world.copies)))
    one.__name__ = make.__name__


for made in saves.SAVES:
    every_save(made)


def contested(world, copy):
    said = world.run(Job("contested", [copy.path, "--json"], copy.owner, done=(0, 1))).json()["contested"]
    return {(one["record"], one["field"]): one for one in said}


@step(2)
def settle(world, chance):
    """Two say different things; it is contested, and no more once somebody answers."""
    copy, other = chance.sample(world.copies, 2)
    both = sorted(set(copy.records("item")) & set(other.records("item")))
    item, values = chance.choice(both), [world.token("value "), world.token("value ")]
    said = [world.run(speak("revise", one, [item, f"title={value}"], [("item", {"title": value})], refusable=True))
            for one, value in zip((copy, other), values)]
    merge_into(world, copy, [other])
    open_now = contested(world, copy)
    if not world.keys:
        hold((item, "title") in open_now, f"{item} is not contested in {copy.path}: {said[0].told()} {said[1].told()}")
    if not open_now:
        return
    record, field = chance.choice(sorted(open_now))
    if field == "set_aside":
        return
    answer, wants = [f"{field}={world.token('settled ')}"], [(record.split("/")[0], {})]
    if chance.random() < 0.3:
        answer = ["--take", open_now[record, field]["values"][0]["by"], f"{field}="]
    world.run(speak("settle", copy, [record, *answer], wants))
    hold((record, field) not in contested(world, copy), f"{record} {field} is contested still")


@step()
def adopt(world, chance):
    keeper, other = world.copies[0], chance.choice(world.copies[1:])
    world.run(saves.proposal(world, chance, other))
    merge_into(world, keeper, [other])
    proposed = world.run(Job("proposed", [keeper.path, "--json"], keeper.owner, done=(0, 1))).json()["proposed"]
    if proposed:
        one = chance.choice(proposed)
        world.run(Job("adopt", [keeper.path, one["proposal"]], keeper.owner, saves=keeper, refusable=True))


@step()
def sign(world, chance):
    """Somebody makes a key, shows it, signs what was said before; the keeper vouches for it."""
    copy, keeper = chance.choice(world.copies), world.copies[0]
    person = copy.owner
    if not world.keys:
        return world.run(Job("key", ["show", copy.path], person)) and None
    if not person.signs:
        world.run(Job("key", ["new"], person))
        person.signs = True
        world.run(Job("key", ["sign", copy.path], person, saves=copy, takes_note=False, may_add_nothing=True))
    world.run(Job("key", ["show"], person))
    merge_into(world, keeper, [copy])
    shown = world.run(Job("key", ["show", keeper.path, "--json"], keeper.owner)).json()["contributors"]
    keys = [one["keys"][0]["key"] for one in shown if one["contributor"] == person.id and one["keys"]]
    if keys:
        world.run(Job("trust", [keeper.path, person.id, keys[0]], keeper.owner, saves=keeper, may_add_nothing=True))


# ---- copies


def gives_own_key(line, person):
    """Whoever signs puts their key forward, signed, with the first save into a copy that does not have it: into one,
    too, that was restored from a backup of before."""
    said = json.loads(line)
    return person.signs and ("sig" in said or said.get("record") == said.get("by") == person.id and list(said["set"]) == ["key"])


def merge_into(world, copy, sources, **more):
    """All that the sources hold is there then, and nothing else came."""
    theirs = set().union(*(source.slips for source in sources))
    lines = {line for source in sources for line in source.bundle.lines}
    job = Job("merge", [copy.path, *(source.path for source in sources)], copy.owner, saves=copy, done=(0, 1),
              may_add_nothing=True, allowed=lambda line: line in lines or gives_own_key(line, copy.owner), **more)
    before = set(copy.slips)
    world.run(job)
    own = {line for line in copy.slips - before - theirs if gives_own_key(line, copy.owner)}
    if job.was_done():
        same(copy.slips, before | theirs | own, f"not what both hold: {job.told()}")
        signers = {person.id for person in world.people if person.signs}  # what they did not sign need not count
        described = {fields["sha256"] for one, fields in copy.records("scan", fresh=False).items()
                     if fields["by"] not in signers and "sha256" in fields}
        scans = set().union(*(source.bundle.scans for source in sources)) & described
        hold(scans <= set(copy.bundle.scans), f"scans did not come: {job.told()}")
    else:
        hold(copy.slips in (before, before | theirs | own), f"neither before nor after: {job.told()}")
    return job


@step(4)
def merge(world, chance):
    copy, *sources = chance.sample(world.copies, chance.randint(2, len(world.copies)))
    merge_into(world, copy, sources)
    if chance.random() < 0.3:
        size = copy.path.stat().st_size
        merge_into(world, copy, sources[::-1])
        same(copy.path.stat().st_size, size, f"{copy.path} grew, though it was merged again")


@step(2)
def merge_killed(world, chance):
    copy, source = chance.sample(world.copies, 2)
    job = merge_into(world, copy, [source], dies=("seconds", chance.uniform(0, 0.06)))
    if not job.was_done():
        merge_into(world, copy, [source])


@step(2)
def both_ways(world, chance):
    """Two merge into each other at the same moment; then once more, and they hold the same."""
    one, other = chance.sample(world.copies, 2)
    both = one.slips | other.slips
    for _ in range(2):
        world.run(*(Job("merge", [copy.path, source.path], copy.owner, saves=copy, done=(0, 1), may_add_nothing=True)
                    for copy, source in ((one, other), (other, one))))
    for copy in (one, other):
        same(copy.slips, both, f"{copy.path} does not hold what both had")
        world.digest(copy)
    said = world.run(Job("diff", [one.path, other.path, "--json"], one.owner, done=(0, 1))).json()
    same(said["relation"], "same", "diff")


@step()
def compare(world, chance):
    one, other = chance.sample(world.copies, 2)
    job = world.run(Job("diff", [one.path, other.path, "--json"], one.owner, done=(0, 1)))
    only = len(one.slips - other.slips), len(other.slips - one.slips)
    relation = {(False, False): "same", (False, True): "newer", (True, False): "older", (True, True): "diverged"}
    said = job.json()
    same((said["relation"], said["slips_only_in_a"], said["slips_only_in_b"]),
         (relation[only[0] > 0, only[1] > 0], *only), job.told())


def lines_of(path):
    return Bundle(path).lines


@step(3)
def back_up(world, chance):
    """A backup that is made, grows, is killed on the way, is refused where the history is another one."""
    copy = chance.choice(world.copies)
    path = copy.owner.folder / "backup.glassine"
    before = lines_of(path) if path.exists() else []
    follows = copy.bundle.lines[: len(before)] == before
    job = Job("backup", [copy.path, path], copy.owner, refusable=not follows)
    if chance.random() < 0.5:
        mortal(world, chance, job)
    if chance.random() < 0.3:
        job.words.append("--full")
    if not follows and chance.random() < 0.7:
        job.words.append("--replace")
    world.run(job)
    if path.exists():
        after = lines_of(path)
        if job.was_done():
            same(after, copy.bundle.lines, f"the backup holds something else: {job.told()}")
        elif job.status in KILLED:
            hold(after == before or after == copy.bundle.lines[: len(after)], f"the backup is neither old nor new: {job.told()}")
        else:
            same(after, before, f"refused, and another one now: {job.told()}")
        world.audit(path)
    else:
        hold(job.status in KILLED and not before, f"no backup: {job.told()}")


@step(2)
def save_during_backup(world, chance):
    copy = chance.choice(world.copies)
    path = world.path("other-backup.glassine")
    job = Job("backup", [copy.path, path], copy.owner, refusable=True)  # "it was rewritten while it was read"
    world.run(job, saves.revise(world, chance, copy), saves.tidy(world, chance, copy))
    if job.was_done():
        hold(lines_of(path) == copy.bundle.lines[: len(lines_of(path))], f"{path} is no earlier edition")
        world.audit(path)
        forget(path)
    else:
        hold("rewritten while it was read" in job.err and not path.exists(), job.told())


@step()
def restore(world, chance):
    """The file is lost; the backup takes its place. What came since is lost with it, here."""
    copy = chance.choice(world.copies)
    path = copy.owner.folder / "backup.glassine"
    if path.exists():
        copy.path.write_bytes(path.read_bytes())
        copy.bundle = None
        world.look(copy)
        world.audit(copy.path)
        others = [other for other in world.copies if other is not copy]
        merge_into(world, copy, [chance.choice(others)])


def damage(data, chance):
    """Damaged bytes, and the stretch of the whole file that is not what it was."""
    at = chance.randrange(len(data))
    length = min(len(data) - at, int(2 ** chance.uniform(0, 13)))
    way = chance.choice(["cut", "zero", "noise", "before", "behind"])
    if way == "cut":
        return data[:at], (at, len(data))
    if way == "before":
        return chance.randbytes(length) + data, (0, 0)
    if way == "behind":
        return data + chance.randbytes(length), (0, 0)
    with_what = bytes(length) if way == "zero" else chance.randbytes(length)
    return data[:at] + with_what + data[at + length:], (at, at + length)


@step(3)
def recover(world, chance):
    """Of a damaged copy comes what is whole: the editions before the damage, the scans and segments beside it."""
    copy = chance.choice(world.copies)
    path, out = world.path("damaged.glassine"), world.path("rescued.glassine")
    whole = Bundle(copy.path)
    data, (begin, end) = damage(whole.data, chance)
    path.write_bytes(data)
    job = world.run(Job("recover", [path, "-o", out], copy.owner, done=(0, 1), refusable=begin < 4096))
    same(path.read_bytes(), data, f"{path} was written to")
    if job.was_done():
        got = Bundle(out)
        world.audit(out)
        kept = max([edition for edition, at in whole.ends_of_editions().items() if at <= begin or begin == end], default=0)
        upto = [len(lines) + 1 for _, lines in whole.editions[:kept]]
        same(got.lines[: sum(upto)], whole.lines[: sum(upto)], f"editions before the damage are not there: {job.told()}")
        tail = whole.size > whole.length  # of a save that was killed: what is whole in it comes out, too
        hold(tail or got.slips() <= whole.slips(), f"slips of nowhere: {job.told()}")
        for name, (first, after) in whole.places.items():
            apart = begin == end or after <= begin or first >= end
            if apart and name.startswith("data/scans/"):
                hold(name.split("/")[2].split(".")[0] in got.scans, f"{name} is whole and not there: {job.told()}")
        again = world.path("rescued-with-copy.glassine")
        world.run(Job("recover", [path, copy.path, "-o", again], copy.owner, done=(0, 1)))
        both = Bundle(again).slips()
        hold(both >= whole.slips() if tail else both == whole.slips(), f"not what was there: {path} with {copy.path}")
        people = {json.loads(line)["record"] for line in got.slips()}
        if copy.owner.id in people and chance.random() < 0.3:  # and work goes on in what was rescued
            copy.path.write_bytes(out.read_bytes())
            copy.bundle = None
            world.look(copy)
            merge_into(world, copy, [chance.choice([other for other in world.copies if other is not copy])])
        forget(again)
    for one in (path, out, out.with_name(out.name + ".damaged")):
        if one.exists():
            forget(one)


@step()
def rebuild(world, chance):
    """With parity of a tenth, a stretch of a twentieth is rebuilt, and nothing is lost."""
    copy = chance.choice(world.copies)
    path, out = world.path("parity.glassine"), world.path("rebuilt.glassine")
    world.run(Job("tidy", [copy.path, "-o", path, "--parity", "10"], copy.owner))
    whole = Bundle(path)
    covered = whole.places["parity.bin"][0]
    length = min(covered // 20, covered // 10 - 4 * 4096)
    if length > 0:
        at = chance.randrange(covered - length)
        path.write_bytes(whole.data[:at] + bytes(length) + whole.data[at + length:])
        world.run(Job("recover", [path, "-o", out], copy.owner, done=(0, 1)))
        got = Bundle(out)
        same((got.lines, got.scans), (whole.lines, whole.scans), f"not rebuilt, {length} zeros at {at}")
        forget(out)
    forget(path)


# ---- with others


def dispatch_to(world, chance, person, copy, *words):
    with_plates = {fields["item"] for fields in copy.records("stamp").values() if "design" in fields}
    items = sorted(with_plates & set(copy.records("item")))
    items = chance.sample(items, min(3, len(items)))
    out = world.path("sent")
    job = Job("dispatch", [copy.path, "--to", person.id, "--items", ",".join(items), "-o", f"{out}/", "--sheet", *words],
              copy.owner, saves=copy, wants=[("event", {"kind": "sent", "items": items})], refusable=True)
    if chance.random() < 0.2:
        mortal(world, chance, job)
    world.run(job)
    file = out / f"{out.name}.glassine"
    if not file.exists():
        hold(not job.was_done(), f"nothing was sent: {job.told()}")
        return None
    if not job.was_done():
        world.audit(file)
        return None
    sent = Copy(file, person)
    world.look(sent)
    no_private(sent)
    hold(sent.slips <= copy.slips, f"what was sent is not the sender's: {job.told()}")
    return sent


def no_private(copy):
    hold(not any(json.loads(line)["reach"] == "private" for line in copy.slips), f"{copy.path} holds private statements")


@step(2)
def correspond(world, chance):
    """Sent, answered in the file by several commands, some of them killed, replied, taken in."""
    copy, other = chance.sample(world.copies, 2)
    sent = dispatch_to(world, chance, other.owner, copy, *(["--blind"] if chance.random() < 0.5 else []))
    if not sent or not sent.records("stamp"):
        return
    came = set(sent.slips)
    for _ in range(chance.randint(1, 4)):
        job = chance.choice([saves.claim, saves.observe, saves.attach, saves.conclude])(world, chance, sent)
        world.run(mortal(world, chance, job) if chance.random() < 0.3 else job)
    world.run(saves.observe(world, chance, sent))
    out = world.path("reply.glassine")
    world.run(Job("reply", [sent.path, "-o", out], other.owner))
    reply = Copy(out, other.owner)
    world.look(reply)
    no_private(reply)
    hold(sent.slips - came <= reply.slips, f"{out} lacks what was answered")
    world.run(Job("pending", [copy.path], copy.owner, done=(0, 1)))
    merge_into(world, copy, [reply])
    merge_into(world, other, [sent])
    forget(out)
    forget(sent.path.parent)


@step(2)
def answer_in_words(world, chance):
    """The letter's numbers answered in an e-mail, or the sheet filled in."""
    copy, other = chance.sample(world.copies, 2)
    earlier = set(copy.records("event"))
    sent = dispatch_to(world, chance, other.owner, copy)
    if not sent:
        return
    event, = (set(copy.records("event")) & set(sent.records("event"))) - earlier
    numbers = re.findall(r"^(\d+)\. .* KF$", (sent.path.parent / "letter.txt").read_text(encoding="utf-8"), re.MULTILINE)
    if numbers:
        number, place = chance.choice(numbers), chance.randint(1, 120)
        before = set(copy.slips)
        if chance.random() < 0.5:
            answer = world.path("answer.txt")
            answer.write_text(f"Dear friend,\n\n{number}: {place}, certain\n\nBest wishes\n", encoding="utf-8")
            which = ["--answers", event]  # an e-mail does not say it, and a killed dispatch may have sent another
        else:
            answer = sent.path.parent / "answers.csv"
            which = []
            rows = list(csv.reader(answer.open(encoding="utf-8-sig", newline="")))
            for row in rows[1:]:
                if row[0] == number:
                    row[2], row[5] = str(place), "certain"
            with answer.open("w", encoding="utf-8", newline="") as file:
                csv.writer(file).writerows(rows)
        job = Job("merge", [copy.path, answer, "--by", other.owner.id, *which], copy.owner, saves=copy, done=(0, 1), by=other.owner,
                  wants=[("claim", {"positions": str(place), "confidence": "certain"})])
        world.run(job)
        held = set(copy.slips)
        hold(before < held, job.told())
        again = world.run(Job("merge", job.words, copy.owner, saves=copy, done=(0, 1), may_add_nothing=True))
        same(copy.slips, held, f"taken in twice: {again.told()}")
    forget(sent.path.parent)


# ---- other documents


@step()
def by_csv(world, chance):
    copy = chance.choice(world.copies)
    folder = world.path("sheets")
    world.run(Job("to-csv", [copy.path, "-o", folder, "--with-private"], copy.owner))
    sheet = folder / "item.csv"
    world.run(Job("from-csv", [copy.path, sheet], copy.owner, saves=copy, done=(0, 1), may_add_nothing=True,
                  allowed=lambda line: False))
    rows = list(csv.reader(sheet.open(encoding="utf-8-sig", newline="")))
    names = {name: at for at, name in enumerate(rows[0])}
    free = [row for row in rows[1:] if "note" not in row[names["contested"]].split()]
    wants = []
    for row in chance.sample(free, min(3, len(free))):
        row[names["note"]] = world.token("noted ")
        wants.append(("item", {"note": row[names["note"]]}))
    new = [""] * len(rows[0])
    new[names["label"]] = world.token("C-")
    wants.append(("item", {"label": new[names["label"]]}))
    with sheet.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([*rows, new])
    job = Job("from-csv", [copy.path, sheet], copy.owner, saves=copy, done=(0, 1), wants=wants)
    world.run(mortal(world, chance, job) if chance.random() < 0.3 else job)
    forget(folder)


@step()
def by_xlsx(world, chance):
    copy = chance.choice(world.copies)
    note = world.token("remark in a workbook ")
    world.run(speak("enter", copy, ["item", f"label={world.token('X-')}", f"note={note}"], [("item", {"note": note})]))
    book, changed = world.path("book.xlsx"), world.path("changed.xlsx")
    world.run(Job("to-xlsx", [copy.path, "-o", book, "--with-private"], copy.owner))
    new = world.token("remark changed ")
    with zipfile.ZipFile(book) as archive, zipfile.ZipFile(changed, "w") as out:
        for name in archive.namelist():
            out.writestr(name, archive.read(name).replace(f"<t>{note}</t>".encode(), f"<t>{new}</t>".encode()))
    world.run(Job("from-xlsx", [copy.path, changed], copy.owner, saves=copy, done=(0, 1), wants=[("item", {"note": new})]))
    forget(book)
    forget(changed)


@step()
def by_json(world, chance):
    copy = chance.choice(world.copies)
    path, made = world.path("all.json"), world.path("made.glassine")
    world.run(Job("to-json", [copy.path, "--history", "--with-private", "-o", path], copy.owner))
    twin = Copy(made, copy.owner)
    world.run(Job("from-json", [made, path], copy.owner))
    world.look(twin)
    same(twin.slips, copy.slips, "made anew of a document")
    world.digest(twin)
    document = json.loads(path.read_text(encoding="utf-8"))
    free = [one for one in document["records"].values() if one["type"] == "item" and "note" not in one.get("contested", {})]
    one, value = chance.choice(free), world.token("noted ")
    one["fields"]["note"] = value
    path.write_text(json.dumps(document), encoding="utf-8")
    world.run(Job("from-json", [copy.path, path], copy.owner, saves=copy, done=(0, 1), wants=[("item", {"note": value})]))
    forget(path)
    forget(made)


@step()
def by_folder(world, chance):
    """Unpacked, its checksums checked, packed by another program, taken in again."""
    copy = chance.choice(world.copies)
    folder, archive, again = world.path("apart"), world.path("apart.tar.gz"), world.path("again.glassine")
    world.run(Job("unpack", [copy.path, folder], copy.owner))
    base = next(folder.iterdir())
    with tarfile.open(archive, "w:gz") as out:
        out.add(base, base.name)
    source = chance.choice([base, archive])
    world.run(Job("intake", [source, "-o", again], copy.owner))
    got = Bundle(again)
    same((got.lines, got.scans), (copy.bundle.lines, copy.bundle.scans), f"taken in again from {source}")
    said = world.run(Job("digest", [source], copy.owner)).out.strip()
    same(said, content_digest(copy.slips), f"digest of {source}")
    for one in (folder, archive, again):
        forget(one)


# ---- reading


@step()
def earlier(world, chance):
    """Every edition stays readable, alone and as a file of its own, unless a damage took a scan of it since."""
    copy = chance.choice(world.copies)
    bundle = copy.bundle
    number = chance.randint(1, len(bundle.editions))
    out = world.path("earlier.glassine")
    upto = bundle.lines[: sum(len(lines) + 1 for _, lines in bundle.editions[:number])]
    whole = bundle.payload(number) <= bundle.payload(len(bundle.editions))
    job = world.run(Job("extract", [f"{copy.path}#{number}", "-o", out], copy.owner, done=(0,) if whole else (2,)))
    if whole:
        same(lines_of(out), upto, f"edition {number} of {copy.path}")
        world.audit(out)
        forget(out)
    else:
        hold("E041" in job.err and not out.exists(), f"a scan of edition {number} is lost: {job.told()}")
    said = world.run(Job("digest", [f"{copy.path}#{number}"], copy.owner)).out.strip()
    same(said, content_digest(slips_of(upto)), f"digest of edition {number}")


@step()
def look_up(world, chance):
    copy = chance.choice(world.copies)
    said = world.run(Job("editions", [copy.path, "--json"], copy.owner)).json()
    same([one["log"] for one in said], [members["log"] for members, _ in copy.bundle.editions], "editions")
    listed = world.run(Job("list", [copy.path, "item", "--aside", "--json"], copy.owner)).json()["records"]
    same({one["record"] for one in listed}, set(copy.records("item", fresh=False)), "the items that are listed")
    item = chance.choice(sorted(copy.records("item", fresh=False)))
    said = world.run(Job("show", [copy.path, item, "--history", "--json"], copy.owner)).out
    for value in copy.records("item", fresh=False)[item].values():
        hold(json.dumps(value, ensure_ascii=False) in said, f"{item} does not show {value}")


@step()
def plate(world, chance):
    copy = chance.choice(world.copies)
    items = copy.records("item")  # a stamp goes aside with its item
    stamp = chance.choice(sorted(one for one, fields in copy.records("stamp").items() if fields.get("item") in items))
    svg = world.path("plate.svg")
    for verb, words in (("standing", []), ("locate", [stamp, "1"]), ("alike", [stamp]), ("chart", ["1", "--svg", svg]), ("dates", ["1"])):
        once = world.run(Job(verb, [copy.path, *words], copy.owner, done=(0, 1)))
        if verb != "chart":
            same(world.run(Job(verb, [copy.path, *words], copy.owner, done=(0, 1))).out, once.out, f"{verb} twice")
    forget(svg)


@step()
def page(world, chance):
    copy, out = chance.choice(world.copies), world.path("page.html")
    world.run(Job("to-html", [copy.path, "-o", out], copy.owner))
    text = out.read_text(encoding="utf-8")
    for fields in copy.records("item").values():
        hold(fields.get("label", "") in text, f"{out} does not show {fields}")
    world.run(Job("open", [copy.path], copy.owner))
    forget(out)


@step()
def begin(world, chance):
    """Another bundle, with the plates of this one; killed, it is not there or whole."""
    copy, path = chance.choice(world.copies), world.path("new.glassine")
    title = world.token("Title ")
    job = Job("new", [path, f"title={title}", "--by", copy.owner.name, "--plates-from", copy.path, "--unsigned"], copy.owner)
    world.run(mortal(world, chance, job) if chance.random() < 0.3 else job)
    if job.was_done() or path.exists():
        world.audit(path)
        one = Copy(path, copy.owner)
        world.look(one)
        same(one.bundle.about["title"], title, "the title")
        hold(set(copy.records("plate")) <= set(one.records("plate")), f"plates are not there: {job.told()}")
        forget(path)


@step()
def help_on(world, chance):
    world.run(Job("help", [chance.choice(sorted(world.verbs - {"open"}))], world.people[0]))  # which is typed by nobody
