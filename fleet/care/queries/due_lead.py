"""What the list of dues says before it lists any: how much of a technician's work is late, and how much more may be done now."""

import datetime as dt

from django.db.models import Count, Min

from fleet import models
from fleet.care.facts.bookings import is_booked
from fleet.care.queries.due_states import by_its_days
from fleet.rules import care
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words


def sentences(sheet: CareSheet, *, on: dt.date) -> tuple[str, ...]:
    """How much of a technician's work is late, and how much more may be done now, in sentences."""
    ours = models.DueRow.objects.filter(by="technician").exclude(is_booked(on=on))
    late = ours.filter(by_its_days(care.State.LATE, on=on)).aggregate(count=Count("*"), longest=Min("late_after"))
    # What is due now is late within so many days, which bounds what the index must read.
    soon = on + max((task.early_days + task.late_days for task in sheet.tasks), default=0) * DAY
    now = ours.filter(by_its_days(care.State.DUE, on=on), late_after__lte=soon).count()
    if not late["count"] and not now:
        return ("No maintenance needs to be booked today.",)
    said = []
    if late["count"]:
        since = in_words(late["longest"] + DAY)
        said.append(
            f"{_tasks(late['count'])} {'is' if late['count'] == 1 else 'are'} overdue, the longest since {since}."
        )
    if now:
        said.append(f"{_tasks(now, ' more' if late['count'] else '')} can be done now.")
    return tuple(said)


def _tasks(number: int, more: str = "") -> str:
    return f"1{more} maintenance task" if number == 1 else f"{number:,}{more} maintenance tasks"
