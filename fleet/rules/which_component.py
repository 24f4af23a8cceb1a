"""A failure of which nobody knows yet what failed: by when somebody should say so, since a claim may depend on it.

Which payers pay, and under which deadlines, hangs on the component. Until it is known no claim can be filed, so the honest deadline
is the earliest of all that would run, over every component that such a unit has: on the day after it, one of the claims that may
turn out to be the right one is too late.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

from fleet.rules import clocks, components, coverage, words
from fleet.rules.claims import Days, State
from fleet.rules.clocks import ClockKind
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Result
from fleet.rules.payers import BY_CODE
from fleet.rules.terms import ClaimTerms

# What a form or a phone says where a file leaves the cell blank.
NOT_KNOWN_YET = "not known yet"
# The kind of the deadline that is kept for such a failure, beside the kinds of `clocks.ClockKind`.
KIND = "which component"


@dataclass(frozen=True, slots=True)
class Possible:
    """What would run for a claim under some terms if one of its components had failed.

    `last` is the first of its last days (None: none is known yet), counted from `counted_from`; `lapses_on` the last day on which it
    may be filed at all (None: it has none, or it is not known yet).
    """

    terms: str
    last: dt.date | None = None
    counted_from: str = "failed_on"
    lapses_on: dt.date | None = None
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SayBy:
    """By when somebody should say which component failed (None: no day is known), and whose claim is the first to run out.

    After `lapses_on` none of the claims can be filed any more (None: one of them has no such day). `kinds` are the kinds of cost
    that any of them may pay.
    """

    terms: str
    last: dt.date | None
    counted_from: str
    lapses_on: dt.date | None
    kinds: tuple[str, ...]


def possible(role: str) -> tuple[str, ...]:
    """The components that may have failed in a unit of a role, in their usual order."""
    return tuple(name for name in words.COMPONENTS if components.has(role, name))


def ours_alone(payer: str, rules: ClaimTerms) -> bool:
    """Whether nobody else is asked: our own workmanship has nobody to send a claim to, unless its paper says how."""
    return BY_CODE[payer].ours and rules == ClaimTerms()


def may_run(
    unit: Unit,
    holdings: Collection[Holding],
    named: Iterable[str],
    rules: Mapping[str, ClaimTerms],
    *,
    days: Days,
    asked: dt.date,
    cause: str = "",
) -> Iterator[Possible]:
    """What would run for each component named and each terms that may pay for it; `rules` are those of a claim, by the terms' code."""
    for component in named:
        found = coverage.answers(unit, holdings, component, on=days.failed_on, asked=asked, cause=cause)
        kinds: dict[str, list[str]] = {}
        payer_of: dict[str, str] = {}
        for answer in found:
            if answer.result is not Result.NOT_COVERED:
                kinds.setdefault(answer.terms, []).append(answer.kind)
                payer_of[answer.terms] = answer.payer
        for code, hopeful in kinds.items():
            if not ours_alone(payer_of[code], rules[code]):
                yield _possible(code, component, tuple(hopeful), rules[code], days, asked)


def _possible(
    code: str, component: str, kinds: tuple[str, ...], rules: ClaimTerms, days: Days, asked: dt.date
) -> Possible:
    running = [
        clock
        for clock in clocks.clocks(days, rules, component=component, kinds=kinds, state=State.GATHERING, asked=asked)
        if clock.open and clock.kind in (ClockKind.FILE, ClockKind.PART_BACK)
    ]
    dated = [(clock.last, clock.counted_from) for clock in running if clock.last is not None]
    last, counted_from = min(dated, default=(None, "failed_on"))
    filing = next((clock for clock in running if clock.kind is ClockKind.FILE), None)
    return Possible(code, last, counted_from, filing.last if filing else None, kinds)


def say_by(found: Iterable[Possible]) -> SayBy | None:
    """By when to say which component failed, by all that may run; None where no payer may pay, whatever it was.

    >>> day = dt.date
    >>> found = [Possible("a", day(2026, 4, 1), "failed_on", day(2026, 4, 1)), Possible("b", day(2026, 3, 20), "failed_on", None)]
    >>> by = say_by(found)
    >>> by.terms, by.last, by.lapses_on
    ('b', datetime.date(2026, 3, 20), None)
    """
    every = list(found)
    if not every:
        return None
    first = min(every, key=lambda one: one.last or dt.date.max)
    lapses = [one.lapses_on for one in every]
    known = [day for day in lapses if day is not None]
    kinds = {kind for one in every for kind in one.kinds}
    return SayBy(
        first.terms,
        first.last,
        first.counted_from,
        max(known) if len(known) == len(lapses) else None,
        tuple(kind for kind in words.KINDS if kind in kinds),
    )
