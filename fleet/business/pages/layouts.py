"""Layouts compared: in sentences, in a table and drawn; and the shape that the command gives."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from fleet.elements.chart import Bar, Chart, Line, Tick, bar, steps
from fleet.rules import layouts as rules
from fleet.rules.caresheet import CareSheet
from fleet.rules.layouts import Comparison, Outcome
from fleet.rules.wording import layouts as wording
from fleet.rules.wording.money import dollars

BESIDES = wording.BESIDES


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of all layouts, as bars against the longest of them."""

    title: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """One row of the table: what it counts, and each layout's figure."""

    title: str
    by: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class One:
    """One layout: its name, what it consists of, and all that it asks for in a sentence."""

    name: str
    heads: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Compared:
    """The whole comparison."""

    years: int
    outcomes: tuple[Outcome, ...]
    columns: tuple[One, ...]
    sentences: tuple[str, ...]
    measures: tuple[Measure, ...]
    money: Chart
    rows: tuple[Figures, ...]


def compared(comparison: Comparison, sheet: CareSheet) -> Compared:
    """Compare layouts by a care sheet."""
    outcomes = tuple(rules.compare(layout, sheet, years=comparison.years) for layout in comparison.layouts)
    return Compared(
        years=comparison.years,
        outcomes=outcomes,
        columns=tuple(
            One(one.layout.name, wording.heads(one.layout), wording.asks(one, years=comparison.years))
            for one in outcomes
        ),
        sentences=wording.compared(outcomes, years=comparison.years),
        measures=tuple(_measures(outcomes)),
        money=_money(comparison, sheet),
        rows=tuple(_rows(outcomes)),
    )


def _measures(outcomes: Sequence[Outcome]) -> Iterator[Measure]:
    bars = (
        ("Washes by the customer", [(one.washes, f"{one.washes:,}") for one in outcomes]),
        ("Drain lines cleared", [(one.drain_lines, f"{one.drain_lines:,}") for one in outcomes]),
        ("Blower wheels cleaned", [(one.blower_wheels, f"{one.blower_wheels:,}") for one in outcomes]),
        ("Our visits", [(one.visits, f"{one.visits:,}") for one in outcomes]),
        ("The customer's time", [(one.owner_minutes, wording.hours(one.owner_minutes)) for one in outcomes]),
        ("Our time, without the drive", [(one.technician_minutes, wording.hours(one.technician_minutes)) for one in outcomes]),
    )  # fmt: skip
    for title, figures in bars:
        longest = Decimal(max(amount for amount, _ in figures))
        yield Measure(
            title,
            tuple(
                bar(one.layout.name, words, (("came", Decimal(amount)),), Decimal(amount), longest)
                for one, (amount, words) in zip(outcomes, figures, strict=True)
            ),
        )


def _money(comparison: Comparison, sheet: CareSheet) -> Chart:
    """Draw what each layout has cost in all, year by year."""
    totals = [rules.totals(layout, sheet, years=comparison.years) for layout in comparison.layouts]
    scale = steps(float(max(max(one) for one in totals)))
    years = [year for year in steps(comparison.years) if year == int(year) and year <= comparison.years]
    words = "; ".join(
        f"{layout.name}: {dollars(one[0])} at installation, {dollars(one[-1])} after {comparison.years} years"
        for layout, one in zip(comparison.layouts, totals, strict=True)
    )
    return Chart(
        title="Total cost of each layout, year by year",
        words=words,
        x=tuple(Tick(year / comparison.years, f"{year:.0f}") for year in years),
        y=tuple(Tick(value / scale[-1], f"${value:,.0f}") for value in scale),
        lines=tuple(
            Line(
                layout.name,
                tuple((year / comparison.years, float(total) / scale[-1]) for year, total in enumerate(one)),
                number,
            )
            for number, (layout, one) in enumerate(zip(comparison.layouts, totals, strict=True))
        ),
    )


# Who does it, as the customer reads it.
_BY = {"owner": "customer", "technician": "us"}


def _rows(outcomes: Sequence[Outcome]) -> Iterator[Figures]:
    tasks = {count.task.code: count.task for one in outcomes for count in one.tasks}
    times = [{count.task.code: count.times for count in one.tasks} for one in outcomes]
    for code, task in tasks.items():
        yield Figures(task.title, _BY[task.by], tuple(f"{count.get(code, 0):,}" for count in times))
    yield Figures("Our visits", "", tuple(f"{one.visits:,}" for one in outcomes))
    yield Figures("The customer's time", "", tuple(wording.hours(one.owner_minutes) for one in outcomes))
    yield Figures("Our time, without the drive", "", tuple(wording.hours(one.technician_minutes) for one in outcomes))
    yield Figures("Maintenance at list price", "", tuple(dollars(one.care_cost) for one in outcomes))
    yield Figures("Installation", "", tuple(dollars(one.layout.install_price) for one in outcomes))
    yield Figures("In all", "", tuple(dollars(one.total) for one in outcomes))


def as_json(compared: Compared) -> dict[str, Any]:
    """A comparison as outside programs read it."""
    return {
        "years": compared.years,
        "layouts": [
            {
                "name": one.layout.name,
                "tasks": [{"task": count.task.code, "by": count.task.by, "times": count.times} for count in one.tasks],
                "owner_minutes": one.owner_minutes,
                "technician_minutes": one.technician_minutes,
                "visits": one.visits,
                "care_cost": f"{one.care_cost:.2f}",
                "install_price": f"{one.layout.install_price:.2f}",
                "total": f"{one.total:.2f}",
            }
            for one in compared.outcomes
        ],
    }
