"""spec/bag.md: which files lie in a bundle. Sections are those of that page."""
import hashlib
import re

import limits
from broken import Broken, need

PAYLOAD, TAGS = "manifest-sha256.txt", "tagmanifest-sha256.txt"
DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
LINE = re.compile(r"([0-9a-f]{64})  ([^\r\n]+)")


class Bag:
    """The bag in a container. `read` gives a file's content, checked against its manifest (4)."""

    def __init__(self, container):
        self.container = container
        self.entries = container.names()
        self.check_names()
        self.payload = self.manifest(PAYLOAD, "B020")
        self.tags = self.manifest(TAGS, "B030")
        self.check_lists()
        need(self.small("bagit.txt", "B010") == DECLARATION, "B010", "bagit.txt is not the two lines")
        self.check_info(self.small("bag-info.txt", "B011"))

    def check_names(self):
        for name in self.entries:
            manifest = re.fullmatch(r"(tag)?manifest-[^/]*\.txt", name)
            need(not manifest or name in (PAYLOAD, TAGS), "B040", f"another manifest: {name}")
        need("fetch.txt" not in self.entries, "B041", "fetch.txt")

    def small(self, name, rule):
        need(name in self.entries, rule, f"{name} is missing")
        need(self.entries[name].size <= limits.SMALL_FILE_BYTES, "L003", f"{name} is too large")
        return self.entries[name].content(self.container.data)

    def manifest(self, name, rule):
        """name → digest."""
        content = self.small(name, rule)
        try:
            text = content.decode("utf-8")
        except UnicodeDecodeError:
            raise Broken("B021", f"{name} is no UTF-8") from None
        need(text == "" or text.endswith("\n"), "B021", f"{name} ends without a line feed")
        lines = [LINE.fullmatch(line) for line in text.split("\n")[:-1]]
        need(all(lines), "B021", f"a line of {name}")
        names = [line[2].encode() for line in lines]
        need(all(a < b for a, b in zip(names, names[1:])), "B021", f"{name} is not sorted, or names a file twice")
        return {line[2]: line[1] for line in lines}

    def check_lists(self):
        payload = {name for name in self.entries if name.startswith("data/")}
        tags = self.entries.keys() - payload - {TAGS}
        for listed, there, missing, more in ((self.payload, payload, "B022", "B023"), (self.tags, tags, "B032", "B033")):
            need(not there - listed.keys(), missing, f"not listed: {there - listed.keys()}")
            need(not listed.keys() - there, more, f"listed and not there: {listed.keys() - there}")
        for name, digest in self.payload.items():
            if name.startswith("data/scans/"):
                need(name[11:75] == digest, "B025", f"the line of {name}")
        need("data/about.json" in payload, "B050", "no data/about.json")
        need("read-me.txt" in tags, "B051", "no read-me.txt")

    def check_info(self, content):
        sums = [line[len(b"Payload-Oxum: "):] for line in content.split(b"\n") if line.startswith(b"Payload-Oxum: ")]
        need(len(sums) == 1, "B011", "not one line Payload-Oxum")
        sizes = [entry.size for name, entry in self.entries.items() if name.startswith("data/")]
        need(sums[0] == f"{sum(sizes)}.{len(sizes)}".encode(), "B012", f"Payload-Oxum {sums[0]!r}")

    def read(self, name):
        content = self.entries[name].content(self.container.data)
        payload = name.startswith("data/")
        digest = self.payload[name] if payload else self.tags.get(name)
        need(name == TAGS or hashlib.sha256(content).hexdigest() == digest, "B024" if payload else "B034",
             f"the digest of {name}")
        return content
