"""Kept clocks as the rules see them, and which of them it is too late for."""

import datetime as dt
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.rules.clocks import Clock, ClockKind, ClockState
from fleet.rules.dates import DAY

# What nobody claimed for so long after its last day is no clock any more, only something that was lost.
LONG_AGO = 60 * DAY
OF_A_CLOCK = ("kind", "first", "last_on", "counted_from")


def clock_of(row: Any, *, asked: dt.date) -> Clock:
    """A stored clock, or its values by name, as it stands on a day; only clocks still open are stored."""
    if row.first:
        state = ClockState.FIRST
    elif row.last_on is None:
        state = ClockState.WAITING
    else:
        state = ClockState.RUNNING if asked <= row.last_on else ClockState.MISSED
    return Clock(ClockKind(row.kind), state, row.last_on, None, row.counted_from)


def too_late(*, since: dt.date) -> QuerySet[models.ClockRow]:
    """Find the clocks of failures that nobody claimed in time: the day to file is long past, or where there is none, their own.

    What is long past lies before `since`, which is `LONG_AGO` before today.
    """
    return models.ClockRow.objects.filter(lapses_on__lt=since)


def counting(*, since: dt.date) -> QuerySet[models.ClockRow]:
    """Find the clocks that somebody should know of: those of claims, and those of failures that may still be claimed."""
    return models.ClockRow.objects.filter(Q(lapses_on=None) | Q(lapses_on__gte=since))
