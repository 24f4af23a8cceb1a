"""What fails and when: unit-years and rates, survival curves, and the failures to expect.

Ages are counted in days, or in whatever unit the caller counts in: nothing here depends on it but `years`.
"""

import datetime as dt
import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import accumulate
from statistics import NormalDist
from typing import Protocol, assert_never

Age = int | float

# A failure of these causes says nothing about the component itself.
NOT_COUNTED = frozenset({"maintenance", "misuse", "shipping", "no fault found"})
CONFIDENCE = 0.95
_DAYS_A_YEAR = Fraction(1461, 4)  # 365.25


def years(age: Age) -> float:
    """Turn days into years of 365.25 days.

    >>> years(1461)
    4.0
    """
    return float(age / _DAYS_A_YEAR)


def counts(cause: str) -> bool:
    """Whether a failure of this cause counts unless asked otherwise; one without a cause does."""
    return cause not in NOT_COUNTED


# ----------------------------------------------------------------------------------------------------------- lives


@dataclass(frozen=True, slots=True)
class Life:
    """One unit as long as it was watched for one component: the ages at which it came in and left, and whether it failed."""

    entered: Age
    left: Age
    failed: bool


def life(
    start: dt.date,
    *,
    recorded_from: dt.date | None,
    failed_on: Iterable[dt.date],
    removed_on: dt.date | None,
    as_of: dt.date,
) -> Life | None:
    """Watch one unit for one component, or give None where there is nothing to watch.

    1. It enters at its start, or at the day since which failures are surely on file if that is later, at the age it
       then has. 2. It leaves at its first failure, at its removal, or on the day asked for. 3. One whose first failure
       came before it entered had left already. A failure on the very day of entering counts as one day of service.
    """
    entered_on = start if recorded_from is None else max(start, recorded_from)
    end = as_of if removed_on is None else min(as_of, removed_on)
    first = min(failed_on, default=None)
    if first is not None and first < entered_on:
        return None
    failed = first is not None and first <= end
    left_on = first if failed and first is not None else end
    entered, left = (entered_on - start).days, (left_on - start).days
    if failed:
        return Life(entered, max(left, entered + 1), failed=True)
    return Life(entered, left, failed=False) if left > entered else None


# Lives one by one, or how many there were of each: a large fleet has few different ones.
Lives = Iterable[Life] | Mapping[Life, int]


def exposure(lives: Lives) -> Age:
    """Add up how long the units were watched."""
    return sum((one.left - one.entered) * count for one, count in Counter(lives).items())


# ----------------------------------------------------------------------------------------------------------- rates


class RateConvention(StrEnum):
    """How the interval around a rate is found; the names stand beside the figures."""

    CHI_SQUARE = "chi-square, both sides, for a count over a time that was given"
    ZERO_FAILURES = "upper limit on one side, no failure seen (the rule of three)"


@dataclass(frozen=True, slots=True)
class Rate:
    """Failures for each unit of time watched, with its interval."""

    failures: int
    exposure: Age
    value: float
    low: float
    high: float
    convention: RateConvention

    def hazard(self, age: Age) -> float:
        """The failures to expect of one unit from new to an age, if it is repaired each time."""
        return self.value * age


def rate(failures: int, watched: Age, *, confidence: float = CONFIDENCE) -> Rate | None:
    """Work a rate out; None where nothing was watched.

    With failures the interval is the one of a Poisson count (the same as by chi-square with 2r and 2r + 2 degrees of
    freedom). With none the lower limit is zero, so all of the doubt lies on the upper side: -ln(0.05) / time.
    """
    if watched <= 0:
        return None
    doubt = 1 - confidence
    if failures == 0:
        return Rate(0, watched, 0.0, 0.0, -math.log(doubt) / watched, RateConvention.ZERO_FAILURES)
    low = _mean_with(failures - 1, 1 - doubt / 2) / watched
    high = _mean_with(failures, doubt / 2) / watched
    return Rate(failures, watched, failures / watched, low, high, RateConvention.CHI_SQUARE)


def _mean_with(most: int, chance: float) -> float:
    """Find the mean of a Poisson count for which at most so many come with this chance."""
    reach = 10 * math.sqrt(most + 1) + 20
    low, high = max(0.0, most - reach), most + reach
    for _ in range(60):
        middle = (low + high) / 2
        if _at_most(most, middle) > chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _at_most(most: int, mean: float) -> float:
    term = total = math.exp(most * math.log(mean) - mean - math.lgamma(most + 1))
    for count in range(most, 0, -1):
        term *= count / mean
        total += term
        if count < mean and term < total * 1e-17:  # from here on each is smaller than the one before
            break
    return total


# ---------------------------------------------------------------------------------------------------------- curves


class Convention(StrEnum):
    """How the interval around a survival curve is found: the three in use differ, so the name stands beside the figures."""

    PLAIN = "plain"
    LOG = "log"
    LOG_LOG = "log-log"


@dataclass(frozen=True, slots=True)
class Point:
    """A step of a survival curve: who was at risk just before that age, who failed, and what is left.

    `survival` is the Kaplan-Meier estimate, `hazard` the Nelson-Aalen one, both exact; `greenwood` is the sum in
    Greenwood's formula, None where everyone at risk failed.
    """

    age: Age
    at_risk: int
    failed: int
    survival: Fraction
    hazard: Fraction
    greenwood: Fraction | None

    @property
    def error(self) -> float | None:
        """The standard error of `survival` by Greenwood's formula."""
        return None if self.greenwood is None else float(self.survival) * math.sqrt(self.greenwood)

    def interval(
        self, convention: Convention = Convention.LOG_LOG, *, confidence: float = CONFIDENCE
    ) -> tuple[float, float] | None:
        """The limits around `survival` by a named convention; None where everyone at risk failed."""
        if self.error is None or self.greenwood is None:
            return None
        left, root = float(self.survival), math.sqrt(self.greenwood)
        z = NormalDist().inv_cdf((1 + confidence) / 2)
        match convention:
            case Convention.PLAIN:
                return max(0.0, left - z * self.error), min(1.0, left + z * self.error)
            case Convention.LOG:
                return left * math.exp(-z * root), min(1.0, left * math.exp(z * root))
            case Convention.LOG_LOG:
                spread = math.exp(z * root / -math.log(left))
                return left**spread, left ** (1 / spread)
            case _ as never:
                assert_never(never)


def curve(lives: Lives) -> tuple[Point, ...]:
    """Draw the Kaplan-Meier curve, one point for each age at which something failed.

    At risk at an age are those who entered before it and had not left before it: one that leaves unfailed at the very
    age of a failure is still at risk, one that enters at it is not yet.
    """
    watched = Counter(lives)
    entered, left, failures = Counter[Age](), Counter[Age](), Counter[Age]()
    for one, count in watched.items():
        entered[one.entered] += count
        left[one.left] += count
        if one.failed:
            failures[one.left] += count
    came, gone = _Before(entered), _Before(left)
    points = []
    survival, hazard = Fraction(1), Fraction(0)
    greenwood: Fraction | None = Fraction(0)
    for age, failed in sorted(failures.items()):
        at_risk = came.count(age) - gone.count(age)
        survival *= Fraction(at_risk - failed, at_risk)
        hazard += Fraction(failed, at_risk)
        if greenwood is not None:
            greenwood = None if failed == at_risk else greenwood + Fraction(failed, at_risk * (at_risk - failed))
        points.append(Point(age, at_risk, failed, survival, hazard, greenwood))
    return tuple(points)


class _Before:
    """Counts how many ages lie before one."""

    def __init__(self, counts: Mapping[Age, int]) -> None:
        self._ages = sorted(counts)
        self._sums = [0, *accumulate(counts[age] for age in self._ages)]

    def count(self, age: Age) -> int:
        return self._sums[bisect_left(self._ages, age)]


# --------------------------------------------------------------------------------------------------------- to come


class Model(Protocol):
    """A rate or a fit: whatever knows the cumulative hazard of an age."""

    def hazard(self, age: Age) -> float:
        """The cumulative hazard from new to an age."""
        ...  # pragma: no cover - a protocol


def chance(model: Model, *, age: Age, span: Age) -> float:
    """The chance that a unit which reached an age fails within a span from there."""
    return -math.expm1(model.hazard(age) - model.hazard(age + span))


@dataclass(frozen=True, slots=True)
class Ahead:
    """One of today's units: its age, and for how much of the time ahead somebody's coverage still holds."""

    age: Age
    covered: Age = 0


@dataclass(frozen=True, slots=True)
class Expected:
    """How many units are expected to fail, and how many of those outside every coverage."""

    failures: float
    outside: float


def expected(units: Iterable[Ahead] | Mapping[Ahead, int], model: Model, *, span: Age) -> Expected:
    """Add up the chances of today's units over a span ahead; a unit whose coverage ends meanwhile is outside from then on."""
    failures, outside = [], []
    for unit, count in Counter(units).items():
        whole = chance(model, age=unit.age, span=span)
        failures.append(count * whole)
        outside.append(count * (whole - chance(model, age=unit.age, span=min(max(unit.covered, 0), span))))
    return Expected(math.fsum(failures), math.fsum(outside))
