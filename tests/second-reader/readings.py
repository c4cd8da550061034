"""spec/readings.md: what the slips on a record amount to. Sections are those of that page."""
import collections
import hashlib

from slips import REACHES, canonical


class Said:
    """One value of a field: by which slip, and the value; None where it was cleared."""

    def __init__(self, slip, name):
        self.slip, self.cleared = slip, name in slip.clear
        self.value = None if self.cleared else slip.set[name]
        self.bytes = b"" if self.cleared else canonical(self.value)

    def order(self):
        return (not self.cleared, self.bytes, self.slip.at, self.slip.digest)


class Reading:
    """Of the slips on one record (for an authored type: of one author). `everything`: all slips, by digest."""

    def __init__(self, slips, everything, uncounted=()):
        self.slips = {slip.digest: slip for slip in slips}
        self.uncounted = set(uncounted)
        self.stray, self.incomplete = 0, False
        self.follows = {}                      # digest → those it follows directly
        for slip in slips:
            self.follows[slip.digest] = self.edges(slip, everything)
        self.order = self.history()
        self.followed = self.behind()          # digest → all that it follows
        self.fields = self.values()            # (name, reach) → [Said]
        self.latest = {reach: self.latest_of(reach) for reach in REACHES}

    # Who follows whom

    def edges(self, slip, everything):
        edges = []
        for digest in slip.after:
            other = self.slips.get(digest)
            if other and other.reach == slip.reach:
                edges.append(digest)
            elif digest in everything:
                self.stray += 1
            else:
                self.incomplete = True
        return edges

    def behind(self):
        followed = {}
        for digest in self.order:
            direct = self.follows[digest]
            followed[digest] = set(direct).union(*(followed[other] for other in direct))
        return followed

    # Values

    def counts(self, digest):
        return digest not in self.uncounted

    def values(self):
        touching = collections.defaultdict(list)
        for digest, slip in self.slips.items():
            if self.counts(digest):
                for name in [*slip.set, *slip.clear]:
                    touching[name, slip.reach].append(slip)
        fields = {}
        for name, reach in sorted(touching, key=lambda key: (key[0].encode(), REACHES.index(key[1]))):
            those = touching[name, reach]
            hidden = set().union(*(self.followed[slip.digest] for slip in those))
            said = [Said(slip, name) for slip in those if slip.digest not in hidden]
            fields[name, reach] = sorted(said, key=Said.order)
        return fields

    def contested(self, key):
        return len({(said.cleared, said.bytes) for said in self.fields[key]}) > 1

    # The latest slips

    def latest_of(self, reach):
        those = [d for d, slip in self.slips.items() if slip.reach == reach and self.counts(d)]
        hidden = set().union(*(self.followed[digest] for digest in those))
        return sorted(digest for digest in those if digest not in hidden)

    # History

    def history(self):
        left, order = dict(self.follows), []
        while left:
            free = [digest for digest, direct in left.items() if not any(other in left for other in direct)]
            first = min(free, key=lambda digest: (self.slips[digest].at, digest))
            order.append(first)
            del left[first]
        return order

    def value(self, name):
        """The first reach that says something: (value, True), or (None, contested?)."""
        for reach in REACHES:
            if (name, reach) in self.fields:
                if self.contested((name, reach)):
                    return None, True
                if not self.fields[name, reach][0].cleared:
                    return self.fields[name, reach][0].value, False
        return None, False


def readings(slips, authored, uncounted=()):
    """(record, author or None) → its reading. `authored`: the types that speak for their author alone."""
    groups, everything = collections.defaultdict(list), {slip.digest for slip in slips}
    for slip in slips:
        groups[slip.record, slip.by if slip.type in authored else None].append(slip)
    return {key: Reading(those, everything, uncounted) for key, those in groups.items()}


# Content digest


def content_digest(slips):
    return hashlib.sha256(b"".join(sorted(bytes.fromhex(slip.digest) for slip in slips))).hexdigest()
