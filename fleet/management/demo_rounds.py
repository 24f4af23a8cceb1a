"""The demo company's record as an office that keeps one has it: what its files leave overdue was done in time, but for a handful.

Which of the files' tasks are overdue hangs on the day of loading, so it is asked of the rules on that day.
"""

import datetime as dt

from fleet import models
from fleet.care.actions import due
from fleet.care.queries.due_states import by_its_days
from fleet.derived import refresh
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules.care import State
from fleet.rules.caresheet import Task
from fleet.rules.dates import DAY, WorkingDays

TECHNICIANS = ("Tobin Ashe", "Marisol Pike", "Jules Ouellet")
# Left as they are: nobody got to the camp last year, and somebody wants to wait for the new kitchen.
LEFT = {"Ezra Tolliver": "", "Tobias Engelbrecht": "coil cleaning"}
# What nobody wrote down for longer than this was done on a visit some weeks ago.
LONG_AGO, WEEKS_AGO = 300 * DAY, range(3, 12)
# What is done in time may fall due again within the year, at most so often.
TIMES = 8


def bring(*, by: models.User, today: dt.date) -> None:
    """Record what is overdue as done on the last day of its window, or on a visit some weeks ago."""
    sheet = care_sheet()
    assert sheet is not None  # the demo company's own was just loaded
    working = house.working_days()
    late = models.DueRow.objects.filter(by="technician").filter(by_its_days(State.LATE, on=today))
    for customer, left in LEFT.items():
        late = late.exclude(unit__system__site__customer__name=customer, **({"task": left} if left else {}))
    for _ in range(TIMES):
        rows = list(late.order_by("site_id", "unit_id", "task").select_related("site", "unit"))
        for row in rows:
            task = sheet.task(row.task)
            assert task is not None
            due.record(
                row.unit_id,
                row.task,
                day=_day(row, task, working, today=today),
                technician=_who(row),
                minutes=task.minutes,
                by=by,
                on=today,
                refreshes=False,
            )
        if not rows:
            return
        refresh.refresh(sorted({row.unit_id for row in rows}), on=today)


def _day(row: models.DueRow, task: Task, working: WorkingDays, *, today: dt.date) -> dt.date:
    """A working day on which it was done, in none of the months in which it is not."""
    day = row.late_after
    if day < today - LONG_AGO:
        day = today - WEEKS_AGO[row.site_id % len(WEEKS_AGO)] * 7 * DAY
    while day not in working or day.month in task.not_months:
        day -= DAY
    return day


def _who(row: models.DueRow) -> str:
    """One of ours; where that is too far to drive, whoever put the unit in, who sends us the slip."""
    far = row.site.drive_minutes is None and row.site.city
    return (far and row.unit.installed_by) or TECHNICIANS[row.site_id % len(TECHNICIANS)]
