"""What is said of registrations before any is listed: what closes this week, what else is to do, and what waits."""

import datetime as dt
from collections.abc import Iterator

from django.db.models import Count, Min, Q

from fleet import models
from fleet.rules.dates import DAY, in_words
from fleet.rules.registration import State
from fleet.rules.wording.names import listed, upper

# "This week" is today and the six days after it: on a Saturday, Monday's deadline is this week's too.
WEEK = 6 * DAY
LATELY = 30 * DAY


def sentences(*, on: dt.date) -> tuple[str, ...]:
    """What closes this week, what else is to do, and what waits, in sentences."""
    return tuple(_sentences(on=on))


def _sentences(*, on: dt.date) -> Iterator[str]:
    holdings = models.HoldingRow.objects.order_by()
    to_do = holdings.filter(registration=State.TO_DO).aggregate(
        all=Count("*"), week=Count("pk", filter=Q(deadline__lte=on + WEEK)), first=Min("deadline")
    )
    waiting = holdings.filter(registration=State.WAITING).count()
    sent = holdings.filter(registration=State.SENT).count()
    late = holdings.filter(registration=State.MISSED, deadline__gte=on - LATELY).count()
    week, first = to_do["week"], to_do["first"]
    if week:
        due = "1 registration is due" if week == 1 else f"{week:,} registrations are due"
        yield upper(f"{due} this week, {'' if week == 1 else 'the first '}{_on(first, on)}.")
    elif first is not None:
        yield f"No registration is due this week; the next one is due {first:%A}, {in_words(first)}."
    else:
        yield "No unit has to be registered right now."
    rest = []
    if to_do["all"] > week:
        rest.append(f"{to_do['all']:,} {_one(to_do['all'], 'is', 'are')} to do in all")
    if waiting:
        rest.append(f"{waiting:,} {_one(waiting, 'waits', 'wait')} for a missing date")
    if sent:
        rest.append(f"{sent:,} {_one(sent, 'is', 'are')} sent, with no number on file yet")
    if rest:
        yield upper(f"{listed(rest)}.")
    if late:
        yield upper(f"{late:,} {_one(late, 'was', 'were')} missed in the last {LATELY.days} days.")


def _on(day: dt.date, on: dt.date) -> str:
    return "today" if day == on else f"on {day:%A}, {in_words(day)}"


def _one(number: int, one: str, several: str) -> str:
    return one if number == 1 else several
