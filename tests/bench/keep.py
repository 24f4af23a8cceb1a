"""Working out and keeping all coverage and dues against reading the same rows and bulk-writing them, with no rules."""

import datetime as dt
import json
import sys
import time

from tests.bench import fleets, offices, twin
from tests.bench.timing import tell

YEARS = 3


def main(units: int) -> None:
    """Keep what hangs on an office of that size."""
    offices.loaded(units)
    told = offices.told("keep", units, "work")
    tell(f"keep coverage and dues of {units:,} units | read, write them", told["ours"], told["floor"], 2.5)


def _work() -> None:
    """Start from no kept rows in both, so that neither has any to take away."""
    twin.setup()
    from django.db import transaction

    from fleet import models
    from fleet.care.actions import care_sheets
    from fleet.derived import refresh
    from fleet.facts.units import FACTS

    care_sheets.load_file(fleets.SHEET, by=None, on=fleets.TODAY)
    _look_after_all(models)
    for table in (models.CoverageRow, models.HoldingRow, models.FactRow, models.DueRow):
        table.objects.all().delete()
    began = time.process_time()
    refresh.refresh_all(on=fleets.TODAY)
    ours = time.process_time() - began

    spent = [0.0]

    def timed(work):
        began = time.process_time()
        work()
        spent[0] += time.process_time() - began

    last = 0
    while True:
        began = time.process_time()
        rows = list(models.Unit.objects.filter(pk__gt=last).prefetch_related(*FACTS).order_by("pk")[: refresh.CHUNK])
        spent[0] += time.process_time() - began
        if not rows:
            break
        last = rows[-1].pk
    for table in (models.HoldingRow, models.CoverageRow, models.FactRow, models.DueRow):
        with transaction.atomic(using=twin.TWIN):
            for batch in twin.in_batches(table):
                twin.write(batch, timed)
    print(json.dumps({"ours": ours, "floor": spent[0]}))


def _look_after_all(models):
    """Give every unit a technician's record in each of the last years: a head's coil, an outdoor unit's rinse."""
    if models.MaintenanceRecord.objects.exists():
        return
    last = 0
    while rows := list(models.Unit.objects.filter(pk__gt=last).order_by("pk").values_list("pk", "role")[:2_000]):
        last = rows[-1][0]
        models.MaintenanceRecord.objects.bulk_create(
            models.MaintenanceRecord(
                unit_id=pk,
                done_on=fleets.TODAY - dt.timedelta(days=365 * year + pk % 200),
                task="coil cleaning" if role == "head" else "outdoor rinse",
                technician="Robin Vale",
            )
            for pk, role in rows
            for year in range(YEARS)
        )


if len(sys.argv) > 2:
    _work()
else:
    main(int(sys.argv[1]))
