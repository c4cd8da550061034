"""Rows about slips: opening, merging, comparing, saving again and again."""

import os
import pathlib
import shutil
import struct
import zipfile

import data
from measuring import Program
from scans import add_plate, claims, gone, settled, shell


def the_collection(bench):
    """The bundle of 100,000 items, 500,000 slips."""
    bundle = bench.path("collection.glassine")
    if not os.path.exists(bundle):
        bench.say("making the collection")
        bench.make(bench.tool("bench_make"), "collection", bundle, bench.size(100000, 2000))
    return bundle


def the_larger(bench):
    """The same with 50,000 slips more."""
    larger = bench.path("larger.glassine")
    if not os.path.exists(larger):
        shutil.copyfile(the_collection(bench), larger)
        bench.make(bench.tool("bench_make"), "claims", larger, bench.size(50000, 1000), 0)
    return larger


def lines_of(bench, bundle):
    """The log of a bundle as one file, as any unzip program gives it."""
    lines = bench.path("lines.jsonl")
    with zipfile.ZipFile(bundle) as archive, open(lines, "wb") as out:
        for name in sorted(name for name in archive.namelist() if "/slips/" in name):
            with archive.open(name) as segment:
                shutil.copyfileobj(segment, out)
    return lines


ITEMS = """create table lines(line);
.mode ascii
.separator "\\037" "\\n"
.import '{lines}' lines
select json_extract(line, '$.set.label') from lines
where json_extract(line, '$.record') like 'item/%' and json_extract(line, '$.set.label') is not null;
"""
LOAD = "import json,sys\nfor line in open(sys.argv[1],encoding='utf-8'): json.loads(line)"


def opening(bench):
    """100,000 items, 500,000 slips: opened, and the items listed"""
    work = opening.__doc__
    bundle = the_collection(bench)
    lines = lines_of(bench, bundle)
    script = bench.path("items.sql")
    pathlib.Path(script).write_text(ITEMS.format(lines=lines), encoding="utf-8")
    found = bench.compare(work, [
        Program("glassine list item", [bench.glassine, "list", bundle, "item"]),
        Program("glassine editions (opening alone)", [bench.glassine, "editions", bundle]),
        Program("jq -c .", ["jq", "-c", ".", lines]),
        Program("sqlite3, json_extract", shell(f"sqlite3 :memory: < {script}")),
        Program("python3, json.loads", ["python3", "-c", LOAD, lines]),
    ], runs=min(bench.runs, 3))
    ours, alone, jq, *_ = found.values()
    slips = bench.size(500000, 10000)
    bench.target(work, "time ÷ jq -c .", ours.best / jq.best, "at most 0.2 ×", 0.2)
    bench.target(work, "peak memory", ours.peak / 1e6, "at most 300 MB", 300, shown=f"{ours.peak / 1e6:.0f} MB")
    bench.remark(f"{work}: the lines are {os.path.getsize(lines):,} bytes, {os.path.getsize(lines) / slips:.0f} a slip; memory "
                 f"beyond them {(alone.peak - os.path.getsize(lines)) / slips:.0f} bytes a slip once opened, "
                 f"{(ours.peak - os.path.getsize(lines)) / slips:.0f} with the items listed.")
    gone(lines, script)


def merging(bench):
    """50,000 new unsigned slips merged into 500,000; diff of the two"""
    work = merging.__doc__
    bundle, larger, into = the_collection(bench), the_larger(bench), bench.path("into.glassine")
    reply = bench.path("reply.glassine")
    gone(reply)
    bench.make(bench.tool("bench_make"), "reply", reply, bench.size(50000, 1000), 0)

    def fresh(_):
        shutil.copyfile(bundle, into)
        os.sync()
    opened = f"'{bench.glassine}' editions"
    found = bench.compare(work, [
        Program("opening both", shell(f"{opened} {bundle} && {opened} {larger}")),
        Program("glassine merge, the larger one", [bench.glassine, "merge", into, larger], fresh, good=(0, 1)),
        Program("glassine diff", [bench.glassine, "diff", bundle, larger], good=(0, 1)),
        Program("opening both, the reply", shell(f"{opened} {bundle} && {opened} {reply}")),
        Program("glassine merge, the reply", [bench.glassine, "merge", into, reply], fresh, good=(0, 1)),
    ], runs=min(bench.runs, 3))
    both, merged, compared, with_reply, replied = found.values()
    bench.target(work, "merge ÷ opening of both", merged.best / both.best, "at most 1.5 ×", 1.5)
    bench.target(work, "diff ÷ opening of both", compared.best / both.best, "at most 1.5 ×", 1.5)
    bench.remark(f"{work}: the same slips as a bundle of their own merge in {replied.best / with_reply.best:.2f} × the opening of "
                 "both.")
    gone(into, reply)


def replies(bench):
    """1,000 replies of 20 slips merged in one command"""
    work, count = replies.__doc__, bench.size(1000, 50)
    folder, bundle, into, one = map(bench.path, ("replies", "group.glassine", "into.glassine", "one.glassine"))
    gone(folder, bundle, into, one)
    os.mkdir(folder)
    bench.say("making the replies")
    bench.make(bench.tool("bench_make"), "collection", bundle, bench.size(20000, 1000))
    bench.make(bench.tool("bench_make"), "reply", one, 20 * count, 0)
    for number in range(count):
        bench.make(bench.tool("bench_make"), "reply", f"{folder}/{number:04}.glassine", 20, 20 * number)

    def fresh(_):
        shutil.copyfile(bundle, into)
        os.sync()
    found = bench.compare(work, [
        Program("glassine merge, all of them", [bench.glassine, "merge", into, *sorted(map(str, pathlib.Path(folder).iterdir()))],
                fresh, good=(0, 1)),
        Program("glassine merge, one with the same slips", [bench.glassine, "merge", into, one], fresh, good=(0, 1)),
    ])
    all_of_them, single = found.values()
    bench.target(work, "time ÷ one reply with the same slips", all_of_them.best / single.best, "at most 1.5 ×", 1.5)
    gone(folder, bundle, into, one)


def verifying(bench):
    """Signatures of our kind that libcrypto verifies in a second of each processor, all being at work."""
    told = bench.make("openssl", "speed", "-seconds", bench.size(3, 1), "-multi", os.cpu_count(), "ed25519")
    return float([line for line in told.splitlines() if "EdDSA (Ed25519)" in line][-1].split()[-1])


def signatures(bench):
    """20,000 signed slips merged, beside the same unsigned"""
    work, count = signatures.__doc__, bench.size(20000, 2000)
    bundle, into, plain, signed = map(bench.path, ("group.glassine", "into.glassine", "plain.glassine", "signed.glassine"))
    gone(bundle, into, plain, signed)
    bench.say("signing")
    bench.make(bench.tool("bench_make"), "collection", bundle, bench.size(20000, 1000))
    bench.make(bench.tool("bench_make"), "reply", plain, count, 0)
    bench.make(bench.tool("bench_make"), "signed", signed, count, 0)

    def fresh(_):
        shutil.copyfile(bundle, into)
        os.sync()
    rate = verifying(bench)
    found = bench.compare(work, [Program(f"glassine merge, {name}", [bench.glassine, "merge", into, path], fresh, good=(0, 1))
                                 for name, path in (("unsigned", plain), ("signed", signed))])
    rate = max(rate, verifying(bench))
    unsigned, with_signatures = found.values()
    took, processor = with_signatures.best - unsigned.best, with_signatures.processor - unsigned.processor
    bench.target(work, "time for signatures ÷ openssl speed, all processors", took * rate / count, "at most 1.5 ×", 1.5)
    bench.remark(f"{work}: {took:.2f} s for {count} signatures, {processor:.2f} s of processor; libcrypto verifies {rate:,.0f} a second "
                 f"on all processors, so needs {count / rate * os.cpu_count():.2f} s of processor.")
    gone(bundle, into, plain, signed)


def footers(bundle):
    """(beginning, end of the directory's entries, end) of every edition, the last first: the numbers of the end
    records lead from one to the one before."""
    with open(bundle, "rb") as file:
        file.seek(0, 2)
        end = file.tell()
        while end:
            file.seek(max(0, end - 256))
            tail = file.read(end - file.tell())
            at = tail.rindex(b"PK\x05\x06")
            start = int(tail[at + 22:].split(b"follows ")[1].split()[0])
            yield start, struct.unpack_from("<L", tail, at + 16)[0], end
            end = start


def parts_of(bundle):
    """Bytes of all editions by part, at half of them and at all."""
    editions = list(reversed(list(footers(bundle))))
    sums, halves = {"segments": 0, "directories": 0, "small files": 0}, {}
    with open(bundle, "rb") as file:
        for number, (at, directory, end) in enumerate(editions, 1):
            file.seek(at)
            entries = file.read(directory - at)
            place = 0
            while place < len(entries):
                size, name, extra = struct.unpack_from("<L", entries, place + 18)[0], *struct.unpack_from("<HH", entries, place + 26)
                whole = 30 + name + extra + size
                text = entries[place + 30:place + 30 + name]
                if b"/data/" not in text:
                    sums["segments" if b"/slips/" in text else "small files"] += whole
                place += whole
            sums["directories"] += end - directory
            if number == len(editions) // 2:
                halves = dict(sums)
    return sums, halves


def saves(bench):
    """10,000 one-claim saves into a bundle with 500 scans"""
    work, count = saves.__doc__, bench.size(10000, 300)
    folder, bundle, tidied = map(bench.path, ("small", "saves.glassine", "tidied.glassine"))
    gone(folder, bundle, tidied)
    data.make_small_scans(folder, bench.size(500, 50), 500)
    bench.ours("new", bundle, "title=Saves", "--by", "Keeper")
    bench.ours("gather", bundle, folder)
    add_plate(bench, bundle)
    bench.say(f"saving {count} claims")
    claim_at = claims(bench, bundle, 1)
    early = bench.compare(f"{work}: the first saves", [Program("glassine claim", claim_at, lambda _: os.sync())], runs=10)
    told = bench.make(bench.tool("bench_make"), "saves", bundle, count, 1000000)
    late = bench.compare(f"{work}: the last saves", [Program("glassine claim", claim_at, lambda _: os.sync())], runs=10)
    gone(tidied)
    bench.ours("tidy", bundle, "-o", tidied)
    found = bench.compare(f"{work}: opening", [
        Program("glassine digest, all saves", [bench.glassine, "digest", bundle]),
        Program("glassine digest, tidied", [bench.glassine, "digest", tidied])], runs=10)
    many, one = found.values()
    bench.target(work, "opening ÷ the same content tidied", many.best / one.best, "at most 1.2 ×", 1.2)
    tenth, last = early["glassine claim"].best, late["glassine claim"].best
    bench.target(work, "last saves ÷ tenth, as processes", last / tenth, "at most 1.5 ×", 1.5,
                 shown=f"{last / tenth:.2f} × ({tenth * 1000:.1f}, {last * 1000:.1f} ms)")
    sums, halves = parts_of(bundle)
    bench.target(work, "growth of the second half of saves ÷ the first, without directories",
                 (sum(sums.values()) - sums["directories"]) / (sum(halves.values()) - halves["directories"]) - 1, "at most 1.2 ×",
                 1.2)
    times = [float(line.split()[1]) for line in told.splitlines()]
    bench.remark(f"{work}: within one process and without syncs a save took {min(times[:10]):.1f} ms at first and {min(times[-10:]):.1f} ms at last.")
    bench.remark(f"{work}: all saves wrote " + ", ".join(f"{name} {size:,}" for name, size in sums.items()) +
                 " bytes; after half of them " + ", ".join(f"{name} {size:,}" for name, size in halves.items()) +
                 f"; tidied the file has {os.path.getsize(tidied):,} bytes.")
    gone(folder, bundle, tidied)


ROWS = {"opening": opening, "merging": merging, "replies": replies, "signatures": signatures, "saves": saves}
