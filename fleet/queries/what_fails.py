"""What fails and when: rates, curves and what to expect, of all units or of some."""

import datetime as dt
from typing import Any

from fleet.gather import lives
from fleet.pages.what_fails import Asked, Found, Step
from fleet.rules import survival, words
from fleet.rules.survival import Convention, Life, NoFit
from fleet.rules.wording import failing as wording

CONVENTION = Convention.LOG_LOG
_DRAWN = 400


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
    fit = survival.weibull(watched)
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
    """Give one component as outside programs read it; ages in years, rates for one unit and year."""
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
