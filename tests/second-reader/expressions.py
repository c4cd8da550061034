"""spec/expressions.md: expressions of positions. Sections are those of that page."""
import re

from broken import Broken
from plates import lower

TOKEN = re.compile(r"(?P<number>[0-9]+)|(?P<word>(?:[A-Za-z]|[^\x00-\x7f])+)|(?P<mark>[-,/()])|(?P<bad>[^ \t\n\r])")
SPACE, DIGITS, DASHES = " \t\n\r", tuple("0123456789"), "\u2012\u2013\u2014\u2015\u2212"


class At(Broken):
    """A refusal with the character at which it is, from 1."""

    def __init__(self, rule, index, what):
        super().__init__(rule, f"character {index + 1}: {what}")
        self.character = index + 1


# Grammar


class Parser:
    """One method for each rule of the grammar. `state` is what the initials name, after `expression()`."""

    def __init__(self, text, plate):
        self.text, self.plate, self.state = text, plate, None
        if len(text.encode()) > 1024 + 16 * plate.count:
            raise At("R209", 0, "too long")
        self.read_from(0)

    def read_from(self, index):
        self.tokens = [(m.lastgroup, m[0], m.start()) for m in TOKEN.finditer(self.text, index)]
        self.tokens.append(("end", "", len(self.text)))
        self.at = 0

    def kind(self, ahead=0):
        return self.tokens[min(self.at + ahead, len(self.tokens) - 1)][0]

    def word(self, ahead=0):
        """The word there, in lower case; else nothing."""
        kind, text, _ = self.tokens[min(self.at + ahead, len(self.tokens) - 1)]
        return lower(text) if kind == "word" else ""

    def is_mark(self, mark):
        return self.tokens[self.at][:2] == ("mark", mark)

    def place(self):
        return self.tokens[self.at][2]

    def take(self, kind):
        if self.kind() != kind:
            raise At("R200", self.place(), f"no {kind}")
        self.at += 1
        return self.tokens[self.at - 1][1]

    def take_mark(self, mark):
        if not self.is_mark(mark):
            raise At("R200", self.place(), f"no {mark}")
        self.at += 1

    def expression(self):
        found = self.alternatives()
        if self.word() == "but":
            but = self.place()
            self.at += 1
            if self.word() != "not":
                raise At("R200", self.place(), "but what?")
            self.at += 1
            found = found - self.alternatives()
            if not found:
                raise At("R207", but, "nothing left")
        self.take("end")
        return found

    def alternatives(self):
        found = self.part()
        while self.is_mark(","):
            self.at += 1
            found = found | self.part()
        return found

    def part(self):
        start, loose, found = self.place(), None, self.plate.positions
        while True:
            here = self.place()
            positions, needs_pane = self.clause()
            if needs_pane and loose is None:
                loose = here
            found = found & positions
            if self.word() != "and":
                break
            self.at += 1
        if not (self.kind() == "end" or self.is_mark(",") or self.word() == "but"):
            raise At("R200", self.place(), "not understood")
        if not found:
            raise At("R207", start, "no position")
        if loose is not None and len({pane for pane, _, _ in found}) > 1:
            raise At("R208", loose, "which pane?")
        return found

    def clause(self):
        """The positions, and whether a pane is to tell them apart."""
        several = self.plate.fields > 1
        if self.kind() == "number":
            if self.kind(1) == "word" and self.word(1) not in ("and", "but"):
                return self.in_pane(), False
            first, last = self.range(self.plate.field_count, "R201")
            return self.select(lambda p: first <= self.plate.number(p) <= last), several
        start, word = self.place(), self.word()
        self.take("word")
        if word == "r":
            row = self.number(self.plate.field_rows, "R202")
            self.take_mark("/")
            column = self.number(self.plate.field_columns, "R202")
            return self.select(lambda p: self.plate.field(p)[1:] == (row - 1, column - 1)), several
        if word in ("row", "column"):
            axis, most = (1, self.plate.field_rows) if word == "row" else (2, self.plate.field_columns)
            first, last = self.range(most, "R202")
            return self.select(lambda p: first <= self.plate.field(p)[axis] + 1 <= last), False
        if word == "pane":
            return self.pane(), False
        if word == "any":
            return self.plate.positions, False
        if re.fullmatch("[a-z]{2}", word):
            return self.corner(word, start), False
        raise At("R200", start, "not a word of expressions")

    def select(self, test):
        return {position for position in self.plate.positions if test(position)}

    def range(self, most, rule):
        start, first = self.place(), self.number(most, rule)
        last = first
        if self.is_mark("-"):
            self.at += 1
            last = self.number(most, rule)
        if last < first:
            raise At("R206", start, "a range that runs down")
        return first, last

    def number(self, most, rule):
        start, digits = self.place(), self.take("number").lstrip("0")
        if not digits or len(digits) > 9 or int(digits) > most:
            raise At(rule, start, "no such number")
        return int(digits)

    def pane(self):
        start, pane = self.place(), self.plate.pane_of(self.take("word"))
        if pane is None:
            raise At("R203", start, "no such pane")
        return self.select(lambda p: p[0] == pane)

    def corner(self, word, start):
        found = self.select(lambda p: (self.plate.corner(p) or "").lower() == word)
        if not found:
            raise At("R205", start, "no such corner letters")
        return found

    def in_pane(self):
        start, number = self.place(), self.number(self.plate.field_count, "R201")
        pane, end = self.pane_name()
        found = self.select(lambda p: p[0] == pane and self.plate.number(p) == number)
        if not found:
            raise At("R201", start, "in another pane")
        end += len(self.text[end:]) - len(self.text[end:].lstrip(SPACE))
        self.read_from(end)
        if not (self.kind() == "end" or self.is_mark(",") or self.word() in ("and", "but")):
            self.label_and_state()
        return found

    def pane_name(self):
        """The pane, and the index at which its name ends."""
        start, word = self.place(), self.take("word")
        for length in range(len(word), 0, -1):
            pane, end = self.plate.pane_of(word[:length]), start + length
            if pane is not None and (length == len(word) or self.after_label(end)):
                return pane, end
        raise At("R200" if word[0] in DASHES else "R203", start, "no such pane")

    def after_label(self, index):
        """The index behind the plate's label, where it stands there; else None."""
        label = self.plate.label
        end = index + len(label or "")
        if not label or lower(self.text[index:end]) != lower(label):
            return None
        return None if label.endswith(DIGITS) and self.text[end:].startswith(DIGITS) else end

    def label_and_state(self):
        start, end = self.place(), self.after_label(self.place())
        if end is None:
            raise At("R204" if self.kind() in ("number", "word") else "R200", start, "no label of this plate")
        self.read_from(end)
        if self.word() in ("and", "but"):
            return
        if self.is_mark("("):
            self.at += 1
            self.take_state()
            self.take_mark(")")
        elif self.kind() == "word":
            self.take_state()

    def take_state(self):
        start, initial = self.place(), lower(self.take("word"))
        state, states = initial, self.plate.states
        if states is not None:
            named = [s for s in states if lower(s) == initial] or [s for s in states if lower(s).startswith(initial)]
            if len(named) != 1:
                raise At("R212", start, "no such state, or several")
            state = named[0]
        if self.state not in (None, state):
            raise At("R212", start, "two states")
        self.state = state


def parse(text, plate):
    """(positions, state or None)"""
    parser = Parser(text, plate)
    return parser.expression(), parser.state


# The canonical expression


def span(first, last):
    return str(first) if first == last else f"{first}-{last}"


def runs(numbers):
    """Maximal runs of consecutive numbers, as lists."""
    found = []
    for number in sorted(numbers):
        if found and found[-1][-1] == number - 1:
            found[-1].append(number)
        else:
            found.append([number])
    return found


def trimmed(allowed, needed):
    """Of each run of allowed numbers, from the first needed one to the last."""
    for run in runs(allowed):
        wanted = [number for number in run if number in needed]
        if wanted:
            yield wanted[0], wanted[-1], wanted


class Printer:
    def __init__(self, plate):
        self.plate, self.several = plate, plate.fields > 1
        self.by_field = {}
        for position in plate.positions:
            field, row, column = plate.field(position)
            self.by_field[field, row, column] = position

    def box(self, fields, rows, columns):
        return {self.by_field[f, r, c] for f in fields for r in rows for c in columns}

    def line(self, axis, fields, n):
        plate = self.plate
        return self.box(fields, [n], range(plate.field_columns)) if axis == "row" else self.box(
            fields, range(plate.field_rows), [n])

    # the steps: each gives its parts, and what it names

    def panes(self, need, allow):
        for pane, name in enumerate(self.plate.names if self.plate.panes > 1 else []):
            all_of_it = {p for p in self.plate.positions if p[0] == pane}
            if all_of_it <= allow and all_of_it & need:
                yield f"pane {name}", all_of_it

    def lines(self, axis, need, allow):
        need = set(need)
        groups = [range(self.plate.fields)] + ([[f] for f in range(self.plate.fields)] if self.several else [])
        for fields in groups:
            before = f"pane {self.plate.names[fields[0]]} and " if self.several and len(fields) == 1 else ""
            count = self.plate.field_rows if axis == "row" else self.plate.field_columns
            whole = {n: self.line(axis, fields, n) for n in range(count)}
            allowed = [n for n in whole if whole[n] <= allow]
            for first, last, _ in list(trimmed(allowed, {n for n in allowed if whole[n] & need})):
                named = set().union(*(whole[n] for n in range(first, last + 1)))
                need -= named
                yield f"{before}{axis} {span(first + 1, last + 1)}", named

    def rows(self, need, allow):
        return self.lines("row", need, allow)

    def columns(self, need, allow):
        return self.lines("column", need, allow)

    def numbers(self, need, allow):
        for field in range(self.plate.fields):
            place = {self.plate.number(p): p for p in self.plate.positions if self.plate.field(p)[0] == field}
            allowed = [n for n, p in place.items() if p in allow]
            for first, last, wanted in trimmed(allowed, {n for n, p in place.items() if p in need}):
                yield self.number_run(field, first, last, wanted), {place[n] for n in range(first, last + 1)}

    def number_run(self, field, first, last, wanted):
        if not self.several:
            return span(first, last)
        name = self.plate.names[field]
        one_by_one = ", ".join(f"{n}{name}" for n in wanted)
        if first == last:
            return one_by_one
        together = f"pane {name} and {span(first, last)}"
        return min(together, one_by_one, key=lambda text: len(text.encode()))

    def boxes_by_rows(self, need, allow):
        return self.boxes(need, lambda field, row, column: (row, column))

    def boxes_by_columns(self, need, allow):
        return self.boxes(need, lambda field, row, column: (column, row))

    def boxes(self, need, turn):
        for field in range(self.plate.fields):
            lines = {}
            for position in need:
                if self.plate.field(position)[0] == field:
                    line, place = turn(*self.plate.field(position))
                    lines.setdefault(line, set()).add(place)
            for group in self.alike(lines):
                for stretch in runs(lines[group[0]]):
                    rows, columns = turn(field, group, stretch)
                    yield self.box_text(field, rows, columns), self.box([field], rows, columns)

    @staticmethod
    def alike(lines):
        """Neighbouring lines with the same places, taken together."""
        groups = []
        for line in sorted(lines):
            if groups and groups[-1][-1] == line - 1 and lines[line] == lines[groups[-1][0]]:
                groups[-1].append(line)
            else:
                groups.append([line])
        return groups

    def box_text(self, field, rows, columns):
        numbers = sorted(self.plate.number(p) for p in self.box([field], rows, columns))
        if len(runs(numbers)) == 1:
            return self.number_run(field, numbers[0], numbers[-1], numbers)
        row, column = (f"{name} {span(lines[0] + 1, lines[-1] + 1)}" for name, lines in (("row", rows), ("column", columns)))
        whole_rows, whole_columns = len(columns) == self.plate.field_columns, len(rows) == self.plate.field_rows
        text = row if whole_rows else column if whole_columns else f"{row} and {column}"
        return f"pane {self.plate.names[field]} and {text}" if self.several else text

    # the lists, and the ways of writing

    def write(self, steps, need, allow):
        parts, need = [], set(need)
        for step in steps:
            for text, named in list(step(need, allow)):
                parts.append(text)
                need -= named
        return ", ".join(parts)

    def lists(self, need, allow):
        for steps in ([self.numbers], [self.rows, self.numbers], [self.columns, self.numbers],
                      [self.rows, self.columns, self.numbers], [self.boxes_by_rows], [self.boxes_by_columns]):
            yield self.write([self.panes, *steps], need, allow)

    def bases(self, wanted):
        fields = range(self.plate.fields)
        yield "any", self.plate.positions
        for axis, step, at in (("row", self.rows, 1), ("column", self.columns, 2)):
            touched = {self.plate.field(p)[at] for p in wanted}
            base = set().union(*(self.line(axis, fields, n) for n in touched))
            yield self.write([step], base, base), base
        if self.plate.panes > 1:
            base = {p for p in self.plate.positions if p[0] in {q[0] for q in wanted}}
            yield self.write([self.panes], base, base), base

    def ways(self, wanted):
        yield from self.lists(wanted, wanted)
        for text, base in self.bases(wanted):
            if wanted < base:
                rest = base - wanted
                for out in self.lists(rest, rest | self.plate.positions - base):
                    yield f"{text} but not {out}"


def canonical(positions, plate):
    if positions == plate.positions:
        return "any"
    return min(Printer(plate).ways(positions), key=lambda text: (len(text.encode()), text.encode()))
