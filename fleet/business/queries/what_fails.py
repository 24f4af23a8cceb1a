"""What fails: rates, curves and what to expect, of all units or of some."""

import datetime as dt
from collections.abc import Callable, Sequence
from decimal import ROUND_HALF_UP, Decimal
from types import SimpleNamespace
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.business.facts import lives
from fleet.business.pages import what_fails as pages
from fleet.business.pages.what_fails import Figures, Group, Scope, Step
from fleet.elements import makers as makers_on_file
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.chart import Chart, Line, Tick, stairs, steps
from fleet.elements.listing import Filter, List
from fleet.rules import survival, words
from fleet.rules.survival import Convention, Life
from fleet.rules.weibull import NoFit, weibull
from fleet.rules.wording import failing as wording

CONVENTION = Convention.LOG_LOG
_DRAWN = 400
_NAMED = 20


def figures(scope: Scope, *, on: dt.date) -> tuple[Figures, ...]:
    """Work out every component, or the one asked for."""
    return _figures(lives.company(scope, on=on), scope)


def _figures(company: lives.Company, scope: Scope) -> tuple[Figures, ...]:
    named = (scope.component,) if scope.component else words.COMPONENTS
    return tuple(_one(component, company) for component in named)


def _one(component: str, company: lives.Company) -> Figures:
    watched = company.whole.lives(component)
    failures = _failures(watched)
    exposure = survival.exposure(watched)
    rate = survival.rate(failures, exposure)
    fit = weibull(watched)
    model = rate if isinstance(fit, NoFit) else fit
    expected = None if model is None else survival.expected(company.today(component), model, span=company.span)
    fitted = None if isinstance(fit, NoFit) else fit
    return Figures(
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
        in_short="" if rate is None else wording.rate_in_short(rate),
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


def as_json(one: Figures) -> dict[str, Any]:
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


def what_fails(component: str = "", group: str = "") -> List:
    """The list of every component, or of what the failures of one are told apart by."""
    one = component in words.COMPONENTS
    by = Group(group) if group in list(Group) else Group.KIND
    worked_out: dict[str, Any] = {}

    def rows(filters: Any, on: dt.date) -> Sequence[Any]:
        scope = _scope(filters)
        company = lives.company(scope, on=on, group=by if one else None)
        components = _figures(company, scope)
        worked_out.update(company=company, components=components)
        return _groups(company, component) if one else components

    return List(
        file="what-fails",
        caption="What fails",
        rows=rows,
        lead=lambda listing: _lead(_scope(listing.filters), on=listing.on, **worked_out),
        usual="year" if one and by == Group.YEAR else "-failures",
        columns=(_GROUPS[by], *_FIGURES) if one else (_COMPONENT, *_FIGURES, *_EXPECTED),
        filters=(
            Filter("component", choices=words.COMPONENTS, blank="every component"),
            Filter("group", "Compare by", _BY, blank="", usual=Group.KIND.value, narrows=False, hidden=not one),
            Filter(
                "kind", "Kind of unit", [(kind, f"{kind} head" if kind in words.STYLES else kind) for kind in KINDS]
            ),
            Filter("maker", "Manufacturer", choices=makers),
            Filter("model", "Model has"),
            Filter("year", "Started in", between=(1950, 2200)),
            Filter("every_cause", "Failures", [("all", "of every cause")], blank="due to the component itself"),
        ),
    )


_BY = [
    (one.value, "manufacturer" if one is Group.MAKER else one.value)
    for one in (Group.KIND, Group.MAKER, Group.MODEL, Group.YEAR)
]
# What kind of unit: a role, or the style of a head.
KINDS = (*words.ROLES, *words.STYLES)


def _scope(filters: Any) -> Scope:
    return Scope(
        component=filters.component,
        maker=filters.maker,
        model=filters.model,
        kind=filters.kind,
        year=filters.year or 0,
        every_cause=bool(filters.every_cause),
    )


def _lead(scope: Scope, *, on: dt.date, company: lives.Company, components: Sequence[Figures]) -> dict[str, Any]:
    """What is said of all of it, or of one component, whose curve is drawn."""
    one = components[0] if scope.component else None
    of = (
        (wording.of(one.component, one.in_short), wording.expected(one.expected, one.outside))
        if one
        else _most(components)
    )
    misplaced = lives.misplaced(scope, on=on)
    return {
        "units": company.units,
        "sentences": [text for text in (_watched(company, lives.recorded_from()), *of) if text],
        "chart": _chart(one) if one and one.curve else None,
        "steps": [_line(step) for step in one.curve] if one else [],
        "limits": " ".join(filter(None, (one.sentence, one.fit, wording.convention(CONVENTION)))) if one else "",
        "misplaced": _misplaced(misplaced),
        "misplaced_count": misplaced.count(),
        "not_known_count": lives.not_known_yet(scope, on=on).count(),
    }


def _misplaced(rows: QuerySet[models.Failure]) -> tuple[pages.Misplaced, ...]:
    of_unit = ("component", "unit__role", "unit__serial", "unit__room", "failed_on")
    return tuple(
        pages.Misplaced(pk, wording.misplaced(component, role, serial or room, day))
        for pk, component, role, serial, room, day in rows.values_list("pk", *of_unit)[:_NAMED]
    )


def makers() -> tuple[str, ...]:
    """List the makers of units on file, each as most often written."""
    return tuple({words.key(maker): maker for maker in makers_on_file.of_units()}.values())


def _watched(company: lives.Company, recorded_from: dt.date | None) -> str:
    return wording.watched(company.units, company.without_start, recorded_from)


def _most(each: Sequence[Figures]) -> tuple[str, ...]:
    """What fails most, and what is expected in all, in sentences."""
    failing = sorted((one for one in each if one.failures), key=lambda one: (-one.failures, one.component))
    expected = sum(one.expected or 0 for one in each)
    outside = sum(one.outside or 0 for one in each)
    return (
        wording.most([(one.component, one.failures) for one in failing[:3]]),
        wording.expected(expected, outside) if failing else "",
    )


def _groups(company: lives.Company, component: str) -> list[SimpleNamespace]:
    groups = []
    for name, watched in company.groups.items():
        lived = watched.lives(component)
        exposure, failures = survival.exposure(lived), _failures(lived)
        rate = survival.rate(failures, exposure)
        low, middle, high = (None, None, None) if rate is None else map(_a_year, (rate.low, rate.value, rate.high))
        groups.append(
            SimpleNamespace(
                name=name or "not recorded",
                unit_years=survival.years(exposure),
                failures=failures,
                rate=middle,
                low=low,
                high=high,
            )
        )
    return groups


def _of_100(name: str) -> Callable[[Any], Decimal | None]:
    def value(one: Any) -> Decimal | None:
        rate = getattr(one, name)
        return None if rate is None else _places(rate * 100, 2)

    return value


_FIGURES = (
    Column("unit_years", "Unit-years", "number", value=lambda one: _places(one.unit_years, 1), order=("unit_years",)),
    Column("failures", "Failures", "number", order=("failures",)),
    Column("rate", "A year for every 100 units", "number", value=_of_100("rate"), order=("rate",)),
    Column("low", "At least", "number", value=_of_100("low"), shown=False),
    Column("high", "At most", "number", value=_of_100("high"), shown=False),
)
_COMPONENT = Column(
    "component",
    "Component",
    value=lambda one: Cell(one.component, Link("what_fails_of", words.COMPONENTS.index(one.component))),
    order=("component",),
)
_EXPECTED = (
    Column("expected", "Expected next year", "number", value=lambda one: _places(one.expected, 1), order=("expected",)),
    Column("outside", "Of those, not covered", "number", value=lambda one: _places(one.outside, 1), order=("outside",)),
)
_GROUPS = {
    Group.MAKER: Column("maker", "Manufacturer", value="name", order=("name",)),
    Group.MODEL: Column("model", "Model", value="name", order=("name",)),
    Group.KIND: Column("kind", "Kind of unit", value="name", order=("name",)),
    Group.YEAR: Column("year", "Started in", value="name", order=("name",)),
}


def _places(value: float | None, places: int) -> Decimal | None:
    return None if value is None else Decimal(value).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)


def _line(step: Step) -> pages.StepLine:
    percent = (None if one is None else _places(one * 100, 1) for one in (step.survival, step.low, step.high))
    years = _places(step.years, 2)
    return pages.StepLine(years, step.at_risk, step.failed, *percent)


def _chart(one: Figures) -> Chart:
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


def _floor(points: Sequence[Step]) -> float:
    """Begin the axis where there is something to see: at nothing, half, or four fifths."""
    lowest = min(step.survival if step.low is None else step.low for step in points)
    return next(floor for floor in (0.8, 0.6, 0.0) if lowest >= floor)
