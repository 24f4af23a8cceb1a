"""make bench: each row of the figures to reach, as a ratio to a floor measured in the same run.

python -m tests.bench [--units 100000] [--keep 10000] [--only rules,load,pages,saving,memory,keep]

Keeping takes longest and grows straight with the number of units, so unless told otherwise it is measured on a tenth of them.
"""

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

# In this order: each measures the offices as the one before it left them, and `keep` adds to its own.
ROWS = ("rules", "load", "pages", "saving", "memory", "keep")


def main() -> None:
    """Run each measurement in a process of its own, in a folder that is thrown away."""
    options = argparse.ArgumentParser(prog="make bench")
    options.add_argument("--units", type=int, default=100_000)
    options.add_argument("--only", default=",".join(ROWS))
    options.add_argument("--keep", type=int, help="units to keep coverage and dues of (a tenth of --units)")
    chosen = options.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="fleet-bench-"))
    environment = os.environ | {"BENCH_DIR": str(folder), "DJANGO_SETTINGS_MODULE": "tests.bench.settings"}
    environment.pop("DATABASE_URL", None)
    print(f"{'what':<66}{'ratio':>8}  {'reach':<8}", flush=True)
    try:
        for name in chosen.only.split(","):
            units = (chosen.keep or chosen.units // 10) if name == "keep" else chosen.units
            command = [sys.executable, "-m", f"tests.bench.{name}", str(units)]
            subprocess.run(command, env=environment, check=True)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
