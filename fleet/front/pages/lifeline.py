"""The life line: what is promised for one unit and what happened to it, from its start to the end of the last promise.

It is drawn in two ways, said in words, and listed as a table.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from os.path import commonprefix

from fleet.front.pages.lifeline_drawing import (
    CAPTION_LENGTH,
    LANES,
    LAYOUTS,
    STATE_WORDS,
    Drawing,
    Event,
    Promise,
    Scale,
    drawing,
    short,
    state_of,
    whose,
)
from fleet.rules.dates import add_months, in_words
from fleet.rules.reach import seen
from fleet.rules.stretches import Stretch
from fleet.rules.wording.reach import in_short

# How much of the future an open end gets, in months after today.
_OPEN_MONTHS = 36


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row of the same line as a table."""

    who: str
    cost: str
    components: str
    state: str
    first: dt.date | None
    last: dt.date | None
    title: str


@dataclass(frozen=True, slots=True)
class LifeLine:
    """The drawings, the same in words and as a table; `first` and `last` are the days at both ends.

    `open_ended`: some promise has no last day, so the line has none either. `dated`: there is some day to draw at all.
    """

    first: dt.date
    last: dt.date
    dated: bool
    open_ended: bool
    today: dt.date
    drawings: tuple[Drawing, ...]
    words: str
    table: tuple[TableRow, ...]
    events: tuple[Event, ...]
    payers: tuple[str, ...]
    states: tuple[str, ...]
    sorts: tuple[str, ...] = field(default=())


def draw(promises: Sequence[Promise], events: Sequence[Event], *, today: dt.date, known: Iterable[dt.date]) -> LifeLine:
    """Draw a unit's line; `known` are days of the unit itself (installed, started), so that there is always a beginning."""
    stretches = [one for promise in promises for one in promise.stretches]
    reached = [one for one in stretches if state_of(one)]
    ends = [one.last for one in reached if one.last is not None]
    opens = [add_months(today, _OPEN_MONTHS)] if any(one.last is None for one in reached) else []
    on_file = [*known, *(one.first for one in reached), *(event.day for event in events)]
    scale = Scale(min([today, *on_file]), max([today, *on_file, *ends, *opens]), 0.0)
    several = _told_apart(promises)
    said = [caption(promise.stretches, on=today) for promise in promises]
    captioned = [
        (promise, short(f"{one}, {several[promise.title]}", CAPTION_LENGTH) if promise.title in several else one)
        for promise, one in zip(promises, said, strict=True)
    ]
    return LifeLine(
        first=scale.first,
        last=scale.last,
        dated=bool(on_file),
        open_ended=bool(opens),
        today=today,
        drawings=tuple(drawing(layout, scale, captioned, events, today=today) for layout in LAYOUTS),
        words=_in_words(scale, captioned, events),
        table=tuple(row for promise in promises for row in _rows(promise)),
        events=tuple(sorted(events, key=lambda event: event.day, reverse=True)),
        payers=tuple(dict.fromkeys(promise.payer for promise in promises)),
        states=_states(promises),
        sorts=tuple(sort for sort, _ in LANES if any(event.sort == sort for event in events)),
    )


def _told_apart(promises: Sequence[Promise]) -> dict[str, str]:
    """The short names of papers, where a payer has several: their titles without the words they all begin with."""
    found: dict[str, str] = {}
    for payer in dict.fromkeys(promise.payer for promise in promises):
        titles = list(dict.fromkeys(promise.title for promise in promises if promise.payer == payer))
        if len(titles) > 1:
            words = [title.split(" ") for title in titles]
            same = len(commonprefix([tuple(each[:-2]) for each in words]))
            found |= {
                title: " ".join(["…", *each[same:]] if same else each)
                for title, each in zip(titles, words, strict=True)
            }
    return found


# ------------------------------------------------------------------------------------------------- words


def caption(stretches: Sequence[Stretch], *, on: dt.date) -> str:
    """What a promise comes to on a day, in a few words.

    >>> from fleet.rules.findings import Result
    >>> caption((Stretch(dt.date(2020, 4, 14), dt.date(2025, 4, 14), Result.COVERED),), on=dt.date(2024, 3, 8))
    'until Apr 14, 2025'
    """
    return in_short(seen(stretches, on=on))


def _in_words(scale: Scale, captioned: Sequence[tuple[Promise, str]], events: Sequence[Event]) -> str:
    bands = [
        f"{whose(promise.payer)}, {' for '.join(filter(None, (promise.kind, promise.components)))}: {said}"
        for promise, said in captioned
    ]
    counts = [
        f"{len(found)} {word}{'' if len(found) == 1 else 's'}"
        for sort, word in (("failure", "failure"), ("maintenance", "maintenance record"))
        if (found := [event for event in events if event.sort == sort])
    ]
    parts = [f"From {in_words(scale.first)} to {in_words(scale.last)}", *bands]
    return f"{'. '.join([*parts, ', '.join(counts)] if counts else parts)}."


def _rows(promise: Promise) -> list[TableRow]:
    who, components = whose(promise.payer), promise.components or "everything"
    if not promise.stretches:
        return [TableRow(who, promise.kind, components, "start not known", None, None, promise.title)]
    return [
        TableRow(who, promise.kind, components, STATE_WORDS[state], one.first, one.last, promise.title)
        for one in promise.stretches
        if (state := state_of(one))
    ] or [TableRow(who, promise.kind, components, "nothing", None, None, promise.title)]


def _states(promises: Sequence[Promise]) -> tuple[str, ...]:
    drawn = {state_of(one) for promise in promises for one in promise.stretches}
    if any(not promise.stretches for promise in promises):
        drawn.add("cannot_say")
    return tuple(state for state in ("covered", "covered_if", "cannot_say", "waiting") if state in drawn)
