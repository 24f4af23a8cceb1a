"""The care sheet in force, and systems as the rules of care see them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from django.db.models import QuerySet

from fleet import models
from fleet.facts import house
from fleet.facts.terms import from_document
from fleet.models.prepared import prepared
from fleet.rules import care, caresheet
from fleet.rules.windows import Window


@lru_cache(maxsize=16)
def _read(digest: str, upkeep_on_file_from: dt.date | None) -> caresheet.CareSheet:
    """Read one document, once per process: a document never changes under its digest."""
    documents = models.CareSheet.objects.filter(digest=digest).values_list("document", flat=True)
    return replace(caresheet.read(from_document(documents[0])), upkeep_on_file_from=upkeep_on_file_from)


def care_sheet() -> caresheet.CareSheet | None:
    """The care sheet in force, None while there is none; with the house's working days where a season bars a task."""
    rows = _in_force()
    if not rows:
        return None
    sheet = _read(*rows[0])
    return replace(sheet, working=house.working_days()) if sheet.has_seasons else sheet


@prepared
def _in_force() -> QuerySet[models.CareSheet, Any]:
    return models.CareSheet.objects.filter(in_force=True).values_list("digest", "upkeep_on_file_from")


class _Stay(NamedTuple):
    """One place of a unit in a system, with the unit as far as its care asks for it."""

    system_id: int
    site_id: int
    joined_on: dt.date | None
    left_on: dt.date | None
    unit_id: int
    serial: str
    role: str
    style: str
    drain: str
    surroundings: str
    access: str
    started_on: dt.date | None
    installed_on: dt.date | None
    came_on: dt.date | None
    gone_on: dt.date | None
    took_over_from: int | None


class _Earlier(NamedTuple):
    """A unit that another took over from: what it handed on, and what it took over itself."""

    unit_id: int
    started_on: dt.date | None
    installed_on: dt.date | None
    took_over_from: int | None


_STAY = (
    "system_id", "system__site_id", "came_on", "left_on", "unit_id", "unit__serial", "unit__role", "unit__style",
    "unit__drain", "unit__surroundings", "unit__access", "unit__started_on", "unit__installed_on", "unit__came_on",
    "unit__gone_on", "unit__took_over_from_id",
)  # fmt: skip
_RECORD = (
    "unit_id", "done_on", "task", "skipped", "dirt_wheel", "dirt_coil", "not_before", "technician",
)  # fmt: skip


def systems(ids: Iterable[int], *, on: dt.date | None = None) -> list[care.System]:
    """Gather systems by their keys, in that order, with everything that bears on their dues.

    A unit that came, left and came again is told of its latest stay (by a day, if one is given).
    """
    return [system for system, _ in with_sites(ids, on=on)]


def with_sites(ids: Iterable[int], *, on: dt.date | None = None) -> list[tuple[care.System, int]]:
    """Gather systems that ever had a unit, each with the key of its site; a query per generation of exchanged units."""
    wanted = sorted(set(ids))
    stays = [_Stay(*row) for row in _stays(wanted)]
    earlier = _earlier(stays)
    units = {stay.unit_id for stay in stays} | set(earlier)
    idle = _idle(units)
    records = _records(units)
    by_system: dict[int, list[_Stay]] = defaultdict(list)
    for stay in stays:
        by_system[stay.system_id].append(stay)
    found = []
    for pk in wanted:
        if there := by_system.get(pk):
            system = _system(pk, _latest(there, on), earlier, idle, records)
            found.append((system, there[0].site_id))
    return found


@prepared
def _stays(systems: Collection[int]) -> QuerySet[models.Place, Any]:
    return models.Place.objects.filter(system__in=systems).order_by("pk").values_list(*_STAY)


@prepared
def _idles(units: Collection[int]) -> QuerySet[models.Idle, Any]:
    found = models.Idle.objects.filter(unit__in=units).order_by("idle_on")
    return found.values_list("unit_id", "idle_on", "back_on")


@prepared
def _recorded(units: Collection[int]) -> QuerySet[models.MaintenanceRecord, Any]:
    found = models.MaintenanceRecord.objects.filter(unit__in=units).order_by("done_on", "pk")
    return found.values_list(*_RECORD)


def _latest(stays: Sequence[_Stay], on: dt.date | None) -> list[_Stay]:
    """Keep one stay of each unit: its latest one, by a day where one is given."""
    if len({stay.unit_id for stay in stays}) == len(stays):
        return list(stays)
    found: dict[int, _Stay] = {}
    for stay in sorted(stays, key=lambda stay: stay.joined_on or dt.date.min):
        if stay.unit_id not in found or on is None or (stay.joined_on or dt.date.min) <= on:
            found[stay.unit_id] = stay
    return list(found.values())


def _earlier(stays: Sequence[_Stay]) -> dict[int, _Earlier]:
    """Find every unit that those at hand took over from, one generation after the other."""
    found: dict[int, _Earlier] = {}
    missing = {stay.took_over_from for stay in stays if stay.took_over_from is not None}
    while missing:
        rows = models.Unit.objects.filter(pk__in=missing).values_list(
            "pk", "started_on", "installed_on", "took_over_from_id"
        )
        for row in rows:
            found[row[0]] = _Earlier(*row)
        missing = {one.took_over_from for one in found.values() if one.took_over_from is not None} - set(found)
    return found


def _idle(units: Collection[int]) -> Mapping[int, tuple[care.Idle, ...]]:
    found: dict[int, tuple[care.Idle, ...]] = {}
    for unit, first, back in _idles(units):
        found[unit] = (*found.get(unit, ()), care.Idle(first, back))
    return found


def _records(units: Collection[int]) -> Mapping[int, list[care.Record]]:
    found: dict[int, list[care.Record]] = defaultdict(list)
    for unit, day, task, skipped, wheel, coil, not_before, technician in _recorded(units):
        what = care.SKIPPED if skipped else care.DONE
        found[unit].append(care.Record(str(unit), day, task, what, wheel, coil, not_before, bool(technician)))
    return found


def _system(
    pk: int,
    stays: Sequence[_Stay],
    earlier: Mapping[int, _Earlier],
    idle: Mapping[int, tuple[care.Idle, ...]],
    records: Mapping[int, list[care.Record]],
) -> care.System:
    by_unit = {stay.unit_id: stay for stay in stays}
    units = []
    told: dict[int, None] = {}
    for stay in stays:
        line = _line(stay.took_over_from, earlier)
        units.append(_unit(stay, line, _joined_on(stay, by_unit), idle.get(stay.unit_id, ())))
        told |= dict.fromkeys((stay.unit_id, *(one.unit_id for one in line)))
    return care.System(tuple(units), tuple(record for unit in told for record in records.get(unit, ())), str(pk))


def _line(first: int | None, earlier: Mapping[int, _Earlier]) -> list[_Earlier]:
    """List the units that one took over from, the latest first."""
    found: list[_Earlier] = []
    while first is not None:
        found.append(earlier[first])
        first = found[-1].took_over_from
    return found


def _joined_on(stay: _Stay, by_unit: Mapping[int, _Stay]) -> dt.date | None:
    """The day since which it is in the system; one that came in exchange stands there since the one before it did."""
    while stay.took_over_from is not None and stay.joined_on == stay.came_on and stay.took_over_from in by_unit:
        stay = by_unit[stay.took_over_from]
    return stay.joined_on


def _unit(
    stay: _Stay, line: Sequence[_Earlier], joined_on: dt.date | None, idle: tuple[care.Idle, ...]
) -> care.CareUnit:
    root = line[-1] if line else stay
    return care.CareUnit(
        key=str(stay.unit_id),
        serial=stay.serial,
        role=stay.role,
        style=stay.style,
        drain=stay.drain,
        surroundings=_words(stay.surroundings),
        access=stay.access,
        started_on=root.started_on,
        installed_on=root.installed_on,
        came_on=stay.came_on,
        took_over=tuple(str(one.unit_id) for one in line),
        joined_on=joined_on,
        left_on=min((day for day in (stay.left_on, stay.gone_on) if day is not None), default=None),
        idle=idle,
    )


@lru_cache(maxsize=256)
def _words(text: str) -> frozenset[str]:
    return frozenset(text.split(";")) - {""}


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
