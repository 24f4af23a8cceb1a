"""Visits that were booked, and the days on which sites were visited, as the planning of visits sees them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping
from decimal import Decimal

from django.db.models import Sum

from fleet import models
from fleet.facts.care import due_of
from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet


def minutes_by_day(*, since: dt.date, without: int | None = None) -> Mapping[dt.date, int]:
    """Sum the minutes of booked visits by day, from a day on; of one booking that is about to move, nothing."""
    bookings = models.Booking.objects.filter(state="booked", on__gte=since)
    if without is not None:
        bookings = bookings.exclude(pk=without)
    return dict(bookings.order_by().values("on").annotate(total=Sum("minutes")).values_list("on", "total"))


def visited(sites: Collection[int] | None = None, *, since: dt.date) -> Mapping[int, tuple[dt.date, ...]]:
    """The days of visits made or booked from a day on, by site; a stop that nobody booked counts too."""
    days_of: dict[int, set[dt.date]] = defaultdict(set)
    booked = models.Booking.objects.filter(state="booked", on__gte=since)
    made = models.WriteUp.objects.standing().filter(on__gte=since)
    if sites is not None:
        booked, made = booked.filter(site__in=sites), made.filter(site__in=sites)
    for rows in (booked, made):
        for site, day in rows.order_by().values_list("site_id", "on"):
            days_of[site].add(day)
    return {site: tuple(sorted(days)) for site, days in days_of.items()}


def dues(site: int, sheet: CareSheet) -> tuple[Due, ...]:
    """A technician's work that is due at a site, from the stored rows, the earliest first."""
    rows = models.DueRow.objects.filter(site=site, by="technician").select_related("unit").order_by("due_on", "pk")
    return tuple(due_of(row, sheet) for row in rows if sheet.task(row.task) is not None)


def drive_cost(house: models.House, drive_minutes: int) -> Decimal:
    """What the time on the road costs us, in dollars to the cent."""
    return (house.drive_price * drive_minutes / 60).quantize(Decimal("0.01"))
