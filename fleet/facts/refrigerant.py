"""What a system's refrigerant and full charge are, by its plates and its start-up, and what was recovered from it."""

import datetime as dt
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Q

from fleet import models
from fleet.rules import federal
from fleet.rules.dates import DAY
from fleet.rules.readings import OUNCES_A_POUND, Move

# How long before a unit is taken out its refrigerant may have been recovered.
_BEFORE = 31 * DAY


class Charge(NamedTuple):
    """A system's refrigerant (blank: no plate says it) and its full charge in pounds (0: no plate says it)."""

    refrigerant: str
    pounds: Decimal


def charge_of(system: int, *, on: dt.date | None = None) -> Charge:
    """The refrigerant and the full charge of a system: its plates, and what start-up added; as it stood before a day, if given."""
    there = Q(removed_on=None) if on is None else Q(removed_on=None) | Q(removed_on__gte=on)
    units = list(models.Unit.objects.filter(there, system=system))
    units.sort(key=lambda unit: (unit.role != "outdoor", unit.serial_key, unit.pk))
    ounces = sum((unit.plate_charge_oz for unit in units if unit.plate_charge_oz is not None), Decimal(0))
    if ounces:
        added = models.Reading.objects.filter(unit__in=units, start_up=True, reading="charge added").first()
        if added is not None:
            ounces += added.value * (OUNCES_A_POUND if added.measure == "lb" else 1)
    return Charge(next((unit.refrigerant for unit in units if unit.refrigerant), ""), ounces / OUNCES_A_POUND)


def recovery_missing(unit: models.Unit) -> bool:
    """Whether an outdoor unit was taken out whose refrigerant must be on record as recovered, and is not."""
    if unit.role != "outdoor" or unit.removed_on is None:
        return False
    charge = charge_of(unit.system_id, on=unit.removed_on)
    if not federal.disposal_recorded(charge.pounds, federal.substance_of(charge.refrigerant)):
        return False
    recovered = models.RefrigerantEntry.objects.filter(
        system=unit.system_id, move=Move.RECOVERED, on__gte=unit.removed_on - _BEFORE
    )
    return not recovered.exists()
