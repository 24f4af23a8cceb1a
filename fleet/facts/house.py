"""What the company has settled for itself, as its one row says: its days and hours, and its technicians' months."""

import datetime as dt
from collections.abc import Mapping
from decimal import Decimal

from django.db.models import DateField, Value
from django.db.models.functions import Cast

from fleet import models
from fleet.rules.dates import WorkingDays
from fleet.rules.hours import House


def house() -> models.House:
    """The row of house settings, or one with everything as it is before anybody settled it (not saved)."""
    return models.House.objects.filter(pk=1).first() or models.House(pk=1)


def working(row: models.House | None = None, *, hours_a_day: Decimal | None = None) -> House:
    """The house as the planning of visits sees it; the hours on hand a day may be another figure than the house's own."""
    row = row or house()
    hours = row.hours_a_day if hours_a_day is None else hours_a_day
    days = _working_days(row)
    months = models.MonthHours.objects.order_by("month").values_list("month", "hours")
    return House(
        days.weekdays, days.closed, int(hours * 60), tuple((month, int(entered * 60)) for month, entered in months)
    )


def working_days() -> WorkingDays:
    """The days on which anybody works; weekdays and closed days come by one question."""
    no_day = Cast(Value(None), DateField())
    settled = models.House.objects.filter(pk=1).order_by().values_list("weekdays", no_day)
    closed = models.ClosedDay.objects.order_by().values_list(Value(""), "on")
    rows = list(settled.union(closed, all=True))
    weekdays = next((weekdays for weekdays, on in rows if on is None), models.House().weekdays)
    return WorkingDays(frozenset(map(int, weekdays)), frozenset(on for _, on in rows if on is not None))


def _working_days(row: models.House) -> WorkingDays:
    closed = models.ClosedDay.objects.values_list("on", flat=True)
    return WorkingDays(frozenset(map(int, row.weekdays)), frozenset(closed))


def hours_on_hand(first: dt.date, last: dt.date) -> Mapping[dt.date, Decimal]:
    """Technician hours on hand by month, as entered; each month goes by its first day, and one not entered is missing."""
    rows = models.MonthHours.objects.filter(month__gte=first.replace(day=1), month__lte=last)
    return dict(rows.values_list("month", "hours"))
