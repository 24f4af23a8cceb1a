"""Visits that were booked, as the planning of visits sees them."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from django.db.models import Exists, OuterRef, QuerySet, Subquery, Sum

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


def days_of_tasks(tasks: QuerySet[models.BookedTask], *, on: dt.date) -> Mapping[tuple[int, str], dt.date]:
    """The first day from a day on for which each task is booked, by the unit that it stands under and its code."""
    ahead = tasks.filter(booking__state="booked", booking__on__gte=on).order_by("-booking__on")
    return {(unit, task): day for unit, task, day in ahead.values_list("unit_id", "task", "booking__on")}


def booked_on(*, on: dt.date) -> Subquery:
    """The first day from a day on for which a due (a row of the outer query) is booked."""
    return Subquery(_ahead_of_due(on).order_by("booking__on").values("booking__on")[:1])


def is_booked(*, on: dt.date) -> Exists:
    """Whether a due (a row of the outer query) is booked for a day or later."""
    return Exists(_ahead_of_due(on))


def _ahead_of_due(on: dt.date) -> QuerySet[models.BookedTask]:
    return models.BookedTask.objects.filter(
        booking__state="booked", booking__on__gte=on, unit=OuterRef("unit"), task=OuterRef("task")
    )


def not_booked(dues: QuerySet[models.DueRow], *, on: dt.date) -> int:
    """How many of some dues are booked for no day. Those that are, which are few, are found from their bookings."""
    ahead = models.BookedTask.objects.filter(booking__state="booked", booking__on__gte=on)
    booked = ahead.filter(Exists(dues.filter(unit=OuterRef("unit"), task=OuterRef("task"))))
    return dues.count() - booked.order_by().values("unit", "task").distinct().count()


def dues(site: int, sheet: CareSheet) -> tuple[Due, ...]:
    """A technician's work that is due at a site, from the stored rows, the earliest first."""
    rows = models.DueRow.objects.filter(site=site, by="technician").select_related("unit").order_by("due_on", "pk")
    return tuple(due_of(row, sheet) for row in rows if sheet.task(row.task) is not None)


def drive_cost(house: models.House, drive_minutes: int) -> Decimal:
    """What the time on the road costs us, in dollars to the cent."""
    return (house.drive_price * drive_minutes / 60).quantize(Decimal("0.01"))
