"""What the list of dues says before it lists any: how much of a technician's work is late, and how much more may be done now."""

import datetime as dt

from fleet import models
from fleet.care.facts.bookings import is_booked, not_booked
from fleet.care.queries.due_states import by_its_days
from fleet.rules import care
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words


def sentences(sheet: CareSheet, *, on: dt.date) -> tuple[str, ...]:
    """How much of a technician's work is late, and how much more may be done now, in sentences."""
    ours = models.DueRow.objects.filter(by="technician")
    overdue = ours.filter(by_its_days(care.State.LATE, on=on))
    longest = overdue.exclude(is_booked(on=on)).order_by("late_after").values_list("late_after", flat=True).first()
    # What is due now is late within so many days, which bounds what the index must read.
    soon = on + max((task.early_days + task.late_days for task in sheet.tasks), default=0) * DAY
    late = not_booked(overdue, on=on)
    now = not_booked(ours.filter(by_its_days(care.State.DUE, on=on), late_after__lte=soon), on=on)
    if not late and not now:
        return ("No maintenance needs to be booked today.",)
    said = []
    if longest is not None:
        since = in_words(longest + DAY)
        stands = "has been overdue" if late == 1 else "are overdue, the longest"
        said.append(f"{_tasks(late)} {stands} since {since}.")
    if now:
        said.append(f"{_tasks(now, ' more' if late else '')} can be done now.")
    return tuple(said)


def _tasks(number: int, more: str = "") -> str:
    return f"1{more} maintenance task" if number == 1 else f"{number:,}{more} maintenance tasks"
