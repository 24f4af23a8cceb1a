"""Care, in one line each: days are written as text, and only what matters is named."""

import datetime as dt
from decimal import Decimal
from typing import Any

from fleet.rules import care, caresheet
from fleet.rules.care import CareUnit, Due, Record, System
from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.dues import work_out

Table = dict[str, Any]


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def _days(named: Table) -> Table:
    return {name: value and day(value) if name.endswith("_on") else value for name, value in named.items()}


def entry(code: str = "clean", **named: Any) -> Table:
    """A task as a care sheet's file gives it: a technician's, yearly, for each head, thirty days either way."""
    left_out = {
        "code": code,
        "title": code.capitalize(),
        "by": "technician",
        "per": "head",
        "every_months": 12,
        "early_days": 30,
        "late_days": 30,
        "minutes": 20,
        "price": "50.00",
        "source": {"title": "House rules"},
        "checked_on": dt.date(2026, 8, 1),
    }
    return left_out | named


def sheet(*entries: Table, **named: Any) -> CareSheet:
    return caresheet.read({"code": "house", "task": list(entries) or [entry()], **named})


def task(code: str = "clean", **named: Any) -> Task:
    return sheet(entry(code, **named)).tasks[0]


def unit(
    serial: str = "H1", role: str = "head", surroundings: str = "", idle: tuple[str, ...] = (), **named: Any
) -> CareUnit:
    """A head put in on May 15, 2020, where nothing else is said; `idle` has its first day and the day it came back."""
    named = {"key": serial, "installed_on": "2020-05-15"} | named
    if role == "head":
        named.setdefault("style", "wall")
    if idle:
        named["idle"] = (care.Idle(*map(day, idle)),)
    kinds = frozenset(surroundings.split(";")) - {""}
    return CareUnit(serial=serial, role=role, surroundings=kinds, **_days(named))


def done(on: str, serial: str = "H1", code: str = "clean", **named: Any) -> Record:
    return Record(serial, day(on), code, **named)


def skipped(on: str, until: str | None = None, serial: str = "H1", code: str = "clean") -> Record:
    return Record(serial, day(on), code, care.SKIPPED, not_before=until and day(until))


def graded(on: str, grade: int, serial: str = "H1", part: str = "wheel") -> Record:
    """Dirt seen, and nothing done about it."""
    return Record(serial, day(on), **{"what": "", f"dirt_{part}": grade})


def dues(rules: CareSheet | Task, *told: CareUnit | Record, on: str = "2026-11-24") -> tuple[Due, ...]:
    """Work out the dues of one system."""
    return worked_out(rules, *told, on=on).dues


def worked_out(rules: CareSheet | Task, *told: CareUnit | Record, on: str = "2026-11-24") -> care.Care:
    if isinstance(rules, Task):
        rules = CareSheet("house", (rules,))
    units = tuple(one for one in told if isinstance(one, CareUnit)) or (unit(),)
    records = tuple(one for one in told if isinstance(one, Record))
    return work_out(System(units, records, "Main"), rules, on=day(on))


def due(rules: CareSheet | Task, *told: CareUnit | Record, on: str = "2026-11-24") -> Due:
    """Work out the one due there is."""
    (found,) = dues(rules, *told, on=on)
    return found


def span(found: Due) -> tuple[str, str, str]:
    """When a due opens, when it should happen, and after which day it is late."""
    return found.opens_on.isoformat(), found.due_on.isoformat(), found.late_after.isoformat()


def money(text: str) -> Decimal:
    return Decimal(text)
