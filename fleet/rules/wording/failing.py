"""What fails, in plain English: a rate with its limits, how limits were found, and why there is no fit."""

import datetime as dt
from collections.abc import Sequence
from typing import assert_never

from fleet.rules.dates import in_words
from fleet.rules.survival import (
    Convention,
    Rate,
    RateConvention,
    years,
)
from fleet.rules.weibull import FEWEST, NoFit, Weibull
from fleet.rules.wording.names import component, listed, lower, upper

_HUNDRED_YEARS = 36525


def rate(of: Rate) -> str:
    """Write a rate for a hundred unit-years, with its limits; ages were counted in days.

    >>> from fleet.rules import survival
    >>> rate(survival.rate(0, 36525))
    'No failures in 100.0 unit-years; with 95% confidence fewer than 3.0 in 100 unit-years.'
    """
    watched = f"{years(of.exposure):,.1f} unit-years"
    value, low, high = (f"{each * _HUNDRED_YEARS:,.1f}" for each in (of.value, of.low, of.high))
    match of.convention:
        case RateConvention.ZERO_FAILURES:
            return f"No failures in {watched}; with 95% confidence fewer than {high} in 100 unit-years."
        case RateConvention.CHI_SQUARE:
            failures = "1 failure" if of.failures == 1 else f"{of.failures:,} failures"
            return f"{failures} in {watched}: {value} in 100 unit-years; with 95% confidence from {low} to {high}."
        case _ as never:
            assert_never(never)


def rate_in_short(of: Rate) -> str:
    """Write a rate as one would say it: failures a year for every 100 units; ages were counted in days.

    >>> from fleet.rules import survival
    >>> rate_in_short(survival.rate(3, 36525 * 2)), rate_in_short(survival.rate(0, 36525))
    ('3 failures so far, about 1.5 a year for every 100 units.', 'No failures so far.')
    """
    if not of.failures:
        return "No failures so far."
    count = "1 failure" if of.failures == 1 else f"{of.failures:,} failures"
    return f"{count} so far, about {of.value * _HUNDRED_YEARS:,.1f} a year for every 100 units."


def convention(used: Convention) -> str:
    """A sentence on how the limits around a curve were computed.

    >>> convention(Convention.LOG_LOG)
    'Limits: 95%, by Greenwood on the log-log scale.'
    """
    scale = "without a transform" if used is Convention.PLAIN else f"on the {used} scale"
    return f"Limits: 95%, by Greenwood {scale}."


def fit(fitted: Weibull | NoFit, *, failures: int) -> str:
    """Write what a Weibull fit says, or why there is none; ages were counted in days."""
    if isinstance(fitted, Weibull):
        (low, high), _ = fitted.interval()
        tendency = "failures grow with age" if low > 1 else "failures fall with age" if high < 1 else "age tells little"
        scale = f"{years(fitted.scale):,.1f} years"
        return f"Shape {fitted.shape:.2f} (95%: {low:.2f} to {high:.2f}), scale {scale}: {tendency}."
    match fitted:
        case NoFit.TOO_FEW:
            return f"Too few failures for a fit: {failures} of the {FEWEST} that it takes."
        case NoFit.NO_SPREAD:
            return "No fit: the ages at failure lie too close together."
        case _ as never:
            assert_never(never)


def watched(units: int, without_start: int, recorded_from: dt.date | None) -> str:
    """Write whom the figures are about.

    >>> watched(3, 1, dt.date(2020, 1, 1))
    '3 units are counted, since January 1, 2020, when our record of failures begins; 1 more has no start date on file.'
    """
    one = "1 unit is counted" if units == 1 else f"{units:,} units are counted"
    since = "" if recorded_from is None else f", since {in_words(recorded_from)}, when our record of failures begins"
    left = (
        f"; {without_start:,} more {'has' if without_start == 1 else 'have'} no start date on file"
        if without_start
        else ""
    )
    return f"{one}{since}{left}."


def most(failing: Sequence[tuple[str, int]]) -> str:
    """Write what failed most often.

    >>> most([("indoor coil", 12), ("sensor", 1)])
    'What failed most: the indoor coil (12) and the sensor (1).'
    """
    if not failing:
        return "No failures that count are on file."
    return f"What failed most: {listed(f'{component(name)} ({count:,})' for name, count in failing)}."


def of(name: str, sentence: str) -> str:
    """A sentence with the component it is about before it; blank where there is no sentence.

    >>> of("indoor coil", "No failures in 100.0 unit-years.")
    'The indoor coil: no failures in 100.0 unit-years.'
    """
    return f"{upper(component(name))}: {lower(sentence)}" if sentence else ""


def expected(failures: float | None, outside: float | None) -> str:
    """Write what is to be expected of today's units.

    >>> expected(3.84, 1.94)
    "In the next 12 months, expect 3.8 failures of today's units; for 1.9 of them, no payer covers the part."
    """
    if failures is None or outside is None:
        return ""
    return (
        f"In the next 12 months, expect {failures:,.1f} failures of today's units; for {outside:,.1f} of them, no payer"
        " covers the part."
    )


def misplaced(name: str, role: str, unit: str, day: dt.date) -> str:
    """A failure of a component on a unit that has no such component, in words.

    >>> misplaced("heat exchanger", "head", "S20 in the den", dt.date(2024, 3, 8)).replace(in_words(dt.date(2024, 3, 8)), "that day")
    'Heat exchanger on a head (S20 in the den), that day'
    """
    a = "an" if role[:1] in "aeiou" else "a"
    kind = f"{role} unit" if role in ("outdoor", "other") else role
    return f"{upper(name)} on {a} {kind} ({unit}), {in_words(day)}"
