"""spec/answers.md: numbered answers, as people write them. Sections are those of that page. Of a sheet, and of what
answers become, nothing is here."""
import re
import unicodedata
from dataclasses import dataclass, field

import expressions
from broken import Broken

# Which words answer which question

SIGNATURE = re.compile(r"--$|___")
FAREWELL = re.compile(r"(?i)best |kind |regards|yours|with best|with kind|sincerely|cheers|greetings|all the best|thank|"
                      r"many thanks")
DATE = re.compile(r"(?i)date:")
BEFORE = re.compile(r"(?i)(?:(?:[*(]|- ) *)*(?P<opening>(?:question|answer|number|stamp|no\.|no |nr\.|nr |ad |re |re: |to |"
                    r"as to |q|#) *(?=[0-9]))?")
NUMBER = re.compile(r"[0-9]{1,6}(?![0-9])")
JOINT = re.compile(r"(?i) *(,|and |&|\+|-|\u2013) *(?:and  *)?(?=[0-9])")
FIRM_END = re.compile(r" *[:)=]:?| *\.(?= )| +[-\u2013](?= )")
SOFT_END = re.compile(r" +|$")
DIGIT = re.compile("[0-9]")


@dataclass
class Head:
    numbers: list
    firm: bool
    words: str


def end(text):
    """(is it firm, what follows), or None."""
    found = FIRM_END.match(text)
    if found:
        return True, text[found.end():].lstrip(" ")
    found = SOFT_END.match(text)
    return (False, text[found.end():]) if found else None


def numbers_at(text):
    """The list, and what follows it; the list is None where a number is none or there are too many."""
    first = NUMBER.match(text)
    if not first:
        return None, text
    numbers, text = [int(first[0])], text[first.end():]
    while joint := JOINT.match(text):
        text = text[joint.end():]
        found = NUMBER.match(text)
        if not found:
            return None, text
        last, text = int(found[0]), text[found.end():]
        more = list(range(numbers[-1] + 1, last + 1)) if joint[1] in "-\u2013" else [last]
        if not more or len(numbers) + len(more) > 64:
            return None, text
        numbers += more
    return numbers, text


def number_head(line, questions):
    before = BEFORE.match(line)
    rest, opened = line[before.end():], bool(before["opening"])
    first = NUMBER.match(rest)
    if not first:
        return None
    numbers, behind = numbers_at(rest)
    found = end(behind) if numbers else None
    if not found or len(numbers) > 1 and not (found[1] and (found[0] or not DIGIT.match(found[1]))):
        numbers, found = [int(first[0])], end(rest[first.end():])
    if not found or not found[1]:
        return None
    head = Head(numbers, found[0] or opened, found[1])
    return head if head.firm or numbers[0] <= questions and not DIGIT.match(head.words) else None


def head_of(line, labels):
    for number, label in enumerate(labels, 1):
        rest = line[len(label):].lstrip(" ")
        if label and line.startswith(label) and re.match("[:=]|- ", rest):
            return Head([number], True, rest[1:].lstrip(" "))
    return number_head(line, len(labels))


NEXT = re.compile(r"(?<= )([0-9]{1,6}) *:")


def parts(numbers, words, questions):
    """(numbers, words) of an answer in which others begin."""
    start = 0
    while start < len(words):
        for found in NEXT.finditer(words, start):
            before = words[:found.start()].rstrip(" ")
            joined = re.search(r"(?i)[,;.]$| and$", before)
            if joined and 1 <= int(found[1]) <= questions and words[found.start() - 1] == " ":
                before = re.sub("(?i) and$", "", before).rstrip(" ")
                yield numbers, before.rstrip(",;")
                numbers, words, start = [int(found[1])], words[found.end():], 0
                break
        else:
            break
    yield numbers, words


class Text:
    """`answers`: (number, words); `asked`: lines with a number of no question, or that may answer one; `told`."""

    def __init__(self, text, labels):
        self.labels, self.answers, self.asked, self.told = labels, [], [], []
        self.open, self.words, self.quoted, self.begun, self.closed, left = None, [], None, False, False, []
        for line in text.split("\n"):
            line = line.strip()
            if self.take(line):
                self.told.append(line)
                if not self.closed:
                    left.append(line)
        self.close()
        answered = {number for number, _ in self.answers}
        if len(answered) < len(labels):
            self.asked += [line for line in left if DIGIT.search(line)]

    def take(self, line):
        """True where the line is no answer."""
        if line.startswith(">"):
            self.quote(line.lstrip("> "))
            return False
        if not line:
            self.close()
            return False
        head = head_of(line, self.labels)
        if self.closed:
            if head and head.firm and head.numbers[0] <= len(self.labels):
                self.begin(head.numbers, head.words)
                return False
            return True
        farewell = FAREWELL.match(line) and len(line.encode()) < 48 and not DIGIT.search(line)
        if SIGNATURE.match(line) or self.begun and farewell:
            self.close()
            self.closed = True
            return True
        if DATE.match(line) and len(line.encode()) < 96:
            self.close()
        elif head:
            self.begin(head.numbers, head.words)
        elif self.open:
            self.words.append(line)
        elif self.quoted:
            self.begin([self.quoted], line)
        else:
            return True
        return False

    def quote(self, line):
        self.close()
        head = number_head(line, len(self.labels))
        if head and len(head.numbers) == 1 and 1 <= head.numbers[0] <= len(self.labels):
            if head.words.startswith(self.labels[head.numbers[0] - 1]):
                self.quoted = head.numbers[0]

    def begin(self, numbers, words):
        self.close()
        self.open, self.words, self.quoted, self.begun = numbers, [words], None, True

    def close(self):
        if self.open:
            for numbers, words in parts(self.open, " ".join(self.words), len(self.labels)):
                for number in numbers:
                    if 1 <= number <= len(self.labels):
                        self.answers.append((number, words.strip()))
                    else:
                        self.asked.append(words)
        self.open = None


# What the words mean

STOP = re.compile(r"[,;()!]|\.(?=\s|$)")
EMPTY = set("i think believe would say it it's its is this that from at the on position positions pos pos. place i'd i'm am "
            "comes one looks like my in of be state: seems to stamp".split())
VERDICTS = {
    "cannot tell": ["cannot tell for certain", "cannot tell for sure", "cannot tell", "can not tell", "can't tell", "cannot say",
                    "can't say", "cannot place", "can't place", "no idea", "don't know", "do not know", "unable to tell",
                    "unable to say", "impossible to tell", "impossible to say", "undecided", "?"],
    "not genuine": ["not genuine", "a forgery", "forgery", "forged", "a fake", "fake"],
    "another plate": ["another plate", "a different plate", "different plate", "some other plate", "not this plate",
                      "not from this plate", "not of this plate"],
}
SURE = {
    "possible": ["not sure", "not certain", "not quite sure", "unsure", "uncertain", "just a guess", "only a guess", "a guess",
                 "possible", "possibly", "perhaps", "maybe", "might be", "may be", "could be"],
    "probable": ["fairly sure", "fairly certain", "quite sure", "pretty sure", "reasonably sure", "most likely", "most probably",
                 "very likely", "likely", "probable", "probably"],
    "certain": ["no doubt", "without doubt", "for sure", "for certain", "absolutely certain", "quite certain", "very sure",
                "certainly", "certain", "definitely", "definite", "sure"],
}
AWAY = ["but not", "and not", "not", "except for", "except", "without"]
SEEN = {"dots": "dot", "guideline": "guide_line", "doubled": "doubling",
        **{name: name for name in "dot doubling scratch crack flaw burr retouch recut wear imprint remains".split()}}
TURNING = set("not or but except unless if either neither nor than isn't never no though although however instead "
              "rather".split())
BEGINS = set("row rows column columns col col. cols any anywhere pane either".split())
MEANS = {"row": "row", "rows": "row", "column": "column", "columns": "column", "col": "column", "col.": "column",
         "cols": "column", "any": "any", "anywhere": "any", "pane": "pane", "and": "and", "or": ",", "to": "-",
         **{word: "" for word in ("either", "pos", "pos.", "position", "positions")}}


@dataclass
class Word:
    text: str
    stop: bool = False

    @property
    def small(self):
        return re.sub("[A-Z]", lambda letter: letter[0].lower(), self.text).replace("\u2019", "'")


def words_of(text):
    found = []
    for chunk in text.split():
        if chunk in ("-", "\u2013", "\u2014"):
            if found:
                found[-1].stop = True
            continue
        at = 0
        while at < len(chunk):
            stop = STOP.search(chunk, at)
            until = stop.start() if stop else len(chunk)
            if until > at:
                found.append(Word(chunk[at:until]))
            if stop and found:
                found[-1].stop = True
            at = stop.end() if stop else until
    return found


class Asked(Exception):
    """Something is not understood."""


@dataclass
class Meaning:
    """`plates`: label → plates.Plate with `states`, of the stamp's design."""
    plates: dict
    kind: str = None
    plate: str = None
    state: str = None
    sure: str = None
    places: str = ""
    away: str = ""
    positions: set = None
    seen: list = field(default_factory=list)
    comments: list = field(default_factory=list)
    over: bool = False

    def understand(self, text):
        self.words, self.at = words_of(text), 0
        if len(self.words) > 400:
            raise Asked("too long")
        while self.at < len(self.words):
            self.take()
        if self.places or self.away or self.plate and not self.kind:
            if self.kind:
                raise Asked("two answers")
            self.kind = "place"
            self.find()
        if not self.kind and not self.seen:
            raise Asked("no answer")
        return self

    def small(self, ahead=0):
        at = self.at + ahead
        return self.words[at].small if at < len(self.words) else ""

    def phrase(self, phrases):
        """The longest of the phrases that stands here; its words."""
        for phrase in sorted(phrases, key=lambda one: -one.count(" ")):
            said = phrase.split()
            here = self.words[self.at:self.at + len(said)]
            if [word.small for word in here] == said and not any(word.stop for word in here[:-1]):
                return len(said)
        return 0

    def take(self):
        first = self.at
        while self.small() in EMPTY and not self.words[self.at].stop and not self.begins_place(self.at):
            self.at += 1
        if not (self.at < len(self.words) and any(
                take() for take in (self.verdict, self.certainty, self.which_plate, self.which_state, self.taken_away, self.where))):
            self.rest(first)

    def only(self, name, value, what):
        if getattr(self, name) not in (None, value):
            raise Asked(f"two {what}")
        setattr(self, name, value)

    def verdict(self):
        for kind, phrases in VERDICTS.items():
            if count := self.phrase(phrases):
                self.at += count
                self.only("kind", kind, "answers")
                self.at += self.small() == "it"
                return True
        return False

    def certainty(self):
        count, sure = max((self.phrase(phrases), sure) for sure, phrases in SURE.items())
        if count:
            self.at += count
            self.only("sure", sure, "ways of being sure")
            self.over = self.over or bool(self.places)
        return bool(count)

    def which_plate(self):
        if self.small() not in ("plate", "pl", "pl.") or self.at + 1 >= len(self.words):
            return False
        label = self.words[self.at + 1].text.casefold()
        named = [name for name in self.plates if name.casefold() == label]
        if not named:
            raise Asked("no such plate")
        self.only("plate", named[0], "plates")
        self.at += 2
        return True

    def which_state(self):
        skip = int(self.small() == "state" and self.at + 1 < len(self.words))
        self.at += skip
        for label, plate in self.plates.items():
            for state in plate.states if self.plate in (None, label) else ():
                if count := self.phrase([state.lower()]):
                    self.only("state", state, "states")
                    self.at += count
                    self.at += self.small() == "state" and not self.words[self.at - 1].stop
                    self.over = self.over or bool(self.places)
                    return True
        self.at -= skip
        return False

    def begins_place(self, at):
        if at >= len(self.words):
            return False
        text = self.words[at].text
        return bool(DIGIT.match(text) or self.is_place_name(text) or self.words[at].small in BEGINS)

    def is_place_name(self, text):
        letters = any(plate.letters for plate in self.plates.values())
        return bool(re.match("[Rr][0-9].*/", text) or letters and re.fullmatch("[A-Z]{2}", text))

    def group(self):
        said, pane = "", False
        while self.at < len(self.words):
            word, means = self.words[self.at], MEANS.get(self.small())
            named = pane or DIGIT.match(word.text) or self.is_place_name(word.text)
            if not named and (means is None or means in ("and", ",", "-") and not self.begins_place(self.at + 1)):
                break
            if named:
                means = word.text.replace("\u2013", "-")
            elif means in ("row", "column") and said[-1:].isdigit():
                means = "and " + means
            said += (" " if means and said else "") + means
            pane = not pane and self.small() == "pane"
            self.at += 1
            if word.stop:
                break
        return said

    def taken_away(self):
        count, at = self.phrase(AWAY), self.at
        if count:
            self.at += count
            while self.small() == "in":
                self.at += 1
            if self.begins_place(self.at):
                group = self.group()
                self.away += (", " if self.away and group else "") + group
                return True
        self.at = at
        return False

    def where(self):
        joint = self.small() if self.small() in ("and", "or") else ""
        if not self.begins_place(self.at + bool(joint)):
            return False
        if self.over:
            raise Asked("places behind what is said of others")
        self.at += bool(joint)
        group = self.group()
        self.places += ("" if not (self.places and group) else " and " if joint == "and" else ", ") + group
        return True

    def rest(self, first):
        until = next((at for at in range(first, len(self.words)) if self.words[at].stop), len(self.words) - 1) + 1
        words, self.at = self.words[first:until], until
        absent = words[0].small in ("no", "without")
        looked = next((SEEN[word.small] for word in words if word.small in SEEN), None)
        for word in words[absent:]:
            if word.small in TURNING or any(unicodedata.category(c) == "Nd" for c in word.text):
                raise Asked(f"{word.text} is not understood")
        if absent and not looked:
            raise Asked("not understood")
        if looked:
            unclear = words[-1].small == "unclear"
            self.seen.append((looked, "absent" if absent else "unclear" if unclear else "present"))
        else:
            self.comments.append(" ".join(word.text for word in words))

    def find(self):
        text = (self.places or "any") + (f" but not {self.away}" if self.away else "")
        if not self.plates:
            raise Asked("no plate")
        for label, plate in self.plates.items():
            if self.plate in (None, label):
                try:
                    self.positions, self.on = expressions.parse(text, plate)[0], plate
                except Broken as broken:
                    raise Asked(str(broken)) from None

    def said(self):
        """As testvectors/answers writes it."""
        parts = []
        if self.kind == "place":
            numbers = sorted(map(self.on.number, self.positions))
            more = " …" if len(numbers) > 10 else ""
            parts.append(f"{len(numbers)} position{'s' * (len(numbers) > 1)}: {', '.join(map(str, numbers[:10]))}{more}")
        elif self.kind:
            parts.append(self.kind)
        parts += [f"plate {self.plate}"] if self.plate else []
        parts += [f"state {self.state}"] if self.state else []
        parts += [self.sure or "probable"] if self.kind == "place" else []
        parts += [f"{looked} seen as {seen}" for looked, seen in self.seen]
        parts += ["remark: " + ", ".join(self.comments)] if self.comments else []
        return "; ".join(parts)


def understand(text, labels, plates):
    """(number → what is understood, numbers of what is asked about). `plates` as in Meaning, of every stamp."""
    read, understood, asked = Text(text, labels), {}, []
    for number, words in read.answers:
        try:
            meaning = Meaning(plates).understand(words)
        except Asked:
            asked.append(number)
            continue
        if understood.setdefault(number, meaning).said() != meaning.said():
            asked.append(number)
    return {number: meaning.said() for number, meaning in understood.items()}, asked + [0] * len(read.asked)
