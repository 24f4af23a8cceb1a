"""The demo company's bookings: a day's stops for its technician today, and a few in the days after."""

import datetime as dt

from fleet import models
from fleet.care.actions import bookings
from fleet.care.queries.visit_plan import plan
from fleet.facts.care import care_sheet

TODAY, LATER = 2, 4
AHEAD = dt.timedelta(days=14)
WHY = "They asked for that day"


def bring(*, by: models.User, today: dt.date) -> None:
    """Book the first two visits that the plan asks for today, whatever day it is, and some more as planned: rather those of later days."""
    sheet = care_sheet()
    assert sheet is not None  # the demo company's own was just loaded
    technician = models.User.objects.get(username="technician")
    planned = [one for one in plan(sheet, on=today, until=today + AHEAD) if one.visit.dues]
    later = sorted(planned[TODAY:], key=lambda one: one.visit.on <= today)[:LATER]
    for number, one in enumerate([*planned[:TODAY], *later]):
        bookings.book(
            one.site,
            [(int(due.unit), due.task.code) for due in one.visit.dues],
            day=today if number < TODAY else one.visit.on,
            technician=technician.pk,
            why=WHY if number < TODAY else "",
            by=by,
            on=today,
        )
