"""Working out and keeping all coverage against reading the same rows and bulk-writing the same rows, with no rules."""

import sys
import time

from tests.bench import fleets, twin
from tests.bench.timing import tell


def main(units: int) -> None:
    """Start from no kept rows in both, so that neither has any to take away."""
    twin.setup()
    from django.db import transaction

    from fleet import models
    from fleet.actions import kept

    models.CoverageRow.objects.all().delete()
    models.HoldingRow.objects.all().delete()
    began = time.perf_counter()
    kept.refresh_all(on=fleets.TODAY)
    ours = time.perf_counter() - began

    spent = [0.0]

    def timed(work):
        began = time.perf_counter()
        work()
        spent[0] += time.perf_counter() - began

    last = 0
    while True:
        began = time.perf_counter()
        rows = list(models.Unit.objects.filter(pk__gt=last).order_by("pk").with_facts()[: kept.CHUNK])
        spent[0] += time.perf_counter() - began
        if not rows:
            break
        last = rows[-1].pk
    for table in (models.HoldingRow, models.CoverageRow):
        with transaction.atomic(using=twin.TWIN):
            for batch in twin.in_batches(table):
                twin.write(batch, timed)
    tell(f"keep coverage of {units:,} units | read and write the same rows", ours, spent[0], 2.5)


main(int(sys.argv[1]))
