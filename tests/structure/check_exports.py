#!/usr/bin/env python3
"""The shared library exports exactly what glassine.h declares, by versions of its own.

usage: check_exports.py LIBRARY [NM]"""
import pathlib
import re
import subprocess
import sys

if len(sys.argv) < 2:
    sys.exit("usage: check_exports.py LIBRARY [NM]")
root = pathlib.Path(__file__).resolve().parents[2]
nm = sys.argv[2] if len(sys.argv) > 2 else "nm"
text = re.sub(r"/\*.*?\*/", "", (root / "libformat/glassine.h").read_text(), flags=re.DOTALL)
declared = set(re.findall(r"GLASSINE_API[^;{]*?\b(glassine_\w+)\s*\(", text))
lines = subprocess.run([nm, "-D", "--defined-only", sys.argv[1]], check=True, capture_output=True, text=True).stdout
exported = {line.split()[-1].partition("@")[0] for line in lines.splitlines() if line.split()[-2] != "A"}
failures = [f"{name} is declared and not exported" for name in sorted(declared - exported)]
failures += [f"{name} is exported and not declared" for name in sorted(exported - declared)]
for failure in failures:
    print("FAIL", failure)
print(f"{len(declared & exported)} passed, {len(failures)} failed")
sys.exit(1 if failures or not declared else 0)
