"""What was told of a system's start-up, and the unit under which it stands."""

from django.db.models import Exists, OuterRef

from fleet import models

# What is measured once, when a system is started, in the order of the work.
MEASURED = ("pressure test", "vacuum reached", "vacuum held", "line length", "charge added")


def unit_of(system: int) -> models.Unit | None:
    """The unit that start-up facts are stored under: the first outdoor unit in service, or the first of any role."""
    units = list(models.Unit.objects.in_service().filter(system=system))
    units.sort(key=lambda unit: (unit.role != "outdoor", unit.serial_key, unit.pk))
    return units[0] if units else None


def readings_of(unit: int) -> dict[str, models.Reading]:
    """The readings of a unit's start-up, by name."""
    rows = models.Reading.objects.filter(unit=unit, start_up=True, reading__in=MEASURED)
    return {row.reading: row for row in rows.order_by("on", "pk")}


def on_file() -> Exists:
    """Of a unit in a query: whether anything of a start-up is on file under it."""
    return Exists(models.Reading.objects.filter(unit=OuterRef("pk"), start_up=True, reading__in=MEASURED))


def text_of(row: models.Reading | None) -> str:
    """Write a reading as it is told: its value and its measure."""
    return "" if row is None else f"{row.value.normalize():f} {row.measure}"
