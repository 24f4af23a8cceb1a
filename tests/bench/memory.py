"""Peak memory while loading, rechecking and exporting, against the same at a tenth of the size."""

import json
import os
import resource
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from tests.bench import fleets
from tests.bench.timing import tell

WORKS = ("load", "recheck", "export")


def main(units: int) -> None:
    """Run each work in a process of its own, at both sizes, and compare the peaks."""
    peaks = {}
    for size in (units // 10, units):
        with tempfile.TemporaryDirectory(prefix="fleet-bench-") as folder:
            for work in WORKS:
                peaks[work, size] = _peak(work, size, folder)
    for work in WORKS:
        tell(f"memory of {work}, {units:,} | a tenth of it", peaks[work, units], peaks[work, units // 10], 1.2)


def _peak(work: str, size: int, folder: str) -> float:
    command = [sys.executable, "-m", "tests.bench.memory", str(size), work]
    done = subprocess.run(command, env=os.environ | {"DATA_DIR": folder}, check=True, capture_output=True, text=True)
    return float(json.loads(done.stdout.splitlines()[-1]))


def _work(size: int, work: str) -> None:
    import django

    django.setup()
    from django.core.management import call_command

    from fleet.actions import installs, terms
    from fleet.pages.ending import Asked
    from fleet.queries import ending, recheck

    if work == "load":
        call_command("migrate", verbosity=0)
        terms.load_tables([tomllib.loads(text) for text in fleets.TERMS], on=fleets.TODAY)
        path = Path(os.environ["DATA_DIR"]) / "installs.csv"
        fleets.write_installs(path, size)
        installs.load(path, by=None, on=fleets.TODAY)
    elif work == "recheck":
        assert list(recheck.differences(on=fleets.TODAY)) == []
    else:
        assert sum(1 for _ in ending.rows(Asked(days=365), sort="", on=fleets.TODAY)) > 0
    print(json.dumps(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))


if len(sys.argv) > 2:
    _work(int(sys.argv[1]), sys.argv[2])
else:
    main(int(sys.argv[1]))
