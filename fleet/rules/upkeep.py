"""Which technicians' records count as maintenance of which units of a system, on which days.

A record counts for the unit it is written on. It is spread as dues are: a task of the whole system counts for all of its
units, one of a drain line for every unit on that line, and one that is written on a unit it is not for counts also for
everything in the system that it is for.
"""

import datetime as dt
from collections import defaultdict

from fleet.rules.care import DONE, CareUnit, Record, System, is_for
from fleet.rules.caresheet import CareSheet, Task


def maintained(system: System, sheet: CareSheet | None) -> dict[str, set[dt.date]]:
    """List, for each unit by its key, the days of technicians' records that count for it.

    Whoever stood in the system on that day has it; without a care sheet nobody knows what a task is for.
    """
    days_of: dict[str, set[dt.date]] = defaultdict(set)
    by_key = {unit.key: unit for unit in system.units}
    for record in system.records:
        task = None if sheet is None else sheet.task(record.task)
        if record.what != DONE or not _by_technician(record, task):
            continue
        days_of[record.unit].add(record.day)
        unit = _there(system, by_key.get(record.unit), record)
        if task is None or unit is None:
            continue
        for other in system.units:
            if other.belongs(record.day) and _counts_for(task, unit, other):
                days_of[other.key].add(record.day)
    return days_of


def _by_technician(record: Record, task: Task | None) -> bool:
    return record.technician or (task is not None and task.by == "technician")


def _there(system: System, unit: CareUnit | None, record: Record) -> CareUnit | None:
    """The unit that stood there on the record's day: on the day of an exchange, the one that took over."""
    if unit is not None and unit.belongs(record.day):
        return unit
    heirs = (other for other in system.units if record.unit in other.took_over and other.belongs(record.day))
    return next(heirs, None)


def _counts_for(task: Task, unit: CareUnit, other: CareUnit) -> bool:
    if not is_for(task, other):
        return False
    if task.per == "system" or not is_for(task, unit):
        return True
    return task.per == "drain line" and bool(unit.drain) and unit.drain == other.drain
