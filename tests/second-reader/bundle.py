"""A bundle opened and audited: everything together, in the order of spec/README.md."""
import container
import bag
import log
import readings
import records
import slips
import trust
from broken import Broken, need


class Bundle:
    """An opened bundle. Raises Broken where it is to be refused."""

    def __init__(self, data):
        self.container = container.Container(data)
        self.bag = bag.Bag(self.container)
        self.about = log.check_about(self.bag.read("data/about.json"), self.container.footer.base)
        self.log = log.Log([(*segment, self.bag.read(segment[2])) for segment in log.segments_of(self.bag.entries)])
        log.check_end_record(self.log, self.container.footer)
        self.trust = trust.Trust(self.log.slips, self.log.signatures, self.log.editions, self.about["keeper"])
        self.readings = readings.readings(self.log.slips, records.AUTHORED, self.trust.uncounted)

    def scan(self, digest):
        """The bytes of a scan; None where they are not there."""
        name = next((name for name in self.bag.entries if name.startswith(f"data/scans/{digest}.")), None)
        return self.bag.read(name) if name else None

    # What is found beyond opening: (rule, what)

    def audit(self):
        for check in (self.check_tail, self.check_history, self.check_contents, self.check_payload):
            try:
                check()
            except Broken as broken:
                yield broken.rule, broken.what
                return
        yield from self.check_slips()
        yield from self.trust.found
        dispatch = "answer_by" in self.about or "answers" in self.about or "event" in self.about
        yield from records.Audit(self.readings, self.scan, dispatch).found

    def check_tail(self):
        if self.container.damage:
            raise self.container.damage
        need(self.container.tail == 0, "C013", "bytes behind the last edition")

    def check_history(self):
        self.footers = list(container.history(self.container.data, self.container.footer))
        for footer in self.footers:
            log.check_version_said(self.log, footer)

    def check_contents(self):
        for footer in self.footers:
            for entry in footer.own:
                entry.check_no_end_record_inside(self.container.data)
                entry.content(self.container.data)
        for name in self.bag.entries:
            self.bag.read(name)

    def check_payload(self):
        listed = {f"{digest}  {name}" for name, digest in self.bag.payload.items()}
        need(listed == self.log.payload, "E040", "the manifest and what the editions brought")

    def check_slips(self):
        for reading in self.readings.values():
            if reading.stray:
                yield "S050", next(iter(reading.slips.values())).record
        for slip in self.log.slips:
            if slips.not_nfc(slip.members):
                yield "S051", slip.record
            first = "answer_by" in self.about and slip.edition == 1
            if first and slip.reach == "private":
                yield "S060", slip.record
            told = slip.reach == "telling" or slip.type in ("claim", "opinion", "conclusion", "match")
            if first and self.about.get("blind") and told:
                yield "S061", slip.record
