"""What lies in a bundle's file, read by Python's zipfile after spec/container.md and spec/log.md, without the library."""
import hashlib
import io
import json
import re
import zipfile

END = re.compile(rb"PK\x05\x06.{18}glassine \d+\.\d+ edition \d+ follows \d+ sum [0-9a-f]{64}", re.DOTALL)


class Bundle:
    """An opened file: `editions`, each its edition line's members and the lines that it brought."""

    def __init__(self, path):
        data = path.read_bytes()
        ends = [found.end() for found in END.finditer(data)]
        if not ends:
            raise ValueError(f"{path}: no end record of ours")
        self.length, self.size = ends[-1], len(data)  # a save that was killed may have left a tail behind `length`
        # The beginning of an end record in the tail: the file may have been cut short, and is to be recovered first.
        self.torn = re.search(rb"PK\x05\x06.{18}glassine ", data[self.length:], re.DOTALL) is not None
        self.ends = ends
        self.start = hashlib.sha256(data[: self.length]).digest()
        self.data = data
        with zipfile.ZipFile(io.BytesIO(data[: self.length])) as archive:
            entries = archive.infolist()
            base = entries[0].filename.split("/")[0] + "/"
            inside = {entry.filename.removeprefix(base): entry for entry in entries}
            segments = sorted(name for name in inside if name.startswith("slips/"))
            text = b"".join(archive.read(inside[name]) for name in segments)
            self.about = json.loads(archive.read(inside["data/about.json"]))
            self.scans = {name.split("/")[2].split(".")[0]: archive.read(entry)
                          for name, entry in inside.items() if name.startswith("data/scans/")}
        places = sorted((entry.header_offset, name) for name, entry in inside.items())
        following = [offset for offset, _ in places[1:]] + [archive.start_dir]
        self.places = {name: (offset, after) for (offset, name), after in zip(places, following)}
        self.lines = text.split(b"\n")[:-1]
        self.editions = []
        new = []
        for line in self.lines:
            members = json.loads(line)
            if "log" in members:
                self.editions.append((members, new))
                new = []
            else:
                new.append(line)

    def slips(self):
        return slips_of(self.lines)

    def payload(self, number):
        """spec/log.md: the payload's files in an edition, the manifest's lines."""
        files = set()
        for members, _ in self.editions[:number]:
            files = files - set(members.get("lost", [])) | set(members["brings"])
        return files

    def ends_of_editions(self):
        """The length of the file at each edition that it holds as a prefix."""
        return {int(re.search(rb"edition (\d+)", self.data[end - 140: end])[1]): end for end in self.ends}


def slips_of(lines):
    return {line for line in lines if b'"after":' in line and "after" in json.loads(line)}


def content_digest(slips):
    """spec/readings.md, "Content digest"."""
    return hashlib.sha256(b"".join(sorted(hashlib.sha256(line).digest() for line in slips))).hexdigest()
