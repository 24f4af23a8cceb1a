"""The clocks that run and those that were missed: as a list, and short for another page."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from itertools import compress
from typing import Any

from django.db.models import Case, CharField, Count, F, Min, Q, QuerySet, Value, When

from fleet import gather, models
from fleet.gather.claims import payer_name
from fleet.gather.clock_rows import LONG_AGO, OF_A_CLOCK, clock_of, counting, too_late
from fleet.models.prepared import counted, prepared
from fleet.pages import claims as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, unit_cell, within
from fleet.rules import words
from fleet.rules.clocks import ClockState
from fleet.rules.dates import DAY
from fleet.rules.wording.claim_clocks import Together, clocks_in_words, to_do

CHUNK = 500
FIRST = 10
_USUAL = Sort("last_day")
_UNIT = "failure__unit"
# A clock that must come before what any day may bring is as urgent as one whose last day is today.
_ORDER = {
    "last_day": ("last_on", "first", "failure_id", "pk"),
    "payer": ("terms__payer", "last_on", "pk"),
    "component": ("failure__component", "last_on", "pk"),
    "failed_on": ("failure__failed_on", "last_on", "pk"),
    "serial": (f"{_UNIT}__serial_key", "last_on", "pk"),
    "customer": (f"{_UNIT}__system__site__customer__name", "last_on", "pk"),
}
_CUSTOMER = f"{_UNIT}__system__site__customer"
_FIELDS = (
    *OF_A_CLOCK, "failure_id", "terms_id", "claim_id", "claim__state", "failure__component", "failure__failed_on",
    f"{_UNIT}_id", f"{_UNIT}__serial", f"{_UNIT}__room", f"{_UNIT}__maker", f"{_UNIT}__model",
    f"{_CUSTOMER}_id", f"{_CUSTOMER}__name", f"{_CUSTOMER}__phone",
)  # fmt: skip


def page(asked: pages.ClocksAsked, *, sort: str, number: int, on: dt.date) -> pages.ClocksPage:
    """Show one page of clocks, the nearest first."""
    since = on - LONG_AGO
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise=_USUAL.name)
    if (asked, chosen, number) == (pages.ClocksAsked(), _USUAL, 1):
        count, found = _count(since), _first_page(since)
    else:
        all_found = _found(asked, since, on=on)
        count = all_found.count()
        number = within(number, count)
        first = (number - 1) * PER_PAGE
        found = list(_ordered(all_found, chosen)[first : first + PER_PAGE])
    return pages.ClocksPage(
        asked=asked,
        listing=Listing(
            pages.CLOCK_COLUMNS,
            tuple(_rows(found, on=on)),
            count,
            chosen,
            number,
        ),
        sentences=_sentences(on=on),
        too_late=_too_late(on=on),
    )


def rows(asked: pages.ClocksAsked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise=_USUAL.name)
    yield from _rows(_ordered(_found(asked, on - LONG_AGO, on=on), chosen).iterator(chunk_size=CHUNK), on=on)


@counted
def _count(since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return counting(since=since).order_by().values_list("pk")


@prepared
def _first_page(since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since), _USUAL)[:PER_PAGE]


def short(*, on: dt.date) -> pages.ShortClocks:
    """Give what the office must know today, in a fixed number of queries."""
    missed, running = _missed(on, on - LONG_AGO), _running(on, on - LONG_AGO)
    return pages.ShortClocks(_sentences(on=on), _first(missed, on=on), _first(running, on=on), _too_late(on=on))


@prepared
def _missed(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since).filter(last_on__lt=on), _USUAL)[: FIRST + 1]


@prepared
def _running(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since).filter(Q(last_on__gte=on) | Q(first=True)), _USUAL)[: FIRST + 1]


def _first(found: Sequence[Any], *, on: dt.date) -> Listing:
    """Show the first rows; how many there are in all is said in the sentences, here only whether the list goes on."""
    rows = list(_rows(found, on=on)) if found else []
    shown = tuple(column for column in pages.CLOCK_COLUMNS if column.shown)
    kept = [column.shown for column in pages.CLOCK_COLUMNS]
    return Listing(shown, tuple(tuple(compress(row, kept)) for row in rows[:FIRST]), len(rows), _USUAL)


def _found(asked: pages.ClocksAsked, since: dt.date, *, on: dt.date) -> QuerySet[models.ClockRow]:
    found = too_late(since=since) if asked.which == pages.CLOCKS[2] else counting(since=since)
    if asked.which == pages.CLOCKS[1]:
        found = found.filter(last_on__lt=on)
    if asked.payer:
        found = found.filter(terms__payer=asked.payer)
    if asked.text:
        site = f"{_UNIT}__system__site"
        texts = Q(**{f"{site}__name__icontains": asked.text}) | Q(**{f"{site}__customer__name__icontains": asked.text})
        if key := words.key(asked.text):
            texts |= Q(**{f"{_UNIT}__serial_key__contains": key})
        found = found.filter(texts)
    return found


def _ordered(found: QuerySet[models.ClockRow], sort: Sort) -> QuerySet[models.ClockRow, Any]:
    by, *rest = _ORDER[sort.name]
    # What has no day yet comes last either way, and of those first what must come before something else.
    head = F(by).desc(nulls_last=True) if sort.falling else F(by).asc(nulls_last=True)
    ordered = found.order_by(head, *(f"-{name}" if name == "first" else name for name in rest))
    return ordered.values_list(*_FIELDS, named=True)


def _rows(found: Iterable[Any], *, on: dt.date) -> Iterator[Row]:
    book = gather.terms_on_file()
    for row in found:
        phone = row.failure__unit__system__site__customer__phone
        clock = clock_of(row, asked=on)
        terms = book.by_code[book.codes[row.terms_id]]
        to = Link("claim", row.claim_id) if row.claim_id else Link("claim_open", row.failure_id)
        yield (
            Cell(to_do(clock, asked=on), to),
            Cell(row.last_on),
            Cell(clock.days_left(on)),
            Cell(f"Claim {row.claim_id}, {row.claim__state}" if row.claim_id else "not opened yet", to),
            Cell(terms.payer),
            Cell(payer_name(terms)),
            Cell(row.failure__component),
            Cell(row.failure__failed_on),
            unit_cell(
                row.failure__unit_id,
                serial=row.failure__unit__serial,
                room=row.failure__unit__room,
                maker=row.failure__unit__maker,
                model=row.failure__unit__model,
            ),
            Cell(
                row.failure__unit__system__site__customer__name,
                Link("customer", row.failure__unit__system__site__customer_id),
                phone,
            ),
            Cell(phone),
        )


def _sentences(*, on: dt.date) -> tuple[str, ...]:
    """Say what was missed, what closes this week and what must come first: one query for all of it."""
    found = {state: Together(number, earliest) for state, number, earliest in _near(on, on + 7 * DAY, on - LONG_AGO)}
    return clocks_in_words(
        missed=found.get(ClockState.MISSED, Together()),
        closing=found.get(ClockState.RUNNING, Together()),
        first=found.get(ClockState.FIRST, Together()).number,
        asked=on,
    )


@prepared
def _near(on: dt.date, until: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    """Count what is near by how it stands, as `clock_of` says of one; a test holds the two together."""
    stands = Case(
        When(first=True, then=Value(ClockState.FIRST.value)),
        When(last_on__lt=on, then=Value(ClockState.MISSED.value)),
        default=Value(ClockState.RUNNING.value),
        output_field=CharField(),
    )
    near = counting(since=since).filter(Q(last_on__lte=until) | Q(first=True)).order_by().annotate(stands=stands)
    return (
        near.values("stands")
        .annotate(number=Count("*"), earliest=Min("last_on"))
        .values_list("stands", "number", "earliest")
    )


def _too_late(*, on: dt.date) -> int:
    return _lost_claims(on - LONG_AGO)


@counted
def _lost_claims(since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return too_late(since=since).order_by().values_list("failure", "terms").distinct()
