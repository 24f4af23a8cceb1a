"""The care sheet in force, and systems as the rules of care see them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from fleet import models
from fleet.facts import house
from fleet.facts.terms import from_document
from fleet.rules import care, caresheet
from fleet.rules.windows import Window


@lru_cache(maxsize=16)
def _read(document: str) -> caresheet.CareSheet:
    """Read one document, once per process: a load asks for the sheet of each row."""
    return caresheet.read(from_document(document))


def care_sheet() -> caresheet.CareSheet | None:
    """The care sheet in force, None while there is none; with the house's working days where a season bars a task."""
    sheet = sheet_to_read()
    return replace(sheet, working=house.working_days()) if sheet is not None and sheet.has_seasons else sheet


def sheet_to_read() -> caresheet.CareSheet | None:
    """The care sheet in force without working days, for whoever reads its tasks and counts no due on."""
    row = models.CareSheet.objects.filter(in_force=True).first()
    return None if row is None else replace(_read(row.document), upkeep_on_file_from=row.upkeep_on_file_from)


def systems(ids: Iterable[int], *, on: dt.date | None = None) -> list[care.System]:
    """Gather systems by their keys, in that order, with everything that bears on their dues.

    A unit that came, left and came again is told of its latest stay (by a day, if one is given).
    """
    return [system for system, _ in with_sites(ids, on=on)]


def with_sites(ids: Iterable[int], *, on: dt.date | None = None) -> list[tuple[care.System, int]]:
    """Gather systems that ever had a unit, each with the key of its site; a query per generation of exchanged units."""
    by_system: dict[int, list[models.Place]] = defaultdict(list)
    for place in models.Place.objects.filter(system__in=set(ids)).select_related("unit", "system").order_by("pk"):
        by_system[place.system_id].append(place)
    units = with_earlier(place.unit for places in by_system.values() for place in places)
    idle, records, left = _idle(units), _records(units), _left(units)
    return [
        (_system(pk, _latest(places, on), units, idle, records, left), places[0].system.site_id)
        for pk, places in sorted(by_system.items())
    ]


def _latest(places: Sequence[models.Place], on: dt.date | None) -> list[models.Place]:
    """One stay of each unit: its latest one, by a day where one is given."""
    found: dict[int, models.Place] = {}
    for place in sorted(places, key=lambda place: place.joined_on or dt.date.min):
        if place.unit_id not in found or on is None or (place.joined_on or dt.date.min) <= on:
            found[place.unit_id] = place
    return [place for place in places if found[place.unit_id] is place]


def with_earlier(rows: Iterable[models.Unit]) -> dict[int, models.Unit]:
    """Units by their keys, with every one that they took over from: a query for each generation."""
    found = {row.pk: row for row in rows}
    while missing := {row.took_over_from_id for row in found.values() if row.took_over_from_id} - set(found):
        found |= models.Unit.objects.in_bulk(missing)
    return found


def _idle(units: Collection[int]) -> Mapping[int, tuple[care.Idle, ...]]:
    found: dict[int, tuple[care.Idle, ...]] = defaultdict(tuple)
    for row in models.Idle.objects.filter(unit__in=units).order_by("idle_on"):
        found[row.unit_id] = (*found[row.unit_id], care.Idle(row.idle_on, row.back_on))
    return found


def _left(units: Mapping[int, models.Unit]) -> Mapping[int, dt.date]:
    """The day on which each unit was taken out whose place one of these took."""
    before = {unit.in_place_of_id for unit in units.values() if unit.in_place_of_id}
    rows = models.Unit.objects.filter(pk__in=before).values_list("pk", "removed_on") if before else ()
    return {pk: day for pk, day in rows if day is not None}


def _records(units: Collection[int]) -> Mapping[int, list[care.Record]]:
    found: dict[int, list[care.Record]] = defaultdict(list)
    for row in models.MaintenanceRecord.objects.filter(unit__in=units).order_by("done_on", "pk"):
        what = care.SKIPPED if row.skipped else care.DONE
        found[row.unit_id].append(
            care.Record(
                str(row.unit_id),
                row.done_on,
                row.task,
                what,
                row.dirt_wheel,
                row.dirt_coil,
                row.not_before,
                bool(row.technician),
            )
        )
    return found


def _system(
    pk: int,
    places: Sequence[models.Place],
    known: Mapping[int, models.Unit],
    idle: Mapping[int, tuple[care.Idle, ...]],
    records: Mapping[int, list[care.Record]],
    left: Mapping[int, dt.date],
) -> care.System:
    by_unit = {place.unit_id: place for place in places}
    lines = {place.unit_id: _line(place.unit, known) for place in places}
    units = tuple(
        _unit(place, lines[place.unit_id], _joined_on(place, by_unit), idle.get(place.unit_id, ()), left)
        for place in places
    )
    told = dict.fromkeys(key for unit, line in lines.items() for key in (unit, *(one.pk for one in line)))
    return care.System(units, tuple(record for key in told for record in records.get(key, ())), str(pk))


def _line(unit: models.Unit, known: Mapping[int, models.Unit]) -> list[models.Unit]:
    """The units that one took over from, the latest first."""
    found: list[models.Unit] = []
    while unit.took_over_from_id is not None:
        unit = known[unit.took_over_from_id]
        found.append(unit)
    return found


def _joined_on(place: models.Place, by_unit: Mapping[int, models.Place]) -> dt.date | None:
    """The day since which it is in the system; one that came in exchange stands there since the one before it did."""
    while place.joined_on == place.unit.replaced_on and (before := by_unit.get(place.unit.took_over_from_id or 0)):
        place = before
    return place.joined_on


def _unit(
    place: models.Place,
    line: Sequence[models.Unit],
    joined_on: dt.date | None,
    idle: tuple[care.Idle, ...],
    left: Mapping[int, dt.date],
) -> care.CareUnit:
    unit = place.unit
    first = line[-1] if line else unit
    return care.CareUnit(
        key=str(unit.pk),
        serial=unit.serial,
        role=unit.role,
        style=unit.style,
        drain=unit.drain,
        surroundings=frozenset(unit.surroundings.split(";")) - {""},
        access=unit.access,
        started_on=first.started_on,
        installed_on=first.installed_on,
        replaced_on=unit.replaced_on,
        took_over=tuple(str(one.pk) for one in line),
        joined_on=joined_on,
        left_on=min((day for day in (place.left_on, unit.removed_on) if day is not None), default=None),
        idle=idle,
        replaces_on=left.get(first.in_place_of_id or 0),
        still_matched=unit.matched_after if place.left_on is None else "",
    )


def due_of(row: models.DueRow, sheet: caresheet.CareSheet) -> care.Due:
    """A due as the rules gave it, from a row fetched with its unit."""
    task = sheet.task(row.task)
    if task is None:
        raise KeyError(f"no task {row.task!r} in the care sheet {sheet.code}")
    return care.Due(
        system=str(row.system_id),
        unit=str(row.unit_id),
        serial=row.unit.serial,
        task=task,
        last_done=row.last_done,
        window=Window(row.due_on, row.opens_on, row.late_after, row.graded),
        not_before=row.not_before,
        price=row.price,
        access=row.unit.access,
        style=row.unit.style,
        units=tuple(map(str, row.units)),
        anchor=row.anchor,
        times=Decimal(row.times) if row.times else None,
        assumed_on=row.assumed_on,
    )
