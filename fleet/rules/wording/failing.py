"""What fails and when, in plain English: a rate with its limits, how limits were found, and why there is no fit."""

from typing import assert_never

from fleet.rules.survival import (
    FEWEST_FOR_WEIBULL,
    Convention,
    NoFit,
    Rate,
    RateConvention,
    Weibull,
    years,
)

_HUNDRED_YEARS = 36525


def rate(found: Rate) -> str:
    """Write a rate for a hundred unit-years, with its limits; ages were counted in days.

    >>> from fleet.rules import survival
    >>> rate(survival.rate(0, 36525))
    'No failure in 100.0 unit-years; with 95 % confidence fewer than 3.0 in 100 unit-years.'
    """
    watched = f"{years(found.exposure):,.1f} unit-years"
    value, low, high = (f"{each * _HUNDRED_YEARS:,.1f}" for each in (found.value, found.low, found.high))
    match found.convention:
        case RateConvention.ZERO_FAILURES:
            return f"No failure in {watched}; with 95 % confidence fewer than {high} in 100 unit-years."
        case RateConvention.CHI_SQUARE:
            failures = "1 failure" if found.failures == 1 else f"{found.failures:,} failures"
            return f"{failures} in {watched}: {value} in 100 unit-years; with 95 % confidence from {low} to {high}."
        case _ as never:
            assert_never(never)


def convention(used: Convention) -> str:
    """Name how the limits around a curve were found.

    >>> convention(Convention.LOG_LOG)
    'Limits: 95 %, by Greenwood on the log-log scale.'
    """
    scale = "without a transform" if used is Convention.PLAIN else f"on the {used} scale"
    return f"Limits: 95 %, by Greenwood {scale}."


def fit(found: Weibull | NoFit, *, failures: int) -> str:
    """Write what a Weibull fit says, or why there is none; ages were counted in days."""
    if isinstance(found, Weibull):
        (low, high), _ = found.interval()
        told = "failures grow with age" if low > 1 else "failures fall with age" if high < 1 else "age tells little"
        scale = f"{years(found.scale):,.1f} years"
        return f"Shape {found.shape:.2f} (95 %: {low:.2f} to {high:.2f}), scale {scale}: {told}."
    match found:
        case NoFit.TOO_FEW:
            return f"Too few failures for a fit: {failures} of the {FEWEST_FOR_WEIBULL} that it takes."
        case NoFit.NO_SPREAD:
            return "No fit: the ages at failure lie too close together."
        case _ as never:
            assert_never(never)
