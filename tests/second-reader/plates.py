"""spec/plates.md: the layout of a plate, numbers, and names of places. Sections are those of that page.

A position is (pane, row, column): the pane from 0 in reading order, row and column within it from 0."""
from broken import need

WORDS = {"any", "and", "but", "not", "row", "column", "pane"}
MOST = 100_000


def lower(text):
    """ASCII letters alone have case here."""
    return "".join(c.lower() if c.isascii() else c for c in text)


def letters_of(n):
    """A … Z, AA, AB … for 0, 1 …"""
    return chr(65 + n) if n < 26 else letters_of(n // 26 - 1) + chr(65 + n % 26)


class Plate:
    # Layout

    def __init__(self, rows, columns, panes_across=1, panes_down=1, pane_names=None, numbering="across",
                 corner_letters=False, label=None, states=None):
        self.rows, self.columns, self.across, self.down = rows, columns, panes_across, panes_down
        self.numbering, self.letters, self.label, self.states = numbering, corner_letters, label, states
        self.panes = panes_across * panes_down
        self.count = rows * columns * self.panes
        need(1 <= self.count <= MOST, "R210", f"a plate of {self.count} positions")
        self.names = self.check_names(pane_names) if pane_names else self.default_names()
        self.sheet_wide = numbering == "across_sheet"
        self.fields = 1 if self.sheet_wide else self.panes
        self.field_rows = rows * panes_down if self.sheet_wide else rows
        self.field_columns = columns * panes_across if self.sheet_wide else columns
        self.field_count = self.field_rows * self.field_columns
        self.positions = {(pane, row, column) for pane in range(self.panes) for row in range(rows)
                          for column in range(columns)}

    def check_names(self, names):
        need(len(names) == self.panes and len({lower(name) for name in names}) == len(names), "R211", "names of panes")
        for name in names:
            need(1 <= len(name.encode()) <= 16 and all(not c.isascii() or c.isalpha() for c in name)
                 and lower(name) not in WORDS, "R211", f"the pane {name!r}")
        return names

    def default_names(self):
        fixed = {(1, 1): [""], (2, 1): ["L", "R"], (1, 2): ["T", "B"], (2, 2): ["UL", "UR", "LL", "LR"]}
        need(self.panes <= 702, "R211", "too many panes without names")
        return fixed.get((self.across, self.down)) or [letters_of(n) for n in range(self.panes)]

    # Numbering

    def sheet(self, position):
        """Row and column on the whole sheet."""
        pane, row, column = position
        return pane // self.across * self.rows + row, pane % self.across * self.columns + column

    def field(self, position):
        """(field, row, column) in which numbers, rows and columns of the position count."""
        return (0, *self.sheet(position)) if self.sheet_wide else position

    def number(self, position):
        _, row, column = self.field(position)
        return (column * self.field_rows + row if self.numbering == "down" else row * self.field_columns + column) + 1

    def pane_of(self, name):
        return next((pane for pane, other in enumerate(self.names) if other and lower(other) == lower(name)), None)

    # Names of a place

    def corner(self, position):
        if not self.letters or max(self.rows * self.down, self.columns * self.across) > 26:
            return None
        row, column = self.sheet(position)
        return chr(65 + row) + chr(65 + column)
