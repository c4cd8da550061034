"""spec/records.md: the rules of records, over the readings of a bundle. Sections are those of that page."""
import collections
import itertools
import json
import pathlib
import re

import dates
import expressions
import images
import limits
import plates
from broken import Broken
from slips import DIGEST, RECORD, matches

TABLE = json.loads((pathlib.Path(__file__).parents[2] / "testvectors/records/table.json").read_text())
TYPES = {kind["name"]: kind for kind in TABLE["types"]}
FIELDS = {(kind["name"], field["name"]): field for kind in TABLE["types"] for field in kind["fields"]}
AUTHORED = {kind["name"] for kind in TABLE["types"] if kind["authored"]}
NEEDS_ONE_OF = {kind["name"]: kind["either"] for kind in TABLE["types"] if "either" in kind}
LAYOUT = ("rows", "columns", "panes_across", "panes_down", "numbering", "pane_names")

# 2 Values


def check_value(field, value):
    """The rule that a value breaks, or None."""
    kind = field["kind"]
    if kind == "integer":
        if isinstance(value, bool) or not isinstance(value, int):
            return "R020"
        return None if field["least"] <= value <= field["most"] else "R023"
    if kind == "truth":
        return None if isinstance(value, bool) else "R020"
    if kind == "region":
        good = isinstance(value, list) and len(value) == 4 and all(type(n) is int for n in value)
        return None if good and min(value[:2]) >= 0 and min(value[2:]) >= 1 else "R026"
    if kind in ("texts", "choices", "refs"):
        if not isinstance(value, list) or not all(isinstance(element, str) for element in value):
            return "R020"
        if not value or "" in value or not field.get("least", 1) <= len(value) <= field.get("most", len(value)):
            return "R025"
        return next(filter(None, (check_text(field, kind[:-1], element) for element in value)), None)
    return check_text(field, kind, value) if isinstance(value, str) else "R020"


def check_text(field, kind, value):
    if kind == "choice":
        return None if value in field["choices"] else "R021"
    if kind == "hex":
        return None if matches(DIGEST, value) else "R024"
    if kind == "ref":
        if not matches(RECORD, value):
            return "R030"
        return None if value.partition("/")[0] in field.get("refs", [value.partition("/")[0]]) else "R031"
    if kind == "date":
        try:
            dates.Date(value)
        except ValueError:
            return "R022"
        return None
    return "R025" if value == "" else None


class Audit:
    """`found`: (rule, record) of everything that the records of a bundle break. `content`: digest → bytes of a scan."""

    def __init__(self, readings, content, dispatch):
        self.readings, self.content, self.dispatch = readings, content, dispatch
        self.by_record = collections.defaultdict(list)
        for (record, _), reading in readings.items():
            self.by_record[record].append(reading)
        self.found = []
        for (record, author), reading in sorted(readings.items(), key=str):
            kind = record.partition("/")[0]
            if kind in TYPES:
                self.check_fields(kind, record, reading)
                self.check_unknown_fields(kind, record, reading)
                getattr(self, "check_" + kind, lambda *_: None)(record, reading, author)
        self.check_places()
        self.check_ranked()
        self.check_joins()

    def report(self, rule, record):
        if rule and (rule, record) not in self.found:
            self.found.append((rule, record))

    def get(self, record, name):
        """The one value of a field, of the first author who says one; None where it is unsaid or contested."""
        values = [reading.value(name)[0] for reading in self.by_record.get(record, [])]
        return next((value for value in values if value is not None), None)

    def check_fields(self, kind, record, reading):
        said = {name for (name, _), values in reading.fields.items() if not all(value.cleared for value in values)}
        if not any(map(reading.counts, reading.slips)):
            return                      # nobody whose word counts says that it is there
        for field in TYPES[kind]["fields"]:
            if field.get("required") and field["name"] not in said:
                self.report("R040", record)
        if kind in NEEDS_ONE_OF and not said & set(NEEDS_ONE_OF[kind]):
            self.report("R040", record)
        for (name, _), values in reading.fields.items():
            field = FIELDS.get((kind, name))
            for value in values if field else []:
                if not value.cleared:
                    self.report(check_value(field, value.value), record)
                    self.check_reference(field, value.value, record)

    def check_unknown_fields(self, kind, record, reading):
        """L025: fields that the type does not have, and that several slips touch."""
        touched = collections.Counter(name for slip in reading.slips.values() for name in [*slip.set, *slip.clear]
                                      if (kind, name) not in FIELDS)
        many = sum(count > 1 for count in touched.values()) > limits.RECORD_FIELDS
        self.report("L025" if many else None, record)

    def check_reference(self, field, value, record):
        if field["kind"] in ("ref", "refs") and not self.dispatch:
            for one in value if isinstance(value, list) else [value]:
                if matches(RECORD, one) and one not in self.by_record:
                    self.report("R032", record)

    # 6 Rules that span fields and records

    def check_match(self, record, reading, author):
        stamps = reading.value("stamps")[0]
        if isinstance(stamps, list) and len(stamps) == 2 and stamps[0] == stamps[1]:
            self.report("R043", record)

    def check_join(self, record, reading, author):
        names = reading.value("records")[0] or []
        if len({name.partition("/")[0] for name in names}) > 1 or len(set(names)) < len(names):
            self.report("R044", record)

    def check_joins(self):
        for (record, _), reading in self.readings.items():
            names = reading.value("records")[0] or [] if record.startswith("join/") else []
            layouts = {json.dumps([self.get(name, field) for field in LAYOUT]) for name in names
                       if name.startswith("plate/")}
            if len(layouts) > 1 and not reading.value("withdrawn")[0]:
                self.report("R045", record)

    def check_claim(self, record, reading, author):
        earlier = reading.value("instead_of")[0]
        if earlier:
            own = self.readings.get((earlier, author))
            if not own or own.value("stamp")[0] != reading.value("stamp")[0]:
                self.report("R046", record)
        self.check_placed(record, reading)

    def check_conclusion(self, record, reading, author):
        self.check_placed(record, reading)

    def check_event(self, record, reading, author):
        """R049: of a purchase or sale nobody else sees anything."""
        private = any(slip.set.get("kind") in ("acquired", "sold") for slip in reading.slips.values())
        self.report("R049" if private and any(s.reach != "private" for s in reading.slips.values()) else None, record)

    def check_selection(self, record, reading, author):
        captions = reading.value("captions")[0]
        if captions is not None and len(captions) != len(reading.value("items")[0] or []):
            self.report("R047", record)

    def check_scan(self, record, reading, author):
        data = self.content(reading.value("sha256")[0])
        if data is None:
            return
        self.report(None if reading.value("bytes")[0] == len(data) else "R050", record)
        self.report(None if images.is_sound(data) else "R053", record)
        size = images.size_of(data)
        said = tuple(reading.value(name)[0] for name in ("width", "height"))
        if reading.value("media")[0] != images.media_of(data) or None not in said and size and said != size:
            self.report("R051", record)

    def check_region(self, record, reading, author):
        region, scan = reading.value("region")[0], reading.value("scan")[0]
        width, height = self.get(scan, "width"), self.get(scan, "height")
        if region and check_value({"kind": "region"}, region) is None and width and height:
            if region[0] + region[2] > width or region[1] + region[3] > height:
                self.report("R052", record)

    check_observation = check_marking = check_region

    def check_places(self):
        """R055 and R056: the stamps of each item."""
        items = collections.defaultdict(list)
        for record in self.by_record:
            row, column = self.get(record, "row"), self.get(record, "column")
            if record.startswith("stamp/") and row is not None and column is not None:
                items[self.get(record, "item")].append((row, column, record))
        for item, places in sorted(items.items(), key=str):
            for one, other in itertools.combinations(places, 2):
                self.report("R056" if one[:2] == other[:2] else None, other[2])
            rows, columns = ({place[axis] for place in places} for axis in (0, 1))
            fits = {"single": rows == columns == {1},
                    "pair": rows | columns <= {1, 2} and 1 in (len(rows), len(columns)),
                    "strip": len(rows) == 1 or len(columns) == 1}.get(self.get(item, "kind"), True)
            self.report(None if fits else "R055", item)

    def check_ranked(self):
        """R220 and R221: how many observations of each stamp, how many places of each design."""
        seen, places, on = collections.Counter(), collections.Counter(), collections.defaultdict(list)
        for record in self.by_record:
            if record.startswith("stamp/"):
                on[self.get(record, "item")].append(record)
            if record.startswith("plate/"):
                places[self.get(record, "design")] += self.places_of(record)
        for record, readings in self.by_record.items():
            for reading in readings if record.startswith("observation/") else []:
                stamp, those = reading.value("stamp")[0], on[reading.value("item")[0]]
                seen[stamp or (those[0] if len(those) == 1 else None)] += 1
        for counted, most, rule in ((seen, limits.OBSERVATIONS, "R220"), (places, limits.PLACES, "R221")):
            for record, count in sorted(counted.items(), key=str):
                self.report(rule if record and count > most else None, record)

    def places_of(self, plate):
        try:
            layout = self.plate(plate)
        except Broken:
            return 0
        return layout.count * min(max(len(self.states(plate)), 1), limits.STATES) if layout else 0

    # plates and what is about them (plates.md, expressions.md)

    def check_plate(self, record, reading, author):
        try:
            self.plate(record)
        except Broken as broken:
            self.report(broken.rule, record)
        orders = [self.get(state, "order") for state in self.states(record)]
        self.report("R222" if len(orders) > limits.STATES else None, record)
        self.report("R214" if len(set(orders)) < len(orders) else None, record)

    def states(self, plate):
        return [r for r in sorted(self.by_record) if r.startswith("plate_state/") and self.get(r, "plate") == plate]

    def plate(self, record):
        """Its layout; None where that is not known."""
        said = {name: self.get(record, name) for name in (*LAYOUT, "label", "corner_letters")}
        if not isinstance(said["rows"], int) or not isinstance(said["columns"], int):
            return None
        states = [self.get(state, "name") for state in self.states(record)]
        return plates.Plate(states=states, **{name: value for name, value in said.items() if value is not None})

    def check_mark(self, record, reading, author):
        plate = reading.value("plate")[0]
        self.check_expression(record, reading, [plate] if plate else [])
        ends = [reading.value(name)[0] for name in ("first_state", "last_state")]
        self.report("R212" if any(end and self.get(end, "plate") != plate for end in ends) else None, record)
        orders = [self.get(end, "order") for end in ends if end]
        if len(orders) == 2 and None not in orders and orders[0] > orders[1]:
            self.report("R213", record)

    def check_placed(self, record, reading):
        stamp, state = reading.value("stamp")[0], reading.value("state")[0]
        design = self.get(stamp, "design")
        named = reading.value("plates")[0] or [r for r in sorted(self.by_record) if r.startswith("plate/")
                                               and design in (None, self.get(r, "design"))]
        self.check_expression(record, reading, named)
        if state and named and self.get(state, "plate") not in named:
            self.report("R212", record)

    def check_expression(self, record, reading, named):
        """Reported where it fits none of the plates."""
        text, rules = reading.value("positions")[0], []
        for plate in named if isinstance(text, str) and text else []:
            try:
                plate = self.plate(plate)
                if plate:
                    expressions.parse(text, plate)
                rules.append(None)
            except Broken as broken:
                rules.append(broken.rule if broken.rule not in ("R210", "R211") else None)
        if rules and None not in rules:
            self.report(rules[0], record)
