"""What fails: each component with its rate and what to expect, or one of them with its curve and its groups."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


class Group(StrEnum):
    """What one component's failures are compared by."""

    MAKER = "maker"
    MODEL = "model"
    KIND = "kind of unit"
    YEAR = "year it was started"


@dataclass(frozen=True, slots=True)
class Scope:
    """Which units and failures are counted; blank for any."""

    component: str = ""
    maker: str = ""
    model: str = ""
    kind: str = ""
    year: int = 0
    every_cause: bool = False


@dataclass(frozen=True, slots=True)
class Figures:
    """One component: unit-years, failures and what comes of them, as the rules worked it out; rates are for a year.

    `longest` is the greatest age that was watched.
    """

    component: str
    unit_years: float
    failures: int
    rate: float | None
    low: float | None
    high: float | None
    curve: tuple["Step", ...]
    shape: float | None
    scale: float | None
    expected: float | None
    outside: float | None
    longest: float
    in_short: str
    sentence: str
    fit: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a curve, its age in years; no limits where everyone at risk failed."""

    years: float
    at_risk: int
    failed: int
    survival: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step of a curve as its table shows it, in percent."""

    years: Decimal | None
    at_risk: int
    failed: int
    survival: Decimal | None
    low: Decimal | None
    high: Decimal | None


@dataclass(frozen=True, slots=True)
class Misplaced:
    """A failure of a component that its unit has none of: counted nowhere, and to be corrected or understood."""

    pk: int
    words: str
