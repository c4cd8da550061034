"""spec/dates.md, "What people type": dates as people write them. `understand` gives EDTF, or raises ValueError."""
import re

from dates import Date, days_in

MONTHS = ["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
          "december"]
ROMAN = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"]
SEASONS = {"spring": 21, "summer": 22, "autumn": 23, "fall": 23, "winter": 24}
ABOUT = r"(?:about|around|circa|approximately|approx\.?|ca\.?(?=[ \d])|c\.?(?= ?\d| [a-z])|~)"
PERHAPS = r"(?:perhaps|possibly|probably|maybe)"
YEAR = r"\d{4}"
EDGES = [  # before and behind a date; what it becomes
    (r"(?:before|prior to) (.+)", "before"), (r"after (.+)", "after"),
    (r"(?:until|by|not after|up to) (.+)", "until"), (r"(.+?) (?:or|and) earlier", "until"),
    (r"(?:since|from|not before) (.+)", "since"), (r"(.+?) (?:or later|and later|onwards?)", "since")]


def month_of(word):
    word = word.rstrip(".")
    if word in ROMAN:
        return ROMAN.index(word) + 1
    found = [n for n, name in enumerate(MONTHS, 1) if len(word) >= 3 and name.startswith(word)]
    found = found or ([9] if word == "sept" else [])
    if len(found) != 1:
        raise ValueError(word)
    return found[0]


def make(year, month=None, day=None):
    if month is None:
        return f"{int(year):04d}"
    if not 1 <= int(month) <= 12:
        raise ValueError(month)
    if day is None:
        return f"{int(year):04d}-{int(month):02d}"
    if not 1 <= int(day) <= days_in(int(year), int(month)):
        raise ValueError(day)
    return f"{int(year):04d}-{int(month):02d}-{int(day):02d}"


def day_and_month(first, second, year):
    """Two numbers of which one is the day: only where one cannot be a month, or both are equal."""
    first, second = int(first), int(second)
    if first == second or first > 12 >= second:
        return make(year, second, first)
    if second > 12 >= first:
        return make(year, first, second)
    raise ValueError("day or month?")


WORD, DAY, SEP = r"([a-z]+\.?)", r"(\d{1,2})(?:st|nd|rd|th)?\.?", r"[ /.-]+"
PLAIN = [
    (rf"({YEAR})", lambda y: make(y)),
    (rf"({YEAR})[-/.](\d{{1,2}})[-/.](\d{{1,2}})", lambda y, m, d: make(y, m, d)),
    (rf"(\d{{1,2}})\. ?(\d{{1,2}})\. ?({YEAR})", lambda d, m, y: make(y, m, d)),
    (rf"(\d{{1,2}})[-/](\d{{1,2}})[-/]({YEAR})", day_and_month),
    (rf"(\d{{1,2}})/({YEAR})", lambda m, y: make(y, m)),
    (rf"({YEAR})-(\d{{1,2}})", lambda y, m: make(y, m)),
    (rf"{DAY}{SEP}?{WORD}{SEP}?({YEAR})", lambda d, m, y: make(y, month_of(m), d)),
    (rf"{WORD} {DAY} ({YEAR})", lambda m, d, y: make(y, month_of(m), d)),
    (rf"({YEAR}){SEP}{WORD}{SEP}{DAY}", lambda y, m, d: make(y, month_of(m), d)),
    (rf"(?:{WORD}){SEP}({YEAR})", lambda m, y: f"{y}-{SEASONS[m]}" if m in SEASONS else make(y, month_of(m))),
    (rf"({YEAR}) {WORD}", lambda y, m: f"{y}-{SEASONS[m]}" if m in SEASONS else make(y, month_of(m))),
    (r"(\d{3})0'?s", lambda decade: no_century(decade)), (r"(\d{3})x", lambda decade: decade + "X"),
    (r"(\d\d)xx", lambda century: century + "XX"),
    (r"(\d{1,2})(?:st|nd|rd|th) century", lambda n: f"{int(n) * 100 - 99:04d}/{int(n) * 100:04d}" if int(n) else no(n)),
]


def no(text):
    raise ValueError(text)


def no_century(decade):
    return no(decade) if decade.endswith("0") else decade + "X"


def tidy(text):
    text = re.sub(r"[ \t\n]+", " ", text.lower().replace(",", " ").replace("–", "-")).strip()
    return re.sub(r"(?:^| )(?:of|the|in|on)(?= )", "", text).strip()


def plain(text):
    if re.search(r"[a-z]", text) and not any(season in text for season in SEASONS):
        text = text.rstrip(".")         # a full stop behind a date with a month's name
    for form, meaning in PLAIN:
        found = re.fullmatch(form, text, re.ASCII)
        if found:
            return meaning(*found.groups())
    return no(text)


def qualified(text):
    """(date, qualifier)"""
    about = perhaps = False
    while True:
        found = re.fullmatch(rf"{ABOUT} ?(.+)|(.+?) ?(?:{ABOUT})", text)
        doubt = re.fullmatch(rf"(?:\?|{PERHAPS}) ?(.+)|(.+?) ?(?:\?|{PERHAPS})", text)
        if found and not about:
            about, text = True, found[1] or found[2]
        elif doubt and not perhaps:
            perhaps, text = True, doubt[1] or doubt[2]
        else:
            return text, "%" if about and perhaps else "~" if about else "?" if perhaps else ""


def moment(text):
    bare, mark = qualified(text)
    if re.fullmatch(r"\d{4}(-\d\d(-\d\d)?)?|\d{3}X|\d\dXX", bare.upper()):
        Date(bare.upper())
        return bare.upper() + mark
    return plain(bare) + mark


def neighbour(text, step):
    """What comes just before or after a date, as precise as it is."""
    edtf = moment(text)
    mark = edtf[-1] if edtf[-1] in "?~%" else ""
    body = edtf[:-1] if mark else edtf
    date = Date(body)
    if re.fullmatch(r"\d{4}-2[1-4]", body) or "/" in body:
        return no(text)
    year, month, day = date.first if step < 0 else date.last
    if "X" in body or len(body) == 4:
        next_one = make(in_range(year + step))
    elif len(body) == 7:
        months = year * 12 + month - 1 + step
        next_one = make(in_range(months // 12), months % 12 + 1)
    else:
        day += step
        if day == 0 or day > days_in(year, month):
            months = year * 12 + month - 1 + step
            year, month = in_range(months // 12), months % 12 + 1
            day = 1 if step > 0 else days_in(year, month)
        next_one = make(year, month, day)
    return next_one + mark


def in_range(year):
    return year if 0 <= year <= 9999 else no(year)


def lend(start, end):
    """What one end lacks is taken from the other: 14-16 March 1860, March to May 1860, 1861-63."""
    if re.fullmatch(r"\d{2}", end) and re.search(r"\d{4}$", start):
        return start, start[-4:-2] + end
    month_and_day = re.fullmatch(r"([a-z]+\.?) \d{1,2}(?:st|nd|rd|th)?", start)
    if month_and_day and re.fullmatch(rf"{DAY} {YEAR}", end):
        return f"{start} {end[-4:]}", f"{month_and_day[1]} {end}"
    if not re.search(r"\d{4}|\d\dxx|\dx\b|\d0s|century", start):
        tail = re.search(r"(?: ?[a-z]+\.? ?)?\d{4}$", end)
        if re.fullmatch(DAY, start) and tail:
            return f"{start} {tail[0].strip()}", end
        if tail:
            return f"{start} {end[-4:]}", end
    return start, end


def interval(start, end):
    if not start.strip() or not end.strip():
        return no("one end")
    start, mark_start = qualified(start)
    end, mark_end = qualified(end)
    start, end = lend(start, end)
    return f"{moment(start)}{mark_start or mark_end}/{moment(end)}{mark_end or mark_start}"


def understand(text):
    try:
        stripped = text.strip()
        Date(stripped)
        return stripped
    except ValueError:
        pass
    result = words(tidy(text))
    Date(result)
    return result


def words(text):
    for form, what in EDGES:
        found = re.fullmatch(form, text)
        if found:
            try:
                return edge(what, found[1])
            except ValueError:
                continue
    between = re.fullmatch(r"between (.+?) and (.+)", text) or re.fullmatch(r"from (.+?) (?:to|until) (.+)", text)
    if between:
        return interval(between[1], between[2])
    try:
        return moment(text)
    except (ValueError, KeyError):
        pass
    for mark in (" to ", " or ", " - ", "-", "/"):
        head, found, tail = text.partition(mark)
        if found and tail.count(mark) == 0:
            return interval(head, tail)
    return no(text)


def edge(what, text):
    if what == "before":
        return "../" + neighbour(text, -1)
    if what == "after":
        return neighbour(text, 1) + "/.."
    return f"../{moment(text)}" if what == "until" else f"{moment(text)}/.."
