"""Checks a document against the part of JSON Schema 2020-12 that spec/schemas uses.

A keyword that is not known here is an error, so that nothing passes because it was overlooked.
"""
import json
import re
from pathlib import Path

TYPES = {
    "object": dict,
    "array": list,
    "string": str,
    "boolean": bool,
    "null": type(None),
    "number": (int, float),
}
IGNORED = {"$schema", "$id", "$defs", "title", "description", "examples", "$comment"}


def is_type(value, name):
    if name == "integer":
        return isinstance(value, int) and not isinstance(value, bool)
    if name == "number" and isinstance(value, bool):
        return False
    return isinstance(value, TYPES[name])


class Schema:
    def __init__(self, path):
        self.path = Path(path)
        self.root = json.loads(self.path.read_text(encoding="utf-8"))

    def faults(self, value):
        """A list of "PLACE: what is wrong"; empty where the document is valid."""
        return list(self._check(value, self.root, "$"))

    def _refer(self, reference):
        file, _, pointer = reference.partition("#")
        schema = Schema(self.path.parent / file) if file else self
        node = schema.root
        for part in pointer.strip("/").split("/") if pointer.strip("/") else []:
            node = node[part.replace("~1", "/").replace("~0", "~")]
        return schema, node

    def _check(self, value, node, place):
        if node is True:
            return
        if node is False:
            yield f"{place}: nothing may stand here"
            return
        for keyword, wanted in node.items():
            if keyword in IGNORED:
                continue
            check = getattr(self, "_" + keyword.lstrip("$"), None)
            if check is None:
                raise ValueError(f"{self.path}: schema keyword {keyword} is not known to the checker")
            yield from check(value, wanted, place, node)

    def _ref(self, value, wanted, place, node):
        schema, target = self._refer(wanted)
        yield from schema._check(value, target, place)

    def _type(self, value, wanted, place, node):
        names = wanted if isinstance(wanted, list) else [wanted]
        if not any(is_type(value, name) for name in names):
            yield f"{place}: is {json.dumps(value)[:60]}, not {' or '.join(names)}"

    def _const(self, value, wanted, place, node):
        if value != wanted:
            yield f"{place}: is not {wanted!r}"

    def _enum(self, value, wanted, place, node):
        if value not in wanted:
            yield f"{place}: {value!r} is none of {wanted}"

    def _pattern(self, value, wanted, place, node):
        if isinstance(value, str) and not re.search(wanted, value):
            yield f"{place}: {value!r} does not match {wanted}"

    def _minimum(self, value, wanted, place, node):
        if is_type(value, "number") and value < wanted:
            yield f"{place}: is less than {wanted}"

    def _maximum(self, value, wanted, place, node):
        if is_type(value, "number") and value > wanted:
            yield f"{place}: is more than {wanted}"

    def _minItems(self, value, wanted, place, node):
        if isinstance(value, list) and len(value) < wanted:
            yield f"{place}: has fewer than {wanted} elements"

    def _required(self, value, wanted, place, node):
        if isinstance(value, dict):
            for name in wanted:
                if name not in value:
                    yield f"{place}: lacks {name}"

    def _properties(self, value, wanted, place, node):
        if isinstance(value, dict):
            for name, inner in wanted.items():
                if name in value:
                    yield from self._check(value[name], inner, f"{place}.{name}")

    def _additionalProperties(self, value, wanted, place, node):
        if isinstance(value, dict):
            for name in value:
                if name not in node.get("properties", {}):
                    yield from self._check(value[name], wanted, f"{place}.{name}")

    def _items(self, value, wanted, place, node):
        if isinstance(value, list):
            for number, element in enumerate(value):
                yield from self._check(element, wanted, f"{place}[{number}]")

    def _anyOf(self, value, wanted, place, node):
        if all(list(self._check(value, inner, place)) for inner in wanted):
            yield f"{place}: fits none of the alternatives"
