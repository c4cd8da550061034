"""What the grammars of spec/ say in prose: MORE has a test of it by page and rule."""
import calendar
import json
import pathlib
import re
import sys
import unicodedata

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "second-reader"))
import dates  # noqa: E402

# (page, rule) → test(text, start, end)
DEVICES = re.compile(r"(?i)(con|prn|aux|nul|(com|lpt)[1-9])")
WORD = re.compile(r"[A-Za-z]|[^\x00-\x7f]")
WORDS = {"any", "and", "but", "not", "row", "column", "pane"}


def is_part(text, start, end):
    part = text[start:end]
    return len(part.encode()) <= 128 and not DEVICES.fullmatch(part.partition(".")[0].rstrip(" "))


def is_name(text, start, end):
    return len(text[start:end].encode()) <= 512 and unicodedata.is_normalized("NFC", text[start:end])


def is_letter(text, start, end):
    return text[start] < "\x80" or unicodedata.category(text[start])[0] in "LM"


def is_path(text, start, end):
    return not text[start:end].startswith("data/scans/") and is_name(text, start, end)


def is_sorted(text, start, end):
    names = [line[66:].encode() for line in text[start:end].split("\n")[:-1]]
    return names == sorted(set(names))


def has_sorted_names(text, start, end):
    """Members by their names' UTF-16 code units, each once."""
    try:
        names = json.loads(text[start:end], object_pairs_hook=lambda pairs: [name for name, _ in pairs])
    except ValueError:
        return False
    return names == sorted(set(names), key=lambda name: name.encode("utf-16-be"))


def is_exact(text, start, end):
    return abs(int(text[start:end])) < 2 ** 53


def is_time(text, start, end):
    year, month, day, hour, minute, second = map(int, re.findall("[0-9]+", text[start:end]))
    return 1 <= month <= 12 and 1 <= day <= days_in(year, month) and hour < 24 and minute < 60 and second < 60


def days_in(year, month):
    return calendar.mdays[month] + (month == 2 and (year % 4 == 0 and year % 100 != 0 or year % 400 == 0))


def is_day(text, start, end):
    found = re.fullmatch(r"(-?\d{4})-(\d\d)-(\d\d)", text[start:end])
    return int(found[3]) <= days_in(int(found[1]), int(found[2]))


def is_interval(text, start, end):
    """The bounds of its ends are those of the second reader."""
    first, last = (dates.Date(one) if one not in ("", "..") else None for one in text[start:end].split("/"))
    return not (first and last) or first.first <= last.last


def is_span(text, start, end):
    first, last = re.findall("[0-9]{8}", text[start:end])
    return 1 <= int(first) <= int(last)


def is_below_2_63(text, start, end):
    return int(text[start:end]) < 2 ** 63


def is_edition_number(text, start, end):
    return int(text[start:end]) <= 2 ** 32 - 2


def is_year(text, start, end):
    return text[start:end] != "-0000"


def is_whole_word(text, start, end):
    """The white space behind it is part of the rule."""
    last = len(text[start:end].rstrip(" \t\n\r")) + start
    return not (start and WORD.match(text[start - 1])) and not (last == end and WORD.match(text, end))


def is_initial(text, start, end):
    last = len(text[start:end].rstrip(" \t\n\r")) + start
    return not (last == end and WORD.match(text, end)) and text[start:last].lower() not in WORDS


def is_version(text, start, end):
    said = [one.partition(":") for one in text[start:end].split(" ")]
    reaches = [("shared", "telling", "private").index(reach) for reach, _, _ in said]
    return reaches == sorted(set(reaches)) and all(latest.split("+") == sorted(set(latest.split("+"))) for _, _, latest in said)


def is_element(text, start, end):
    return text[start:end].strip() == text[start:end]


def below(least, most):
    return lambda text, start, end: least <= int(text[start:end]) <= most


def is_percent(text, start, end):
    return 1 <= int(text[start:end].rstrip("%")) <= 100


def is_size(text, start, end):
    number, unit = re.fullmatch(r"(\d+)([KMG]?)B?", text[start:end].upper()).groups()
    return 1 <= int(number) * 1000 ** " KMG".index(unit or " ") < 2 ** 63


def is_block(text, start, end):
    sides = [int(side) for side in text[start:end].lower().split("x")]
    return sides[0] <= 10000 if len(sides) == 1 else 1 <= sides[0] * sides[1] <= 10000


def is_decimal(text, start, end):
    return sum(c.isdigit() for c in text[start:end]) <= 15


def has_last_day(text, start, end):
    return dates.Date(text[start:end]).last is not None


def elements(text):
    """Of a list (spec/records.md): a backslash takes the next character along, and goes."""
    found, at = [""], 0
    while at < len(text):
        taken_along = text[at] == "\\" and at + 1 < len(text)
        at += taken_along
        if text[at] == "," and not taken_along:
            found.append("")
        else:
            found[-1] += text[at]
        at += 1
    return [one.strip() for one in found]


def is_something(text, start, end):
    return "" not in elements(text[start:end])


def is_region(text, start, end):
    parts = elements(text[start:end])
    return (len(parts) == 4 and all(re.fullmatch("-?[0-9]+", part) for part in parts)
            and all(int(part) >= least for part, least in zip(parts, (0, 0, 1, 1))))


# Dates as they are typed: what touches words and numbers, and what they mean.


def is_word(text, start, end):
    found = re.search(r"([A-Za-z]+)\.?$", text[start:end])
    before, behind = text[:start + found.start()][-1:], text[start + found.end(1):][:1]
    return not re.match("[A-Za-z0-9]", before) and not re.match("[A-Za-z]", behind)


def is_number(text, start, end):
    """With what ends it, if letters do; before it white space is part of no rule that this is asked for."""
    by_itself = "[A-Za-z]" if text[end - 1].isalpha() else "[A-Za-z0-9]"
    return not re.match("[0-9]", text[:start][-1:]) and not re.match(by_itself, text[end:][:1])


def is_positive(text, start, end):
    return is_number(text, start, end) and int(re.match("[0-9]+", text[start:end])[0]) > 0


def is_month_number(text, start, end):
    return is_number(text, start, end) and 1 <= int(text[start:end]) <= 12


def is_later_in_the_century(text, start, end):
    before = re.findall("[0-9]{4}", text[:start]) or ["0000"]
    return is_number(text, start, end) and int(text[start:end]) > int(before[-1]) % 100


MONTHS = [month.lower() for month in calendar.month_name[1:]]
ROMAN = "i ii iii iv v vi vii viii ix x xi xii".split()
FILLERS = {"of", "the", "in", "on"}
DASHES = "-\u2010\u2011\u2013\u2014\u2212"


def is_month(text, start, end):
    return is_word(text, start, end) and any(month.startswith(text[start:end].lower()) for month in MONTHS)


def is_alone(text, start, end):
    same = "/" if text[end - 1] == "/" else DASHES
    return sum(text.count(one) for one in same) == 1


def follows_between(text, start, end):
    return bool(re.match(r"(?i)(\s|,|(of|the|in|on)\.?(?![a-z]))*between(?![a-z])", text))


def is_short_enough(text, start, end):
    words = [word.lower() for word in re.findall(r"[0-9]+(?:'?[A-Za-z]+)?|[A-Za-z]+\.?|[^\s,]", text[start:end])]
    words = [part for word in words for part in ((word[:-1], ".") if word.rstrip(".") in ROMAN and word[-1] == "." else (word,))]
    return len(text[start:end].encode()) <= 200 and len([word for word in words if word.rstrip(".") not in FILLERS]) <= 24


MORE = {
    "csv.md": {"version": is_version, "element": is_element},
    "container.md": {"part": is_part, "name": is_name, "letter": is_letter, "path": is_path,
                     "number": is_below_2_63},
    "bag.md": {"manifest": is_sorted},
    "slips.md": {"object": has_sorted_names, "inner": has_sorted_names, "innermost": has_sorted_names,
                 "integer": is_exact, "time": is_time},
    "log.md": {"segment-name": is_span},
    "dates.md": {"day-date": is_day, "year": is_year, "interval": is_interval,
                 **{word: is_word for word in ("roman", "season-name", "century-word", "about", "perhaps", "before", "after",
                                               "until", "since", "between", "not", "or", "and", "later", "earlier", "filler")},
                 **{number: is_number for number in ("year-number", "tens", "some-digits")},
                 "day-number": is_positive, "counted": is_positive, "month-number": is_month_number,
                 "short-year": is_later_in_the_century, "month-word": is_month, "alone": is_alone,
                 "joining-and": follows_between, "typed": is_short_enough},
    "commands.md": {"number": is_edition_number, "as-of": is_short_enough, "short": below(1, 999), "ended": has_last_day,
                    "size": is_size, "pixels": below(0, 65000), "percent": is_percent, "decimal": is_decimal,
                    "stamps": is_block},
    "records.md": {"element": is_something, "region": is_region},
    "expressions.md": {"corner": is_whole_word, "initial": is_initial,
                       **{word: is_whole_word for word in (*WORDS, "r")}},
}
