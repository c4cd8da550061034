#!/usr/bin/env python3
"""Every rule code that the library raises is in its table, and every code of the table is raised somewhere,
told of in spec/rules.md, and (as far as a file can break it) shown by a vector in testvectors/bad/.

usage: check_rules.py DUMP_RULES"""
import pathlib
import re
import subprocess
import sys

root = pathlib.Path(__file__).resolve().parents[2]
code = re.compile(r'"([BCEKLRS][0-9]{3})"')
failures = []

sources = [p for p in (root / "libformat").rglob("*.c")]
raised = {}
for path in sources:
    for found in code.findall(path.read_text()):
        raised.setdefault(found, path.relative_to(root))
table = []
for path in sorted((root / "libformat/audit/rules").glob("*.def")):
    table += re.findall(r'GL_RULE\(\s*"([A-Z][0-9]{3})"', path.read_text())

for name in sorted(set(raised) - set(table)):
    failures.append(f"{name} is raised in {raised[name]} and is in no table")
for name in sorted(set(table) - set(raised)):
    failures.append(f"{name} is in the table and raised nowhere")
for name in sorted(n for n in set(table) if table.count(n) > 1):
    failures.append(f"{name} is in the table twice")

said = (root / "spec/rules.md").read_text()
if subprocess.run([sys.argv[1]], capture_output=True, text=True, check=True).stdout != said:
    failures.append("spec/rules.md is not what dump_rules prints: run it again")

for line in failures:
    print(line)
print(f"{len(table)} rules, {len(failures)} faults")
sys.exit(1 if failures else 0)
