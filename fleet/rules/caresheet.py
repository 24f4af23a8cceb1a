"""Care sheets as values: our rules for maintenance, task by task; and their strict reading from a table."""

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fleet.rules import words
from fleet.rules.dates import MONDAY_TO_FRIDAY, WorkingDays
from fleet.rules.tables import BadTable, Table

BY = ("owner", "technician")
PER = (*words.ROLES, "drain line", "system")
COUNTS_FROM = ("day done", "due day")
DIRT = ("wheel", "coil")
_FILTER = re.compile(r"\bfilters?\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Shortening:
    """What makes a task due sooner: a surrounding, and the factor that its interval is then multiplied by."""

    when: str
    times: Decimal


@dataclass(frozen=True, slots=True)
class Task:
    """One kind of work: who does it, for each of what, how often, in which months it is best done, and what shortens it."""

    code: str
    title: str
    by: str
    per: str
    every_months: int
    early_days: int
    late_days: int
    minutes: int
    price: Decimal
    further_price: Decimal
    source_title: str
    source_page: str
    checked_on: dt.date
    styles: tuple[str, ...] = ()
    counts_from: str = "day done"
    months: tuple[int, ...] = ()
    not_months: tuple[int, ...] = ()
    style_minutes: tuple[tuple[str, int], ...] = ()
    floor_days: int = 0
    dirt: str = ""
    shorten: tuple[Shortening, ...] = ()
    cautions: tuple[str, ...] = ()

    def __hash__(self) -> int:
        return hash(self.code)

    @property
    def moves(self) -> bool:
        """Whether a preferred month may move it: a technician's task that comes round once a year or less often."""
        return bool(self.months) and self.by == "technician" and self.every_months >= 12

    @property
    def on_filter(self) -> bool:
        """Whether it washes or changes a filter. Its title says so, since a sheet has no key for it."""
        return _FILTER.search(self.title) is not None

    def factor(self, surroundings: frozenset[str]) -> Decimal | None:
        """The strongest single factor that applies in these surroundings; None where nothing shortens it."""
        return min((one.times for one in self.shorten if one.when in surroundings), default=None)

    def minutes_for(self, style: str) -> int:
        """Minutes of work for a head of this style, or for anything that has none.

        A plain loop, since a fleet asks this a million times of a pair or two.
        """
        for word, more in self.style_minutes:
            if word == style:
                return self.minutes + more
        return self.minutes

    def price_of(self, count: int) -> Decimal:
        """What this task costs when it is done for so many things of one system: the first at one price, the others at another."""
        return self.price + self.further_price * (count - 1) if count else Decimal(0)


@dataclass(frozen=True)
class CareSheet:
    """The care sheet in force: its tasks in order, and what a visit costs in minutes besides them.

    Our own tasks of before `upkeep_on_file_from` count as done where nothing says otherwise: the record begins there.
    `working` is no part of the file: the house's working days, which decide when a season that bars a task is over.
    """

    code: str
    tasks: tuple[Task, ...]
    setup_minutes: int = 0
    access_minutes: tuple[tuple[str, int], ...] = ()
    style_factor: tuple[tuple[str, Decimal], ...] = ()
    upkeep_on_file_from: dt.date | None = None
    working: WorkingDays = MONDAY_TO_FRIDAY

    def __hash__(self) -> int:
        return hash(self.code)

    def task(self, code: str) -> Task | None:
        """The task of this code, if there is one."""
        return next((task for task in self.tasks if task.code == code), None)

    @property
    def has_seasons(self) -> bool:
        """Whether some task is not planned in some months."""
        return any(task.not_months for task in self.tasks)

    def extra_minutes(self, access: str) -> int:
        """Minutes more for a unit that is hard to get at."""
        return dict(self.access_minutes).get(access, 0)

    def weight(self, style: str) -> Decimal:
        """What a head of this style counts for in an agreement's price; a plain one counts 1."""
        return dict(self.style_factor).get(style, Decimal(1))


def title_of(code: str, sheet: CareSheet | None) -> str:
    """What a task is called; its code where the care sheet in force does not know it, as an earlier one did."""
    task = None if sheet is None else sheet.task(code)
    return code if task is None else task.title


def read(values: Mapping[str, Any]) -> CareSheet:
    """Read a care sheet from a table; raises BadTable with every fault found, each naming its key."""
    table = Table(values)
    sheet = CareSheet(
        code=table.text("code", limit=80),
        setup_minutes=table.whole("setup_minutes", 0, most=1440) or 0,
        access_minutes=_minutes(table, "access_minutes", words.ACCESS),
        style_factor=tuple(table.decimals("style_factor", words.STYLES).items()),
        upkeep_on_file_from=table.day("upkeep_on_file_from"),
        tasks=_tasks(table),
    )
    table.close()
    if table.faults:
        raise BadTable(table.faults)
    return sheet


def _minutes(table: Table, key: str, known: Iterable[str]) -> tuple[tuple[str, int], ...]:
    """Minutes by word, in the order of the words."""
    entry = table.table(key)
    if entry is None:
        return ()
    minutes = [(word, entry.whole(word, 0, most=1440) or 0) for word in known]
    entry.close()
    return tuple(one for one in minutes if entry.has(one[0]))


def _tasks(table: Table) -> tuple[Task, ...]:
    tasks: list[Task] = []
    for entry in table.tables("task", required=True):
        task = _task(entry)
        if task.code and any(task.code == other.code for other in tasks):
            entry.fault("code", f"{task.code!r} stands there twice")
        tasks.append(task)
        entry.close()
    return tuple(tasks)


def _task(entry: Table) -> Task:
    price = entry.number("price", money=True)
    if price is None and not entry.has("price"):
        entry.fault("price", "is missing")
    price = price or Decimal(0)
    title, page, checked_on = _source(entry)
    task = Task(
        code=entry.text("code", limit=120),
        title=entry.text("title", limit=120),
        by=entry.choice("by", BY) or "technician",
        per=entry.choice("per", PER) or "system",
        styles=entry.words("styles", words.STYLES),
        every_months=entry.whole("every_months", least=1, most=1200) or 1,
        early_days=entry.whole("early_days") or 0,
        late_days=entry.whole("late_days") or 0,
        minutes=entry.whole("minutes", most=1440) or 0,
        price=price,
        further_price=entry.number("further_price", price, money=True) or Decimal(0),
        counts_from=entry.choice("counts_from", COUNTS_FROM, "day done") or "",
        months=entry.wholes("months", least=1, most=12),
        not_months=entry.wholes("not_months", least=1, most=12),
        style_minutes=_minutes(entry, "style_minutes", words.STYLES),
        floor_days=entry.whole("floor_days", 0) or 0,
        dirt=entry.choice("dirt", DIRT, required=False) or "",
        shorten=_shorten(entry),
        cautions=entry.words("cautions"),
        source_title=title,
        source_page=page,
        checked_on=checked_on,
    )
    for key, styles in (("styles", task.styles), ("style_minutes", task.style_minutes)):
        if styles and task.per not in ("head", "drain line"):
            entry.fault(key, 'are styles of head: they go with per = "head" or "drain line"')
    _check_not_months(entry, task)
    return task


def _check_not_months(entry: Table, task: Task) -> None:
    if task.not_months and task.by == "owner":
        entry.fault("not_months", "goes with our own tasks: we plan none of the customer's")
    elif len(set(task.not_months)) == 12:
        entry.fault("not_months", "must leave a month in which it is planned")
    elif both := sorted(set(task.not_months) & set(task.months)):
        entry.fault("not_months", f"stand in months too: {', '.join(map(str, both))}")


def _source(entry: Table) -> tuple[str, str, dt.date]:
    source = entry.table("source", required=True)
    title, page = ("", "") if source is None else (source.text("title"), source.text("page", ""))
    if source is not None:
        source.close()
    return title, page, entry.day("checked_on", required=True) or dt.date(1900, 1, 1)


def _shorten(entry: Table) -> tuple[Shortening, ...]:
    shortenings: list[Shortening] = []
    for one in entry.tables("shorten"):
        when = one.choice("when", words.SURROUNDINGS) or ""
        times = one.number("times")
        if times is None and not one.has("times"):
            one.fault("times", "is missing")
        if when and any(when == other.when for other in shortenings):
            one.fault("when", f"{when!r} stands there twice")
        shortenings.append(Shortening(when, Decimal(1) if times is None else times))
        one.close()
    return tuple(shortenings)
