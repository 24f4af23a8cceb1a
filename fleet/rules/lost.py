"""What a missed registration lost, and what hangs on a registration or a notice still to come: days of coverage by kind of cost.

Always against the same unit with the one thing done on its last day.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleet.rules.conditions import notice_by
from fleet.rules.coverage import Group, groups
from fleet.rules.dates import DAY
from fleet.rules.facts import Holding, Unit
from fleet.rules.findings import Answer
from fleet.rules.registration import deadline

_FOREVER = dt.date.max


@dataclass(frozen=True, slots=True)
class Lost:
    """One kind of cost for some components: how far its term runs, how far it would have run, and the days between.

    `days` is None where a lifetime was lost; `last` None where nothing is left; `perhaps`: something else hangs on it too.
    """

    kind: str
    components: tuple[str, ...]
    days: int | None
    last: dt.date | None
    would_reach: dt.date | None
    perhaps: bool = False


def lost(
    unit: Unit, holding: Holding, *, on: dt.date, as_things_are: Sequence[Group] | None = None
) -> tuple[Lost, ...]:
    """Ask the rules twice: as things are (unless that answer is at hand), and as if registered on the deadline."""
    last = deadline(unit, holding)
    if last is None:
        return ()
    in_time = replace(holding, registered_on=last)
    if as_things_are is None:
        as_things_are = groups(unit, holding, on=on)
    return _between(as_things_are, groups(unit, in_time, on=on))


def by_not_registering(unit: Unit, holding: Holding, *, on: dt.date) -> tuple[Lost, ...]:
    """What is lost if a unit that can still be registered in time never is."""
    last = deadline(unit, holding)
    if last is None:
        return ()
    asked = max(on, last) + DAY
    in_time = groups(unit, replace(holding, registered_on=last), on=on, asked=asked)
    return _between(groups(unit, holding, on=on, asked=asked), in_time)


def by_not_notifying(unit: Unit, holding: Holding, last: dt.date, *, on: dt.date) -> tuple[Lost, ...]:
    """What is lost if a payer is not told of a sale of the house by its last day."""
    told = replace(holding, notified_on=(*holding.notified_on, last))
    asked = last + DAY
    return _between(groups(unit, holding, on=on, asked=asked), groups(unit, told, on=on, asked=asked))


@dataclass(frozen=True, slots=True)
class Notice:
    """The sale that a payer is to be told of, the last day for it, and what is lost without."""

    sold_on: dt.date
    last: dt.date
    lost: tuple[Lost, ...]


def to_notify(unit: Unit, holding: Holding, *, start: dt.date | None, on: dt.date) -> Notice | None:
    """The sale of the house that a payer can still be told of in time; None where there is none, or nothing hangs on it."""
    found = None if start is None else notice_by(unit, holding, start=start, asked=on)
    if found is None:
        return None
    sold_on, last = found
    at_stake = by_not_notifying(unit, holding, last, on=on)
    return Notice(sold_on, last, at_stake) if at_stake else None


def _between(as_things_are: Sequence[Group], in_time: Sequence[Group]) -> tuple[Lost, ...]:
    found = []
    for as_is, would in zip(as_things_are, in_time, strict=True):
        has, had = _reach(as_is.answer), _reach(would.answer)
        if had is None or (has is not None and has >= had):
            continue
        first = would.answer.first or would.answer.possible_first
        before = has if has is not None else first and first - DAY
        days = None if had == _FOREVER or before is None else (had - before).days
        certain = _FOREVER if would.answer.lifetime else would.answer.last
        perhaps = certain is None or certain < had
        found.append(Lost(as_is.kind, as_is.components, days, has, None if had == _FOREVER else had, perhaps))
    return tuple(found)


def _reach(answer: Answer) -> dt.date | None:
    """The last day that a term has or may still have; None where there is no term at all."""
    if answer.lifetime or answer.possible_lifetime:
        return _FOREVER
    return answer.possible_last or answer.last
