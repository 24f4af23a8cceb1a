"""What a missed registration lost: days of coverage, by kind of cost, against the same unit registered on its last day."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

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
    asked = zip(as_things_are, groups(unit, in_time, on=on), strict=True)
    found = []
    for as_is, would in asked:
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
