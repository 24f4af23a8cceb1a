"""What the company has settled for itself, as its page shows it."""

import datetime as dt
from decimal import Decimal

from fleet import models
from fleet.business.pages import house as pages
from fleet.facts import company
from fleet.facts import house as gathered
from fleet.rules.dates import Span
from fleet.rules.usual_holidays import Holiday, usual
from fleet.rules.wording import year as wording

FIELDS = (
    "hourly_rate", "weekdays", "hours_a_day", "drive_price", "renewal_percent", "record_complete_from", "call_back_days",
    "renewal_notice_days", "promise_reserve",
)  # fmt: skip


def page(*, year: int, on: dt.date) -> pages.HousePage:
    """Show the settings, the closed days from today on, and the hours of a year."""
    row = gathered.house()
    known = gathered.hours_on_hand(dt.date(year, 1, 1), dt.date(year, 12, 31))
    hours = {month: known.get(month) for month in (dt.date(year, number, 1) for number in range(1, 13))}
    closed = models.ClosedDay.objects.filter(on__gte=on).values_list("pk", "on", "why")
    entered = [number for number in hours.values() if number is not None]
    return pages.HousePage(
        settings={name: getattr(row, name) for name in FIELDS},
        closed=tuple(pages.Closed(*day) for day in closed),
        year=year,
        hours=hours,
        holidays=_holidays(row, on=on),
        sentences=(wording.hours_entered(year, len(entered), sum(entered, Decimal(0))),),
    )


def _holidays(row: models.House, *, on: dt.date) -> tuple[Holiday, ...]:
    """The holidays of our country until the end of next year that would be working days and are not closed yet."""
    span = Span(on, dt.date(on.year + 1, 12, 31))
    working = gathered.working(row)
    return tuple(day for day in usual(company.row().country, span) if day.on in working)
