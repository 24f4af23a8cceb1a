"""The clocks that run and those that were missed: as a list, and short for another page."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from itertools import compress
from typing import Any

from django.db.models import F, Q, QuerySet

from fleet import gather, models
from fleet.gather.claims import payer_name
from fleet.gather.clock_rows import LONG_AGO, OF_A_CLOCK, clock_of, counting, too_late
from fleet.models.prepared import counted, prepared
from fleet.pages import claims as pages
from fleet.pages.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, unit_cell, within
from fleet.rules import words
from fleet.rules.clocks import ClockState
from fleet.rules.dates import DAY
from fleet.rules.wording.claim_clocks import clocks_in_words, to_do

CHUNK = 500
FIRST = 10
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


def page(asked: pages.ClocksAsked, *, sort: str, number: int, on: dt.date) -> pages.ClocksPage:
    """Show one page of clocks, the nearest first."""
    found = _found(asked, on=on)
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise="last_day")
    count = found.count()
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    return pages.ClocksPage(
        asked=asked,
        listing=Listing(
            pages.CLOCK_COLUMNS,
            tuple(_rows(_ordered(found, chosen)[first : first + PER_PAGE], on=on)),
            count,
            chosen,
            number,
        ),
        sentences=_sentences(on=on),
        too_late=_too_late(on=on),
    )


def rows(asked: pages.ClocksAsked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise="last_day")
    yield from _rows(_ordered(_found(asked, on=on), chosen).iterator(chunk_size=CHUNK), on=on)


def short(*, on: dt.date) -> pages.ShortClocks:
    """Give what the office must know today, in a fixed number of queries."""
    missed, running = _missed(on, on - LONG_AGO), _running(on, on - LONG_AGO)
    return pages.ShortClocks(_sentences(on=on), _first(missed, on=on), _first(running, on=on), _too_late(on=on))


@prepared
def _missed(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow]:
    return _ordered(counting(since=since).filter(last_on__lt=on), Sort("last_day"))[: FIRST + 1]


@prepared
def _running(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow]:
    return _ordered(counting(since=since).filter(Q(last_on__gte=on) | Q(first=True)), Sort("last_day"))[: FIRST + 1]


def _first(found: Sequence[models.ClockRow], *, on: dt.date) -> Listing:
    """Show the first rows; how many there are in all is said in the sentences, here only whether the list goes on."""
    rows = list(_rows(found, on=on)) if found else []
    shown = tuple(column for column in pages.CLOCK_COLUMNS if column.shown)
    kept = [column.shown for column in pages.CLOCK_COLUMNS]
    return Listing(shown, tuple(tuple(compress(row, kept)) for row in rows[:FIRST]), len(rows), Sort("last_day"))


def _found(asked: pages.ClocksAsked, *, on: dt.date) -> QuerySet[models.ClockRow]:
    since = on - LONG_AGO
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


def _ordered(found: QuerySet[models.ClockRow], sort: Sort) -> QuerySet[models.ClockRow]:
    by, *rest = _ORDER[sort.name]
    # What has no day yet comes last either way, and of those first what must come before something else.
    head = F(by).desc(nulls_last=True) if sort.falling else F(by).asc(nulls_last=True)
    return found.order_by(head, *(f"-{name}" if name == "first" else name for name in rest)).select_related(
        "claim", "failure__unit__system__site__customer"
    )


def _rows(found: Iterable[models.ClockRow], *, on: dt.date) -> Iterator[Row]:
    book = gather.terms_on_file()
    for row in found:
        failure, unit = row.failure, row.failure.unit
        customer = unit.system.site.customer
        clock = clock_of(row, asked=on)
        terms = book.by_code[book.codes[row.terms_id]]
        to = Link("claim", row.claim_id) if row.claim_id else Link("claim_open", failure.pk)
        yield (
            Cell(to_do(clock, asked=on), to),
            Cell(row.last_on),
            Cell(clock.days_left(on)),
            Cell(f"Claim {row.claim_id}, {row.claim.state}" if row.claim else "not opened yet", to),
            Cell(terms.payer),
            Cell(payer_name(terms)),
            Cell(failure.component),
            Cell(failure.failed_on),
            unit_cell(unit.pk, serial=unit.serial, room=unit.room, maker=unit.maker, model=unit.model),
            Cell(customer.name, Link("customer", customer.pk), customer.phone),
            Cell(customer.phone),
        )


def _sentences(*, on: dt.date) -> tuple[str, ...]:
    """Say what was missed, what closes this week and what must come first: one query for all of it."""
    clocks = [clock_of(row, asked=on) for row in _near(on + 7 * DAY, on - LONG_AGO)]
    return clocks_in_words(
        missed=[clock.last for clock in clocks if clock.state is ClockState.MISSED and clock.last],
        closing=[clock.last for clock in clocks if clock.state is ClockState.RUNNING and clock.last],
        first=sum(clock.state is ClockState.FIRST for clock in clocks),
        asked=on,
    )


@prepared
def _near(until: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    near = counting(since=since).filter(Q(last_on__lte=until) | Q(first=True)).order_by()
    return near.values_list(*OF_A_CLOCK, named=True)


def _too_late(*, on: dt.date) -> int:
    return _lost_claims(on - LONG_AGO)


@counted
def _lost_claims(since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return too_late(since=since).order_by().values_list("failure", "terms").distinct()
