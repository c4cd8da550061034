#!/usr/bin/env python3
"""Every verb of the program stands in spec/commands.md with its options, has a schema for its result, and has cases in
which it succeeds and in which it is refused; every schema belongs to a verb."""
import json
import re
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
SPEC = HERE.parent.parent / "spec"
EVERYWHERE = {"json", "help", "by", "via", "unsigned", "note", "why", "reach", "as-of"}  # described once, by mark


def help_of(program, *words):
    done = subprocess.run([program, "help", *words, "--json"], stdout=subprocess.PIPE, check=True)
    return json.loads(done.stdout)["result"]


def exit_statuses():
    """Of each verb, the exit statuses that some case expects."""
    statuses = {}
    for path in HERE.glob("*.case"):
        steps = re.split(r"^run ", path.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
        for step in steps:
            status = re.search(r"^exit (\d)", step, re.MULTILINE)
            statuses.setdefault(step.split(None, 1)[0] if step.split() else "", set()).add(
                int(status.group(1)) if status else 0
            )
    return statuses


def faults(program):
    reference = (SPEC / "commands.md").read_text(encoding="utf-8")
    statuses = exit_statuses()
    verbs = [verb["verb"] for verb in help_of(program)["verbs"]]
    for verb in verbs:
        line = re.search(rf"^\| `{re.escape(verb)} .*", reference, re.MULTILINE)
        if verb != "help" and line is None:
            yield f"spec/commands.md does not describe {verb}"
            continue
        for option in help_of(program, verb)["options"]:
            name = option["option"]
            short = {"out": "-o"}.get(name, "--" + name)
            if verb != "help" and name not in EVERYWHERE and short not in line.group(0):
                yield f"spec/commands.md does not describe {short} of {verb}"
        if not (SPEC / "schemas" / "verbs" / f"{verb}.schema.json").exists():
            yield f"spec/schemas/verbs lacks {verb}"
        if not statuses.get(verb, set()) & {0, 1}:
            yield f"no case in which {verb} succeeds"
        if 2 not in statuses.get(verb, set()):
            yield f"no case in which {verb} is refused"
    for path in (SPEC / "schemas" / "verbs").glob("*.schema.json"):
        name = path.name.replace(".schema.json", "")
        if name not in verbs and name not in ("version", "open"):
            yield f"spec/schemas/verbs: {name} is no verb"


def main():
    found = list(faults(sys.argv[1]))
    for fault in found:
        print(fault)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
