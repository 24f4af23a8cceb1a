"""Where our record of maintenance begins: proposed with the first import, so that old customers are not overdue for years.

A company that begins has done maintenance that no file tells of. If the record begins on the day of the import, what fell due before
counts as done, in its season (`CareSheet.upkeep_on_file_from`); no payer takes that for proof.
"""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django.db.models import Q

from fleet import models
from fleet.care.actions import care_sheets
from fleet.derived import refresh

# Working out what a larger file would have overdue would double the time of its check.
MOST_COUNTED = 20_000


def is_proposed(row: models.Import) -> bool:
    """Whether a file brings units while nothing says where the record begins, and no maintenance is on file at all."""
    return (
        row.kind == "installs"
        and models.CareSheet.objects.filter(in_force=True, upkeep_on_file_from=None).exists()
        and not models.MaintenanceRecord.objects.exists()
    )


def overdue(load: models.Load, *, on: dt.date, heed: Callable[[], None]) -> dict[str, Any]:
    """How many of our tasks would be overdue on the units of a load, and at how many sites; nothing where they are too many.

    It works them out, so it is asked in a transaction that is rolled back.
    """
    units = models.Unit.objects.filter(load=load).order_by("pk")
    if units.count() > MOST_COUNTED:
        return {}

    def heeding() -> Any:
        for number, pk in enumerate(units.values_list("pk", flat=True).iterator(chunk_size=refresh.CHUNK)):
            if not number % refresh.CHUNK:
                heed()
            yield pk

    refresh.refresh(heeding(), on=on)
    late = models.DueRow.objects.filter(
        Q(not_before=None) | Q(not_before__lte=on),
        unit__load=load,
        by="technician",
        late_after__lt=on,
        opens_on__lte=on,
    )
    return {"tasks": late.count(), "sites": late.values("site").distinct().count()}


def begin(load: models.Load, *, by: models.User | None, on: dt.date) -> None:
    """Have the record begin today; what units of other loads are due is worked out again, those of this one are anyway."""
    care_sheets.begin_record(load=load, by=by, on=on)
    others = models.Unit.objects.exclude(load=load).order_by("pk")
    refresh.refresh(others.values_list("pk", flat=True).iterator(chunk_size=refresh.CHUNK), on=on)
