"""The kept rows as they should be on a day: what the rules say now of a unit's holdings and coverage."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from fleet.gather.terms import TermsBook
from fleet.gather.units import Told
from fleet.rules import coverage, registration, wanted
from fleet.rules.facts import Holding
from fleet.rules.findings import Code, Reason
from fleet.rules.starts import start_of

Packed = list[list[str | None]]


class HoldingValues(NamedTuple):
    """The columns of a HoldingRow, by their names in the database."""

    unit_id: int
    terms_id: int
    attached: bool
    start_on: dt.date | None
    start_by: str
    start_assumed: bool
    registration: str
    registration_day: dt.date | None
    deadline: dt.date | None
    next_on: dt.date | None


class CoverageValues(NamedTuple):
    """The columns of a CoverageRow, by their names in the database."""

    unit_id: int
    terms_id: int
    payer: str
    kind: str
    components: str
    result: str
    first_on: dt.date | None
    last_on: dt.date | None
    lifetime: bool
    possible_last_on: dt.date | None
    possible_lifetime: bool
    reasons: Packed
    needs: Packed
    hangs_on: Packed
    next_on: dt.date | None


class FactValues(NamedTuple):
    """The columns of a FactRow, by their names in the database."""

    unit_id: int
    site_id: int | None
    fact: str
    worth_days: int
    parts_days: int
    labor_days: int
    refrigerant_days: int
    freight_days: int
    first_on: dt.date | None
    last_on: dt.date | None


KeptValues = HoldingValues | CoverageValues | FactValues


def rows(told: Told, book: TermsBook, *, on: dt.date) -> Iterator[KeptValues]:
    """Work out a unit's kept rows; a unit that is gone has none."""
    if told.row.gone_on is not None:
        return
    unit_id = told.row.pk
    held = []
    for holding in told.holdings:
        terms_id = book.pks[holding.terms.code]
        start = start_of(told.unit, holding)
        standing = registration.standing(told.unit, holding, start=start.day, asked=on)
        next_on = coverage.next_change(told.unit, holding, on=on)
        yield HoldingValues(
            unit_id,
            terms_id,
            holding.attached,
            start.day,
            start.by,
            start.assumed,
            standing.state.value,
            standing.day,
            standing.deadline,
            next_on,
        )
        groups = coverage.groups(told.unit, holding, on=on)
        held.append((holding, groups))
        for group in groups:
            answer = group.answer
            yield CoverageValues(
                unit_id,
                terms_id,
                answer.payer,
                group.kind,
                ";".join(group.components),
                answer.result.value,
                answer.first,
                answer.last,
                answer.lifetime,
                answer.possible_last,
                answer.possible_lifetime,
                pack(answer.reasons),
                pack(answer.needs),
                pack(answer.hangs_on),
                next_on,
            )
    yield from _facts(told, held, on=on)


def _facts(
    told: Told, held: Sequence[tuple[Holding, Sequence[coverage.Group]]], *, on: dt.date
) -> Iterator[FactValues]:
    row = told.row
    for found in wanted.facts_wanted(told.unit, held, on=on, serial=row.serial, role=row.role, style=row.style):
        if found.stay is not None and found.stay >= len(told.site_ids):
            continue
        site_id = None if found.stay is None else told.site_ids[found.stay]
        yield FactValues(row.pk, site_id, found.fact, sum(found.worth), *found.worth, found.first, found.last)


def pack(reasons: Iterable[Reason]) -> Packed:
    """Write reasons as plain lists: code, what, day, until, would_reach."""
    return [
        [reason.code.value, reason.what, _text(reason.day), _text(reason.until), _text(reason.would_reach)]
        for reason in reasons
    ]


def _text(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()


def unpack(packed: Packed) -> tuple[Reason, ...]:
    """Read reasons back from plain lists."""
    return tuple(
        Reason(Code(code or ""), what or "", _day(day), _day(until), _day(reach))
        for code, what, day, until, reach in packed
    )


def _day(text: str | None) -> dt.date | None:
    return None if text is None else dt.date.fromisoformat(text)
