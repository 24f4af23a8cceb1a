"""When one task is next due for one thing: from the days it was done to the anchor, and from the anchor to the window.

1. The days done are replayed to the anchor, the day that the next due is counted from. Where our record of upkeep begins on a
   day, what fell due before it counts as done.
2. From the anchor follows the due: so many months on, sooner in hard surroundings, moved into a month the task prefers, or
   sooner still because of dirt that was graded.
"""

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from fleet.rules.caresheet import Task
from fleet.rules.dates import AT_HAND, DAY, MONDAY_TO_FRIDAY, WorkingDays, add_months

# How many days after a grading the work is due: some dirt can wait a month, a blocked part cannot wait.
GRADED_DAYS = {2: 30, 3: 0}


class Window(NamedTuple):
    """When a task is due, from when it may be done, and until when it is not late; `graded`: because of the dirt seen."""

    due_on: dt.date
    opens_on: dt.date
    late_after: dt.date
    graded: bool = False


class Grade(NamedTuple):
    """Dirt seen on a day, 0 clean to 3 blocked."""

    day: dt.date
    grade: int


# --------------------------------------------------------------------------------------------- from the anchor to the due


def counted(task: Task, anchor: dt.date, times: Decimal | None, working: WorkingDays = MONDAY_TO_FRIDAY) -> Window:
    """The due counted from its anchor: months on, sooner in hard surroundings, then into a preferred month. Dirt has no say here.

    Its last day is never inside the months in which the task is not planned: it is then the first working day after them.
    """
    window = _counted(task, anchor, times)
    if window.late_after.month in task.not_months:
        return _out_of_season(task, window, working)
    return window


def _out_of_season(task: Task, window: Window, working: WorkingDays) -> Window:
    return window._replace(late_after=working.first_from(window.late_after, not_months=task.not_months))


def ends_a_season(tasks: Iterable[Task], day: dt.date, working: WorkingDays) -> bool:
    """Whether a day, if it is worked, is the first working day after months in which some task is not planned.

    Closing or opening such a day moves last days that those months put off; any other day moves none.
    """
    return any(_ends(task.not_months, day, working) for task in tasks if task.not_months)


def _ends(not_months: Collection[int], day: dt.date, working: WorkingDays) -> bool:
    if day.month in not_months:
        return False
    day -= DAY
    while day.month not in not_months and day not in working:
        day -= DAY
    return day.month in not_months


@lru_cache(maxsize=AT_HAND)
def _counted(task: Task, anchor: dt.date, times: Decimal | None) -> Window:
    due = add_months(anchor, task.every_months)
    if times is not None:
        days = (due - anchor).days
        due = anchor + dt.timedelta(days=min(days, max(1, task.floor_days, int(times * days))))
    return _in_month(task, anchor, due) if task.moves else _around(task, due)


def _around(task: Task, due: dt.date) -> Window:
    return Window(due, due - dt.timedelta(days=task.early_days), due + dt.timedelta(days=task.late_days))


def _in_month(task: Task, anchor: dt.date, due: dt.date) -> Window:
    """Move a due into a preferred month: inside its window if that can be, else into the run of such months before it.

    Never to a day less than a third of the interval after the anchor.
    """
    window = _around(task, due)
    if due.month in task.months:
        return window
    soonest = anchor + dt.timedelta(days=-((anchor - due).days // 3))
    before, after = _month_before(task, due), _month_after(task, due)
    inside = [day for day in (before, after) if max(window.opens_on, soonest) <= day <= window.late_after]
    if inside:
        return window._replace(due_on=min(inside, key=lambda day: abs(day - due)))
    first = before.replace(day=1)
    while (first - DAY).month in task.months:
        first = (first - DAY).replace(day=1)
    for day in (first + (before - first) // 2, before):
        if day >= soonest:
            return _around(task, day)
    return window


def _month_before(task: Task, day: dt.date) -> dt.date:
    """The latest day before this one that lies in a preferred month; the day itself lies in none."""
    day = day.replace(day=1) - DAY
    while day.month not in task.months:
        day = day.replace(day=1) - DAY
    return day


def _month_after(task: Task, day: dt.date) -> dt.date:
    day = add_months(day.replace(day=1), 1)
    while day.month not in task.months:
        day = add_months(day, 1)
    return day


# -------------------------------------------------------------------------------------------- from the days done to the anchor


def met(task: Task, window: Window, day: dt.date, *, before: dt.date | None, anchor: dt.date | None) -> dt.date:
    """The anchor once a task was done on a day: that day, or the due day it met, or the old anchor where it moves nothing.

    A task that counts from its due day keeps its season. A second record soon after another (`before`) then must not count as
    the next round: it moves nothing while that round has not opened.
    """
    if task.counts_from == "day done":
        return day
    early = day < window.opens_on
    if early and before is not None and anchor is not None and (day - before).days <= task.late_days:
        return anchor
    return day if early or day > window.late_after or window.graded else window.due_on


class Round(NamedTuple):
    """Where a replay stands: the anchor, and the day it was last done, or `assumed` to have been done."""

    anchor: dt.date | None
    last: dt.date | None = None
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Count:
    """What one task's dues for one thing are counted with: the factor that shortens them, the dirt seen, the working days."""

    task: Task
    times: Decimal | None
    grades: Sequence[Grade]
    working: WorkingDays

    def window(self, round_: Round, *, before: dt.date | None = None) -> Window | None:
        """The due as it stands, the dirt graded after the day last done and before a day (None: ever) included."""
        plain = None if round_.anchor is None else counted(self.task, round_.anchor, self.times, self.working)
        if not self.grades:
            return plain
        heard = (
            grade
            for grade in self.grades
            if (round_.last is None or grade.day > round_.last) and (before is None or grade.day < before)
        )
        latest = max(heard, default=None)
        if latest is None or latest.grade not in GRADED_DAYS:
            return plain
        due = latest.day + dt.timedelta(days=GRADED_DAYS[latest.grade])
        if plain is not None and due >= plain.due_on:
            return plain
        late = due + dt.timedelta(days=min(self.task.late_days, 30))
        window = Window(due, due - dt.timedelta(days=self.task.early_days), late, graded=True)
        return _out_of_season(self.task, window, self.working) if late.month in self.task.not_months else window

    def replayed(
        self, start: dt.date | None, anew: dt.date | None, done: Sequence[dt.date], *, upkeep_from: dt.date | None
    ) -> Round:
        """Replay the days done, in order, from the start; a day of starting anew counts where it is later than the anchor.

        From the last record before our record of upkeep begins, a technician's task counts as done on each due day until then,
        whatever was seen of dirt; what was really done since is replayed after that.
        """
        if upkeep_from is None or self.task.by != "technician":
            round_, anew = self._replay(Round(start), anew, done)
        else:
            round_, anew = self._replay(Round(start), anew, [day for day in done if day < upkeep_from])
            round_, anew = self._assume(round_, anew, upkeep_from)
            round_, anew = self._replay(round_, anew, [day for day in done if day >= upkeep_from])
        return round_._replace(anchor=_later(round_.anchor, anew))

    def _replay(self, round_: Round, anew: dt.date | None, done: Iterable[dt.date]) -> tuple[Round, dt.date | None]:
        """Replay some of the days done; `anew` is given back while it still lies ahead."""
        if self.task.counts_from == "day done":
            last = max(done, default=None)
            return (round_ if last is None else Round(last, last)), anew
        for day in done:
            if anew is not None and anew <= day:
                round_, anew = round_._replace(anchor=_later(round_.anchor, anew)), None
            window = self.window(round_, before=day)
            before = None if round_.assumed else round_.last
            anchor = day if window is None else met(self.task, window, day, before=before, anchor=round_.anchor)
            round_ = Round(anchor, day)
        return round_, anew

    def _assume(self, round_: Round, anew: dt.date | None, until: dt.date) -> tuple[Round, dt.date | None]:
        """Count the task as done on each due day before a day, one after the other."""
        anchor = _later(round_.anchor, anew)
        if anchor is None:
            return round_, anew
        while (due := counted(self.task, anchor, self.times, self.working).due_on) < until:
            round_, anew, anchor = Round(due, due, assumed=True), None, due
        return round_, anew


def _later(anchor: dt.date | None, anew: dt.date | None) -> dt.date | None:
    return anew if anchor is None or (anew is not None and anew > anchor) else anchor
