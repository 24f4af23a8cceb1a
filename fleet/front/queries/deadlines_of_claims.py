"""Deadlines of claims: what their clocks count down to, and what comes before anyone goes out."""

import datetime as dt
from collections.abc import Iterator, Sequence
from types import SimpleNamespace
from typing import Any

from django.db.models import Case, DateField, F, OuterRef, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce

from fleet import models
from fleet.claims.facts.clock_rows import counting
from fleet.derived.claim_rows import payer_name
from fleet.elements import named
from fleet.elements.cells import Link
from fleet.facts import TermsBook
from fleet.front.queries.deadline_rows import BIG, NONE, ORDER, Source
from fleet.front.queries.deadline_rows import row as row_of
from fleet.rules import deadlines as rules
from fleet.rules import which_component
from fleet.rules.deadlines import Deadline
from fleet.rules.wording import deadlines as wording

_UNIT = "failure__unit"
# What is to be done, by the kind of a row.
_KINDS: dict[str, rules.Kind] = {clock.value: kind for clock, kind in rules.OF_CLOCKS.items()} | {
    which_component.KIND: rules.Kind.COMPONENT
}


def _clocks(filters: Any, on: dt.date) -> QuerySet[models.ClockRow, Any]:
    rows = _with_day(on)
    if filters.payer:
        rows = rows.filter(terms__payer=filters.payer)
    if filters.text:
        rows = rows.filter(named.text_of_unit(_UNIT, keys=("serial",))(filters.text))
    if filters.kind:
        rows = rows.filter(kind__in=[clock for clock, kind in _KINDS.items() if kind == filters.kind])
    what = Case(*(When(kind=clock, then=Value(kind.value)) for clock, kind in _KINDS.items()))
    found = rows.annotate(what=what).values(
        "what", "rank", last=F("day"), first_key=F("failure_id"), second_key=F("pk")
    )
    return found.order_by(*ORDER)


def _with_day(on: dt.date) -> QuerySet[models.ClockRow]:
    """The deadlines of claims with their day and their rank."""
    # Whoever goes to the site goes out: the first booked visit there is the day of a step that comes before the work. The way
    # to the site lies in the question, so that it is gone only for such a step.
    booked = models.Booking.objects.filter(
        site__systems__units__failures=OuterRef("failure"), state="booked", on__gte=on
    )
    day = Coalesce(
        "last_on",
        Case(
            When(first=True, then=Subquery(booked.order_by("on").values("on")[:1])),
            default=None,
            output_field=DateField(),
        ),
    )
    rank = Case(
        When(day__isnull=False, then=Value(1)), When(first=True, then=Value(0)), default=Value(2), output_field=BIG
    )
    return counting(on=on).order_by().annotate(day=day).annotate(rank=rank)


def _complete_clocks(rows: Sequence[Any], book: TermsBook, on: dt.date) -> Iterator[SimpleNamespace]:
    clocks = models.ClockRow.objects.select_related("claim", f"{_UNIT}__system__site__customer").in_bulk(
        [row["second_key"] for row in rows] or NONE
    )
    return (_of_clock(clocks[row["second_key"]], row["last"], book) for row in rows)


def _of_clock(clock: models.ClockRow, last: dt.date | None, book: TermsBook) -> SimpleNamespace:
    kind = _KINDS[clock.kind]
    terms, failure, claim = book.by_code[book.codes[clock.terms_id]], clock.failure, clock.claim
    name = claim.payer_name if claim else payer_name(terms)
    return row_of(
        Deadline(kind, last, rules.WHO[kind], ahead=clock.first, dollars=clock.worth or None),
        payer=terms.payer,
        payer_name=name,
        to_do=wording.to_do(kind, name, component=failure.component),
        worth=wording.worth(clock.worth, kinds=clock.kinds.split(";")),
        link=_link(clock),
        unit=failure.unit,
        site=failure.unit.system.site,
        mark=f"{clock.failure_id}/{clock.terms_id}/{clock.kind}",
        note=f"claim {claim.pk}"
        if claim
        else "no claim opened yet"
        if failure.component
        else "component not known yet",
    )


def _link(clock: models.ClockRow) -> Link:
    """Where something is done about it: on its claim, where one is opened, or on the failure, where the component is said."""
    if clock.claim_id:
        return Link("claim", clock.claim_id)
    return Link("claim_open" if clock.failure.component else "failure", clock.failure_id)


SOURCES: tuple[Source, ...] = (Source(tuple(_KINDS.values()), _clocks, _complete_clocks),)


def of_units(units: Sequence[models.Unit], book: TermsBook, *, on: dt.date) -> list[SimpleNamespace]:
    """Those of the claims of some units, in no order."""
    by_pk = {unit.pk: unit for unit in units}
    clocks = _with_day(on).select_related("claim", "failure").filter(failure__unit__in=by_pk)
    found = []
    for clock in clocks:
        clock.failure.unit = by_pk[clock.failure.unit_id]
        found.append(_of_clock(clock, clock.day, book))  # type: ignore[attr-defined]
    return found
