"""What every part of the reader raises: the rule that is broken, and what was seen."""


class Broken(Exception):
    def __init__(self, rule, what):
        super().__init__(f"{what} ({rule})")
        self.rule = rule
        self.what = what


def need(holds, rule, what):
    if not holds:
        raise Broken(rule, what)
