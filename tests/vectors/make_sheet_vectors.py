#!/usr/bin/env python3
"""Foreign sheets with what must come of them: testvectors/sheets/. With --check the files are only compared.

What is expected was written by hand from spec/foreign-sheets.md, not taken from a program's output.
"""

import argparse
import gzip
import io
import json
import pathlib
import sys
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent / "testvectors" / "sheets"
HEAD = "column,header,examples,goes_to,as\n"


def plan(*columns, **settings):
    """A map: (header, target, how) for each column from the first; settings with _ for spaces."""
    lines = [HEAD]
    for name, value in settings.items():
        lines.append(f"sheet,{name.replace('_', ' ')},,{value},\n")
    for number, (header, target, how) in enumerate(columns, 1):
        quote = lambda text: '"' + text.replace('"', '""') + '"'
        lines.append(f"{number},{quote(header)},,{target},{quote(how)}\n")
    return "".join(lines).encode()


def item(label, stamp=None, **fields):
    """An item as it should be there, and its one stamp."""
    return [["item", {"label": label, **fields}], ["stamp", {"item": label, **(stamp or {})}]]


def refused(line, column, message):
    return {"line": line, "column": column, "message": message}


def workbook():
    """A workbook as another program writes one: shared texts, a date, a number, a formula, an empty second sheet."""
    ns = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    rel = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    texts = ["Number", "Bought", "Paid", "Remark", "H-901", "H-902", "seen in daylight"]
    files = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"/>',
        "xl/workbook.xml": f'<workbook {ns} xmlns:r="{rel}"><sheets><sheet name="My stamps" sheetId="1" r:id="rId1"/>'
                           '<sheet name="Empty" sheetId="2" r:id="rId2"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
                                      '<Relationship Id="rId1" Type="t" Target="worksheets/sheet1.xml"/>'
                                      '<Relationship Id="rId2" Type="t" Target="worksheets/sheet2.xml"/></Relationships>',
        "xl/styles.xml": f'<styleSheet {ns}><numFmts count="1"><numFmt numFmtId="164" formatCode="dd/mm/yyyy"/></numFmts>'
                         '<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs>'
                         "</styleSheet>",
        "xl/sharedStrings.xml": f"<sst {ns}>" + "".join(f"<si><t>{text}</t></si>" for text in texts) + "</sst>",
        "xl/worksheets/sheet1.xml": f'<worksheet {ns}><sheetData>'
            '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c><c r="C1" t="s"><v>2</v></c><c r="D1" t="s"><v>3</v></c></row>'
            '<row r="2"><c r="A2" t="s"><v>4</v></c><c r="B2" s="1"><v>35868</v></c><c r="C2"><f>6*2+0.5</f><v>12.5</v></c>'
            '<c r="D2" t="s"><v>6</v></c></row>'
            '<row r="4"><c r="A4" t="s"><v>5</v></c><c r="B4" t="str"><v>3 April 1861</v></c><c r="C4" t="e"><v>#N/A</v></c></row>'
            "</sheetData></worksheet>",
        "xl/worksheets/sheet2.xml": f"<worksheet {ns}><sheetData/></worksheet>",
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as book:
        for name, text in files.items():
            book.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), text, zipfile.ZIP_DEFLATED)
    return out.getvalue()


LABEL = ("No.", "item.label", "")
NOTE = ("Note", "item.note", "")

CASES = {
    "semicolons": dict(
        says="Semicolons, decimal commas, days first: as exported where the comma is the decimal sign.",
        sheet='Inv.;Farbe;Kaufdatum;Preis;Bemerkung\r\nH-1;"blau; hell";14.03.1998;"1.250,50 €";gut\r\nH-2;rot;3.4.1999;12,5;\r\n'.encode(),
        map=plan(("Inv.", "item.label", ""), ("Farbe", "stamp.colour", ""), ("Kaufdatum", "item.acquired", "date day month year"),
                 ("Preis", "item.cost_minor", "money EUR; decimal comma"), ("Bemerkung", "item.note", "")),
        records=item("H-1", {"colour": "blau; hell"}, acquired="1998-03-14", cost_minor=125050, currency="EUR", note="gut")
        + item("H-2", {"colour": "rot"}, acquired="1999-04-03", cost_minor=1250, currency="EUR")),
    "tabs": dict(
        says="Tabs, no quotes, commas in the cells, no line end at the end.",
        sheet=b"No.\tNote\nH-1\tone, two\nH-2\tthree",
        map=plan(LABEL, NOTE), records=item("H-1", note="one, two") + item("H-2", note="three")),
    "utf-16": dict(
        says="UTF-16, little-endian, with its mark, and tabs: as some programs save \"Unicode text\".",
        sheet="No.\tNote\r\nH-1\tÉcu 鳥\r\n".encode("utf-16"),
        map=plan(LABEL, NOTE), records=item("H-1", note="Écu 鳥")),
    "utf-16-unmarked": dict(
        says="UTF-16, big-endian, without a mark.",
        sheet="No.,Note\nH-1,plain words that are long enough\n".encode("utf-16-be"),
        map=plan(LABEL, NOTE), records=item("H-1", note="plain words that are long enough")),
    "windows-1252": dict(
        says="Windows-1252: accents, a dash and a euro sign that Latin-1 does not have.",
        sheet="No.;Note;Paid\r\nH-1;café – deux;12 €\r\n".encode("cp1252"),
        map=plan(LABEL, NOTE, ("Paid", "item.cost_minor", "money EUR")),
        records=item("H-1", note="café – deux", cost_minor=1200, currency="EUR")),
    "quotes": dict(
        says="Quotes doubled within a quoted cell; a quote within a cell that has none around it.",
        sheet=b'No.,Note\nH-1,"the ""blue"" one"\nH-2,12" wide\n"H-3" ,""\n',
        map=plan(LABEL, NOTE), records=item("H-1", note='the "blue" one') + item("H-2", note='12" wide') + item("H-3")),
    "line-breaks": dict(
        says="Line breaks of both sorts within quoted cells; lines are counted as an editor counts them.",
        sheet=b'No.,Note,Kind\r\nH-1,"one\ntwo\r\nthree",single\r\nH-2,"four\n",wrong\r\n',
        map=plan(LABEL, NOTE, ("Kind", "item.kind", "")), options=["--accept-partial"],
        records=item("H-1", note="one\ntwo\nthree", kind="single"), refused=[refused(5, 3, "must be one of")]),
    "ragged": dict(
        says="Rows of different lengths: what is not there is empty; what is too much refuses its row, unless it is empty.",
        sheet=b"No.,Note,Kind\nH-1\nH-2,b,single,,\nH-3,c,single,surplus\n",
        map=plan(LABEL, NOTE, ("Kind", "item.kind", "")), options=["--accept-partial"],
        records=item("H-1") + item("H-2", note="b", kind="single"), refused=[refused(4, 4, "more cells than the map has columns")]),
    "two-header-rows": dict(
        says="Two header rows, the labels of the first merged over several columns.",
        sheet=b"Item,,Stamp,\nNo.,Title,Colour,Paper\nH-1,A fine one,blue,wove\n",
        map=plan(("Item No.", "item.label", ""), ("Item Title", "item.title", ""), ("Stamp Colour", "stamp.colour", ""),
                 ("Stamp Paper", "stamp.paper", ""), header_rows=2),
        records=item("H-1", {"colour": "blue", "paper": "wove"}, title="A fine one"), draft=dict(header_rows="2", questions=0)),
    "title-rows": dict(
        says="A line that says the delimiter, and a title above the header.",
        sheet=b"sep=;\r\nMy collection;;\r\nNo.;Note;Colour\r\nH-1;a,b;blue\r\n",
        map=plan(LABEL, NOTE, ("Colour", "stamp.colour", ""), skipped_rows=1),
        records=item("H-1", {"colour": "blue"}, note="a,b"), draft=dict(skipped_rows="1", questions=0)),
    "decimal-commas": dict(
        says="Thousands parted by points, spaces and apostrophes; numbers that are none.",
        sheet="No.;Paid\nH-1;1.234.567,89\nH-2;1 234,5\nH-3;1'234\nH-4;1.23,4\nH-5;12,345\nH-6;twelve\n".encode(),
        map=plan(LABEL, ("Paid", "item.cost_minor", "money EUR; decimal comma")), options=["--accept-partial"],
        records=item("H-1", cost_minor=123456789, currency="EUR") + item("H-2", cost_minor=123450, currency="EUR")
        + item("H-3", cost_minor=123400, currency="EUR"),
        refused=[refused(5, 2, "no number"), refused(6, 2, "more decimals than"), refused(7, 2, "no number")]),
    "two-digit-years": dict(
        says="Two-digit years lie in the hundred years that the map says.",
        sheet=b"No.,Posted\nH-1,14.3.61\nH-2,1.1.49\nH-3,31.12.50\nH-4,1861\nH-5,30.2.61\n",
        map=plan(LABEL, ("Posted", "marking.on", "date day month year; years from 1850")), options=["--accept-partial"],
        records=item("H-1") + [["marking", {"item": "H-1", "on": "1861-03-14"}]] + item("H-2") + [["marking", {"item": "H-2", "on": "1949-01-01"}]]
        + item("H-3") + [["marking", {"item": "H-3", "on": "1850-12-31"}]] + item("H-4") + [["marking", {"item": "H-4", "on": "1861"}]],
        refused=[refused(6, 2, "")]),
    "short-years-unsaid": dict(
        says="Two-digit years that the map says nothing of are not taken.",
        sheet=b"No.,Posted\nH-1,14.3.61\n",
        map=plan(LABEL, ("Posted", "marking.on", "date day month year")), exit=2,
        refused=[refused(2, 2, "the year has two digits")]),
    "day-or-month": dict(
        says="3/4/1861 may be either way round: without an order no such date is taken, and the draft asks.",
        sheet=b"No.,Bought\nH-1,03/04/1861\nH-2,05/06/1862\n",
        map=plan(LABEL, ("Bought", "item.acquired", "")), exit=2,
        refused=[refused(2, 2, "either way round"), refused(3, 2, "either way round")], draft=dict(questions=1)),
    "question-left-open": dict(
        says="A map whose question nobody answered takes nothing.",
        sheet=b"No.,Bought\nH-1,03/04/1861\n",
        map=plan(LABEL, ("Bought", "item.acquired", "date ? (day month year, or month day year: 03/04/1861)")), exit=2,
        error="the map leaves 1 question open"),
    "month-first": dict(
        says="Months first, by slashes; a month that is none; dates with a month's name need no order.",
        sheet=b"No.,Bought\nH-1,3/14/1998\nH-2,4/3/1998\nH-3,14/3/1998\nH-4,14 Mar 1998\nH-5,1998-03-14\n",
        map=plan(LABEL, ("Bought", "item.acquired", "date month day year")), options=["--accept-partial"],
        records=item("H-1", acquired="1998-03-14") + item("H-2", acquired="1998-04-03") + item("H-4", acquired="1998-03-14")
        + item("H-5", acquired="1998-03-14"),
        refused=[refused(4, 2, "no day in the order")], draft=dict(questions=1)),
    "empty-rows": dict(
        says="Empty lines, rows of nothing but delimiters and spaces, a no-break space as a cell.",
        sheet="No.,Note\n\n,,\nH-1,a\n \t,  \n\n\nH-2,\u00a0\n\n".encode(),
        map=plan(LABEL, NOTE), records=item("H-1", note="a") + item("H-2")),
    "duplicate-headers": dict(
        says="Two columns of one name that go to one text; for a field of one value it is refused.",
        sheet=b"No.,Note,Note\nH-1,first,second\nH-2,,only\n",
        map=plan(LABEL, NOTE, NOTE), records=item("H-1", note="first\nsecond") + item("H-2", note="only"), draft=dict(questions=1)),
    "one-field-twice": dict(
        says="Two columns that go to a field of one value.",
        sheet=b"No.,Bought,Paid on\nH-1,1998,1999\n",
        map=plan(LABEL, ("Bought", "item.acquired", ""), ("Paid on", "item.acquired", "")), exit=2,
        error="two columns go to one field"),
    "ten-megabytes": dict(
        says="One cell of ten million characters.", gzip=True,
        sheet=b"No.,Note\nH-1,\"" + b"0123456789" * 1000000 + b"\"\nH-2,b\n",
        map=plan(LABEL, NOTE), records=item("H-1", note="0123456789" * 1000000) + item("H-2", note="b")),
    "nul-bytes": dict(
        says="A NUL byte refuses the file, with its line and column.",
        sheet=b"No.,Note\nH-1,a\nH-2,b\0c\n", map=plan(LABEL, NOTE), exit=2, error="line 3, column 2.*NUL byte"),
    "unclosed-quote": dict(
        says="A quote that is never closed: the place is where it opens.",
        sheet=b'No.,Note\nH-1,a\nH-2,"never\nclosed\n', map=plan(LABEL, NOTE), exit=2, error="line 3, column 2.*never closed"),
    "behind-the-quote": dict(
        says="Text behind a closing quote.",
        sheet=b'No.,Note\nH-1,"the "blue" one"\n', map=plan(LABEL, NOTE), exit=2, error="line 2, column 2.*behind a closing quote"),
    "wrong-encoding": dict(
        says="A byte that the encoding of the map does not have.",
        sheet=b"No.;Note\nH-1;caf\xe9\n", map=plan(LABEL, NOTE, encoding="UTF-8"), exit=2, error="byte 17 is no UTF-8"),
    "money": dict(
        says="Signs and codes on either side, another currency than the map's, currencies without and with three digits.",
        sheet="No.;Paid;Insured\nH-1;€ 12,50;1200 JPY\nH-2;12,50 EUR;¥ 7\nH-3;£ 3,00;\nH-4;;5,5\n".encode(),
        map=plan(LABEL, ("Paid", "item.cost_minor", "money EUR; decimal comma"),
                 ("Insured", "valuation.amount_minor", "money JPY; decimal comma")), options=["--accept-partial"],
        records=item("H-1", cost_minor=1250, currency="EUR") + [["valuation", {"item": "H-1", "amount_minor": 1200, "currency": "JPY"}]]
        + item("H-2", cost_minor=1250, currency="EUR") + [["valuation", {"item": "H-2", "amount_minor": 7, "currency": "JPY"}]],
        refused=[refused(4, 2, "another currency"), refused(5, 3, "more decimals than")]),
    "split-and-units": dict(
        says="One cell for two fields, in centimetres and in millimetres; a third that is not whole in micrometres.",
        sheet="Design;Size;Thick\nKF2;1,85 x 2,2;\nKF3;1,8 x;\nKF4;1,85;0,10005\n".encode(),
        map=HEAD.encode() + b'1,Design,,design.label,\n2,Size,,design.width_um,"unit cm; decimal comma; split x 1"\n'
        b'2,Size,,design.height_um,"unit cm; decimal comma; split x 2"\n3,Thick,,stamp.paper_um,unit mm; decimal comma\n',
        options=["--accept-partial"],
        records=[["design", {"label": "KF2", "width_um": 18500, "height_um": 22000}], ["design", {"label": "KF3", "width_um": 18000}]],
        refused=[refused(4, 3, "not whole in the unit")]),
    "meanings": dict(
        says="Words of another language for the field's own, a list, several stamps of an item, a design by its label.",
        sheet="Nr;Art;Abarten;Zeichnung\nH-1;Paar;Doppelprägung / Riss;KF\nH-2;Brief;;XY\n".encode(),
        map=plan(("Nr", "item.label", ""), ("Art", "item.kind", "Paar=pair; Brief=cover"), ("Abarten", "stamp.varieties", "list slash"),
                 ("Zeichnung", "stamp.design", ""), stamps=2), options=["--accept-partial"],
        records=item("H-1", {"varieties": ["Doppelprägung", "Riss"], "design": "KF"}, kind="pair") + [["stamp", {"item": "H-1"}]],
        refused=[refused(3, 4, "XY")]),
    "labels-known": dict(
        says="Labels that an item has already, in the bundle or above in the sheet.",
        sheet=b"No.,Note\nH-000,there already\nH-1,a\nH-1,again\n", map=plan(LABEL, NOTE), options=["--accept-partial"],
        records=item("H-1", note="a"), refused=[refused(2, 1, "there already"), refused(4, 1, "there already")]),
    "no-header": dict(
        says="No header at all.",
        sheet=b"H-1,blue,2\nH-2,red,3\n",
        map=HEAD.encode() + b"sheet,header rows,,0,\n1,,,item.label,\n2,,,stamp.colour,\n3,,,-,\n",
        records=item("H-1", {"colour": "blue"}) + item("H-2", {"colour": "red"}), draft=dict(header_rows="0", questions=3)),
    "positions": dict(
        says="Plate and position become a claim on the stamp; a position that the plate has not refuses the row whole.",
        sheet=b"No.,Plate,Position\nH-1,1,34\nH-2,1,R12/10\nH-3,1,121\nH-4,9,5\n",
        map=plan(LABEL, ("Plate", "claim.plates", ""), ("Position", "claim.positions", "")), options=["--accept-partial"],
        records=item("H-1") + [["claim", {"stamp": "H-1", "plates": ["1"], "positions": "34"}]]
        + item("H-2") + [["claim", {"stamp": "H-2", "plates": ["1"], "positions": "R12/10"}]],
        refused=[refused(4, 3, "121"), refused(5, 2, "9")]),
    "another-sheet": dict(
        says="A map of another sheet: its headers do not fit.",
        sheet=b"No.,Remark\nH-1,a\n", map=plan(LABEL, NOTE), exit=2, error='column 2: the header is not "Note"'),
    "workbook": dict(
        says="A workbook of another program: days and numbers by their types, an error in a cell.",
        book=workbook(), verb="from-xlsx",
        map=plan(("Number", "item.label", ""), ("Bought", "item.acquired", ""), ("Paid", "item.cost_minor", "money EUR"),
                 ("Remark", "item.note", "")), options=["--accept-partial"],
        records=item("H-901", acquired="1998-03-14", cost_minor=1250, currency="EUR", note="seen in daylight"),
        refused=[refused(4, 3, "holds an error")], draft=dict(questions=1)),
    "the-rest": dict(
        says="All that is behind a separator; one word for whatever else a cell says; a draft that asks what words mean.",
        sheet=b"No.,Plate and position,Kind\nH-1,1/R3/4,Brief\nH-2,1/17,single\nH-3,,Vignette\n",
        map=HEAD.encode() + b"1,No.,,item.label,\n2,Plate and position,,claim.plates,split slash 1\n"
        b'2,Plate and position,,claim.positions,split slash 2 on\n3,Kind,,item.kind,"Brief=cover; single=single; *=other"\n',
        records=item("H-1", kind="cover") + [["claim", {"stamp": "H-1", "plates": ["1"], "positions": "R3/4"}]]
        + item("H-2", kind="single") + [["claim", {"stamp": "H-2", "plates": ["1"], "positions": "17"}]] + item("H-3", kind="other"),
        draft=dict(questions=1)),
    "every-row": dict(
        says="What every row says stands in the map: it goes to all stamps of an item, joins what the row says, and makes no "
        "record by itself.",
        sheet="Nr;Farbe;Bemerkung\nH-1;blau;gute Ränder\nH-2;;\n;;\n".encode(),
        map=HEAD.encode() + b'sheet,stamps,,2,\nevery row,KF,,stamp.design,\nevery row,Paar,,item.kind,"Paar=pair; *=cover"\n'
        b"every row,exhibited,,event.kind,\nevery row,from the Hall sale,,item.note,\n"
        b"1,Nr,,item.label,\n2,Farbe,,stamp.colour,\n3,Bemerkung,,item.note,\n",
        records=item("H-1", {"design": "KF", "colour": "blau"}, kind="pair", note="gute Ränder\nfrom the Hall sale")
        + [["stamp", {"item": "H-1", "design": "KF"}]]
        + item("H-2", {"design": "KF"}, kind="pair", note="from the Hall sale") + [["stamp", {"item": "H-2", "design": "KF"}]]),
    "every-row-unknown": dict(
        says="What every row says is not to be had: each row is told.",
        sheet=b"Nr\nH-1\n", map=HEAD.encode() + b"every row,XY,,stamp.design,\n1,Nr,,item.label,\n", exit=2,
        records=[], refused=[refused(2, None, "XY")]),
    "every-row-missing": dict(
        says="A map that does not say what every row says is refused, with its line.",
        sheet=b"Nr\nH-1\n", map=HEAD.encode() + b"every row,,,stamp.design,\n1,Nr,,item.label,\n", exit=2,
        error="map.csv: line 2.*what every row says is missing"),
    "every-row-currency": dict(
        says="The currency of an amount is said with it, and again for every row: the map is refused, with the second line.",
        sheet=b"Nr,Paid\nH-1,12\n", map=HEAD.encode() + b"1,Nr,,item.label,\n2,Paid,,item.cost_minor,money EUR\n"
        b"every row,USD,,item.currency,\n", exit=2, error="map.csv: line 4.*the currency is said of an amount, and again"),
    "money-and-currency": dict(
        says="A column says the currencies of the amounts: none, two and three digits, and none said; one has another sign.",
        sheet="No.;Paid;In\nH-1;1200;JPY\nH-2;12.50;EUR\nH-3;1.234;KWD\nH-4;7;\nH-5;£ 3;EUR\n".encode(),
        map=plan(LABEL, ("Paid", "item.cost_minor", "money; decimal point"), ("In", "item.currency", "")),
        options=["--accept-partial"],
        records=item("H-1", cost_minor=1200, currency="JPY") + item("H-2", cost_minor=1250, currency="EUR")
        + item("H-3", cost_minor=1234, currency="KWD") + item("H-4", cost_minor=700),
        refused=[refused(6, 2, "another currency")]),
}


def files():
    for number, (name, case) in enumerate(CASES.items(), 1):
        folder = f"{number:02}-{name}"
        data = case.get("sheet", case.get("book"))
        if case.get("gzip"):
            yield f"{folder}/sheet.csv.gz", gzip.compress(data, mtime=0)
        else:
            yield f"{folder}/sheet.{'csv' if 'sheet' in case else 'xlsx'}", data
        yield f"{folder}/map.csv", case["map"]
        expected = {key: case[key] for key in ("says", "verb", "options", "exit", "records", "refused", "error", "draft") if key in case}
        if case.get("gzip"):  # ten million characters, told by their rule
            expected["records"] = json.loads(json.dumps(expected["records"]).replace("0123456789" * 1000000, "0123456789 * 1000000"))
        yield f"{folder}/expected.json", (json.dumps(expected, indent=2, ensure_ascii=False) + "\n").encode()


def unpacked(path, data):
    """What two files are compared by: compressed bytes depend on the machine's zlib, what they hold does not."""
    if path.suffix == ".gz":
        return gzip.decompress(data)
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            return [(name, book.read(name)) for name in book.namelist()]
    return data


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    wanted = dict(files())
    wrong = sorted({path.relative_to(ROOT).as_posix() for path in ROOT.glob("*/*")} - set(wanted)) if check else []
    for name, data in wanted.items():
        path = ROOT / name
        if check:
            if not path.exists() or unpacked(path, path.read_bytes()) != unpacked(path, data):
                wrong.append(name)
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    if wrong:
        print("differ:", *wrong)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
