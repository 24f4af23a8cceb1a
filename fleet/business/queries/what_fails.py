"""What fails and when: rates, curves and what to expect, of all units or of some."""

import datetime as dt
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.business.facts import lives
from fleet.business.pages import what_fails as pages
from fleet.business.pages.what_fails import Asked, Found, Group, Step
from fleet.elements import makers as makers_on_file
from fleet.elements.chart import Chart, Line, Tick, stairs, steps
from fleet.elements.lists import Cell, Link, Listing, Row, sort_of
from fleet.rules import survival, words
from fleet.rules.survival import Convention, Life
from fleet.rules.weibull import NoFit, weibull
from fleet.rules.wording import failing as wording

CONVENTION = Convention.LOG_LOG
_DRAWN = 400
_NAMED = 20


def found(asked: Asked, *, on: dt.date) -> tuple[Found, ...]:
    """Work out every component, or the one asked for."""
    return _found(lives.company(asked, on=on), asked)


def _found(company: lives.Company, asked: Asked) -> tuple[Found, ...]:
    named = (asked.component,) if asked.component else words.COMPONENTS
    return tuple(_one(component, company) for component in named)


def _one(component: str, company: lives.Company) -> Found:
    watched = company.whole.lives(component)
    failures = _failures(watched)
    exposure = survival.exposure(watched)
    rate = survival.rate(failures, exposure)
    fit = weibull(watched)
    model = rate if isinstance(fit, NoFit) else fit
    expected = None if model is None else survival.expected(company.today(component), model, span=company.span)
    fitted = None if isinstance(fit, NoFit) else fit
    return Found(
        component=component,
        unit_years=survival.years(exposure),
        failures=failures,
        rate=None if rate is None else _a_year(rate.value),
        low=None if rate is None else _a_year(rate.low),
        high=None if rate is None else _a_year(rate.high),
        curve=tuple(_step(point) for point in survival.curve(watched)),
        shape=None if fitted is None else fitted.shape,
        scale=None if fitted is None else fitted.scale / _YEAR,
        expected=None if expected is None else expected.failures,
        outside=None if expected is None else expected.outside,
        longest=survival.years(max((life.left for life in watched), default=0)),
        sentence="" if rate is None else wording.rate(rate),
        fit=wording.fit(fit, failures=failures),
    )


_YEAR = 365.25


def _failures(watched: dict[Life, int]) -> int:
    return sum(count for life, count in watched.items() if life.failed)


def _a_year(a_day: float) -> float:
    return a_day * _YEAR


def _step(point: survival.Point) -> Step:
    low, high = point.interval(CONVENTION) or (None, None)
    return Step(survival.years(point.age), point.at_risk, point.failed, float(point.survival), low, high)


# ------------------------------------------------------------------------------------------------- for programs


def told(one: Found) -> dict[str, Any]:
    """One component as outside programs read it; ages in years, rates for one unit and year."""
    return {
        "component": one.component,
        "unit_years": _rounded(one.unit_years),
        "failures": one.failures,
        "rate": _rounded(one.rate),
        "low": _rounded(one.low),
        "high": _rounded(one.high),
        "curve": [
            {
                "years": _rounded(step.years),
                "at_risk": step.at_risk,
                "failed": step.failed,
                "survival": _rounded(step.survival),
                "low": _rounded(step.low),
                "high": _rounded(step.high),
            }
            for step in one.curve
        ],
        "weibull": None
        if one.shape is None or one.scale is None
        else {"shape": _rounded(one.shape), "scale": _rounded(one.scale)},
        "expected_next_year": _rounded(one.expected),
        "expected_outside_coverage": _rounded(one.outside),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 9)


# ------------------------------------------------------------------------------------------------- for a page


def page(asked: Asked, *, sort: str, number: int, on: dt.date) -> pages.WhatFailsPage:
    """Show every component, or one of them with its curve and what its failures are told apart by."""
    group = Group(asked.group) if asked.component else None
    company = lives.company(asked, on=on, group=group)
    found = _found(company, asked)
    columns = pages.columns(asked)
    rows = _groups(company, asked.component) if group is not None else _components(found)
    listing = Listing.cut(columns, rows, sort_of(sort, columns, otherwise=pages.usual(asked)), number)
    recorded_from = lives.recorded_from()
    misplaced = lives.misplaced(asked, on=on)
    one = found[0] if asked.component else None
    return pages.WhatFailsPage(
        asked=asked,
        on=on,
        units=company.units,
        sentences=tuple(
            filter(
                None,
                (
                    _watched(company, recorded_from),
                    *(
                        (wording.of(one.component, one.sentence), one.fit, wording.expected(one.expected, one.outside))
                        if one
                        else _most(found)
                    ),
                ),
            )
        ),
        listing=listing,
        chart=_chart(one) if one and one.curve else None,
        steps=tuple(_line(step) for step in one.curve) if one else (),
        convention=wording.convention(CONVENTION),
        misplaced=_misplaced(misplaced),
        misplaced_count=misplaced.count(),
    )


def _misplaced(rows: QuerySet[models.Failure]) -> tuple[pages.Misplaced, ...]:
    of_unit = ("component", "unit__role", "unit__serial", "unit__room", "failed_on")
    return tuple(
        pages.Misplaced(pk, wording.misplaced(component, role, serial or room, day))
        for pk, component, role, serial, room, day in rows.values_list("pk", *of_unit)[:_NAMED]
    )


def rows(asked: Asked, *, on: dt.date) -> list[Row]:
    """Every row of the list."""
    group = Group(asked.group) if asked.component else None
    company = lives.company(asked, on=on, group=group)
    return _groups(company, asked.component) if group is not None else _components(_found(company, asked))


def makers() -> tuple[str, ...]:
    """List the makers of units on file, each as most often written."""
    return tuple({words.key(maker): maker for maker in makers_on_file.of_units()}.values())


def _watched(company: lives.Company, recorded_from: dt.date | None) -> str:
    return wording.watched(company.units, company.without_start, recorded_from)


def _most(found: Sequence[Found]) -> tuple[str, ...]:
    """Say in sentences what fails most, and what is expected in all."""
    failing = sorted((one for one in found if one.failures), key=lambda one: (-one.failures, one.component))
    expected = sum(one.expected or 0 for one in found)
    outside = sum(one.outside or 0 for one in found)
    return (
        wording.most([(one.component, one.failures) for one in failing[:3]]),
        wording.expected(expected, outside) if failing else "",
    )


def _components(found: Sequence[Found]) -> list[Row]:
    return [
        (
            Cell(one.component, Link("what_fails_of", words.COMPONENTS.index(one.component))),
            *_figures(one.unit_years, one.failures, one.rate, one.low, one.high),
            Cell(_places(one.expected, 1)),
            Cell(_places(one.outside, 1)),
        )
        for one in found
    ]


def _groups(company: lives.Company, component: str) -> list[Row]:
    found = []
    for name, watched in company.groups.items():
        told = watched.lives(component)
        exposure, failures = survival.exposure(told), _failures(told)
        rate = survival.rate(failures, exposure)
        values = (None, None, None) if rate is None else tuple(map(_a_year, (rate.value, rate.low, rate.high)))
        found.append((Cell(name or "not recorded"), *_figures(survival.years(exposure), failures, *values)))
    return found


def _figures(
    unit_years: float, failures: int, rate: float | None, low: float | None, high: float | None
) -> tuple[Cell, ...]:
    each = (None if one is None else one * 100 for one in (rate, low, high))
    return (Cell(_places(unit_years, 1)), Cell(failures), *(Cell(_places(one, 2)) for one in each))


def _places(value: float | None, places: int) -> Decimal | None:
    return None if value is None else Decimal(value).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def _line(step: Step) -> pages.StepLine:
    percent = (None if one is None else _places(one * 100, 1) for one in (step.survival, step.low, step.high))
    years = _places(step.years, 2)
    return pages.StepLine(years, step.at_risk, step.failed, *percent)


def _chart(one: Found) -> Chart:
    """Draw what is left at each age, with its limits; a long curve is thinned, which no eye sees."""
    steps_ = one.curve if len(one.curve) <= _DRAWN else one.curve[:: len(one.curve) // _DRAWN + 1] + one.curve[-1:]
    across = steps(one.longest)
    longest = across[-1]
    floor = _floor(steps_)

    def spot(step: Step, left: float) -> tuple[float, float]:
        return step.years / longest, max(0.0, (left - floor) / (1 - floor))

    new = (0.0, 1.0)
    until = one.longest / longest
    limited = [(step, step.low, step.high) for step in steps_ if step.low is not None and step.high is not None]
    upper = list(stairs([new, *(spot(step, high) for step, _, high in limited)], until))
    lower = list(stairs([new, *(spot(step, low) for step, low, _ in limited)], until))
    last = steps_[-1]
    return Chart(
        title=f"Left without a failure of the {one.component}, by age",
        words=f"{last.survival:.0%} are left at {last.years:.1f} years.",
        x=tuple(Tick(year / longest, f"{year:g}") for year in across),
        y=tuple(Tick(share, f"{(floor + share * (1 - floor)) * 100:.0f} %") for share in (0.0, 0.25, 0.5, 0.75, 1.0)),
        lines=(Line(one.component, tuple(stairs([new, *(spot(step, step.survival) for step in steps_)], until))),),
        around=(*upper, *reversed(lower)),
    )


def _floor(told: Sequence[Step]) -> float:
    """Begin the axis where there is something to see: at nothing, half, or four fifths."""
    lowest = min(step.survival if step.low is None else step.low for step in told)
    return next(floor for floor in (0.8, 0.6, 0.0) if lowest >= floor)
