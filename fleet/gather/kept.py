"""The kept rows as they should be on a day: what the rules say now of a unit's holdings and coverage."""

import datetime as dt
from collections.abc import Iterable, Iterator

from fleet import models
from fleet.gather.terms import TermsBook
from fleet.gather.units import Told
from fleet.rules import coverage, registration
from fleet.rules.findings import Code, Reason
from fleet.rules.starts import start_of

KeptRow = models.HoldingRow | models.CoverageRow


def rows(told: Told, book: TermsBook, *, on: dt.date) -> Iterator[KeptRow]:
    """Work out a unit's kept rows, unsaved; a unit that is gone has none."""
    if told.row.gone_on is not None:
        return
    for holding in told.holdings:
        pk = book.pks[holding.terms.code]
        start = start_of(told.unit, holding)
        standing = registration.standing(told.unit, holding, start=start.day, asked=on)
        next_on = coverage.next_change(told.unit, holding, on=on)
        yield models.HoldingRow(
            unit_id=told.row.pk,
            terms_id=pk,
            attached=holding.attached,
            start_on=start.day,
            start_by=start.by,
            start_assumed=start.assumed,
            registration=standing.state.value,
            registration_day=standing.day,
            deadline=standing.deadline,
            next_on=next_on,
        )
        for group in coverage.groups(told.unit, holding, on=on):
            answer = group.answer
            yield models.CoverageRow(
                unit_id=told.row.pk,
                terms_id=pk,
                payer=answer.payer,
                kind=group.kind,
                components=";".join(group.components),
                result=answer.result.value,
                first_on=answer.first,
                last_on=answer.last,
                lifetime=answer.lifetime,
                possible_last_on=answer.possible_last,
                possible_lifetime=answer.possible_lifetime,
                reasons=pack(answer.reasons),
                needs=pack(answer.needs),
                hangs_on=pack(answer.hangs_on),
                next_on=next_on,
            )


def pack(reasons: Iterable[Reason]) -> list[list[str | None]]:
    """Write reasons as plain lists: code, what, day, until, would_reach."""
    return [
        [reason.code.value, reason.what, _text(reason.day), _text(reason.until), _text(reason.would_reach)]
        for reason in reasons
    ]


def _text(day: dt.date | None) -> str | None:
    return None if day is None else day.isoformat()


def unpack(packed: Iterable[list[str | None]]) -> tuple[Reason, ...]:
    """Read reasons back from plain lists."""
    return tuple(
        Reason(Code(code), what or "", _day(day), _day(until), _day(reach)) for code, what, day, until, reach in packed
    )


def _day(text: str | None) -> dt.date | None:
    return None if text is None else dt.date.fromisoformat(text)
