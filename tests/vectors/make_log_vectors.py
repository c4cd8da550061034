"""Writes testvectors/log/*.json: segments of a log with the editions that a reader must find in them."""
import json
import pathlib

from lines import ADA, BEN, Log, canonical, digest, lines_of_page, slip, uuid

OUT = pathlib.Path(__file__).resolve().parents[2] / "testvectors" / "log"


def write(name, about, log, cuts=()):
    """`cuts`: the editions after which a new segment begins."""
    segments, first, text = [], 1, ""
    for line in log.lines:
        text += line + "\n"
        members = json.loads(line)
        if "log" in members and (members["edition"] in cuts or members["edition"] == len(log.editions)):
            segments.append({"first": first, "last": members["edition"], "text": text})
            first, text = members["edition"] + 1, ""
    vector = {"name": name, "about": about, "segments": segments, "editions": log.editions}
    (OUT / (name + ".json")).write_text(json.dumps(vector, ensure_ascii=False, indent=1) + "\n")


def signature(line):
    return canonical({"key": "ab" * 32, "of": digest(line), "sig": "cd" * 64})


item = "item/" + uuid(1)


def empty():
    log = Log()
    log.close()
    write("empty", "one edition that brings nothing: the chain begins with 32 zero bytes", log)


def three_editions():
    log = Log()
    first = slip(item, {"label": "H-014", "kind": "cover"})
    log.add(first)
    log.close(note="begun", brings=["%s  data/about.json" % digest("about")])
    second = slip(item, {"title": "Kingfisher on cover, Port Sorrel"}, by=BEN, reach="telling", why="asked")
    log.add(second)
    log.add(signature(second))
    log.close(by=BEN, brings=["%s  data/scans/%s.jpg" % (digest(x), digest(x)) for x in ("front", "back")])
    log.add(slip(item, {"kind": "piece"}, after=[first], at="2026-03-02T09:30:00Z"))
    log.close(note="it is only a piece: „Größe“ 🐦")
    write("three-editions", "slips, a signature, payload; one segment", log)
    write("three-segments", "the same log, cut behind each edition", log, cuts=(1, 2))


def unknown():
    log = Log()
    log.add(slip(item, {"label": "H-015"}, aaa={"log": "0" * 64}, zzz=[1, True, "x"]))
    log.add(canonical({"witness": "a line of a kind that is not known yet"}))
    # An unknown member that looks like `log` inside, before and behind the true one.
    inner = {"b": 1, "log": "0" * 64, "note": "x"}
    log.close(aaa=inner, lzz=inner, note='a quote "log":"' + "0" * 64 + '"')
    write("unknown", "unknown lines and members are chained; only the outer `log` is taken out", log)


def example():
    """The page's own `log` values; that they are right is for whoever runs the vector."""
    log = Log()
    log.lines = lines_of_page("log.md")
    editions = [line for line in map(json.loads, log.lines) if "log" in line]
    log.editions = [{"number": line["edition"], "slips": line["slips"], "log": line["log"]} for line in editions]
    write("example", "the example of spec/log.md, in one segment", log)
    write("example-in-two", "the same log, cut behind its first edition", log, cuts=(1,))


OUT.mkdir(parents=True, exist_ok=True)
for make in (empty, three_editions, unknown, example):
    make()
