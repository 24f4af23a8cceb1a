"""One drawing of a unit's line: its bands, the marks of what happened, and the years, each in its place.

Positions across are percentages of the width, so that one drawing fits any screen and its letters keep their size; those
down are pixels. There are two ways to draw: with the names beside the bands for a desk, and above them for a phone.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.rules.dates import DAY, in_words
from fleet.rules.findings import Result
from fleet.rules.payers import BY_CODE
from fleet.rules.stretches import Stretch
from fleet.rules.wording.names import upper

_YEAR_STEPS = (1, 2, 5, 10, 20, 50, 100)
_STATES = {Result.COVERED: "covered", Result.COVERED_IF: "covered_if", Result.CANNOT_SAY: "cannot_say"}
STATE_WORDS = {"covered": "covered", "covered_if": "possible", "cannot_say": "not clear", "waiting": "waiting period"}


# ------------------------------------------------------------------------------------------------- what is told


@dataclass(frozen=True, slots=True)
class Promise:
    """One payer's promise for one kind of cost and some components; without stretches the start is not known."""

    payer: str
    kind: str
    components: str
    title: str
    stretches: tuple[Stretch, ...]
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened on a day: a failure, maintenance, or a change (sold, moved, exchanged, taken out)."""

    sort: str
    day: dt.date
    words: str


# ------------------------------------------------------------------------------------------------- what is drawn


@dataclass(frozen=True, slots=True)
class Bar:
    """One stretch of a band: certain, possible, unknown or waiting."""

    x: float
    width: float
    state: str
    open_ended: bool
    words: str
    fill: str


@dataclass(frozen=True, slots=True)
class Band:
    """The bars of one promise, with its name and what it comes to today."""

    payer: str
    name: str
    components: str
    caption: str
    name_y: int
    caption_y: int
    y: int
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Mark:
    """Where something happened; marks too near to tell apart are drawn as one."""

    x: float
    words: str


@dataclass(frozen=True, slots=True)
class Lane:
    """The marks of one sort, on one line."""

    sort: str
    name: str
    name_y: int
    y: int
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Tick:
    """The first day of a year; not every one has room for its number."""

    x: float
    year: str


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing of the line: how wide the column of names is, and everything's place."""

    layout: str
    strip: float
    strip_width: float
    height: int
    foot: int
    band_height: int
    bands: tuple[Band, ...]
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]
    today: float
    today_from_right: bool


# ------------------------------------------------------------------------------------------------- the scale


@dataclass(frozen=True, slots=True)
class Scale:
    """Days to percent across; a day takes its own width, so the last day still has some."""

    first: dt.date
    last: dt.date
    strip: float

    def at(self, day: dt.date) -> float:
        """Where a day begins."""
        across = (day - self.first).days / ((self.last - self.first).days + 1)
        return round(self.strip + (100 - self.strip) * min(max(across, 0.0), 1.0), 2)


@dataclass(frozen=True, slots=True)
class Layout:
    """Sizes in pixels of one way to draw: where a name, a caption and a band stand in a row, and how many years have room."""

    name: str
    strip: float
    row: int
    name_at: int
    caption_at: int
    band_at: int
    lane: int
    lane_name_at: int
    lane_at: int
    years: int
    apart: float
    names: int


_HEAD = 24
_FOOT = 26
_BAND_HEIGHT = 16
CAPTION_LENGTH = 50
LAYOUTS = (
    Layout(
        "wide", strip=30.0, row=40, name_at=13, caption_at=29, band_at=8, lane=26, lane_name_at=17, lane_at=13,
        years=14, apart=0.9, names=48,
    ),
    Layout(
        "narrow", strip=0.0, row=58, name_at=14, caption_at=30, band_at=37, lane=40, lane_name_at=14, lane_at=27,
        years=6, apart=2.8, names=46,
    ),
)  # fmt: skip
LANES = (("failure", "Failures"), ("maintenance", "Maintenance"), ("change", "Sold, moved, exchanged"))


def drawing(
    layout: Layout,
    scale: Scale,
    captioned: Sequence[tuple[Promise, str]],
    events: Sequence[Event],
    *,
    today: dt.date,
) -> Drawing:
    """Draw the promises, each with its caption, and what happened, in one of the layouts."""
    scale = Scale(scale.first, scale.last, layout.strip)
    bands = []
    y = _HEAD
    for promise, said in captioned:
        name = f"{whose(promise.payer)}: {promise.kind}"
        bands.append(
            Band(
                payer=promise.payer,
                name=name,
                components=_first_of(promise.components, layout.names - len(name)),
                caption=said,
                name_y=y + layout.name_at,
                caption_y=y + layout.caption_at,
                y=y + layout.band_at,
                bars=_bars(promise, scale),
            )
        )
        y += layout.row
    lanes = []
    for sort, name in LANES:
        marks = _marks([event for event in events if event.sort == sort], scale, apart=layout.apart)
        if marks:
            lanes.append(Lane(sort, name, y + layout.lane_name_at, y + layout.lane_at, marks))
            y += layout.lane
    now = scale.at(today)
    return Drawing(
        layout=layout.name,
        strip=layout.strip,
        strip_width=100 - layout.strip,
        height=y + _FOOT,
        foot=y + 4,
        band_height=_BAND_HEIGHT,
        bands=tuple(bands),
        lanes=tuple(lanes),
        ticks=_ticks(scale, layout.years),
        today=now,
        today_from_right=now > (layout.strip + 100) / 2,
    )


def _bars(promise: Promise, scale: Scale) -> tuple[Bar, ...]:
    """The bars of a band; a stretch in which nothing is paid has none, so that the empty outline shows through."""
    if not promise.stretches:
        whole = round(100 - scale.strip, 2)
        return (Bar(scale.strip, whole, "cannot_say", open_ended=False, words="Start not known", fill="none"),)
    found = []
    for one in promise.stretches:
        state = state_of(one)
        if not state:
            continue
        x = scale.at(one.first)
        end = 100.0 if one.last is None else scale.at(one.last + DAY)
        words = f"{upper(STATE_WORDS[state])} from {in_words(one.first)} {_to(one.last)}"
        fill = _fill(promise.payer, state)
        found.append(Bar(x, round(end - x, 2), state, open_ended=one.last is None, words=words, fill=fill))
    return tuple(found)


def _fill(payer: str, state: str) -> str:
    """The fill of a bar: its payer's own pattern, solid where certain and hatched where only possible; else none."""
    patterns = {"covered": "band", "covered_if": "band_possible"}
    return f"url(#{patterns[state]}_{payer.replace(' ', '-')})" if state in patterns else "none"


def state_of(stretch: Stretch) -> str:
    """How a stretch is drawn: certain, possible, unknown, waiting, or blank for nothing."""
    return "waiting" if stretch.waiting else _STATES.get(stretch.result, "")


def _marks(events: Sequence[Event], scale: Scale, *, apart: float) -> tuple[Mark, ...]:
    found: list[Mark] = []
    for event in sorted(events, key=lambda one: one.day):
        x = scale.at(event.day)
        words = f"{in_words(event.day)}: {event.words}"
        if found and x - found[-1].x < apart:
            found[-1] = Mark(found[-1].x, f"{found[-1].words}\n{words}")
        else:
            found.append(Mark(x, words))
    return tuple(found)


def _ticks(scale: Scale, most: int) -> tuple[Tick, ...]:
    """The first day of each year inside, with as many year numbers as there is room for."""
    years = range(scale.first.year + 1, scale.last.year + 1)
    step = next(step for step in _YEAR_STEPS if len(years) / step <= most)
    found = []
    for year in years:
        x = scale.at(dt.date(year, 1, 1))
        # A number is centered on its tick, so one at the very edge would be cut off.
        fits = year % step == 0 and scale.strip + 2 < x < 98
        found.append(Tick(x, str(year) if fits else ""))
    return tuple(found)


# ------------------------------------------------------------------------------------------------- words


def _to(last: dt.date | None) -> str:
    return "on, with no last day" if last is None else f"to {in_words(last)}"


def short(text: str, most: int) -> str:
    """Cut what would not fit beside a band; the whole text stands in the table."""
    return text if len(text) <= most else f"{text[: most - 2].rstrip(' ,')} …"


def _first_of(components: str, most: int) -> str:
    """As many components as have room behind the name of a band, none cut in two.

    >>> _first_of("flare joint, line set, wiring and drain line", 30), _first_of("everything else", 30)
    ('flare joint, line set, …', 'everything else')
    """
    if len(components) <= most:
        return components
    first, *others = components.split(", ")
    while others and len(f"{first}, {others[0]}, …") <= most:
        first = f"{first}, {others.pop(0)}"
    return f"{first}, …" if others else short(first, most)


def whose(payer: str) -> str:
    """A payer as a sentence begins with it."""
    return upper(BY_CODE[payer].label)
