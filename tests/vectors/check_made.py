#!/usr/bin/env python3
"""The vectors of log, readings and merge are, byte for byte, what the scripts beside this one make again."""
import pathlib
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
MADE = {"make_log_vectors.py": "log", "make_reading_vectors.py": "readings", "make_merge_vectors.py": "merge"}


def main():
    failed = 0
    with tempfile.TemporaryDirectory() as name:
        again = pathlib.Path(name)
        shutil.copytree(ROOT / "tests/vectors", again / "tests/vectors", ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copytree(ROOT / "spec", again / "spec")
        for script, kind in MADE.items():
            subprocess.run([sys.executable, again / "tests/vectors" / script], check=True, stdout=subprocess.DEVNULL)
            there, made = ({path.name: path.read_bytes() for path in (root / "testvectors" / kind).glob("*.json")}
                           for root in (ROOT, again))
            for path in sorted(there.keys() | made.keys()):
                if there.get(path) != made.get(path):
                    failed += 1
                    print(f"FAIL testvectors/{kind}/{path} is not what {script} makes")
            print(f"{len(made)} of {kind} made again")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
