"""Growth by counted instructions: what a work costs at n, 2n, 4n."""

import math
import os
import re
import shutil

import data
from scans import add_plate, gone

MOST = 1.15  # the exponent that none may pass


def instructions(bench, *words):
    """What one run of the program takes, all threads together (valgrind's callgrind)."""
    told = bench.path("callgrind")
    bench.make("valgrind", "--tool=callgrind", f"--callgrind-out-file={told}", bench.glassine, *words, good=(0, 1))
    with open(told, encoding="utf-8") as file:
        count = next(int(line.split()[1]) for line in file if re.match(r"(summary|totals):", line))
    os.unlink(told)
    return count


def bundles(bench, items):
    """A collection, and the same with a tenth of new claims."""
    one, other = bench.path(f"grow-{items}.glassine"), bench.path(f"more-{items}.glassine")
    if not os.path.exists(other):
        bench.make(bench.tool("bench_make"), "collection", one, items)
        shutil.copyfile(one, other)
        bench.make(bench.tool("bench_make"), "claims", other, items // 2, 0)
    return one, other


def count_open(bench, items):
    return instructions(bench, "list", bundles(bench, items)[0], "item")


def count_save(bench, items):
    copy = bench.path("copy.glassine")
    shutil.copyfile(bundles(bench, items)[0], copy)
    return instructions(bench, "claim", copy, "H-000001", "1", "5")


def count_merge(bench, items):
    one, other = bundles(bench, items)
    copy = bench.path("copy.glassine")
    shutil.copyfile(one, copy)
    return instructions(bench, "merge", copy, other)


def count_diff(bench, items):
    return instructions(bench, "diff", *bundles(bench, items))


def count_standing(bench, items):
    return instructions(bench, "standing", bundles(bench, items)[1])


def scans_in(bench, count):
    """A bundle with so many small scans."""
    folder, bundle = bench.path(f"scans-{count}"), bench.path(f"scans-{count}.glassine")
    if not os.path.exists(folder):
        data.make_small_scans(folder, count, count)
        bench.ours("new", bundle, "title=Growth", "--by", "Keeper")
    return folder, bundle


def count_gather(bench, count):
    folder, bundle = scans_in(bench, count)
    return instructions(bench, "gather", bundle, folder)


def count_save_beside(bench, count):
    _, bundle = scans_in(bench, count)
    add_plate(bench, bundle)
    return instructions(bench, "claim", bundle, "S-00001", "1", "5")


COUNTED = [("open, list", count_open, 500, "items"), ("save one claim", count_save, 500, "items"),
           ("merge", count_merge, 500, "items"), ("diff", count_diff, 500, "items"), ("standing", count_standing, 500, "items"),
           ("gather", count_gather, 200, "scans"), ("save beside scans", count_save_beside, 200, "scans")]


def growth(bench):
    """growth by counted instructions at n, 2n, 4n"""
    for name, count, least, unit in COUNTED:
        n = least // 4 if bench.quick else least
        steps = []
        for factor in (1, 2, 4):
            bench.say(f"counting: {name}, {n * factor} {unit}")
            steps.append(count(bench, n * factor))
        exponent = math.log2(steps[2] / steps[1])
        beyond = math.log2((steps[2] - steps[1]) / (steps[1] - steps[0]))  # without what every run costs
        bench.target(f"growth of {name}", f"exponent, {n} to {4 * n} {unit}", max(exponent, beyond), f"at most {MOST}", MOST,
                     shown=f"{exponent:.2f} ({beyond:.2f} beyond what any run costs)")
        bench.remark(f"{name}: {', '.join(f'{each / 1e6:.1f}' for each in steps)} million instructions for {n}, {2 * n}, {4 * n} "
                     f"{unit}.")
    for factor in (1, 2, 4):
        for least in (500, 125):
            gone(*(bench.path(f"{kind}-{least * factor}.glassine") for kind in ("grow", "more")))
        for least in (200, 50):
            gone(bench.path(f"scans-{least * factor}"), bench.path(f"scans-{least * factor}.glassine"))
    gone(bench.path("copy.glassine"))


ROWS = {"growth": growth}
