"""What may have failed in a unit, where nobody knows yet: who would pay for each component, and what comes before anyone goes out."""

import datetime as dt
from collections.abc import Iterable, Sequence

from fleet.coverage.pages.answers import MayFail, Question
from fleet.coverage.queries import failing
from fleet.facts import TermsBook, Told
from fleet.rules import coverage
from fleet.rules.wording.calls import payer


def may_fail(told: Told, named: Iterable[str], *, on: dt.date, asked: dt.date, cause: str = "") -> tuple[MayFail, ...]:
    """Who would pay each kind of cost for each component named, in that order."""
    return tuple(
        MayFail(
            (component,),
            tuple(
                (payment.kind, payer(payment.pays))
                for payment in coverage.payments(
                    coverage.answers(told.unit, told.holdings, component, on=on, asked=asked, cause=cause)
                )
            ),
        )
        for component in named
    )


def alike(rows: Iterable[MayFail]) -> tuple[MayFail, ...]:
    """The same with the components that fare alike in one row, each where the first of them stood."""
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for row in rows:
        found.setdefault(row.pays, []).extend(row.components)
    return tuple(MayFail(tuple(names), pays) for pays, names in found.items())


def before_anyone_goes_out(
    told: Told, book: TermsBook, named: Sequence[str], *, on: dt.date, asked: dt.date, cause: str = ""
) -> tuple[str, ...]:
    """What must be done before anyone goes out, if one of the components named is what failed; the same sentence once."""
    asking = (Question(component, on=on, asked=asked, cause=cause) for component in named)
    steps = (step for one in asking for step in failing.before_anyone_goes_out(told, book, one))
    return tuple(dict.fromkeys(steps))
