"""Who covers a unit today, in a line that fits on a phone."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping

from fleet import models
from fleet.rules.findings import Result
from fleet.rules.wording.in_short import covered_today


def covered(units: Collection[int]) -> Mapping[int, str]:
    """For each unit with coverage that is certain today, who pays for what until when; components named apart are left out."""
    rows = models.CoverageRow.objects.filter(unit__in=units, result=Result.COVERED).order_by("pk")
    of: dict[int, list[tuple[str, str, dt.date | None]]] = defaultdict(list)
    for unit, kind, payer, components, last_on in rows.values_list("unit", "kind", "payer", "components", "last_on"):
        if "*" in components.split(";"):
            of[unit].append((kind, payer, last_on))
    return {unit: covered_today(kept) for unit, kept in of.items()}
