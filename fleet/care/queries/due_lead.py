"""What the list of dues says before it lists any: how much of a technician's work is late, and how much more may be done now."""

import datetime as dt
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.care.queries.due_states import by_its_days
from fleet.elements.counting import Counted, as_far_as
from fleet.models.prepared import counted, prepared
from fleet.rules import care
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words
from fleet.rules.wording.names import upper

# How far dues are counted for it.
MOST = 2_000


def sentences(sheet: CareSheet, *, on: dt.date) -> tuple[str, ...]:
    """Say how much of a technician's work is late, and how much more may be done now."""
    longest = _late_longest(on)
    late = as_far_as(MOST, _ours_late, on) if longest else Counted(0)
    # What is due now is late within so many days, which bounds what the index must read.
    soon = on + max((task.early_days + task.late_days for task in sheet.tasks), default=0) * DAY
    now = as_far_as(MOST, _ours_now, on, soon)
    if not late.number and not now.number:
        return ("Nothing that is ours to do is due today.",)
    told = []
    if late.number:
        since = in_words(longest[0] + DAY)
        told.append(f"{_dues(late)} of ours {'is' if late.number == 1 else 'are'} late, the longest since {since}.")
    if now.number:
        further = "" if not late.number else " besides" if now.more else " more"
        told.append(f"{_dues(now)}{further} may be done now.")
    return tuple(told)


def _dues(found: Counted) -> str:
    return upper("1 due" if found.is_one else f"{found} dues")


@counted
def _ours_late(on: dt.date, *, most: int) -> QuerySet[models.DueRow, Any]:
    return _late(on).order_by().values_list("late_after")[:most]


@prepared
def _late_longest(on: dt.date) -> QuerySet[models.DueRow, dt.date]:
    return _late(on).order_by("late_after").values_list("late_after", flat=True)[:1]


def _late(on: dt.date) -> QuerySet[models.DueRow]:
    return models.DueRow.objects.filter(by_its_days(care.State.LATE, on=on), by="technician")


@counted
def _ours_now(on: dt.date, soon: dt.date, *, most: int) -> QuerySet[models.DueRow, Any]:
    now = models.DueRow.objects.filter(by_its_days(care.State.DUE, on=on), by="technician", late_after__lte=soon)
    return now.order_by().values_list("late_after")[:most]
