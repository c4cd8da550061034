"""Commands that save one edition: each makes a Job that says what must be there afterwards. Each word that is entered
is one that nothing else has, so that it is found again."""
import shutil
import sys
from pathlib import Path

from world import Job

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "cli"))
from picture import png  # noqa: E402

SAVES = []


def save(make):
    SAVES.append(make)
    return make


def speak(verb, copy, words, wants, **more):
    return Job(verb, [copy.path, *words], copy.owner, saves=copy, wants=wants, **more)


def pick(chance, copy, kind):
    return chance.choice(sorted(copy.records(kind)))


def picture(world, chance, folder=None):
    """A picture that nobody has, and its digest's place in what a scan says."""
    name = world.token("P-")
    path = (folder or world.folder) / f"{name} front.png"
    path.write_bytes(png(chance.randint(8, 60), chance.randint(8, 60), world.count) + world.token("end").encode())
    return path


@save
def enter_item(world, chance, copy):
    label = world.token("H-")
    kind = chance.choice(["single", "pair", "cover"])
    stamps = chance.choice([1, 1, 2])
    words = ["item", f"label={label}", f"kind={kind}", f"stamps={stamps}", "design=KF", f"storage=album {label}"]
    return speak("enter", copy, words, [("item", {"label": label, "kind": kind}), ("item", {"storage": f"album {label}"})]
                 + [("stamp", {})] * stamps)


@save
def enter_other(world, chance, copy):
    item, said = pick(chance, copy, "item"), world.token("said ")
    kind, words, wants = chance.choice([
        ("marking", ["kind=postmark", f"text={said}", "on=1862-03"], {"item": item, "text": said}),
        ("opinion", [f"text={said}"], {"item": item, "text": said}),
        ("certificate", [f"issuer={said}"], {"item": item, "issuer": said}),
        ("valuation", ["kind=asked", f"number={said}", "amount_minor=1200", "currency=EUR"], {"item": item, "number": said}),
        ("selection", [f"label={said}", f"items={item}"], {"label": said})])
    fields = words if kind == "selection" else [f"item={item}", *words]
    return speak("enter", copy, [kind, *fields], [(kind, wants)])


@save
def revise(world, chance, copy):
    item, value = pick(chance, copy, "item"), world.token("value ")
    name = chance.choice(["title", "note", "rate", "storage"])
    return speak("revise", copy, [item, f"{name}={value}", "--why", world.token("why ")], [("item", {name: value})],
                 refusable=True)  # contested


@save
def attach(world, chance, copy):
    caption = world.token("caption ")
    files = [picture(world, chance) for _ in range(chance.choice([1, 1, 3]))]
    return speak("attach", copy, [pick(chance, copy, "item"), *files, f"caption={caption}"],
                 [("scan", {"caption": caption, "name": file.name}) for file in files])


@save
def gather(world, chance, copy):
    folder = world.path("scans")
    folder.mkdir()
    files = [picture(world, chance, folder) for _ in range(chance.randint(1, 4))]
    return speak("gather", copy, [folder],
                 [("item", {"label": file.name.split()[0]}) for file in files] +
                 [("scan", {"name": file.name}) for file in files])


@save
def observe(world, chance, copy):
    text = world.token("seen ")
    words = [pick(chance, copy, "stamp"), f"appearance={chance.choice(['dot', 'doubling', 'flaw'])}",
             f"x={chance.randint(0, 999)}", f"y={chance.randint(0, 999)}", f"text={text}"]
    return speak("observe", copy, words, [("observation", {"text": text})])


def places(chance):
    return chance.choice(["41", "row 4 but not 41", "R6/3", "column 4 and row 2-5", str(chance.randint(1, 120))])


@save
def claim(world, chance, copy):
    remark = world.token("remark ")
    words = [pick(chance, copy, "stamp"), "1", places(chance), f"remark={remark}", "--also",
             f"confidence={chance.choice(['certain', 'probable', 'possible'])}"]
    return speak("claim", copy, words, [("claim", {"remark": remark})])


@save
def conclude(world, chance, copy):
    why = world.token("why ")
    return speak("conclude", copy, [pick(chance, copy, "stamp"), "1", places(chance), f"why={why}"],
                 [("conclusion", {"why": why})])


@save
def match(world, chance, copy):
    one, other = chance.sample(sorted(copy.records("stamp")), 2)
    remark = world.token("remark ")
    return speak("match", copy, [one, other, chance.choice(["same", "different"]), f"remark={remark}"],
                 [("match", {"remark": remark})])


@save
def join(world, chance, copy):
    one, other = chance.sample(sorted(copy.records("item")), 2)
    why = world.token("why ")
    return speak("join", copy, [one, other, f"why={why}"], [("join", {"why": why})])


@save
def withdraw(world, chance, copy):
    mine = [one for kind in ("claim", "match", "opinion", "join") for one, fields in copy.records(kind).items()
            if fields["by"] == copy.owner.id and not fields.get("withdrawn")]
    if not mine:
        return claim(world, chance, copy)
    one, why = chance.choice(sorted(mine)), world.token("why ")
    return speak("withdraw", copy, [one, "--why", why], [(one.split("/")[0], {"withdrawn": True})])


@save
def batch(world, chance, copy):
    lines, wants = [], []
    for _ in range(chance.randint(2, 12)):
        label, text = world.token("B-"), world.token("seen ")
        lines += [f"enter item label={label} design=KF", f"observe {label} appearance=dot text='{text}'"]
        wants += [("item", {"label": label}), ("observation", {"text": text})]
    return speak("batch", copy, [], wants, stdin="\n".join(lines) + "\n")


@save
def tidy(world, chance, copy):
    parity = [] if chance.random() < 0.6 else ["--parity", str(chance.choice([5, 10, 50]))]
    return Job("tidy", [copy.path, *parity], copy.owner, saves=copy, rewrites=True,
               refusable=True)  # a save that was killed left a tail


def proposal(world, chance, copy):
    """To set a record aside: the keeper does it, others propose it."""
    return speak("revise", copy, [pick(chance, copy, "item"), "set_aside=true", "--why", world.token("why ")],
                 [("item", {"set_aside": True})], refusable=True)


def forget(path):
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
