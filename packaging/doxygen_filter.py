#!/usr/bin/env python3
"""Doxygen's input filter: makes the header's plain comments the kind that Doxygen looks at. One above a declaration
is about it, one behind a member about that member (or about each of several in one line), the first about the file."""
import re
import sys

MEMBERS = re.compile(r"( +(?:const )?\w+ )([*\w]+(?:, [*\w]+)+);( */\* .*\*/)\n")


def one_by_one(line):
    """`uint32_t rows, columns; /* … */` as a line for each."""
    several = MEMBERS.fullmatch(line)
    if not several:
        return [line]
    return [f"{several[1]}{name};{several[3]}\n" for name in several[2].split(", ")]


for whole in open(sys.argv[1], encoding="utf-8"):
    for line in one_by_one(whole):
        if line.startswith("/* ----"):
            line = "\n"
        elif line.startswith("/* glassine: "):
            line = line.replace("/* ", "/** @file glassine.h\n ", 1)
        elif re.match(r"\s*/\* ", line):
            line = line.replace("/* ", "/** ", 1)
        else:
            line = line.replace("/* ", "/**< ", 1)
        sys.stdout.write(line)
