"""What fails and when: each component with its rate and what to expect, or one of them with its curve and its groups."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from fleet.elements.chart import Chart
from fleet.elements.lists import Column, Listing
from fleet.rules import words

# What kind of unit: a role, or the style of a head.
KINDS = (*words.ROLES, *words.STYLES)


class Group(StrEnum):
    """What one component's failures are told apart by."""

    MAKER = "maker"
    MODEL = "model"
    KIND = "kind of unit"
    YEAR = "year it was started"


_FIGURES = (
    Column("unit_years", "Unit-years", "number", sorts=True),
    Column("failures", "Failures", "number", sorts=True),
    Column("rate", "In 100 unit-years", "number", sorts=True),
    Column("low", "At least", "number"),
    Column("high", "At most", "number", sorts=True),
)
COMPONENTS = (
    Column("component", "Component", sorts=True),
    *_FIGURES,
    Column("expected", "Expected in a year", "number", sorts=True),
    Column("outside", "Of those, not covered", "number", sorts=True),
)
GROUPS = {
    Group.MAKER: (Column("maker", "Maker", sorts=True), *_FIGURES),
    Group.MODEL: (Column("model", "Model", sorts=True), *_FIGURES),
    Group.KIND: (Column("kind", "Kind of unit", sorts=True), *_FIGURES),
    Group.YEAR: (Column("year", "Started in", sorts=True), *_FIGURES),
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for; blank for any."""

    component: str = ""
    group: str = Group.KIND
    maker: str = ""
    model: str = ""
    kind: str = ""
    year: int = 0
    every_cause: bool = False

    @property
    def narrowed(self) -> bool:
        """Whether anything narrows the units."""
        return bool(self.component or self.maker or self.model or self.kind or self.year or self.every_cause)


@dataclass(frozen=True, slots=True)
class Found:
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


def columns(asked: Asked) -> tuple[Column, ...]:
    """Give the list's columns: of components, or of what one component's failures are told apart by."""
    return GROUPS[Group(asked.group)] if asked.component else COMPONENTS


def usual(asked: Asked) -> str:
    """Give the list's usual sort."""
    return "year" if asked.component and asked.group == Group.YEAR else "-failures"


@dataclass(frozen=True, slots=True)
class Misplaced:
    """A failure of a component that its unit has none of: counted nowhere, and to be corrected or understood."""

    pk: int
    words: str


@dataclass(frozen=True, slots=True)
class WhatFailsPage:
    """The page: what was asked, in sentences, the list, and one component's curve if one was asked for.

    `misplaced` are the first of the failures that are counted nowhere, `misplaced_count` how many there are.
    """

    asked: Asked
    on: dt.date
    units: int
    sentences: tuple[str, ...]
    listing: Listing
    chart: Chart | None = None
    steps: tuple[StepLine, ...] = ()
    convention: str = ""
    misplaced: tuple[Misplaced, ...] = ()
    misplaced_count: int = 0
