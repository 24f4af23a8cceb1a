"""What may have failed in a unit, where nobody knows yet: who would pay for each component, and what comes before anyone goes out."""

import datetime as dt
from collections.abc import Iterable, Sequence

from fleet.coverage.pages.answers import MayFail, Question
from fleet.coverage.queries import failing
from fleet.facts import TermsBook, Told
from fleet.rules import coverage
from fleet.rules.wording.calls import payer

# So many components that fare alike are named one by one.
_FEW = 4


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
    """The same with the components that fare alike in one row; those that most fare with are not named, and come last.

    >>> alike([MayFail((name,), (("parts", "we do"),)) for name in ("sensor", "louver")])[0].components
    ('any component',)
    """
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for row in rows:
        found.setdefault(row.pays, []).extend(row.components)
    most = max(found, key=lambda pays: len(found[pays]), default=None)
    if most is None:
        return ()
    if len(found) == 1:
        return (MayFail(("any component",), most),)
    named = (MayFail(tuple(names), pays) for pays, names in found.items() if pays != most)
    rest = ("any other component",) if len(found[most]) > _FEW else tuple(found[most])
    return (*named, MayFail(rest, most))


def before_anyone_goes_out(
    told: Told, book: TermsBook, named: Sequence[str], *, on: dt.date, asked: dt.date, cause: str = ""
) -> tuple[str, ...]:
    """What must be done before anyone goes out, if one of the components named is what failed; the same sentence once."""
    asking = (Question(component, on=on, asked=asked, cause=cause) for component in named)
    steps = (step for one in asking for step in failing.before_anyone_goes_out(told, book, one))
    return tuple(dict.fromkeys(steps))
