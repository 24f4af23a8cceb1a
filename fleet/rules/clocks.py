"""The clocks of a claim: its last days, how each stands, and what has to come before what."""

import datetime as dt
from collections.abc import Collection
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum

from fleet.rules.claims import OVER, Days, State
from fleet.rules.dates import limit
from fleet.rules.terms import ClaimTerms


@dataclass(frozen=True, slots=True)
class SupplierRules:
    """A supplier's own clocks and fee, for claims through it; None where it has none, and the paper's holds."""

    form_before_part: bool | None = None
    file_within_days: int | None = None
    file_counted_from: str = "failed_on"
    part_back_within_days: int | None = None
    part_back_counted_from: str = "failed_on"
    old_part: str | None = None
    fee: Decimal | None = None


def through(paper: ClaimTerms, supplier: SupplierRules | None) -> ClaimTerms:
    """The terms of a claim through a supplier: its own rules where it has them, else what the paper says."""
    if supplier is None:
        return paper
    found = paper
    if supplier.form_before_part is not None:
        found = replace(found, form_before_part=supplier.form_before_part)
    if supplier.file_within_days is not None:
        found = replace(found, file_within_days=supplier.file_within_days, file_counted_from=supplier.file_counted_from)
    if supplier.part_back_within_days is not None:
        # A supplier that sets a day for the old part wants it back, whatever the paper says.
        old_part = found.old_part if found.part_wanted_back else "return"
        found = replace(
            found,
            part_back_within_days=supplier.part_back_within_days,
            part_back_counted_from=supplier.part_back_counted_from,
            old_part=old_part,
        )
    if supplier.old_part is not None:
        found = replace(found, old_part=supplier.old_part)
    return found if supplier.fee is None else replace(found, fee=supplier.fee)


class ClockKind(StrEnum):
    """What a clock is about."""

    FORM = "claim form"
    APPROVAL = "leave to replace"
    FILE = "filing"
    PART_BACK = "old part back"


class ClockState(StrEnum):
    """How a clock stands; `first` is one that has no day: the thing must be done before another that any day may bring."""

    FIRST = "first"
    WAITING = "waiting"
    RUNNING = "running"
    KEPT = "kept"
    MISSED = "missed"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Clock:
    """One last day on a claim: how it stands, the day, when it was done, and the name of the day that it counts from."""

    kind: ClockKind
    state: ClockState
    last: dt.date | None
    done_on: dt.date | None
    counted_from: str

    @property
    def open(self) -> bool:
        """Whether something is still to be done, be it in time or late."""
        return self.done_on is None and self.state is not ClockState.STOPPED

    def days_left(self, asked: dt.date) -> int | None:
        """The days left, negative once the last day has passed; None where it is not known or no longer matters."""
        return (self.last - asked).days if self.last is not None and self.open else None


def clocks(
    days: Days,
    rules: ClaimTerms,
    *,
    component: str,
    kinds: Collection[str],
    state: State,
    asked: dt.date,
    part_asked_for: bool | None = None,
) -> tuple[Clock, ...]:
    """Find the clocks of a claim on a day, in the order in which the work goes.

    1. The payer's leave before the repair, for the components it names. 2. The claim form before the new part is taken.
    3. The day to file by. 4. The day to have the old part back by, where it is wanted: under "return if asked" until the
    payer says that it is not (`part_asked_for` false), so that nobody misses it silently. 1, 2 and 4 only with parts.
    """
    over = state in OVER
    found = []
    if "parts" in kinds and component in rules.leave_first:
        found.append(
            _gate(ClockKind.APPROVAL, days.approved_on, days.repaired_on, "repaired_on", over=over, asked=asked)
        )
    if "parts" in kinds and rules.form_before_part:
        form_on = min((day for day in (days.form_on, days.filed_on) if day is not None), default=None)
        found.append(_gate(ClockKind.FORM, form_on, days.part_taken_on, "part_taken_on", over=over, asked=asked))
    if rules.file_within_days is not None:
        counted_from = rules.file_counted_from
        last = _after(getattr(days, counted_from), rules.file_within_days)
        found.append(_clock(ClockKind.FILE, days.filed_on, last, counted_from, over=over, asked=asked))
    wanted = rules.part_wanted_back and (rules.old_part == "return" or part_asked_for is not False)
    if "parts" in kinds and wanted and rules.part_back_within_days is not None:
        counted_from = rules.part_back_counted_from
        last = _after(getattr(days, counted_from), rules.part_back_within_days)
        found.append(_clock(ClockKind.PART_BACK, days.part_back_on, last, counted_from, over=over, asked=asked))
    return tuple(found)


def _after(anchor: dt.date | None, within: int) -> dt.date | None:
    return None if anchor is None else limit(anchor, within)


def _clock(
    kind: ClockKind, done_on: dt.date | None, last: dt.date | None, counted_from: str, *, over: bool, asked: dt.date
) -> Clock:
    if done_on is not None:
        state = ClockState.KEPT if last is None or done_on <= last else ClockState.MISSED
    elif over:
        state = ClockState.STOPPED
    elif last is None:
        state = ClockState.WAITING
    else:
        state = ClockState.RUNNING if asked <= last else ClockState.MISSED
    return Clock(kind, state, last, done_on, counted_from)


def _gate(
    kind: ClockKind, done_on: dt.date | None, passed_on: dt.date | None, name: str, *, over: bool, asked: dt.date
) -> Clock:
    """A thing to be done before another: days have no hours, so the same day still counts as before."""
    found = _clock(kind, done_on, passed_on, name, over=over, asked=asked)
    return replace(found, state=ClockState.FIRST) if found.state is ClockState.WAITING else found


def urgency(clock: Clock, asked: dt.date) -> tuple[int, int]:
    """A key to sort clocks by: the longest missed first, then by days left; what must come first counts as today's."""
    if not clock.open:
        return (2, 0)
    left = clock.days_left(asked)
    if left is not None:
        return (0, left)
    return (0, 0) if clock.state is ClockState.FIRST else (1, 0)
