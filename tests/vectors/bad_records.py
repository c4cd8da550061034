"""Bundles that are sound but for what one record says: rules of spec/records.md and spec/plates.md. A reader opens
them; the audit reports them."""
from bundle import (CLAIM, DESIGN, FIRST_LINES, ITEM, PICTURE, PLATE, SCAN, SECOND, STAMP, first,
                    scan_slip)
from lines import BEN, slip, uuid

bad = {}


def with_lines(name, *lines, **more):
    bad[name] = first(lines=FIRST_LINES + list(lines), **more).data


def with_record(name, kind, /, **fields):
    with_lines(name, slip("%s/%s" % (kind, uuid(0x80)), fields))


def with_item(name, /, **fields):
    with_record(name, "item", **{"label": "H-080", **fields})


def with_claim(name, positions="14", /, **fields):
    with_record(name, "claim", **{"plates": [PLATE], "positions": positions, "stamp": STAMP, **fields})


def with_plate(name, positions=None, /, **fields):
    """A plate of its own; `positions`: also a claim on it."""
    plate = "plate/" + uuid(0x81)
    layout = {"columns": 10, "design": DESIGN, "label": "2", "rows": 12, **fields}
    lines = [slip(plate, layout)]
    if positions:
        lines.append(slip("claim/" + uuid(0x82), {"plates": [plate], "positions": positions, "stamp": STAMP}))
    with_lines(name, *lines)


STATE = "plate_state/" + uuid(0x84)

with_item("R020-a-label-that-is-an-integer", label=80)
with_item("R020-a-kind-that-is-an-array", kind=["cover"])
with_item("R021-an-unknown-kind", kind="parcel")
with_item("R022-a-date-as-people-write-it", acquired="14 March 1860")
with_record("R023-visibility-of-101", "mark", appearance="dot", plate=PLATE, positions="14", visibility=101)
with_record("R024-a-key-of-63-digits", "contributor", name="Visitor", key="ab" * 31 + "a")
with_item("R025-an-empty-text", rate="")
with_record("R025-an-empty-list", "selection", label="Frame 1", items=[])
with_record("R026-a-region-without-width", "observation", appearance="dot", region=[1, 1, 0, 1], scan=SCAN, stamp=STAMP)
with_record("R030-a-reference-to-a-label", "stamp", item="H-014")
with_record("R031-a-stamp-of-a-plate", "stamp", item=PLATE)
with_record("R032-a-stamp-of-an-item-that-is-not-there", "stamp", item="item/" + uuid(0x85))
with_record("R040-an-item-without-a-label", "item", kind="cover")
with_record("R040-an-observation-of-nothing", "observation", appearance="dot")
with_record("R043-a-match-of-one-stamp", "match", relation="same", stamps=[STAMP, STAMP])
with_record("R044-a-join-of-two-types", "join", records=sorted([ITEM, STAMP]))
with_lines("R045-a-join-of-plates-of-different-layout",
           slip("plate/" + uuid(0x81), {"columns": 12, "design": DESIGN, "label": "1", "rows": 20}),
           slip("join/" + uuid(0x86), {"records": [PLATE, "plate/" + uuid(0x81)]}))
with_lines("R046-instead-of-another-contributors-claim", slip(BEN, {"name": "Specialist"}),
           slip("claim/" + uuid(0x87), {"plates": [PLATE], "positions": "15", "stamp": STAMP}, by=BEN),
           slip(CLAIM, {"instead_of": "claim/" + uuid(0x87), "plates": [PLATE], "positions": "14", "stamp": STAMP}))
with_record("R047-a-caption-too-many", "selection", label="Frame 1", items=[ITEM], captions=["one", "two"])
with_lines("R050-another-number-of-bytes", scan_slip("scan/" + uuid(0x88), SECOND, bytes=len(SECOND) + 1),
           scans=[PICTURE, SECOND])
with_lines("R051-another-width", scan_slip("scan/" + uuid(0x88), SECOND, height=32, width=25), scans=[PICTURE, SECOND])
with_record("R052-a-region-outside-its-scan", "observation", appearance="dot", region=[30, 10, 11, 10], scan=SCAN,
            stamp=STAMP)
with_lines("R053-a-scan-that-is-cut-off", scan_slip("scan/" + uuid(0x88), SECOND[:-20]), scans=[PICTURE, SECOND[:-20]])
with_lines("R056-two-stamps-in-one-place", slip("item/" + uuid(0x89), {"kind": "pair", "label": "H-089"}),
           slip("stamp/" + uuid(0x8A), {"column": 1, "item": "item/" + uuid(0x89), "row": 1}),
           slip("stamp/" + uuid(0x8B), {"column": 1, "item": "item/" + uuid(0x89), "row": 1}))
with_record("R049-a-purchase-that-everybody-may-see", "event", items=[ITEM], kind="acquired")
with_lines("R055-the-third-stamp-of-a-pair", slip("item/" + uuid(0x89), {"kind": "pair", "label": "H-089"}),
           slip("stamp/" + uuid(0x8A), {"column": 3, "item": "item/" + uuid(0x89), "row": 1}))
with_claim("R209-an-expression-of-3000-bytes", ", ".join(["14"] * 750))
with_claim("R200-a-position-expression-that-is-none", "7 8")
with_claim("R201-position-131", "131")
with_claim("R202-row-13", "row 13")
with_plate("R203-pane-m", "7M", panes_across=2)
with_plate("R204-another-plate", "7R3", panes_across=2)
with_claim("R205-corner-letters-on-a-plate-without", "AB")
with_claim("R206-a-range-downwards", "50-41")
with_claim("R207-no-position-left", "row 1 and row 2")
with_plate("R208-no-pane", "7", panes_across=2)
with_plate("R210-a-plate-of-two-million-positions", columns=1000, rows=1000, panes_across=2)
with_plate("R211-one-name-for-two-panes", panes_across=2, panes_down=1, pane_names=["left"])
with_lines("R220-a-stamp-seen-1001-times",
           *(slip("observation/" + uuid(0x2000 + n), {"appearance": "dot", "stamp": STAMP}) for n in range(1001)))
with_lines("R221-two-plates-of-100000-positions-and-64-states",
           *(slip("plate/" + uuid(0x81 + n), {"columns": 1000, "design": DESIGN, "label": str(2 + n), "rows": 100})
             for n in range(2)),
           *(slip("plate_state/" + uuid(0x1000 + 64 * p + n),
                  {"name": "state %d" % n, "order": n, "plate": "plate/" + uuid(0x81 + p)})
             for p in range(2) for n in range(64)))
with_lines("R222-a-plate-of-65-states",
           *(slip("plate_state/" + uuid(0x1000 + n), {"name": "state %d" % n, "order": n, "plate": PLATE}) for n in range(65)))
with_lines("R212-a-state-of-another-plate",
           slip("plate/" + uuid(0x81), {"columns": 10, "design": DESIGN, "label": "2", "rows": 12}),
           slip(STATE, {"name": "early", "order": 1, "plate": "plate/" + uuid(0x81)}),
           slip("claim/" + uuid(0x82), {"plates": [PLATE], "positions": "14", "stamp": STAMP, "state": STATE}))
with_lines("R213-a-mark-that-ends-before-it-begins", slip(STATE, {"name": "early", "order": 1, "plate": PLATE}),
           slip("plate_state/" + uuid(0x8C), {"name": "late", "order": 2, "plate": PLATE}),
           slip("mark/" + uuid(0x8D), {"appearance": "dot", "first_state": "plate_state/" + uuid(0x8C),
                                       "last_state": STATE, "plate": PLATE, "positions": "14"}))
with_lines("R214-two-states-in-one-place", slip(STATE, {"name": "early", "order": 1, "plate": PLATE}),
           slip("plate_state/" + uuid(0x8C), {"name": "late", "order": 1, "plate": PLATE}))
