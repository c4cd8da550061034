"""Bundles that keep to every rule. `made` maps a name to a bundle; `tails` to bytes behind it; `more` to what else a
reader must find."""
from bundle import (FIRST_LINES, ITEM, ITEM_SLIP, PICTURE, PLATE, SECOND, SECOND_LINES, STAMP, Bundle, day, first,
                    scan_slip, sha256, two)
from lines import ADA, BEN, CAT, canonical, slip, uuid
from signing import ADAS, begins, signed

made, tails, more = {}, {}, {}

made["one-edition"] = first()
made["two-editions"] = two()


def grown():
    """Nine editions: segments are joined as the log grows, and files come, change and go."""
    bundle = two()
    second_item, second_scan = "item/" + uuid(0x30), "scan/" + uuid(0x31)
    bundle.save([slip(second_item, {"kind": "single", "label": "H-015"}),
                 scan_slip(second_scan, SECOND, item=second_item, height=32, width=24)], [SECOND],
                note="A second scan")
    bundle.save([slip(ITEM, {"title": "Cover with \u00fcberstempel"}, reach="telling"),
                 slip(ITEM, {"cost_minor": 1250, "currency": "XSI", "storage": "Box 3"}, reach="private")],
                others=[("notes/\u00e9t\u00e9 1861.txt", "Été 1861\n".encode())])
    bundle.save([slip(ITEM, {"kind": "piece"}, after=[ITEM_SLIP], by=BEN, at=day(4))], by=BEN)
    bundle.save([slip(ITEM, {"kind": "cover", "rate": "2d"}, after=[ITEM_SLIP], at=day(5)),
                 slip("claim/" + uuid(0x33), {"positions": "14, 15", "plates": [PLATE], "stamp": STAMP}, by=CAT,
                      via=ADA, why="From a letter:\nhe \"cannot\" tell.")],
                others=[("notes/\u00e9t\u00e9 1861.txt", "Été 1861, again\n".encode())])
    bundle.save([slip(ITEM, {}, after=[ITEM_SLIP], clear=["holding"], at=day(6))])
    bundle.save([slip("contributor/" + CAT.split("/")[1], {"name": "Visitor"})], drop=["notes/\u00e9t\u00e9 1861.txt"])
    bundle.save([slip("item/" + uuid(0x34), {"label": "H-016"})])
    return bundle


made["grown"] = grown()


def unknown():
    """Files, lines, members, fields and types that this version does not know."""
    bundle = Bundle()
    lines = FIRST_LINES + [slip("frame/" + uuid(0x40), {"own_width": 210, "label": "F1"}),
                           slip("item/" + uuid(0x41), {"label": "H-020", "own_marks": ["a", "b"],
                                                       "own_box": {"row": 1, "shelf": "top"}}, later="kept"),
                           canonical({"later": "a line of a kind that is not known", "n": 1})]
    return bundle.save(lines, [PICTURE], others=[("data/more/letter.txt", b"A letter.\n"),
                                                 ("extra/Notes of 1861.txt", b"Notes.\n"), ("empty.bin", b"")],
                       entry_fields={"extra/Notes of 1861.txt": {"stored": True}, "empty.bin": {"stored": True}})


made["unknown-kept"] = unknown()
made["later-minor"] = first(version="1.7", edition={"format": "1.7"},
                            lines=FIRST_LINES + [canonical({"later": "of format 1.7"})])


def rewritten():
    """As `tidy` leaves a file: the log of several editions in one segment, all in one edition that follows 0."""
    bundle = grown()
    fresh = Bundle()
    fresh.log = bundle.log
    name = "slips/00000001-%08d.jsonl" % len(bundle.log.editions)
    fresh.files = {inner: data for inner, data in bundle.files.items()
                   if inner.startswith("data/") or not inner.startswith(("slips/", "tagmanifest"))}
    fresh.files[name] = "".join(line + "\n" for line in bundle.log.lines).encode()
    fresh.pack(len(bundle.log.editions), day(9))
    return fresh


made["rewritten"] = rewritten()


SCAN_FILE = "data/scans/%s.png" % sha256(PICTURE)
SCAN_LINE = "%s  %s" % (sha256(PICTURE), SCAN_FILE)


def keeper_signs_later():
    """Somebody sends the keeper what the keeper said, of before there was a key and after. The keeper's first save in it
    silences none of that."""
    bundle = first(lines=[*FIRST_LINES, slip(BEN, {"name": "Specialist"}), *begins(ADA, ADAS)], by=BEN)
    return bundle.save(signed(slip(ITEM, {"rate": "2d"}, after=[ITEM_SLIP], at=day(4)), ADAS), edition={"key": ADAS.hex})


made["keeper-signs-later"] = keeper_signs_later()


def lost():
    """A scan was lost in a damage; later it was brought again."""
    bundle = two().save(drop=[SCAN_FILE], edition={"lost": [SCAN_LINE]}, note="recovered")
    return bundle


made["lost"] = lost()
made["lost-and-found"] = lost().save(scans=[PICTURE], note="scanned again")


def deflated_scan():
    """A scan whose bytes hold an end record: it is deflated, and so summed."""
    marked = b"PK\x05\x06" + bytes(18) + b"glassine 1.0 edition 9 follows 0 sum " + b"0" * 64
    name = "data/scans/%s.bin" % sha256(marked)
    return first(others=[(name, marked)], entry_fields={name: {"stored": False}})


made["deflated-scan"] = deflated_scan()
made["tail"] = two()
tails["tail"] = b"added by a mail program\n"
more["tail"] = {"tail": len(tails["tail"]), "tail_is_ours": False}


def damaged_third():
    """A third edition of which one bit is another."""
    whole = two().save([slip("item/" + uuid(0x50), {"label": "H-030"})]).data
    tail = bytearray(whole[len(two().data):])
    tail[90] ^= 1
    return bytes(tail)


made["damaged-third"] = two()
tails["damaged-third"] = damaged_third()
more["damaged-third"] = {"tail": len(tails["damaged-third"]), "tail_is_ours": True}
