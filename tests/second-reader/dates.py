"""spec/dates.md: dates, their bounds, and what is certain of two of them. Sections are those of that page.

A day is (year, month, day); None where there is no bound."""
import calendar
import re

# Grammar

YEAR = r"(?!-0000)-?\d{4}"
DATE = re.compile(rf"""
    (?P<long>Y-?[1-9]\d{{4,14}}) | (?P<masked>-?(?:\d{{3}}X|\d\dXX))
  | (?P<year>{YEAR}) (?: -XX(?:-XX)? | -(?P<season>2[1-4]) | -(?P<month>0[1-9]|1[0-2])
    (?: -XX | -(?P<day>\d\d)(?P<time>T([01]\d|2[0-3]):[0-5]\d:[0-5]\d (?: Z | [+-](?:0\d|1[0-4])(?::[0-5]\d)? )? )? )? )?
    """, re.ASCII | re.VERBOSE)


class Moment:
    """A date by itself: first and last day, and how sure it is."""

    def __init__(self, text):
        self.qualifier = text[-1] if text[-1:] in ("?", "~", "%") else ""
        found = DATE.fullmatch(text[:-1] if self.qualifier else text)
        if not found:
            raise ValueError(text)
        self.timed = bool(found["time"])
        if self.timed and self.qualifier:
            raise ValueError(text)
        if found["long"]:
            self.first, self.last = whole_years(int(found["long"][1:]), int(found["long"][1:]))
        elif found["masked"]:
            self.first, self.last = masked(found["masked"])
        else:
            self.first, self.last = plain(int(found["year"]), found)


# Bounds


def whole_years(first, last):
    return (first, 1, 1), (last, 12, 31)


def masked(text):
    low, high = (int(text.lstrip("-").replace("X", digit)) for digit in "09")
    if not text.startswith("-"):
        return whole_years(low, high)
    return whole_years(-high, min(-low, -1))


def days_in(year, month):
    return calendar.monthrange(year % 400 + 400, month)[1]


def plain(year, found):
    if found["season"]:
        return ((year, 3, 1), (year, 12, 31)) if found["season"] in ("21", "23") else ((year, 1, 1), (year + 1, 3, 31))
    if not found["month"]:
        return whole_years(year, year)
    month = int(found["month"])
    if not found["day"]:
        return (year, month, 1), (year, month, days_in(year, month))
    day = int(found["day"])
    if not 1 <= day <= days_in(year, month):
        raise ValueError(found[0])
    return (year, month, day), (year, month, day)


class Date:
    """An EDTF string: `first` and `last` day, and `flags`. Raises ValueError for any other string."""

    def __init__(self, text):
        start, slash, end = text.partition("/")
        ends = [start, end] if slash else [start]
        self.flags, moments = set(), []
        for name, part in zip(("start", "end"), ends):
            if slash and part in ("", ".."):
                self.flags.add(("open_" if part else "unknown_") + name)
                moments.append(None)
            else:
                moments.append(Moment(part))
        there = [moment for moment in moments if moment]
        if not there or slash and any(moment.timed for moment in there):
            raise ValueError(text)
        qualifiers = "".join(moment.qualifier for moment in there)
        self.flags |= {flag for flag, marks in (("uncertain", "?%"), ("approximate", "~%"))
                       if any(mark in qualifiers for mark in marks)}
        self.first = moments[0].first if moments[0] else None
        self.last = moments[-1].last if moments[-1] else None
        if self.first and self.last and self.first > self.last:
            raise ValueError(text)


# Comparison


def certainly_before(a, b):
    return a.last is not None and b.first is not None and a.last < b.first
