"""Rows about plating: what a person cannot do in a spreadsheet."""

from measuring import Program
from scans import gone


def standings(bench):
    """the standing of 100,000 stamps with 300,000 claims"""
    work, bundle, stamps = standings.__doc__, bench.path("standings.glassine"), bench.size(100000, 2000)
    gone(bundle)
    bench.make(bench.tool("bench_make"), "standings", bundle, stamps)
    found = bench.compare(work, [
        Program("glassine editions (opening alone)", [bench.glassine, "editions", bundle]),
        Program("glassine standing, all stamps", [bench.glassine, "standing", bundle]),
        Program("glassine standing --json, all stamps", [bench.glassine, "standing", bundle, "--json"]),
        Program("glassine standing, one stamp", [bench.glassine, "standing", bundle, "H-000001"]),
        Program("glassine chart", [bench.glassine, "chart", bundle, "1"]),
    ], runs=min(bench.runs, 3))
    opened, table, _, _, _ = found.values()
    bench.target(work, "processor, standing of all ÷ opening", table.processor / opened.processor, "at most 10 ×", 10)
    bench.remark(f"{work}: {(table.processor - opened.processor) / stamps * 1e6:.1f} µs a stamp beyond opening.")
    gone(bundle)


def locating(bench):
    """locate on a plate of 240 positions with 2,000 marks"""
    work, bundle = locating.__doc__, bench.path("marks.glassine")
    gone(bundle)
    bench.make(bench.tool("bench_make"), "marks", bundle, bench.size(2000, 500))
    found = bench.compare(work, [
        Program("glassine editions (opening alone)", [bench.glassine, "editions", bundle]),
        Program("glassine locate", [bench.glassine, "locate", bundle, "H-000001"]),
    ])
    opened, located = found.values()
    bench.target(work, "processor, locate ÷ opening", located.processor / opened.processor, "at most 10 ×", 10)
    gone(bundle)


ROWS = {"standings": standings, "locating": locating}
