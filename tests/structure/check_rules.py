#!/usr/bin/env python3
"""Every rule code that the library raises is in its table, and every code of the table is raised somewhere, told of in
spec/rules.md, and shown: by a file in testvectors/bad/ that breaks it, or, where no file can break it (GL_ASKED), by a
case in tests/cli/ or a unit test that names it.

usage: check_rules.py DUMP_RULES"""
import pathlib
import re
import subprocess
import sys

if len(sys.argv) != 2:
    sys.exit("usage: check_rules.py DUMP_RULES")
root = pathlib.Path(__file__).resolve().parents[2]
code = re.compile(r'"([BCEKLRS][0-9]{3})"')
failures = []

raised = {}
for path in (root / "libformat").rglob("*.c"):
    for found in code.findall(path.read_text()):
        raised.setdefault(found, path.relative_to(root))
table, asked = [], set()
for path in sorted((root / "libformat/audit/rules").glob("*.def")):
    for macro, name in re.findall(r'GL_(RULE|ASKED)\(\s*"([A-Z][0-9]{3})"', path.read_text()):
        table.append(name)
        if macro == "ASKED":
            asked.add(name)

for name in sorted(set(raised) - set(table)):
    failures.append(f"{name} is raised in {raised[name]} and is in no table")
for name in sorted(set(table) - set(raised)):
    failures.append(f"{name} is in the table and raised nowhere")
for name in sorted(n for n in set(table) if table.count(n) > 1):
    failures.append(f"{name} is in the table twice")

vectors = {path.name[:4] for path in (root / "testvectors/bad").glob("*.glassine")}
cases = {found for path in [*(root / "tests/cli").glob("*.case"), *(root / "tests").glob("*/test_*.c")]
         for found in re.findall(r"\b[BCEKLRS][0-9]{3}\b", path.read_text())}
for name in sorted(set(table) - asked - vectors):
    failures.append(f"{name} has no file in testvectors/bad/")
for name in sorted(asked - cases):
    failures.append(f"{name} has no case in tests/cli/, and no unit test")
for name in sorted(asked & vectors):
    failures.append(f"{name} is said to be for what is asked, and a file in testvectors/bad/ breaks it")
for name in sorted(vectors - set(table)):
    failures.append(f"{name} is the name of a file in testvectors/bad/ and is in no table")

said = (root / "spec/rules.md").read_text()
if subprocess.run([sys.argv[1]], capture_output=True, text=True, check=True).stdout != said:
    failures.append("spec/rules.md is not what dump_rules prints: run it again")

for line in failures:
    print(line)
print(f"{len(table)} rules, {len(asked)} of them for what is asked, {len(failures)} faults")
sys.exit(1 if failures else 0)
