#!/usr/bin/env python3
"""Checks that at the top of the tree lies nothing but what belongs there: what a tool left behind is soon committed with
the rest. In a clone, of what git knows; else of what is there.

usage: check_top.py [ROOT]"""
import subprocess
import sys
from pathlib import Path

FILES = {".clang-format", ".clang-tidy", ".gitattributes", ".gitignore", "CHANGELOG.md", "CMakeLists.txt", "CMakePresets.json",
         "DEVELOPERS.md", "LICENSE", "README.md"}


def files_of(root):
    if (root / ".git").exists():
        known = subprocess.run(["git", "-C", root, "-c", f"safe.directory={root}", "ls-files", "-z"], stdout=subprocess.PIPE, text=True, check=True).stdout
        return {name for name in known.split("\0") if name and "/" not in name}
    return {path.name for path in root.iterdir() if path.is_file()}


def main():
    root = sys.argv[1] if len(sys.argv) > 1 else Path(__file__).parents[2]
    strange = sorted(files_of(Path(root).resolve()) - FILES)
    print("\n".join(f"{name}: does not belong at the top of the tree" for name in strange) or "nothing lies where it should not")
    return 1 if strange else 0


if __name__ == "__main__":
    sys.exit(main())
