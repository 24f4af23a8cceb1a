"""What is said of registrations before any is listed: what closes this week, what else is to do, and what waits."""

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.elements.counting import Counted, as_far_as
from fleet.models.prepared import counted, prepared
from fleet.rules.dates import DAY, in_words
from fleet.rules.registration import State
from fleet.rules.wording.names import listed, upper

# "This week" is today and the six days after it: on a Saturday, Monday's deadline is this week's too.
WEEK = 6 * DAY
LATELY = 30 * DAY
# How far registrations are counted for it.
MOST = 1_000


def sentences(*, on: dt.date) -> tuple[str, ...]:
    """Say what closes this week, what else is to do, and what waits."""
    number = {state: as_far_as(MOST, _standing_at, state.value) for state in (State.TO_DO, State.WAITING, State.SENT)}
    first = next(iter(_first_to_do()), None)
    week = as_far_as(MOST, _closing, on + WEEK)
    late = as_far_as(MOST, _missed_since, on - LATELY)
    return tuple(_sentences(number, week, late, first, on=on))


@counted
def _standing_at(state: str, *, most: int) -> QuerySet[models.HoldingRow, Any]:
    return models.HoldingRow.objects.filter(registration=state).order_by().values_list("registration")[:most]


@prepared
def _first_to_do() -> QuerySet[models.HoldingRow, dt.date | None]:
    to_do = models.HoldingRow.objects.filter(registration=State.TO_DO, deadline__isnull=False)
    return to_do.order_by("deadline").values_list("deadline", flat=True)[:1]


@counted
def _closing(until: dt.date, *, most: int) -> QuerySet[models.HoldingRow, Any]:
    closing = models.HoldingRow.objects.filter(registration=State.TO_DO, deadline__lte=until)
    return closing.order_by().values_list("deadline")[:most]


@counted
def _missed_since(day: dt.date, *, most: int) -> QuerySet[models.HoldingRow, Any]:
    missed = models.HoldingRow.objects.filter(registration=State.MISSED, deadline__gte=day)
    return missed.order_by().values_list("deadline")[:most]


def _sentences(
    number: Mapping[State, Counted], week: Counted, late: Counted, first: dt.date | None, *, on: dt.date
) -> Iterator[str]:
    if week.number and first is not None:
        closes = "1 registration closes" if week.is_one else f"{week} registrations close"
        yield upper(f"{closes} this week, {'' if week.is_one else 'the first '}{_on(first, on)}.")
    elif first is not None:
        yield f"No registration closes this week; the next is wanted by {first:%A} {in_words(first)}."
    else:
        yield "No registration is to do."
    rest = []
    if number[State.TO_DO] > week:
        rest.append(f"{number[State.TO_DO]} {_one(number[State.TO_DO], 'is', 'are')} to do in all")
    if number[State.WAITING].number:
        rest.append(f"{number[State.WAITING]} {_one(number[State.WAITING], 'waits', 'wait')} for a date")
    if number[State.SENT].number:
        rest.append(f"{number[State.SENT]} {_one(number[State.SENT], 'is', 'are')} sent without a number on file yet")
    if rest:
        yield upper(f"{listed(rest)}.")
    if late.number:
        yield upper(f"{late} {_one(late, 'was', 'were')} missed in the last {LATELY.days} days.")


def _on(day: dt.date, on: dt.date) -> str:
    return "today" if day == on else f"on {day:%A} {in_words(day)}"


def _one(found: Counted, one: str, several: str) -> str:
    return one if found.is_one else several
