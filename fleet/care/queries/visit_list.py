"""The plan of the coming weeks as a list: each visit to book, day by day, what is booked; and what waits to be booked."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.care.facts import bookings as gathered
from fleet.care.pages import visits as pages
from fleet.care.queries import bookings
from fleet.care.queries.bookings import Planned
from fleet.elements.lists import PER_PAGE, Cell, Column, Link, Listing, Row, Sort, in_order, sort_of, within
from fleet.facts import house as gather_house
from fleet.facts.care import care_sheet
from fleet.models.prepared import prepared
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words

CHUNK = 500
FIRST = 5
# How soon a window closes that the office must see on its first page.
SOON = 21
# How many dues it looks at to say so.
LOOKED_AT = 400
_ORDER = {
    "day": ("on", "site__customer__name", "pk"),
    "site": ("site__name", "on", "pk"),
    "customer": ("site__customer__name", "on", "pk"),
    "technician": ("technician__first_name", "technician__last_name", "on", "pk"),
    "minutes": ("minutes", "on", "pk"),
    "price": ("price", "on", "pk"),
}


def page(asked: pages.Asked, *, sort: str, number: int, on: dt.date) -> pages.VisitsPage:
    """Show one page of the plan with its load by month."""
    columns = pages.COLUMNS[asked.listed]
    chosen = sort_of(sort, columns, otherwise="day")
    until = bookings.until_of(on, asked.weeks)
    sheet = care_sheet()
    if sheet is None:
        empty = Listing(columns, (), 0, chosen)
        return pages.VisitsPage(asked, on, until, empty, (), (), without_sheet=True)
    planned = bookings.plan(sheet, on=on, until=until)
    return pages.VisitsPage(
        asked=asked,
        on=on,
        until=until,
        listing=_listing(asked, planned, chosen, number, on=on),
        sentences=_sentences(planned, on=on, until=until),
        months=bookings.months(planned, on=on, until=until),
    )


def rows(asked: pages.Asked, *, sort: str, on: dt.date) -> Iterator[Row]:
    """Give every row of the list."""
    sheet = care_sheet()
    if sheet is None:
        return
    chosen = sort_of(sort, pages.COLUMNS[asked.listed], otherwise="day")
    planned = bookings.plan(sheet, on=on, until=bookings.until_of(on, asked.weeks))
    match asked.listed:
        case "to book":
            yield from _to_book(_sorted(_narrowed(planned, asked.text), chosen))
        case "by day":
            yield from in_order(list(_by_day(planned, on=on)), pages.BY_DAY, chosen)
        case _:
            yield from _booked_rows(_booked(asked, chosen, on=on).iterator(chunk_size=CHUNK))


def _sentences(planned: Sequence[Planned], *, on: dt.date, until: dt.date) -> tuple[str, ...]:
    booked = models.Booking.objects.filter(state="booked", on__gte=on).count()
    forgotten = models.Booking.objects.filter(state="booked", on__lt=on).count()
    said = []
    if planned:
        first = planned[0].visit.on
        said.append(f"{_visits(len(planned))} to book by {in_words(until)}, the first for {in_words(first)}.")
    else:
        said.append(f"No visit is to be booked by {in_words(until)}.")
    late = sum(1 for one in planned if _late(one, on))
    if late:
        said.append(f"At {late:,} of them something is late already.")
    said.append(f"{_visits(booked)} {'is' if booked == 1 else 'are'} booked." if booked else "None is booked yet.")
    if forgotten:
        said.append(
            f"{_visits(forgotten)} of days gone by {'was' if forgotten == 1 else 'were'} neither written up nor called off."
        )
    return tuple(said)


def _visits(number: int) -> str:
    return "1 visit" if number == 1 else f"{number:,} visits"


def _late(one: Planned, on: dt.date) -> bool:
    return any(due.late_after < on and (due.not_before is None or due.not_before <= on) for due in one.visit.dues)


# ------------------------------------------------------------------------------------------------- as a list


def _listing(asked: pages.Asked, planned: Sequence[Planned], chosen: Sort, number: int, *, on: dt.date) -> Listing:
    columns = pages.COLUMNS[asked.listed]
    match asked.listed:
        case "to book":
            found = _sorted(_narrowed(planned, asked.text), chosen)
            number = within(number, len(found))
            first = (number - 1) * PER_PAGE
            return Listing(columns, tuple(_to_book(found[first : first + PER_PAGE])), len(found), chosen, number)
        case "by day":
            return Listing.cut(columns, list(_by_day(planned, on=on)), chosen, number)
        case _:
            rows = _booked(asked, chosen, on=on)
            count = rows.count()
            number = within(number, count)
            first = (number - 1) * PER_PAGE
            return Listing(columns, tuple(_booked_rows(rows[first : first + PER_PAGE])), count, chosen, number)


def _narrowed(planned: Sequence[Planned], text: str) -> list[Planned]:
    wanted = text.casefold()
    return [one for one in planned if wanted in one.visit.site.casefold() or wanted in one.visit.customer.casefold()]


def _sorted(found: list[Planned], chosen: Sort) -> list[Planned]:
    keys: dict[str, Any] = {
        "day": lambda one: one.visit.on,
        "site": lambda one: one.visit.site.casefold(),
        "customer": lambda one: one.visit.customer.casefold(),
        "by": lambda one: _by(one) or dt.date.max,
        "minutes": lambda one: one.visit.minutes,
        "price": lambda one: one.visit.price,
    }
    return sorted(found, key=keys[chosen.name], reverse=chosen.falling)


def _by(one: Planned) -> dt.date | None:
    """Give the last day on which none of its windows is closed; of what is late, the day gone by on which it closed."""
    late = [due.late_after for due in one.visit.dues if due.not_before is None]
    return min([*late, *(met.span.last for met in one.visit.met if met.span.last is not None)], default=None)


def _to_book(found: Iterable[Planned]) -> Iterator[Row]:
    sheet, rates = care_sheet(), gather_house.house()
    rest = iter(found)
    while chunk := list(islice(rest, CHUNK)):
        sites = models.Site.objects.filter(pk__in={one.site for one in chunk}).select_related("customer").in_bulk()
        for one in chunk:
            yield _one(one, sites[one.site], sheet, rates)


def _one(one: Planned, site: models.Site, sheet: CareSheet | None, rates: models.House) -> Row:
    visit = one.visit
    work = bookings.work((due.task.code for due in visit.dues), sheet)
    return (
        Cell(visit.on),
        Cell(site.name, Link("site_visits", site.pk)),
        Cell(site.customer.name, Link("customer", site.customer_id)),
        Cell(site.customer.phone),
        Cell("; ".join(work) or "a visit that the agreement promises"),
        Cell(_by(one)),
        Cell(visit.minutes),
        Cell(visit.price),
        Cell("yes" if visit.agreement else ""),
        Cell(bookings.unpaid(visit, one.drive_minutes, rates)),
    )


def _by_day(planned: Iterable[Planned], *, on: dt.date) -> Iterator[Row]:
    """Give each day of the plan that has a visit, with its minutes against those on hand."""
    visits, asked = Counter[dt.date](), defaultdict[dt.date, int](int)
    for one in planned:
        visits[one.visit.on] += 1
        asked[one.visit.on] += one.visit.minutes
    booked = gathered.minutes_by_day(since=on)
    counts = Counter(models.Booking.objects.filter(state="booked", on__gte=on).values_list("on", flat=True))
    limit = gather_house.working().minutes_a_day
    for day in sorted({*asked, *booked}):
        yield (
            Cell(day),
            Cell(visits[day] or None),
            Cell(counts[day] or None),
            Cell(asked.get(day)),
            Cell(booked.get(day)),
            Cell(limit or None),
        )


def _booked(asked: pages.Asked, chosen: Sort, *, on: dt.date) -> Any:
    found = models.Booking.objects.filter(state="booked").select_related("site__customer", "technician")
    found = found.filter(on__lt=on) if asked.listed == "not written up" else found.filter(on__gte=on)
    if asked.text:
        found = found.filter(Q(site__name__icontains=asked.text) | Q(site__customer__name__icontains=asked.text))
    falling = "-" if chosen.falling else ""
    return found.order_by(*(f"{falling}{name}" for name in _ORDER[chosen.name]))


def _booked_rows(found: Iterable[models.Booking]) -> Iterator[Row]:
    for row in found:
        yield (
            Cell(row.on, Link("booking", row.pk)),
            Cell(row.site.name, Link("site_visits", row.site_id)),
            Cell(row.site.customer.name, Link("customer", row.site.customer_id)),
            Cell(row.site.customer.phone),
            Cell(str(row.technician) if row.technician is not None else "nobody yet"),
            Cell(row.minutes),
            Cell(row.price),
            Cell(row.note),
            Cell(row.why),
        )


# ------------------------------------------------------------------------------------------------- waiting on us

SHORT = (
    Column("by", "At the latest", "day"),
    Column("site", "Site"),
    Column("customer", "Customer"),
    Column("phone", "Phone"),
    Column("dues", "Dues", "number"),
)


def short(*, on: dt.date) -> tuple[tuple[str, ...], Listing]:
    """Give what waits to be booked soonest: sites where something closes within three weeks and no visit is booked.

    It asks what is kept of dues, not the plan, which a first page should not wait for.
    """
    rows = _soonest(on, on + SOON * DAY)
    first: dict[int, dt.date] = {}
    for site, day in rows:
        first.setdefault(site, day)
    counts = Counter(site for site, _ in rows)
    nearest = list(first)[:FIRST]
    named = {site.pk: site for site in _named(nearest)}
    shown = tuple(
        (
            Cell(first[pk]),
            Cell(named[pk].name, Link("site_visits", pk)),
            Cell(named[pk].customer.name, Link("customer", named[pk].customer_id)),
            Cell(named[pk].customer.phone),
            Cell(counts[pk]),
        )
        for pk in nearest
    )
    listing = Listing(SHORT, shown, len(first), Sort("by"))
    return (_waiting(first, on=on, more=len(rows) == LOOKED_AT) if first else (), listing)


@prepared
def _named(sites: Iterable[int]) -> QuerySet[models.Site]:
    return models.Site.objects.filter(pk__in=sites).select_related("customer")


@prepared
def _soonest(on: dt.date, soon: dt.date) -> QuerySet[models.DueRow, tuple[int, dt.date]]:
    """Find the first by the index, and no more: a large fleet may have fallen behind by tens of thousands."""
    booked = models.Booking.objects.filter(state="booked", on__gte=on).values("site")
    now = models.DueRow.objects.filter(
        Q(not_before=None) | Q(not_before__lte=on), by="technician", late_after__lte=soon, opens_on__lte=on
    ).exclude(site__in=booked)
    return now.order_by("late_after").values_list("site_id", "late_after")[:LOOKED_AT]


def _waiting(first: Mapping[int, dt.date], *, on: dt.date, more: bool) -> tuple[str, ...]:
    sites, late = len(first), sum(day < on for day in first.values())
    number = f"{'more than ' if more else ''}{sites:,}"
    said = f"{'1 site waits' if sites == 1 and not more else f'{number} sites wait'} for a visit to be booked within {SOON // 7} weeks"
    if not late:
        return (f"{said[:1].upper()}{said[1:]}.",)
    at = "it" if sites == 1 else "all of them" if late == sites else f"{late:,} of them"
    return (f"{said[:1].upper()}{said[1:]}; at {at} something is late.",)
