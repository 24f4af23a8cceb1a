"""Loading installs from CSV against parsing the same CSV and bulk-inserting the same rows. Leaves the office for what follows."""

import csv
import json
import resource
import sys
import time
import tomllib
from pathlib import Path

from tests.bench import fleets, offices, twin
from tests.bench.timing import tell


def main(units: int) -> None:
    """Load an office of that size."""
    told = offices.loaded(units, "floor")
    tell(f"load {units:,} installs | parse and bulk-insert the same rows", told["ours"], told["floor"], 3)


def _work(units: int) -> None:
    """Load once: a second time would find everything there."""
    twin.setup()
    from django.conf import settings

    from fleet.coverage.actions import terms
    from fleet.loading import installs

    terms.load_tables([tomllib.loads(text) for text in fleets.TERMS], on=fleets.TODAY)
    path = Path(settings.DATA_DIR) / "installs.csv"
    fleets.write_installs(path, units)

    began = time.process_time()
    installs.load(path, by=None, on=fleets.TODAY)
    ours = time.process_time() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    floor = _floor(path) if "floor" in sys.argv else 0.0
    print(json.dumps({"ours": ours, "floor": floor, "peak": peak}))


def _floor(path: Path) -> float:
    """Parse the file, and insert the rows that came of it into an empty twin."""
    from django.db import transaction

    from fleet import models

    spent = [0.0]

    def timed(work):
        began = time.process_time()
        work()
        spent[0] += time.process_time() - began

    with path.open(newline="") as file:
        timed(lambda: sum(1 for _ in csv.DictReader(file)))
    tables = (
        models.Customer, models.Site, models.SiteUse, models.System, models.Unit, models.Place, models.Registration,
        models.Attachment, models.LookupEntry, models.HoldingRow, models.CoverageRow, models.FactRow,
    )  # fmt: skip
    with transaction.atomic(using=twin.TWIN):
        for table in tables:
            for rows in twin.in_batches(table):
                twin.write(rows, timed)
    return spent[0]


if len(sys.argv) > 2:
    _work(int(sys.argv[1]))
else:
    main(int(sys.argv[1]))
