"""Kept clocks as the rules see them, and which of them it is too late for."""

import datetime as dt
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from fleet import models
from fleet.rules.clocks import Clock, ClockKind, ClockState
from fleet.rules.dates import DAY

# What nobody claimed for so long after its last day is no clock any more, only something that was lost.
LONG_AGO = 60 * DAY
OF_A_CLOCK = ("kind", "first", "last_on", "counted_from")


def clock_of(row: Any, *, asked: dt.date) -> Clock:
    """Give a kept clock, or its values by name, as it stands on a day: nothing was done about it yet, or it would not be kept."""
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
    return models.ClockRow.objects.filter(_given_up(since))


def counting(*, since: dt.date) -> QuerySet[models.ClockRow]:
    """Find the clocks that somebody should know of: those of claims, and those of failures that may still be claimed."""
    # Asked of each row, so that a few of many are found without looking at all.
    filing = _filing()
    own_open = Q(last_on=None) | Q(last_on__gte=since) | Q(Exists(filing))
    may_be_claimed = ~Q(Exists(filing.filter(last_on__lt=since))) & own_open
    return models.ClockRow.objects.filter(Q(claim__isnull=False) | may_be_claimed)


def _given_up(since: dt.date) -> Q:
    filing = _filing()
    own_past = Q(last_on__lt=since) & ~Q(Exists(filing))
    return Q(claim=None) & (Q(Exists(filing.filter(last_on__lt=since))) | own_past)


def _filing() -> QuerySet[models.ClockRow]:
    """Find the clock for filing that goes with one, where nobody claimed."""
    return models.ClockRow.objects.filter(
        failure=OuterRef("failure"), terms=OuterRef("terms"), kind=ClockKind.FILE, claim=None
    )
