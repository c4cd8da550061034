"""ABNF (RFC 5234 with the strings of RFC 7405): reads a grammar, recognises texts by it, makes texts of it.

Written from those two RFCs; terminals are Unicode characters. Where a comment of a grammar says more than the grammar,
whoever uses it gives a test for that rule: rule name → test(text, start, end)."""
import re

CORE = """
ALPHA  = %x41-5A / %x61-7A
DIGIT  = %x30-39
DQUOTE = %x22
HTAB   = %x09
LF     = %x0A
CR     = %x0D
SP     = %x20
"""     # RFC 5234, appendix B.1: those that the pages use

TOKEN = re.compile(r"""
    (?P<rule>[A-Za-z][A-Za-z0-9-]*) | (?P<text>(?:%[si])?"[^"]*") | <(?P<prose>[^>]*)>
  | %x(?P<codes>[0-9A-Fa-f]+(?:-[0-9A-Fa-f]+|(?:\.[0-9A-Fa-f]+)*)) | (?P<times>[0-9]*\*[0-9]*|[0-9]+) | (?P<mark>[][()/=])
  | (?P<skip>[ \t]+)""", re.VERBOSE)


class Wrong(Exception):
    """Not ABNF."""


def tokens(text):
    at = 0
    while at < len(text):
        found = TOKEN.match(text, at)
        if not found:
            raise Wrong(f"not ABNF: {text[at:at + 30]!r}")
        at = found.end()
        if found.lastgroup != "skip":
            yield found.lastgroup, found[found.lastgroup]
    yield "end", ""


class Elements:
    """One rule's right side as a tree of tuples."""

    def __init__(self, text):
        self.tokens, self.at = list(tokens(text)), 0
        self.tree = self.alternation()
        if self.tokens[self.at][0] != "end":
            raise Wrong(f"not ABNF from {self.tokens[self.at][1]!r} on")

    def is_mark(self, mark):
        return self.tokens[self.at] == ("mark", mark)

    def alternation(self):
        ways = [self.concatenation()]
        while self.is_mark("/"):
            self.at += 1
            ways.append(self.concatenation())
        return ("or", ways) if len(ways) > 1 else ways[0]

    def concatenation(self):
        parts = []
        while self.tokens[self.at][0] != "end" and not any(map(self.is_mark, "/)]")):
            parts.append(self.repetition())
        if not parts:
            raise Wrong("an alternative of nothing")
        return ("then", parts) if len(parts) > 1 else parts[0]

    def repetition(self):
        kind, said = self.tokens[self.at]
        if kind != "times":
            return self.element()
        self.at += 1
        least, star, most = said.partition("*")
        least = int(least or 0)
        return "times", self.element(), least, (int(most) if most else None) if star else least

    def element(self):
        kind, said = self.tokens[self.at]
        self.at += 1
        if kind == "rule":
            return "rule", said
        if kind == "text":
            exact = said.startswith("%s")
            return "text", said[said.index('"') + 1:-1], exact
        if kind == "prose":
            return "prose", said
        if kind == "codes":
            first, dash, last = said.partition("-")
            if dash:
                return "range", int(first, 16), int(last, 16)
            return "text", "".join(chr(int(code, 16)) for code in said.split(".")), True
        if kind == "mark" and said in "([":
            inside, close = self.alternation(), ")" if said == "(" else "]"
            if not self.is_mark(close):
                raise Wrong(f"no {close}")
            self.at += 1
            return inside if said == "(" else ("times", inside, 0, 1)
        raise Wrong(f"{said!r} where an element should be")


def without_comments(text):
    return re.sub(r'("[^"\n]*"|<[^>\n]*>)|;[^\n]*', lambda found: found[1] or "", text)


def definitions(text):
    """Rule name → tree. A rule begins where a line does; its other lines are indented."""
    rules = {}
    for rule in re.split(r"\n(?=[^ \t\n])", without_comments(text).strip("\n")):
        if not rule.strip():
            continue
        name, equals, right = rule.partition("=")
        name = name.strip()
        if not equals or not re.fullmatch("[A-Za-z][A-Za-z0-9-]*", name):
            raise Wrong(f"no rule: {rule!r}")
        if name in rules:
            raise Wrong(f"{name} is defined twice")
        rules[name] = Elements(right.replace("\n", " ")).tree
    return rules


def referred(tree):
    """The rules that a right side names."""
    if tree[0] == "rule":
        yield tree[1]
    for part in tree[1] if tree[0] in ("or", "then") else [tree[1]] if tree[0] == "times" else []:
        yield from referred(part)


class Grammar:
    """`rules` with what comments say beyond them (`more`), and prose as the texts that it stands for (`prose`).
    `instead`: rule → texts that are made of it, where those of the grammar would seldom do."""

    def __init__(self, rules, more=None, prose=None):
        self.rules = {**definitions(CORE), **rules}
        self.more, self.prose, self.instead = more or {}, prose or {}, {}

    def accepts(self, rule, text):
        return len(text) in Match(self, text).ends(("rule", rule), 0)

    def make(self, rule, random):
        """A random text of a rule."""
        return self._make(("rule", rule), random)

    def _make(self, tree, random):
        kind = tree[0]
        if kind == "rule" and tree[1] in self.instead:
            return random.choice(self.instead[tree[1]])
        if kind == "rule":
            for _ in range(1000):
                text = self._make(self.rules[tree[1]], random)
                if tree[1] not in self.more or self.more[tree[1]](text, 0, len(text)):
                    return text
            raise Wrong(f"no text of {tree[1]} was found")
        if kind == "or":
            return self._make(random.choice(tree[1]), random)
        if kind == "then":
            return "".join(self._make(part, random) for part in tree[1])
        if kind == "times":
            _, inside, least, most = tree
            count = random.randint(least, least + 3 if most is None else most)
            return "".join(self._make(inside, random) for _ in range(count))
        if kind == "text":
            return tree[1] if tree[2] else "".join(random.choice((c.lower(), c.upper())) for c in tree[1])
        if kind == "range":
            return chr(self.pick(tree[1], tree[2], random))
        return random.choice(self.prose[tree[1]])

    @staticmethod
    def pick(first, last, random):
        """From a wide range mostly small characters, sometimes its ends."""
        if last - first < 256:
            return random.randint(first, last)
        picked = random.choice((first, last, random.randint(first, first + 255), random.randint(first, max(first, min(last, 0x2FFF))),
                                random.randint(first, last)))
        return first if 0xD800 <= picked <= 0xDFFF else picked      # half a pair is no character


class Match:
    """All ends at which a tree can end that begins at a place of the text."""

    def __init__(self, grammar, text):
        self.grammar, self.text, self.known = grammar, text, {}

    def ends(self, tree, at):
        key = tree[1] if tree[0] == "rule" else id(tree), at
        if key not in self.known:
            self.known[key] = getattr(self, "_" + tree[0])(tree, at)
        return self.known[key]

    def _rule(self, tree, at):
        ends, test = self.ends(self.grammar.rules[tree[1]], at), self.grammar.more.get(tree[1])
        return {end for end in ends if test(self.text, at, end)} if test else ends

    def _or(self, tree, at):
        return set().union(*(self.ends(way, at) for way in tree[1]))

    def _then(self, tree, at):
        places = {at}
        for part in tree[1]:
            places = set().union(*(self.ends(part, place) for place in places))
        return places

    def _times(self, tree, at):
        _, inside, least, most = tree
        found, places, count, seen = set(), {at}, 0, set()
        while places:
            if count >= least:
                found |= places
                if most is None:
                    places -= seen
                    seen |= places
            if count == most:
                break
            places = set().union(*(self.ends(inside, place) for place in places))
            count += 1
        return found

    def _text(self, tree, at):
        there = self.text[at:at + len(tree[1])]
        return {at + len(there)} if there == tree[1] or not tree[2] and there.lower() == tree[1].lower() else set()

    def _range(self, tree, at):
        return {at + 1} if at < len(self.text) and tree[1] <= ord(self.text[at]) <= tree[2] else set()

    def _prose(self, tree, at):
        return {at + len(name) for name in self.grammar.prose[tree[1]]
                if self.text[at:at + len(name)].lower() == name.lower()}
