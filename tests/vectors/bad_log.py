"""Bundles whose container and bag are sound and whose log, or about.json, breaks one rule each of spec/slips.md,
spec/log.md and spec/exchange.md."""
import json

from bundle import (BASE, CLAIM, FIRST_LINES, ITEM, ITEM_SLIP, PICTURE, STAMP, about, day, first, sha256,
                    two)
from lines import ADA, BEN, canonical, digest, slip, uuid

bad = {}
OTHER = "item/" + uuid(0x60)


def in_one(name, **wrong):
    bad[name] = first(**wrong).data


def with_line(name, line, **wrong):
    """One more line, which may be anything."""
    in_one(name, lines=FIRST_LINES + [line], **wrong)


def members(**changed):
    """The members of a slip of a second item; None takes one away."""
    whole = {"after": [], "at": day(1), "by": ADA, "reach": "shared", "record": OTHER, "set": {"label": "H-060"}}
    whole.update(changed)
    return {name: value for name, value in whole.items() if value is not None}


def with_slip(name, **changed):
    with_line(name, canonical(members(**changed)))


GOOD = canonical(members())

# ------------------------------------------------------------------------------------------------- lines

with_line("S010-white-space", GOOD.replace('"reach":', '"reach": '))
with_line("S010-members-not-sorted", '{"at":"%s",' % day(1) + GOOD.replace('"at":"%s",' % day(1), "")[1:])
with_line("S010-one-member-twice", GOOD.replace('"reach":"shared"', '"reach":"shared","reach":"shared"'))
with_line("S010-an-escape-that-is-not-needed", GOOD.replace("H-060", "H\\u002d060"))
with_line("S010-a-control-character", GOOD.replace("H-060", "H\\t060"))
with_line("S010-null", canonical(members(set={"label": None})))
with_line("S010-a-fraction", GOOD.replace('"H-060"', "60.5"))
with_line("S010-an-exponent", GOOD.replace('"H-060"', "6e1"))
with_line("S010-minus-zero", GOOD.replace('"H-060"', "-0"))
with_line("S010-an-integer-of-2-to-the-53", GOOD.replace('"H-060"', "9007199254740992"))
with_line("S010-an-array-in-an-array", GOOD.replace('"H-060"', '["a",["b"]]'))
with_line("S010-three-levels-of-objects", GOOD.replace('"H-060"', '{"a":{"b":1}}'))
with_line("S010-a-hundred-thousand-brackets", "[" * 100000 + "]" * 100000)
with_line("S010-a-lone-surrogate", GOOD.replace("H-060", "\\ud800"))
with_line("S010-an-array", '["after"]')
with_line("S010-an-empty-line", "")
with_line("S010-not-json", "H-060 is a cover")
with_line("S010-a-byte-order-mark", "\ufeff" + GOOD)
with_line("S010-not-utf-8", GOOD.replace("H-060", "H\udce9"))
in_one("S011-no-line-feed-at-the-end", segment_text=lambda text: text[:-1])
with_line("S012-a-slip-and-a-signature",
          canonical({**members(), "key": "ab" * 32, "of": "cd" * 32, "sig": "ef" * 64}))
in_one("S013-a-slip-twice", lines=FIRST_LINES + [ITEM_SLIP])

# ------------------------------------------------------------------------------------------------- slips

for member in ("at", "by", "reach", "record", "set"):
    with_slip("S020-a-slip-without-" + member, **{member: None})
with_slip("S021-after-is-an-object", after={})
with_slip("S021-a-digest-in-capitals", after=["AB" * 32])
with_slip("S021-a-digest-of-63-digits", after=["ab" * 31 + "a"])
with_slip("S021-an-integer-in-after", after=[1])
with_slip("S022-after-not-sorted", after=["cd" * 32, "ab" * 32])
with_slip("S022-one-digest-twice", after=["ab" * 32, "ab" * 32])
for what, at in (("without-z", "2026-03-01T12:00:00"), ("with-an-offset", "2026-03-01T12:00:00+00:00"),
                 ("with-a-fraction", "2026-03-01T12:00:00.5Z"), ("on-30-february", "2026-02-30T12:00:00Z"),
                 ("at-24-hours", "2026-03-01T24:00:00Z"), ("with-second-60", "2026-03-01T12:00:60Z"),
                 ("with-a-small-t", "2026-03-01t12:00:00Z")):
    with_slip("S023-at-" + what, at=at)
with_slip("S024-by-an-item", by=ITEM)
with_slip("S024-by-a-name", by="Keeper")
with_slip("S025-via-a-name", via="Keeper")
with_slip("S026-reach-public", reach="public")
with_slip("S027-a-uuid-in-capitals", record="item/0000000A-0000-4000-8000-000000000060")
with_slip("S027-no-uuid", record="item/H-060")
with_slip("S027-no-type", record=uuid(0x60))
with_slip("S027-a-type-in-capitals", record="Item/" + uuid(0x60))
with_slip("S028-set-is-an-array", set=["label"])
with_slip("S029-a-field-in-capitals", set={"Label": "H-060"})
with_slip("S029-a-field-that-begins-with-a-digit", set={"1st": "H-060"})
with_slip("S029-a-field-of-65-letters", set={"a" * 65: "H-060"})
with_slip("S029-a-cleared-field-with-a-space", clear=["a b"])
with_slip("S030-clear-is-empty", clear=[])
with_slip("S030-clear-not-sorted", clear=["note", "kind"])
with_slip("S030-one-field-cleared-twice", clear=["kind", "kind"])
with_slip("S030-clear-is-a-string", clear="kind")
with_slip("S031-a-field-both-set-and-cleared", clear=["label"])
with_slip("S032-why-is-an-integer", why=1)
in_one("S050-after-leads-to-another-record", lines=FIRST_LINES + [canonical(members(after=[digest(ITEM_SLIP)]))])
in_one("S050-after-leads-to-another-reach",
       lines=FIRST_LINES + [slip(ITEM, {"storage": "Box 3"}, after=[ITEM_SLIP], reach="private")])
with_slip("S051-a-string-that-is-not-nfc", set={"label": "H-060 e\u0301te\u0301"}, record="item/" + uuid(0x61))

# ------------------------------------------------------------------------------------------- signatures


def with_signature(name, **changed):
    whole = {"key": "ab" * 32, "of": digest(ITEM_SLIP), "sig": "cd" * 64, **changed}
    with_line(name, canonical({key: value for key, value in whole.items() if value is not None}))


with_signature("K010-no-key", key=None)
with_signature("K010-a-key-in-capitals", key="AB" * 32)
with_signature("K011-of-is-missing", of=None)
with_signature("K011-of-has-63-digits", of="ab" * 31 + "a")
with_signature("K012-a-signature-of-126-digits", sig="cd" * 63)
with_signature("K012-a-signature-that-is-an-integer", sig=1)

# --------------------------------------------------------------------------------------------- editions

for member in ("at", "by", "note", "slips", "tool"):
    in_one("E010-an-edition-without-" + member, edition={member: None})
in_one("E010-at-is-no-time", edition={"at": "yesterday"})
in_one("E010-by-an-item", edition={"by": ITEM})
in_one("E010-edition-is-a-string", edition={"edition": "1"})
in_one("E011-the-first-edition-is-2", edition={"edition": 2})
bad["E011-edition-3-after-1"] = two(edition={"edition": 3}).data
in_one("E012-one-slip-too-many", edition={"slips": len(FIRST_LINES) + 1})


def other_log(lines):
    last = json.loads(lines[-1])
    last["log"] = ("0" if last["log"][0] != "0" else "1") + last["log"][1:]
    return lines[:-1] + [canonical(last)]


in_one("E013-another-chain", tamper=other_log)
in_one("E013-a-word-altered", tamper=lambda lines: [line.replace("H-014", "H-041") for line in lines])
in_one("E013-a-line-taken-out", tamper=lambda lines: lines[:2] + lines[3:], edition={"slips": len(FIRST_LINES) - 1})
in_one("E013-two-lines-exchanged", tamper=lambda lines: [lines[1], lines[0]] + lines[2:])
in_one("E014-a-version-of-one-number", edition={"format": "1"})
in_one("E014-a-version-with-a-leading-zero", edition={"format": "1.00"})
in_one("E014-no-version", edition={"format": None})
in_one("E015-an-edition-of-format-2", edition={"format": "2.0"})
SCAN_LINE = "%s  data/scans/%s.png" % (sha256(PICTURE), sha256(PICTURE))
ABOUT_LINE = "%s  data/about.json" % sha256(about())
in_one("E016-brings-a-name-alone", edition={"brings": ["data/about.json"]})
in_one("E016-brings-a-segment", edition={"brings": [ABOUT_LINE, "%s  slips/x.jsonl" % ("f" * 64)]})
in_one("E016-brings-is-missing", edition={"brings": None})
in_one("E017-brings-not-sorted", edition={"brings": sorted([ABOUT_LINE, SCAN_LINE], reverse=True)})
in_one("E017-one-line-twice", edition={"brings": sorted([ABOUT_LINE, SCAN_LINE, SCAN_LINE])})
in_one("E020-a-segment-that-says-2-editions", segment_name="slips/00000001-00000002.jsonl")
in_one("E020-a-segment-of-edition-2-alone", segment_name="slips/00000002-00000002.jsonl")
in_one("E020-a-gap-between-segments", others=[("slips/00000003-00000003.jsonl", b"")])
in_one("E021-a-slip-behind-the-edition-line", tamper=lambda lines: lines + [GOOD])
in_one("E022-the-end-record-says-2", comment=lambda text: text.replace("edition 1", "edition 2"))
in_one("E022-the-end-record-says-format-1.1", version="1.1")
bad["E022-an-earlier-end-record-says-format-1.4"] = two().data.replace(b"glassine 1.0 edition 1", b"glassine 1.4 edition 1")
in_one("E022-no-edition", segment_name="slips/notes.txt")
in_one("E030-about-with-white-space", about_text=about().replace(b'"format":', b'"format": '))
in_one("E030-about-without-a-line-feed", about_text=about()[:-1])
for member in ("base", "bundle", "format", "keeper", "made", "title", "version"):
    in_one("E031-about-without-" + member, about_text=about(**{member: None}))
in_one("E031-a-keeper-by-name", about_text=about(keeper="Keeper"))
in_one("E031-a-bundle-without-uuid", about_text=about(bundle="kingfisher"))
in_one("E031-of-another-format", about_text=about(format="other"))
in_one("E031-a-version-of-five-digits", about_text=about(version="1.10000"))
in_one("E031-a-version-with-a-leading-zero", about_text=about(version="1.07"))
in_one("E014-a-version-of-five-digits", edition={"format": "1.10000"})
in_one("E032-about-of-format-2", about_text=about(version="2.0"))
in_one("E033-another-base", about_text=about(base=BASE + "-two"))
in_one("E040-a-scan-that-no-edition-brought", edition={"brings": [ABOUT_LINE]})
in_one("E040-an-edition-brought-what-is-not-there",
       edition={"brings": sorted([ABOUT_LINE, SCAN_LINE, "%s  data/scans/%s.png" % ("f" * 64, "f" * 64)])})
in_one("E041-lost-what-was-never-there", edition={"lost": ["%s  data/scans/%s.png" % ("f" * 64, "f" * 64)]})
in_one("E041-lost-is-a-text", edition={"lost": SCAN_LINE})
LOST_SCAN = {"drop": [SCAN_LINE[66:]], "lines": []}
bad["E041-lost-twice"] = two(**LOST_SCAN, edition={"lost": [SCAN_LINE, SCAN_LINE]}).data
bad["E041-lost-with-another-digest"] = two(**LOST_SCAN, edition={"lost": ["f" * 64 + SCAN_LINE[64:]]}).data

# --------------------------------------------------------------------------------------------- dispatch

EVENT = "event/" + uuid(0x70)


def dispatch(name, lines, **more):
    sent = slip(EVENT, {"contributor": BEN, "items": [ITEM], "kind": "sent", "on": "2026-03-01"})
    in_one(name, lines=FIRST_LINES + [slip(BEN, {"name": "Specialist"}), sent] + lines,
           about_text=about(answer_by=BEN, event=EVENT, **more))


dispatch("S060-a-private-slip-in-a-dispatch", [slip(ITEM, {"storage": "Box 3"}, reach="private")])
dispatch("S061-a-telling-slip-in-a-blind-dispatch", [slip(ITEM, {"title": "Position 14"}, reach="telling")],
         blind=True)
dispatch("S061-a-claim-in-a-blind-dispatch", [slip(CLAIM, {"positions": "14", "stamp": STAMP})], blind=True)

# ----------------------------------------------------------------------------------------------- limits

with_slip("L023-a-slip-of-1001-fields", set={"own_%04d" % number: True for number in range(1001)})
