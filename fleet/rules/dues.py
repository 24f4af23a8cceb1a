"""The dues of a system's units: which task is next, when, for which head, drain line, outdoor unit or whole system.

1. A task is for things: each unit of its role, each drain line, or the system. Each has the days it was done, the skips
   and the dirt seen.
2. From these days `windows` counts the next due.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from fleet.rules.care import DONE, Care, CareUnit, Due, MissingFact, Record, System, is_for
from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.windows import Count, Grade


@dataclass(slots=True)
class _Thing:
    """What a task is done for: the units it is made of, those in service, and what was written of it."""

    units: list[CareUnit] = field(default_factory=list)
    serving: list[CareUnit] = field(default_factory=list)

    @property
    def stands(self) -> CareUnit:
        """The unit it stands under: a system's first outdoor unit, or else its first unit; serials before none."""
        return self.serving[0]

    @property
    def start(self) -> dt.date | None:
        return min((unit.start for unit in self.units if unit.start is not None), default=None)

    @property
    def surroundings(self) -> frozenset[str]:
        words: frozenset[str] = frozenset()
        return words.union(*(unit.surroundings for unit in self.units))

    def anew_on(self, on: dt.date) -> dt.date | None:
        """The day by which all of its units in service had started anew."""
        days: list[dt.date] = []
        for unit in self.serving:
            day = unit.anew_on(on)
            if day is None:
                return None
            days.append(day)
        return max(days)


@dataclass(slots=True)
class _Written:
    """What was written of one thing about one task: the days it was done, and until when it was put off on which day."""

    done: set[dt.date] = field(default_factory=set)
    put_off: list[tuple[dt.date, dt.date]] = field(default_factory=list)


def _by_serial(unit: CareUnit) -> tuple[bool, str, str]:
    return (not unit.serial, unit.serial, unit.key)


class _Present:
    """A system on a day: its units in order of serial, its things by what a task is per, and its records by task."""

    def __init__(self, system: System, sheet: CareSheet, on: dt.date) -> None:
        self.on = on
        self.sheet = sheet
        self.units = sorted(system.units, key=_by_serial)
        self.serving = [unit for unit in self.units if unit.in_service(on)]
        self._by_key = {unit.key: unit for unit in self.units}
        # What was done to a unit before it was exchanged counts for the one that took over from it; its dirt went with it.
        self._heirs = {old: unit.key for unit in self.units if unit.belongs(on) for old in unit.took_over}
        self._things: dict[tuple[str, tuple[str, ...]], tuple[list[_Thing], dict[str, _Thing]]] = {}
        self._records: dict[str, list[Record]] = defaultdict(list)
        self._grades: dict[tuple[str, str], list[Grade]] = defaultdict(list)
        for record in system.records:
            if record.day <= on:
                if record.task:
                    self._records[record.task].append(record)
                if record.dirt_wheel is not None:
                    self._grades["wheel", record.unit].append(Grade(record.day, record.dirt_wheel))
                if record.dirt_coil is not None:
                    self._grades["coil", record.unit].append(Grade(record.day, record.dirt_coil))

    def things(self, task: Task) -> tuple[list[_Thing], dict[str, _Thing]]:
        """List the things a task is for, in order of the serials they stand under; and each unit's, by its key."""
        kind = (task.per, task.styles)
        things = self._things.get(kind)
        if things is None:
            things = self._things[kind] = self._grouped(task)
        return things

    def _grouped(self, task: Task) -> tuple[list[_Thing], dict[str, _Thing]]:
        groups: dict[tuple[str, str], _Thing] = defaultdict(_Thing)
        of_unit: dict[str, _Thing] = {}
        for unit in self.units:
            if not is_for(task, unit):
                continue
            if task.per == "system":
                name = ("system", "")
            elif task.per == "drain line" and unit.drain:
                name = ("line", unit.drain)
            else:
                name = ("unit", unit.key)
            thing = of_unit[unit.key] = groups[name]
            if unit.belongs(self.on):
                thing.units.append(unit)
            if unit.in_service(self.on):
                thing.serving.append(unit)
        things = [thing for thing in groups.values() if thing.serving]
        if task.per == "system":
            for thing in things:
                thing.serving.sort(key=lambda unit: unit.role != "outdoor")
        return sorted(things, key=lambda thing: _by_serial(thing.stands)), of_unit

    def written(self, task: Task) -> dict[int, _Written]:
        """Gather what was written about a task for each thing (by its id).

        A record on a unit that the task is not for counts for everything in the system that it is for.
        """
        things, of_unit = self.things(task)
        written: dict[int, _Written] = defaultdict(_Written)
        for record in self._records.get(task.code, ()):
            unit = self._by_key.get(self._heirs.get(record.unit, record.unit))
            if unit is None:
                continue
            own = of_unit.get(unit.key)
            for thing in things if own is None else (own,):
                if self._counts(record, unit, thing):
                    if record.what == DONE:
                        written[id(thing)].done.add(record.day)
                    elif record.not_before is not None:
                        written[id(thing)].put_off.append((record.day, record.not_before))
        return written

    def _counts(self, record: Record, unit: CareUnit, thing: _Thing) -> bool:
        """Whether a record counts: for more than its own unit, only what was done while the unit was in this system.

        What was done on a unit that has left counts on for the line or system, but not for one put in anew after it.
        """
        if thing.units == [unit]:
            return True
        if unit.joined_on is not None and record.day < unit.joined_on:
            return False
        if unit.left_on is None or self.on < unit.left_on:
            return True
        return record.day < unit.left_on and (thing.start is None or record.day >= thing.start)

    def grades(self, task: Task, thing: _Thing) -> list[Grade]:
        """List the dirt seen that a task listens to, on the units of a thing."""
        if not task.dirt or not self._grades:
            return []
        return [grade for unit in thing.units for grade in self._grades.get((task.dirt, unit.key), ())]


def work_out(system: System, sheet: CareSheet, *, on: dt.date) -> Care:
    """Work out the dues of a system's units, as they stand with what was written by a day."""
    present = _Present(system, sheet, on)
    dues: list[Due] = []
    missing: dict[tuple[str, str], MissingFact] = {}
    if not present.serving:
        return Care((), ())
    for task in sheet.tasks:
        things, _ = present.things(task)
        written = present.written(task) if things else {}
        price = task.price
        for thing in things:
            due = _of_thing(task, thing, written.get(id(thing)), present, price=price, system=system.key)
            if due is None:
                for unit in thing.serving:
                    missing[unit.key, "start"] = MissingFact(unit.key, unit.serial, "start")
            else:
                dues.append(due)
                price = task.further_price
        if task.styles:
            for unit in present.serving:
                if unit.role == "head" and not unit.style:
                    missing[unit.key, "style"] = MissingFact(unit.key, unit.serial, "style")
    return Care(tuple(dues), tuple(sorted(missing.values(), key=lambda one: (one.serial, one.unit, one.what))))


def _of_thing(
    task: Task, thing: _Thing, written: _Written | None, present: _Present, *, price: Decimal, system: str
) -> Due | None:
    done = [] if written is None else sorted(written.done)
    times = task.factor(thing.surroundings) if task.shorten else None
    count = Count(task, times, present.grades(task, thing), present.sheet.working)
    round_ = count.replayed(thing.start, thing.anew_on(present.on), done, upkeep_from=present.sheet.upkeep_on_file_from)
    window = count.window(round_)
    if window is None:
        return None
    put_off: Iterable[tuple[dt.date, dt.date]] = () if written is None else written.put_off
    stands = thing.stands
    return Due(
        system=system,
        unit=stands.key,
        serial=stands.serial,
        task=task,
        last_done=done[-1] if done else None,
        window=window,
        not_before=max((until for day, until in put_off if round_.last is None or day > round_.last), default=None),
        price=price,
        access=stands.access,
        style=stands.style,
        units=tuple(unit.key for unit in thing.serving),
        anchor=round_.anchor,
        times=times,
        assumed_on=round_.last if round_.assumed else None,
    )
