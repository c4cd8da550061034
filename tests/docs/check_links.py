#!/usr/bin/env python3
"""Looks whether every link between the documents of an installation leads to something that is installed too.

usage: check_documents.py FOLDER"""
import pathlib
import re
import sys

folder = pathlib.Path(sys.argv[1])
dead, found = [], 0
for document in [folder / "README.md", *sorted((folder / "docs").rglob("*.md")), *sorted((folder / "spec").rglob("*.md"))]:
    for target in re.findall(r"\]\(([^)#\s]+)", document.read_text(encoding="utf-8")):
        if "://" in target:
            continue
        found += 1
        if not (document.parent / target).exists():
            dead.append(f"{document.relative_to(folder)}: {target}")
print(f"{found} links between documents, {len(dead)} dead")
if dead or not found:
    sys.exit("\n".join(dead) or "no link is found: is this the folder of the documents?")
