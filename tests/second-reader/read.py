#!/usr/bin/env python3
"""What a bundle holds.

    read.py FILE"""
import sys

import bundle
import readings
from broken import Broken


def main(path):
    try:
        with open(path, "rb") as file:
            made = bundle.Bundle(file.read())
    except Broken as broken:
        print(f"{path}: {broken}", file=sys.stderr)
        return 2
    print(f"title    {made.about['title']}")
    print(f"keeper   {made.about['keeper']}")
    print(f"edition  {made.container.footer.number}")
    print(f"log      {made.log.editions[-1]['log']}")
    print(f"digest   {readings.content_digest(made.log.slips)}")
    for (record, author), reading in sorted(made.readings.items(), key=str):
        print(f"\n{record}" + (f"  by {author}" if author else ""))
        for (name, reach), values in reading.fields.items():
            for said in values:
                shown = "(cleared)" if said.cleared else said.bytes.decode()
                print(f"  {name}  {shown}  {reach}, {said.slip.by}")
    found = list(made.audit())
    for rule, what in found:
        print(f"\n{rule}: {what}")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
