"""Attempts on a keeper's bundle, and what must come of them (testvectors/attacks/). Each is a file that somebody sends,
or a file that takes the place of the keeper's own. `made` maps a name to (bytes, expectation)."""
from bundle import DESIGN, FIRST_LINES, ITEM, ITEM_SLIP, PICTURE, PLATE, SCAN, STAMP, Bundle, about, first, sha256
from lines import ADA, BEN, CAT, canonical, digest, slip, uuid
from signing import ADAS, BENS, BENS_NEXT, EVIL, begins, gives, signed

OTHER_ITEM = "item/" + uuid(0xA0)
BENS_ID, CATS_ID, ADAS_ID = "claim/" + uuid(0xA1), "claim/" + uuid(0xA2), "claim/" + uuid(0xA3)


def claim(record, by, positions="14", **more):
    return slip(record, {"plates": [PLATE], "positions": positions, "stamp": STAMP}, by=by, **more)


ADAS_CLAIM, BENS_CLAIM, CATS_CLAIM = claim(ADAS_ID, ADA, "13"), claim(BENS_ID, BEN, "14"), claim(CATS_ID, CAT, "41")
CATS_EARLY = slip(ITEM, {"rate": "2d"}, after=[ITEM_SLIP], by=CAT)


def keepers():
    """Ada keeps and signs; Ben signs since his first answer; Cat does not sign."""
    own = FIRST_LINES + [slip(BEN, {"name": "Specialist"}), slip(CAT, {"name": "Visitor"}),
                         slip(OTHER_ITEM, {"kind": "cover", "label": "H-015"}), ADAS_CLAIM]
    lines = begins(ADA, ADAS) + [line for one in own for line in signed(one, ADAS)]
    bundle = Bundle().save(lines, [PICTURE], edition={"key": ADAS.hex})
    return bundle.save(begins(BEN, BENS) + signed(BENS_CLAIM, BENS) + [CATS_CLAIM, CATS_EARLY],
                       edition={"key": ADAS.hex})


KEEPERS = keepers()
SIGNATURES = sum('"sig"' in line for line in KEEPERS.log.lines)  # and none more: none that is sent fits
made = {}


def sent(lines, keeper=CAT, scans=(), edition=(), **wrong):
    """A bundle that somebody sends."""
    text = about(bundle=uuid(0xBB), keeper=keeper)
    return Bundle().save([slip(CAT, {"name": "Visitor"})] + list(lines), scans, about_text=text, by=keeper,
                         edition=edition, **wrong).data


def attack(name, what, lines, counts=(), uncounted=(), values=None, then=(), **more):
    """`counts` and `uncounted`: lines of slips. `values`: record -> field -> value, null where it is unsaid;
    of an authored record, record + "/" + the author's UUID."""
    sender = {key: more.pop(key) for key in ("keeper", "scans", "edition", "entry_fields") if key in more}
    expected = {"about": what, "do": "merge", "keeper": ADA,
                "counts": [digest(line) for line in [*counts, BENS_CLAIM, CATS_CLAIM, ADAS_CLAIM, CATS_EARLY]],
                "does_not_count": [digest(line) for line in uncounted],
                "values": {ITEM: {"label": "H-014"}, of(BENS_ID, BEN): {"positions": "14"},
                           of(CATS_ID, CAT): {"positions": "41"}, **(values or {})},
                "keys": {ADA: [ADAS.hex], BEN: [BENS.hex]}, **more}
    made[name] = (sent(lines, **sender), expected)
    if then:
        made[name + "-then"] = (sent(then), {"about": "Goes with %s" % name, "do": "nothing"})
        expected["then"] = name + "-then"


def of(record, author):
    return record + "/" + author.split("/")[1]


# -------------------------------------------------------------------------------------- to become the keeper

attack("keeper-by-about-json", "The file that is sent names its sender as keeper", [], keeper=BEN)
FORGED_KEY = gives(ADA, EVIL, at="2026-03-02T10:00:00Z")
attack("keeper-by-a-key-of-ones-own", "A key that the sender holds is given in the keeper's name",
       signed(FORGED_KEY, EVIL), uncounted=[FORGED_KEY], tells=["K034"])
FORGED_CHANGE = gives(ADA, EVIL, ADAS, at="2026-03-02T10:00:00Z")
attack("keeper-by-a-change-of-key", "The keeper's key is changed, without its signature", signed(FORGED_CHANGE, EVIL),
       uncounted=[FORGED_CHANGE], tells=["K031"])
attack("keeper-by-an-edition-line", "An edition line in the keeper's name names the sender's key",
       signed(FORGED_KEY, EVIL), keeper=ADA, edition={"key": EVIL.hex}, uncounted=[FORGED_KEY], tells=["K034"])
WORD = slip(BEN, {"key": EVIL.hex}, at="2026-03-02T10:00:00Z")
attack("keepers-word-on-a-key", "The keeper's word on somebody's key, which the keeper did not sign", [WORD],
       uncounted=[WORD], tells=["K030"])
attack("keepers-word-signed-by-another", "The same, signed by the sender", signed(WORD, EVIL), uncounted=[WORD],
       tells=["K030"])

# ---------------------------------------------------------------------------------- to write in another's name

NEW = "claim/" + uuid(0xA8)
FORGED = claim(NEW, BEN, "77")
attack("in-anothers-name", "A claim in the name of one who signs, unsigned", [FORGED], uncounted=[FORGED],
       values={of(NEW, BEN): {"positions": None}}, tells=["K030"])
attack("in-anothers-name-with-another-key", "A claim in the name of one who signs, signed by the sender",
       signed(FORGED, EVIL), uncounted=[FORGED], tells=["K030"])
attack("a-swapped-signature", "A claim with the signature of another slip",
       [FORGED, BENS.sign_as(digest(FORGED), digest(BENS_CLAIM))], uncounted=[FORGED], signatures=SIGNATURES, tells=["K030"])
attack("a-replayed-signature", "The true claim's signature line, with the new claim's digest",
       [FORGED, BENS.sign(BENS_CLAIM).replace(digest(BENS_CLAIM), digest(FORGED))], uncounted=[FORGED], signatures=SIGNATURES,
       tells=["K030"])
TRUE = claim(NEW, BEN, "15")
attack("a-stripped-signature", "A true claim whose signature was left away; then it comes whole", [TRUE], counts=[TRUE],
       then=signed(TRUE, BENS), first_uncounted=[digest(TRUE)], tells=["K030"])
VIA_ADA, VIA_CAT = claim(NEW, BEN, "77", via=ADA), claim(NEW, BEN, "77", via=CAT)
attack("in-anothers-name-via-the-keeper", "Said to be written down by the keeper, who signs", [VIA_ADA],
       uncounted=[VIA_ADA], tells=["K030"])
attack("in-anothers-name-via-the-keeper-with-another-key", "The same, signed by the sender", signed(VIA_ADA, EVIL),
       uncounted=[VIA_ADA], tells=["K030"])
attack("in-anothers-name-via-a-third", "Written down by somebody who is not the keeper", [VIA_CAT],
       uncounted=[VIA_CAT], tells=["K030"])
BACKDATED = claim(NEW, BEN, "77", at="2020-01-01T10:00:00Z")
attack("a-backdated-slip", "A time before there was a key", [BACKDATED], uncounted=[BACKDATED], tells=["K030"])
KEEPERS_WORD = slip(ITEM, {"label": "H-999"}, after=[ITEM_SLIP], at="2026-03-02T10:00:00Z")
attack("a-record-changed-in-the-keepers-name", "A label changed in the keeper's name", [KEEPERS_WORD],
       uncounted=[KEEPERS_WORD], tells=["K030"])
CLEARED = slip(ITEM, {}, after=[ITEM_SLIP], clear=["label"], by=BEN, at="2026-03-02T10:00:00Z")
attack("a-field-cleared-in-anothers-name", "A slip that follows and takes away, in the name of one who signs", [CLEARED],
       uncounted=[CLEARED], tells=["K030"])
CATS_FORGED = claim(NEW, CAT, "77")
attack("in-the-name-of-one-who-does-not-sign", "Not protected: nobody can tell it from a true one", [CATS_FORGED],
       counts=[CATS_FORGED], values={of(NEW, CAT): {"positions": "77"}})

# ----------------------------------------------------------------------------------- to silence what is said

attack("a-first-key-in-anothers-name", "A key for somebody who does not sign: what was there goes on counting",
       begins(CAT, EVIL, at="2026-03-02T10:00:00Z"), keys={ADA: [ADAS.hex], BEN: [BENS.hex], CAT: [EVIL.hex]})
RIVAL = gives(BEN, EVIL, at="2026-03-02T10:00:00Z")
attack("a-rival-key", "Another key for somebody who signs", signed(RIVAL, EVIL), uncounted=[RIVAL], tells=["K034", "K030"])
attack("a-rival-key-that-signs-the-first", "The same, and the first key's slip signed by it",
       signed(RIVAL, EVIL) + signed(gives(BEN, BENS), EVIL), uncounted=[RIVAL], tells=["K034", "K030"])
ASIDE = slip(BENS_ID, {"set_aside": True}, by=CAT)
attack("setting-aside-anothers-claim", "By a contributor: a proposal", [ASIDE], counts=[ASIDE], set_aside=[])
ASIDE_ITEM = slip(ITEM, {"set_aside": True}, after=[ITEM_SLIP], by=CAT, at="2026-03-02T10:00:00Z")
attack("setting-aside-an-item", "By a contributor: a proposal", [ASIDE_ITEM], counts=[ASIDE_ITEM], set_aside=[])
FORGED_ASIDE = slip(BENS_ID, {"set_aside": True})
attack("setting-aside-in-the-keepers-name", "In the keeper's name, unsigned", [FORGED_ASIDE], uncounted=[FORGED_ASIDE],
       set_aside=[], tells=["K030"])
WITHDRAWN = slip(BENS_ID, {"withdrawn": True}, after=[BENS_CLAIM], by=CAT)
attack("withdrawing-anothers-claim", "By a contributor: a record of their own", [WITHDRAWN], counts=[WITHDRAWN],
       values={of(BENS_ID, BEN): {"positions": "14", "withdrawn": None}})
FORGED_WITHDRAWN = slip(BENS_ID, {"withdrawn": True}, after=[BENS_CLAIM], by=BEN)
attack("withdrawing-in-anothers-name", "In the name of one who signs, unsigned", [FORGED_WITHDRAWN],
       uncounted=[FORGED_WITHDRAWN], values={of(BENS_ID, BEN): {"positions": "14", "withdrawn": None}}, tells=["K030"])
INSTEAD = slip(NEW, {"instead_of": BENS_ID, "plates": [PLATE], "positions": "77", "stamp": STAMP}, by=CAT)
attack("replacing-anothers-claim", "A claim that says it stands instead of another's", [INSTEAD], counts=[INSTEAD],
       tells=["R046"])

# ----------------------------------------------------------------------------------------- to change a key

CHANGE = gives(BEN, EVIL, BENS, at="2026-03-02T10:00:00Z")
attack("a-change-of-key-without-the-old-one", "Signed by the new key alone", signed(CHANGE, EVIL), uncounted=[CHANGE],
       tells=["K031", "K030"])
attack("a-change-of-key-without-the-new-one", "To a key that is not the sender's, by a true signature that was taken",
       [CHANGE, BENS.sign_as(digest(CHANGE), digest(BENS_CLAIM))], uncounted=[CHANGE], tells=["K031", "K030"])
TRUE_CHANGE = gives(BEN, BENS_NEXT, BENS, at="2026-03-02T10:00:00Z")
attack("a-true-change-of-key", "Signed by both: it counts", signed(TRUE_CHANGE, BENS, BENS_NEXT), counts=[TRUE_CHANGE],
       keys={ADA: [ADAS.hex], BEN: sorted([BENS.hex, BENS_NEXT.hex])})
GIVEN = slip(BEN, {"key": EVIL.hex}, by=CAT, at="2026-03-02T10:00:00Z")
attack("anothers-key", "Given by somebody else", signed(GIVEN, EVIL), counts=[GIVEN], tells=["K032"])
SMALL = slip(CAT, {"key": "01" + "00" * 31}, by=CAT, at="2026-03-02T10:00:00Z")
attack("a-key-of-small-order", "A key by which anything would be signed",
       [SMALL, canonical({"key": "01" + "00" * 31, "of": digest(SMALL), "sig": "01" + "00" * 63})], counts=[SMALL])

# -------------------------------------------------------------------------------------------------- to join

JOIN = slip("join/" + uuid(0xA9), {"records": sorted([ITEM, OTHER_ITEM])}, by=CAT)
attack("a-join-by-another", "By a contributor: a proposal", [JOIN], counts=[JOIN], joined=[])
FORGED_JOIN = slip("join/" + uuid(0xA9), {"records": sorted([ITEM, OTHER_ITEM])})
attack("a-join-in-the-keepers-name", "In the keeper's name, unsigned", [FORGED_JOIN], uncounted=[FORGED_JOIN],
       joined=[], tells=["K030"])

# ---------------------------------------------------------------------------- to make it refusable, or slow

attack("a-line-that-is-no-slip", "A slip with an array in an array: the file is refused whole",
       ['{"after":[],"at":"2026-03-01T10:00:00Z","by":"%s","reach":"shared","record":"%s","set":{"label":[[1]]}}' %
        (CAT, OTHER_ITEM)], refused="S010")
MANY = [slip(ITEM, {"own_%05d" % number: turn for number in range(begin, min(begin + 500, 5000))}, by=CAT,
             at="2026-03-02T10:00:%02dZ" % turn) for turn in (1, 2) for begin in range(0, 5000, 500)]
attack("five-thousand-fields", "Fields of one's own, more than anybody reads: those that matter are read",
       MANY, counts=MANY[:1], tells=["L025"])


def ladder():
    lines = [slip(ITEM, {"note": "0"}, by=CAT, at="2026-03-02T10:00:00Z", reach="telling")]
    for number in range(1, 1500):
        lines.append(slip(ITEM, {"note": str(number)}, after=lines[-2:], by=CAT, at="2026-03-02T10:00:00Z",
                          reach="telling"))
    return lines


attack("a-ladder-of-slips", "Each follows the two before it: more ways than there are atoms", ladder(), counts=ladder()[-1:],
       values={ITEM: {"label": "H-014", "note": "1499"}})
attack("a-thousand-wrong-signatures", "Under the right key, on a true claim",
       [BENS.sign_as(digest(BENS_CLAIM), sha256(b"%d" % number)) for number in range(1000)], signatures=SIGNATURES)
LOOK_ALIKE = slip("item/" + uuid(0xAA), {"kind": "cover", "label": "\u041d-014"}, by=CAT)
attack("a-look-alike-label", "The same to the eye: another label", [LOOK_ALIKE], counts=[LOOK_ALIKE],
       found={"H-014": ITEM})

# -------------------------------------------------------------------------------- an end record in a scan

EVIL_FOOTER = (b"II*\0" + b"PK\x05\x06" + bytes(18) + b"glassine 1.0 edition 99999999 follows 0 sum " + b"0" * 64)
attack("an-end-record-in-a-scan", "A scan, stored, that holds an end record: the file is refused",
       [slip("scan/" + uuid(0xAB), {"bytes": len(EVIL_FOOTER), "item": ITEM, "media": "image/png",
                                    "sha256": sha256(EVIL_FOOTER)}, by=CAT)], scans=[EVIL_FOOTER], refused="C072")

# ---------------------------------------------------------------------------------------- to roll it back


def instead(name, what, data, **expected):
    """A file that lies where the keeper's was. What was remembered of that is its last edition and `log`."""
    last = KEEPERS.log.editions[-1]
    made[name] = (data, {"about": what, "do": "open", "remembered": {"edition": last["number"], "log": last["log"]},
                         **expected})


ENDS = [footer["end"] for footer in KEEPERS.file.footers]
instead("an-earlier-copy", "The file as it was at edition 1", KEEPERS.data[:ENDS[0]], edition=1, older=True, tail=0)
instead("a-cut-file", "The last save is cut off", KEEPERS.data[:-50], edition=1, older=True, tail=ENDS[1] - 50 - ENDS[0])
instead("an-old-end-record-again", "The first edition's end record is put behind the second",
        KEEPERS.data + KEEPERS.data[KEEPERS.data.index(b"PK\x05\x06"):ENDS[0]], edition=2, older=False,
        tail=ENDS[0] - KEEPERS.data.index(b"PK\x05\x06"))


def another_history():
    own = FIRST_LINES + [slip(BEN, {"name": "Specialist"})]
    return first(lines=own).save([slip(OTHER_ITEM, {"label": "H-016"})]).data


instead("another-history", "As many editions, and others", another_history(), edition=2, older=False, other=True, tail=0)
