"""Dues in plain English: where one stands, how often it comes, and why it comes sooner."""

import datetime as dt

from fleet.rules import words
from fleet.rules.care import Due, State
from fleet.rules.caresheet import Task
from fleet.rules.dates import DAY, in_words
from fleet.rules.windows import Window

# To what a task is done.
PER = {
    "drain line": "each drain line",
    "system": "the whole system",
    **{role: f"each {role}{' unit' if role in ('outdoor', 'other') else ''}" for role in words.ROLES},
}


def stands(state: State, window: Window, not_before: dt.date | None = None) -> str:
    """Where a due stands, in words.

    >>> days = Window(dt.date(2026, 5, 3), dt.date(2026, 4, 3), dt.date(2026, 6, 2))
    >>> stands(State.LATE, days), stands(State.DUE, days)
    ('overdue since June 3, 2026', 'due now, by June 2, 2026')
    >>> stands(State.AHEAD, days), stands(State.WAITING, days, dt.date(2026, 5, 9))
    ('coming up, from April 3, 2026', 'put off until May 9, 2026')
    """
    match state:
        case State.WAITING:
            return "put off" if not_before is None else f"put off until {in_words(not_before)}"
        case State.NO_RECORD:
            return "no record"
        case State.AHEAD:
            return f"coming up, from {in_words(window.opens_on)}"
        case State.DUE:
            return f"due now, by {in_words(window.late_after)}"
        case State.LATE:
            return f"overdue since {in_words(window.late_after + DAY)}"


def booked(day: dt.date) -> str:
    """That a visit for it is booked.

    >>> booked(dt.date(2026, 12, 3))
    'booked for December 3, 2026'
    """
    return f"booked for {in_words(day)}"


def following(due_on: dt.date, *, on: dt.date, about: bool = False) -> str:
    """When a task is due next, or since when it has been, as a part of a sentence; to the month where the day is only `about`.

    >>> following(dt.date(2026, 12, 3), on=dt.date(2026, 12, 3)), following(dt.date(2026, 12, 2), on=dt.date(2026, 12, 3))
    ('next due December 3, 2026', 'due since December 2, 2026')
    >>> [following(dt.date(2026, month, 30), on=dt.date(2026, 10, 31), about=True) for month in (9, 10, 11)]
    ['due since September 2026', 'next in October 2026', 'next in November 2026']
    """
    if about:
        past = (due_on.year, due_on.month) < (on.year, on.month)
        return f"due since {due_on:%B %Y}" if past else f"next in {due_on:%B %Y}"
    return f"due since {in_words(due_on)}" if due_on < on else f"next due {in_words(due_on)}"


# Where a due stands, as a filter of a list says it.
STATES = {
    State.LATE: "overdue",
    State.DUE: "due now",
    State.AHEAD: "coming up",
    State.WAITING: "put off",
    State.NO_RECORD: "no record",
}
# Whose work a task is.
WHOSE = {"technician": "ours", "owner": "the customer's"}
# What makes a task come round sooner.
WHEN = {
    "pets": "pets", "grease": "kitchen grease", "smoke": "smoke", "dust": "dust", "coast": "salt air",
    "all year": "use all year round",
}  # fmt: skip
# What became of a visit that was booked.
BOOKED = {"booked": "booked", "made": "done", "called off": "canceled"}


def duration(minutes: int) -> str:
    """Write minutes of work as a length of time.

    >>> duration(45), duration(60), duration(155)
    ('45 min', '1 h', '2 h 35 min')
    """
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours:,} h {rest} min" if rest else f"{hours:,} h"


def every(task: Task) -> str:
    """How often a task comes round where nothing makes it sooner, in words.

    >>> from fleet.rules.wording import care
    >>> care.months(1), care.months(12), care.months(48), care.months(18)
    ('every month', 'every year', 'every 4 years', 'every 18 months')
    """
    return months(task.every_months)


def months(number: int) -> str:
    """An interval of months, in words."""
    if number % 12 == 0:
        return "every year" if number == 12 else f"every {number // 12} years"
    return "every month" if number == 1 else f"every {number} months"


def why(due: Due) -> str:
    """What makes a due come sooner than usual, in words; blank if nothing does."""
    if due.window.graded:
        return f"sooner because the {due.task.dirt} was dirty"
    if due.times is not None and due.times < 1:
        named = " or ".join(WHEN[one.when] for one in due.task.shorten if one.times == due.times)
        return f"sooner because of {named}"
    return ""


def clock_ahead(seconds: int) -> str:
    """How far a phone's clock is off, as the end of a sentence; blank where it is less than two minutes.

    >>> [clock_ahead(seconds) for seconds in (119, 120, -7200, 86400, 0)]
    ['', '2 min fast', '2 h slow', '24 h fast', '']
    """
    minutes = abs(seconds) // 60
    if minutes < 2:
        return ""
    return f"{duration(minutes)} {'fast' if seconds > 0 else 'slow'}"
