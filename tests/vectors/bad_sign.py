"""Files that break one rule of spec/signatures.md each, or say too much on one record (spec/limits.md)."""
from bundle import FIRST_LINES, ITEM, ITEM_SLIP, PLATE, STAMP, first, two
from lines import ADA, BEN, CAT, canonical, digest, slip, uuid
from signing import ADAS, BENS, BENS_NEXT, EVIL, Key, begins, gives, signed

bad, limits = {}, {}


def with_lines(name, *lines, **more):
    bad[name] = first(lines=FIRST_LINES + [slip(BEN, {"name": "Specialist"})] + list(lines), **more).data


def claim(number, by=BEN, **more):
    return slip("claim/" + uuid(number), {"plates": [PLATE], "positions": "14", "stamp": STAMP}, by=by, **more)


BENS_CLAIM = claim(0x90)

with_lines("E018-a-key-in-capitals", *begins(ADA, ADAS), edition={"key": ADAS.hex.upper()})
with_lines("E018-a-key-of-62-digits", *begins(ADA, ADAS), edition={"key": ADAS.hex[:62]})
with_lines("K020-a-signature-of-another-slip", BENS_CLAIM, BENS.sign_as(digest(BENS_CLAIM), digest(ITEM_SLIP)))
with_lines("K020-a-signature-by-another-key", BENS_CLAIM, BENS.sign(BENS_CLAIM).replace(BENS.hex, EVIL.hex))
with_lines("K020-a-changed-bit", BENS_CLAIM, BENS.sign(BENS_CLAIM)[:-3] + "%x\"}" % (int(BENS.sign(BENS_CLAIM)[-3], 16) ^ 1))
with_lines("K020-a-signature-on-a-slip-that-is-not-there", BENS.sign_as("ab" * 32, "cd" * 32))
with_lines("K020-a-key-of-small-order", BENS_CLAIM,
           canonical({"key": "01" + "00" * 31, "of": digest(BENS_CLAIM), "sig": "01" + "00" * 63}))
with_lines("K030-an-unsigned-slip-in-a-signers-name", *begins(BEN, BENS), BENS_CLAIM)
with_lines("K030-a-slip-signed-by-another-key", *begins(BEN, BENS), *signed(BENS_CLAIM, EVIL))
with_lines("K030-written-down-by-a-third-person", *begins(BEN, BENS), claim(0x90, via=CAT))
with_lines("K031-not-signed-by-the-key-before", *signed(gives(BEN, BENS_NEXT, BENS), BENS_NEXT))
with_lines("K031-not-signed-by-the-new-key", *begins(BEN, BENS), *signed(gives(BEN, BENS_NEXT, BENS), BENS))
with_lines("K032-somebody-gives-anothers-key", *signed(gives(BEN, EVIL, by=CAT), EVIL))
with_lines("K033-a-key-without-its-signature", gives(BEN, BENS))
with_lines("K033-a-key-signed-by-another", *signed(gives(BEN, BENS), EVIL))
with_lines("K034-two-keys-at-once", *begins(BEN, BENS), *begins(BEN, EVIL, at="2026-03-01T10:00:01Z"))
with_lines("K034-a-key-of-the-keepers-that-saved-nothing", *begins(ADA, EVIL))
with_lines("K040-a-key-that-nobody-gave", edition={"key": ADAS.hex})
with_lines("K040-anothers-key", *begins(BEN, BENS), edition={"key": BENS.hex})


def many_fields():
    """1,001 fields of nobody's table, each said twice."""
    names = ["own_%05d" % number for number in range(1001)]
    return [slip(ITEM, {name: turn for name in names[begin:begin + 500]}, at="2026-03-01T10:0%d:00Z" % turn)
            for turn in (1, 2) for begin in range(0, len(names), 500)]


with_lines("L025-an-item-with-1001-fields", *many_fields())


def many_keys():
    """A hundred changes of key: the last one is one too many."""
    keys, lines, before = [Key("Ben %d" % number) for number in range(101)], [], None
    for number, key in enumerate(keys):
        lines += signed(gives(BEN, key, before, at="2026-03-01T10:%02d:%02dZ" % divmod(number, 60)),
                        key, *([before] if before else []))
        before = key
    return lines


with_lines("L026-a-hundred-changes-of-key", *many_keys())

# ---------------------------------------------------------------- beyond limits that are set lower than usual


def beyond(name, data, **lower):
    """A sound bundle, beyond limits that are lower than the usual ones."""
    bad[name], limits[name] = data, lower


beyond("L001-more-entries-than-7", first().data, entries=7)
beyond("L002-a-directory-longer-than-500-bytes", first().data, directory_bytes=500)
beyond("L003-a-manifest-longer-than-200-bytes", first().data, small_file_bytes=200)
beyond("L004-a-segment-longer-than-1000-bytes", first().data, segment_bytes=1000)
beyond("L005-a-log-longer-than-2000-bytes", two().data, log_bytes=2000, segment_bytes=1000000)
beyond("L020-a-line-longer-than-300-bytes", first().data, line_bytes=300)
beyond("L021-more-slips-than-6", first().data, slips=6)
beyond("L022-after-with-2-digests",
       first(lines=FIRST_LINES + [slip(ITEM, {"rate": "2d"}, after=[ITEM_SLIP, "ab" * 32])]).data, after=1)
beyond("L024-more-editions-than-1", two().data, editions=1)
