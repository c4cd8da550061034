#!/usr/bin/env python3
"""Nothing private leaves: every byte of a dispatched bundle and of a reply, inflated by Python's zipfile, holds no
private text; a blind dispatch holds no telling text, no claim, opinion, conclusion or match."""

import json
import re
import zipfile

import bundle_file
from checks import Checks
from pictures import png

PRIVATE = re.compile(rb"private-[0-9a-z-]+")
TELLING = re.compile(rb"telling-[0-9a-z-]+")
OPINIONS = {"claim", "opinion", "conclusion", "match"}


def collection(checks):
    """A bundle in which every private and every telling field of the type table has a text that can be found."""
    bundle = checks.new("kept.glassine")
    picture = checks.folder / "telling-file-name.png"
    picture.write_bytes(png(1))
    checks.call("batch", bundle, text="""\
enter contributor "name=Odile Farrow" contact=private-contact note=private-about-odile
revise collection instructions=private-instructions
enter design label=KF
enter plate label=1 design=KF rows=12 columns=10
enter item label=H-001 title=telling-title note=telling-note storage=private-storage source=private-source cost_minor=12300 currency=XXX design=KF
revise H-001 varieties=telling-variety catalogue=telling-catalogue
enter item label=H-002 storage=private-other-storage design=KF
enter item label=H-003 title=telling-not-sent note=telling-not-sent-either design=KF
enter valuation item=H-001 kind=appraised catalogue=private-catalogue amount_minor=777001 currency=XXX note=private-valuation
enter letter text=private-letter direction=to
enter event item=H-001 kind=acquired party=private-party note=private-acquired
enter event item=H-001 kind=exhibited note=shown party=private-exhibition-party
enter marking item=H-001 kind=postmark town=Shared-Town note=shared-marking
enter selection label=telling-selection items=H-001,H-002 purpose=telling-purpose
claim H-001 1 R1/4 remark=claimed-remark
claim H-002 1 R2/9
observe H-001 appearance=dot x=20 y=1021 text=telling-observation
enter opinion item=H-001 text=opinion-text
enter conclusion stamp=H-001 positions=4 why=conclusion-why
enter match stamps=H-001,H-002 relation=different
""")
    checks.call("attach", bundle, "H-001", picture, "caption=telling-caption")
    return bundle


def whole(path):
    """Every entry inflated, with its name: what a curious person could read."""
    with zipfile.ZipFile(path) as archive:
        return b"\n".join(name.encode() + b"\n" + archive.read(name) for name in archive.namelist())


def slips(path):
    return [json.loads(line) for line in bundle_file.log_lines(bundle_file.read(path)[1]) if b'"after":' in line]


def types(path):
    return {slip["record"].split("/")[0] for slip in slips(path)}


def check_dispatched(checks, what, path, blind):
    text = whole(path)
    checks.equal(f"{what}: no private text in any entry", PRIVATE.findall(text), [])
    checks.ok(f"{what}: no price in any entry", b"12300" not in text and b"777001" not in text)
    checks.equal(f"{what}: no private slip", [s for s in slips(path) if s["reach"] == "private"], [])
    checks.equal(f"{what}: no letter, no valuation", types(path) & {"letter", "valuation"}, set())
    checks.ok(f"{what}: what was not asked for stays at home", b"not-sent" not in text and b"H-003" not in text)
    checks.ok(f"{what}: what is meant to go is there", b"Shared-Town" in text and b"H-001" in text)
    telling = sorted(set(TELLING.findall(text)))
    if blind:
        checks.equal(f"{what}: no telling text in any entry", telling, [])
        checks.equal(f"{what}: no claim, opinion, conclusion, match", types(path) & OPINIONS, set())
        checks.ok(f"{what}: nor their text", not re.search(rb"claimed-remark|opinion-text|conclusion-why", text))
        checks.ok(f"{what}: observations go, without their text", "observation" in types(path))
    else:
        checks.ok(f"{what}: telling text goes", b"telling-title" in telling and b"telling-observation" in telling, telling)
        checks.ok(f"{what}: claims go", "claim" in types(path))
    checks.equal(f"{what}: audit is clean", checks.run("audit", path).status, 0)


def check_reply(checks, dispatched):
    """The specialist's own private remark stays with the specialist, the sender's scans are not sent back."""
    checks.call("batch", dispatched, text="""\
claim H-001 1 R1/4 remark=replied-claim
revise H-001 storage=private-at-the-specialists note=telling-from-the-specialist
enter event item=H-001 kind=published party=private-printer note=replied-event
""")
    reply = checks.folder / "reply.glassine"
    checks.call("reply", dispatched, "-o", reply)
    text = whole(reply)
    checks.equal("reply: no private text in any entry", PRIVATE.findall(text), [])
    checks.ok("reply: what was added is there", b"replied-claim" in text and b"replied-event" in text)
    checks.equal("reply: carries no scan that the sender has",
                 [name for name in bundle_file.read(reply)[1] if name.startswith("data/scans/")], [])


def main():
    checks = Checks(__doc__)
    bundle = collection(checks)
    checks.ok("the collection itself holds private and telling text",
              len(set(PRIVATE.findall(whole(bundle)))) >= 9 and len(set(TELLING.findall(whole(bundle)))) >= 8,
              sorted(set(PRIVATE.findall(whole(bundle)))))
    for blind in (False, True):
        what = "blind dispatch" if blind else "dispatch"
        out = checks.folder / f"{'blind' if blind else 'open'}.glassine"
        checks.call("dispatch", bundle, "--to", "Odile Farrow", "--items", "H-001,H-002", "-o", out,
                    *(["--blind"] if blind else []), "--ask", "Where do they come from?")
        check_dispatched(checks, what, out, blind)
    check_reply(checks, checks.folder / "blind.glassine")
    csv = checks.folder / "sheets"
    checks.call("to-csv", bundle, "-o", csv)
    text = b"".join(path.read_bytes() for path in csv.iterdir())
    checks.equal("to-csv: no private text unless asked for", PRIVATE.findall(text), [])
    flat = checks.folder / "flat"
    checks.call("to-csv", bundle, "--flat", "-o", flat)
    text = b"".join(path.read_bytes() for path in flat.iterdir())
    checks.equal("to-csv --flat: no private text unless asked for", PRIVATE.findall(text), [])
    checks.ok("nor a price", b"123.00" not in text and b"12300" not in text)
    checks.call("to-xlsx", bundle, "--pictures", "-o", checks.folder / "book.xlsx")
    text = whole(checks.folder / "book.xlsx")
    checks.equal("to-xlsx: no private text unless asked for", PRIVATE.findall(text), [])
    checks.ok("nor a price, nor a list for the insurer", b"12300" not in text and b"nsurance" not in text)
    checks.equal("to-json: no private text unless asked for",
                 PRIVATE.findall(checks.call("to-json", bundle).out.encode()), [])
    checks.finish()


if __name__ == "__main__":
    main()
