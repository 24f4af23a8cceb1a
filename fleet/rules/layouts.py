"""Layouts compared before a sale: what so many heads of which styles ask for over the years, in work, visits and money."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fleet.rules import words
from fleet.rules.caresheet import CareSheet, Task
from fleet.rules.tables import BadTable, Table


@dataclass(frozen=True, slots=True)
class Layout:
    """One way to heat and cool a house: how many heads of each style, on how many outdoor units, put in at what price."""

    name: str
    install_price: Decimal
    heads: tuple[tuple[str, int], ...]
    outdoor_units: int = 1


@dataclass(frozen=True, slots=True)
class Comparison:
    """The layouts a customer chooses between, and over how many years they are compared."""

    years: int
    layouts: tuple[Layout, ...]


@dataclass(frozen=True, slots=True)
class TaskCount:
    """How often one task falls in all, over the years and for everything it is done for."""

    task: Task
    times: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one layout asks for over the years; the tasks stand in the care sheet's order."""

    layout: Layout
    tasks: tuple[TaskCount, ...]
    owner_minutes: int
    technician_minutes: int
    visits: int
    care_cost: Decimal

    @property
    def total(self) -> Decimal:
        """What it costs to put in and to care for."""
        return self.layout.install_price + self.care_cost

    @property
    def washes(self) -> int:
        """How often the owner has a head in hand."""
        return sum(one.times for one in self.tasks if one.task.by == "owner" and one.task.per == "head")

    @property
    def drain_lines(self) -> int:
        """How often a drain line is looked after."""
        return sum(one.times for one in self.tasks if one.task.per == "drain line")

    @property
    def blower_wheels(self) -> int:
        """How often a blower wheel is cleaned."""
        return sum(one.times for one in self.tasks if one.task.dirt == "wheel")


def read(values: Mapping[str, Any]) -> Comparison:
    """Read the layouts to compare from a table; raises BadTable with every fault found, each naming its key."""
    table = Table(values)
    years = table.whole("years", least=1, most=100) or 1
    layouts: list[Layout] = []
    for entry in table.tables("layout", required=True):
        layout = _layout(entry)
        if layout.name and any(layout.name == other.name for other in layouts):
            entry.fault("name", f"{layout.name!r} stands there twice")
        layouts.append(layout)
        entry.close()
    table.close()
    if table.faults:
        raise BadTable(table.faults)
    return Comparison(years, tuple(layouts))


def _layout(entry: Table) -> Layout:
    install_price = entry.number("install_price", money=True)
    if install_price is None and not entry.has("install_price"):
        entry.fault("install_price", "is missing")
    heads = []
    for head in entry.tables("heads", required=True):
        heads.append((head.choice("style", words.STYLES) or "", head.whole("count", least=1, most=1000) or 0))
        head.close()
    return Layout(
        name=entry.text("name", limit=120),
        install_price=install_price or Decimal("0.00"),
        heads=tuple(heads),
        outdoor_units=entry.whole("outdoor_units", 1, least=1, most=1000) or 1,
    )


def compare(layout: Layout, sheet: CareSheet, *, years: int) -> Outcome:
    """Work out what a layout asks for over so many years."""
    months = 12 * years
    tasks = []
    minutes = dict.fromkeys(("owner", "technician"), 0)
    cost = Decimal("0.00")
    for task, things in _applying(layout, sheet):
        rounds = months // task.every_months
        tasks.append(TaskCount(task, rounds * things))
        minutes[task.by] += _minutes(task, layout, things) * rounds
        cost += task.price_of(things) * rounds
    steps = {count.task.every_months for count in tasks if count.task.by == "technician"}
    visits = len({month for step in steps for month in range(step, months + 1, step)})
    return Outcome(
        layout,
        tuple(tasks),
        owner_minutes=minutes["owner"],
        technician_minutes=minutes["technician"] + sheet.setup_minutes * visits,
        visits=visits,
        care_cost=cost,
    )


def totals(layout: Layout, sheet: CareSheet, *, years: int) -> tuple[Decimal, ...]:
    """What a layout has cost in all on the day it is put in, and after each year."""
    return (layout.install_price, *(compare(layout, sheet, years=year).total for year in range(1, years + 1)))


def _applying(layout: Layout, sheet: CareSheet) -> Iterator[tuple[Task, int]]:
    """Each task that falls for anything in this layout, and for how many things."""
    for task in sheet.tasks:
        things = _things(task, layout)
        if things:
            yield task, things


def _minutes(task: Task, layout: Layout, things: int) -> int:
    """Minutes of one round: for everything it is done for, and more for heads of some styles."""
    if task.per not in ("head", "drain line"):
        return task.minutes * things
    return sum(task.minutes_for(style) * count for style, count in _heads(task, layout))


def _heads(task: Task, layout: Layout) -> Iterator[tuple[str, int]]:
    return ((style, count) for style, count in layout.heads if not task.styles or style in task.styles)


def _things(task: Task, layout: Layout) -> int:
    if task.per in ("head", "drain line"):  # before a sale each head counts as having a drain line of its own
        return sum(count for _, count in _heads(task, layout))
    return {"outdoor": layout.outdoor_units, "system": 1}.get(task.per, 0)
