"""The sheet of a booked visit: the stop as its technician sees it, and what to bring."""

import datetime as dt

from fleet import models
from fleet.care.pages import visits as pages
from fleet.care.queries import stops
from fleet.facts.care import care_sheet
from fleet.rules.wording.bringing import bring


def sheet(pk: int, *, on: dt.date) -> pages.Sheet | None:
    """The sheet of a booking; None if there is no such booking."""
    site = models.Booking.objects.filter(pk=pk).values_list("site_id", flat=True).first()
    stop = None if site is None else stops.at_site(site, on=on, booking=pk)
    if stop is None:
        return None
    rules = care_sheet()
    open_tasks = {ask.task for unit in stop.units for ask in unit.open}
    tasks = () if rules is None else tuple(task for task in rules.tasks if task.code in open_tasks)
    accesses = tuple(unit.access for unit in stop.units if unit.open)
    return pages.Sheet(stop=stop, technician=stop.technician, bring=(*stop.bring, *bring(tasks, accesses)))
