"""The clocks that run and those that were missed: as a list, and short for another page."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from itertools import compress
from typing import Any

from django.db.models import F, Q, QuerySet

from fleet import facts as gather
from fleet import models
from fleet.claims.facts.clock_rows import LONG_AGO, OF_A_CLOCK, clock_of, counting, too_late
from fleet.claims.pages import claims as pages
from fleet.derived.claim_rows import payer_name
from fleet.elements import named_fields
from fleet.elements.counting import Counted, as_far_as, reach, up_to
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.models.prepared import counted, prepared
from fleet.rules import words
from fleet.rules.dates import DAY
from fleet.rules.wording.claim_clocks import Together, clocks_in_words, to_do

CHUNK = 500
# How far clocks are counted, in the list and in what is said first.
MOST = 500
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
_OF_UNIT, _OF_CUSTOMER = named_fields.unit(_UNIT), named_fields.linked(_CUSTOMER, "customer")
_FIELDS = (
    *OF_A_CLOCK, "failure_id", "terms_id", "claim_id", "claim__state", "failure__component", "failure__failed_on",
    *_OF_UNIT.fields, *_OF_CUSTOMER.fields, f"{_CUSTOMER}__phone",
)  # fmt: skip


def page(asked: pages.ClocksAsked, *, sort: str, number: int, on: dt.date) -> pages.ClocksPage:
    """Show one page of clocks, the nearest first."""
    since, most = on - LONG_AGO, reach(MOST, number)
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise=_USUAL.name)
    if (asked, chosen, number) == (pages.ClocksAsked(), _USUAL, 1):
        count, found = as_far_as(most, _count, since), _first_page(since, most=PER_PAGE)
    else:
        all_found = _found(asked, since, on=on)
        count = up_to(most, all_found)
        number = within(number, count.number)
        first = (number - 1) * PER_PAGE
        found = list(_ordered(all_found, chosen)[first : first + PER_PAGE])
    too_late = _too_late(on=on)
    return pages.ClocksPage(
        asked=asked,
        listing=Listing(pages.CLOCK_COLUMNS, tuple(_rows(found, on=on)), count.number, chosen, number, count.more),
        sentences=_sentences(on=on),
        too_late=too_late.number,
        more_too_late=too_late.more,
    )


def rows(asked: pages.ClocksAsked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    chosen = sort_of(sort, pages.CLOCK_COLUMNS, otherwise=_USUAL.name)
    yield from _rows(_ordered(_found(asked, on - LONG_AGO, on=on), chosen).iterator(chunk_size=CHUNK), on=on)


@counted
def _count(since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    # In the order of the index, which has all that is asked; else every row might be read instead.
    return counting(since=since).order_by("last_on").values_list("last_on")[:most]


@prepared
def _first_page(since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since), _USUAL)[:most]


def short(*, on: dt.date) -> pages.ShortClocks:
    """Give what the office must know today, in a fixed number of queries."""
    since, too_late = on - LONG_AGO, _too_late(on=on)
    # By two indexes: what runs from today on, and what must come first, whatever its day.
    running = sorted([*_urgent(on, since), *_running(on, since)], key=lambda row: row.last_on or dt.date.max)
    return pages.ShortClocks(
        sentences=_sentences(on=on),
        missed=_first(_missed(on, since), on=on),
        running=_first(running[: FIRST + 1], on=on),
        too_late=too_late.number,
        more_too_late=too_late.more,
    )


@prepared
def _missed(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since).filter(last_on__lt=on), _USUAL)[: FIRST + 1]


@prepared
def _running(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    return _ordered(counting(since=since).filter(last_on__gte=on), _USUAL)[: FIRST + 1]


@prepared
def _urgent(on: dt.date, since: dt.date) -> QuerySet[models.ClockRow, Any]:
    found = counting(since=since).filter(Q(last_on=None) | Q(last_on__lt=on), first=True)
    return _ordered(found, _USUAL)[: FIRST + 1]


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
            _OF_UNIT.cell(row),
            _OF_CUSTOMER.cell(row)._replace(note=phone),
            Cell(phone),
        )


def _sentences(*, on: dt.date) -> tuple[str, ...]:
    """Say what was missed, what closes this week and what must come first."""
    since, week = on - LONG_AGO, on + 7 * DAY
    first = as_far_as(MOST, _count_first, since)
    return clocks_in_words(
        missed=_together(None, on - DAY, since),
        closing=_together(on, week, since),
        first=Together(first.number, more=first.more),
        asked=on,
    )


def _together(day: dt.date | None, until: dt.date, since: dt.date) -> Together:
    """Count those whose last day lies between two days, as far as anybody reads a number, and give the earliest."""
    earliest = next(iter(_earliest(day, until, since)), None)
    if earliest is None:
        return Together()
    number, more = as_far_as(MOST, _count_between, day, until, since)
    return Together(number, earliest, more)


@prepared
def _earliest(day: dt.date | None, until: dt.date, since: dt.date) -> QuerySet[models.ClockRow, dt.date | None]:
    return _between(day, until, since)[:1]


@counted
def _count_between(day: dt.date | None, until: dt.date, since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    return _between(day, until, since)[:most]


def _between(day: dt.date | None, until: dt.date, since: dt.date) -> QuerySet[models.ClockRow, dt.date | None]:
    """Find what runs out, or was missed, between two days; what must come first is told by itself."""
    found = counting(since=since).filter(first=False, last_on__lte=until)
    found = found if day is None else found.filter(last_on__gte=day)
    return found.order_by("last_on").values_list("last_on", flat=True)


@counted
def _count_first(since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    return counting(since=since).filter(first=True).order_by("last_on").values_list("last_on")[:most]


def _too_late(*, on: dt.date) -> Counted:
    return as_far_as(MOST, _lost_claims, on - LONG_AGO)


@counted
def _lost_claims(since: dt.date, *, most: int) -> QuerySet[models.ClockRow, Any]:
    # What is claimed does not lapse; said once more, they are counted by the index of what is not.
    return too_late(since=since).filter(claim=None).order_by().values_list("failure", "terms").distinct()[:most]
