"""spec/signatures.md: whose word counts. Sections are those of that page."""
import collections

import ed25519
import readings

KEYS_OF_ONE = 100       # L026
SIGNATURES_OF_ONE_KEY = 4


class Trust:
    """Over the slips of a log (each with its `edition`), its signature lines, its edition lines, and its keeper."""

    def __init__(self, slips, signatures, editions, keeper):
        self.slips, self.editions, self.keeper = slips, editions, keeper
        self.found = []                                     # (rule, what)
        self.by_digest = {slip.digest: slip for slip in slips}
        self.signed_by = self.fitting(signatures)           # digest → keys
        self.own = collections.defaultdict(list)            # contributor → the slips by which a key is given
        for slip in slips:
            if slip.type == "contributor" and slip.set.get("key"):
                self.take_key(slip)
        self.keys, self.since = {}, {}                      # contributor → keys that count; the edition since which
        self.find_keepers_keys()
        self.keeper_word = self.words_of_keeper()
        for person in sorted({*self.own, *self.keeper_word} - {keeper}):
            self.find_keys(person)
        self.word = {slip.digest: self.word_of(slip) for slip in slips}
        self.uncounted = [digest for digest, word in self.word.items() if word == "unsigned"]
        self.found += [("K030", slip.record) for slip in slips if self.word[slip.digest] == "unsigned"]
        self.check_editions()

    # Signatures

    def fitting(self, signatures):
        signed, tried = collections.defaultdict(set), collections.Counter()
        for line in signatures:
            key, of = line["key"], line["of"]
            tried[key, of] += 1
            fits = tried[key, of] <= SIGNATURES_OF_ONE_KEY and of in self.by_digest and \
                ed25519.holds(bytes.fromhex(key), bytes.fromhex(of), bytes.fromhex(line["sig"]))
            if fits:
                signed[of].add(key)
            else:
                self.found.append(("K020", of))
        return signed

    # Keys of a contributor

    def take_key(self, slip):
        key, before, signed = slip.set["key"], slip.set.get("key_before"), self.signed_by[slip.digest]
        if slip.record != slip.by:
            if slip.by != self.keeper:
                self.found.append(("K032", slip.record))
        elif before and not {key, before} <= signed:
            self.found.append(("K031", slip.record))
        elif key not in signed:
            self.found.append(("K033", slip.record))
        else:
            self.own[slip.by].append(slip)

    def follow(self, person, keys, silent):
        """Rules 3 (where `silent`, the keeper has said nothing) and 4."""
        changes = [slip for slip in self.own[person] if slip.set.get("key_before")]
        keys = list(dict.fromkeys(keys))
        grown = True
        while grown:
            grown = False
            for key in list(keys):
                if silent:
                    earlier = [slip.set["key_before"] for slip in changes if slip.set["key"] == key]
                    grown |= self.add(keys, earlier[:1] if key in keys else [])
                those = [slip for slip in changes if slip.set["key_before"] == key]
                first = min((slip.edition for slip in those), default=0)
                grown |= self.add(keys, [slip.set["key"] for slip in those if slip.edition == first])
        self.tell_rivals(person, keys, changes)
        if len(keys) > KEYS_OF_ONE:
            self.found.append(("L026", person))
        return keys[:KEYS_OF_ONE]

    @staticmethod
    def add(keys, more):
        fresh = [key for key in more if key not in keys]
        keys += fresh
        return bool(fresh)

    def tell_rivals(self, person, keys, changes):
        given = {slip.set["key"] for slip in self.own[person]}
        several = any(len({slip.set["key"] for slip in changes if slip.set["key_before"] == key}) > 1 for key in keys)
        if not given <= set(keys) or several:
            self.found.append(("K034", person))

    def find_keepers_keys(self):
        """The keeper"""
        begun, since = [], []
        for number, edition in enumerate(self.editions, 1):
            key = edition.get("key")
            if key and edition["by"] == self.keeper and any(
                    slip.set["key"] == key and slip.edition <= number for slip in self.own[self.keeper]):
                begun.append(key)
                since.append(number)
        self.settle(self.keeper, self.follow(self.keeper, begun, True), [])
        if since:
            self.since[self.keeper] = since[0]

    def words_of_keeper(self):
        """Person → the keeper's slips that count and touch the key on that person's record."""
        words = collections.defaultdict(list)
        for slip in self.slips:
            touches = "key" in slip.set or "key" in slip.clear
            if slip.type == "contributor" and slip.by == self.keeper != slip.record and touches \
                    and self.word_of(slip) != "unsigned":
                words[slip.record].append(slip)
        return words

    def find_keys(self, person):
        words = self.keeper_word[person]
        if words:
            said = readings.Reading(words, self.by_digest).fields
            keys = [value.value for (name, _), values in said.items() if name == "key"
                    for value in values if not value.cleared]
            self.settle(person, self.follow(person, keys, False) if keys else [], words)
            return
        given = self.own[person]
        known = {slip.set["key"] for slip in given}
        begins = [slip for slip in given if slip.set.get("key_before") not in known]
        first = min((slip.edition for slip in begins), default=0)
        keys = [slip.set["key"] for slip in begins if slip.edition == first]
        if len(set(keys)) > 1:
            self.found.append(("K034", person))
        self.settle(person, self.follow(person, keys, True), [])

    def settle(self, person, keys, words):
        if keys:
            those = [slip for slip in self.own[person] if slip.set["key"] in keys] + \
                [slip for slip in words if slip.set.get("key") in keys]
            self.keys[person], self.since[person] = keys, min(slip.edition for slip in those)

    # What a slip is

    def signs_by(self, person, edition):
        return person in self.since and edition >= self.since[person]

    def word_of(self, slip):
        signed = self.signed_by[slip.digest]
        if signed & set(self.keys.get(slip.by, ())):
            return "signed"
        if signed & set(self.keys.get(self.keeper, ())):
            return "vouched"
        if slip.members.get("via") == self.keeper and not self.signs_by(self.keeper, slip.edition):
            return "vouched"
        return "unsigned" if self.signs_by(slip.by, slip.edition) else "plain"

    def check_editions(self):
        for number, edition in enumerate(self.editions, 1):
            key = edition.get("key")
            if key and not any(slip.set["key"] == key and slip.edition <= number for slip in self.own[edition["by"]]):
                self.found.append(("K040", f"edition {number}"))
