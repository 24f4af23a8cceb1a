"""The unit page as values: who and where it is, its life line, the answer for a failure, its history, the terms it holds."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleet.pages.documents import Proof
from fleet.pages.lifeline import LifeLine
from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.findings import Result

# What can fail inside a unit of each role, what is asked about most often first; every other component can be asked about too.
USUAL_COMPONENTS: dict[str, tuple[str, ...]] = {
    "outdoor": (
        "compressor", "outdoor coil", "outdoor fan motor", "control board", "capacitor", "contactor", "sensor",
        "expansion valve", "reversing valve", "panel", "line set", "flare joint", "wiring", "refrigerant", "other",
    ),
    "head": (
        "indoor coil", "indoor fan motor", "blower wheel", "control board", "capacitor", "sensor", "expansion valve",
        "drain pump", "drain pan", "drain line", "louver", "remote control", "wired controller", "panel", "filter",
        "line set", "flare joint", "wiring", "refrigerant", "other",
    ),
    "branch box": (
        "branch box", "control board", "sensor", "expansion valve", "line set", "flare joint", "wiring", "refrigerant",
        "other",
    ),
    "air handler": (
        "indoor coil", "indoor fan motor", "blower wheel", "control board", "capacitor", "contactor", "sensor",
        "expansion valve", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "line set",
        "flare joint", "wiring", "refrigerant", "other",
    ),
    "furnace": (
        "heat exchanger", "igniter", "gas valve", "indoor fan motor", "blower wheel", "control board", "capacitor",
        "contactor", "sensor", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "wiring",
        "other",
    ),
    "dehumidifier": (
        "dehumidifier sealed system", "compressor", "indoor coil", "indoor fan motor", "humidistat", "control board",
        "capacitor", "sensor", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "wiring",
        "refrigerant", "other",
    ),
    "pump": ("drain pump", "sensor", "drain line", "wiring", "other"),
    "other": words.COMPONENTS,
}  # fmt: skip
RESULT_WORDS = {
    Result.COVERED: "Covered",
    Result.COVERED_IF: "Covered if",
    Result.NOT_COVERED: "Not covered",
    Result.CANNOT_SAY: "Cannot say",
}


def first_asked(role: str) -> str:
    """Give the component that is asked about first for a role.

    >>> first_asked("outdoor"), first_asked("head")
    ('compressor', 'indoor coil')
    """
    return "other" if role == "other" else USUAL_COMPONENTS[role][0]


def components_in_words(names: Sequence[str], *, alone: bool) -> str:
    """Name components in a few words; `*` stands for everything not named, which goes without saying if nothing is.

    >>> components_in_words(("compressor", "outdoor coil", "contactor", "sensor"), alone=False)
    'compressor and 3 more'
    >>> components_in_words(("*",), alone=True), components_in_words(("*",), alone=False)
    ('', 'everything else')
    """
    if "*" in names:
        return "" if alone else "everything else"
    if len(names) > 2:
        return f"{names[0]} and {len(names) - 1} more"
    return " and ".join(names)


# ------------------------------------------------------------------------------------------------- who and where


@dataclass(frozen=True, slots=True)
class UnitLink:
    """Another unit, as a link: a unit of the same system, or one that it took over from or handed on to."""

    pk: int
    what: str
    room: str
    model: str
    serial: str
    here: bool = False
    gone: str = ""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing on file with its name; no value: not recorded."""

    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Identity:
    """What the unit is and where it stands."""

    pk: int
    maker: str
    model: str
    serial: str
    what: str
    room: str
    system_pk: int
    system: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    phone: str
    address: str
    gone: str
    came: str
    took_over_from: UnitLink | None
    taken_over_by: UnitLink | None
    neighbors: tuple[UnitLink, ...]
    dates: tuple[Fact, ...]
    facts: tuple[Fact, ...]


# ------------------------------------------------------------------------------------------------- if it failed


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked: which component failed on which day and why (blank: not said), asked on which day."""

    component: str
    on: dt.date
    asked: dt.date
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Pays:
    """Who pays one kind of cost, in words; `state` is the result that it rests on."""

    kind: str
    pays: str
    state: Result
    words: str


@dataclass(frozen=True, slots=True)
class Need:
    """What must be done or found so that the answer gets certain, and by when."""

    words: str
    until: dt.date | None


@dataclass(frozen=True, slots=True)
class Shown:
    """One answer: what one payer's terms say of one kind of cost, and why."""

    terms: str
    terms_pk: int
    title: str
    payer: str
    kind: str
    result: Result
    words: str
    first: dt.date | None
    last: dt.date | None
    lifetime: bool
    possible_last: dt.date | None
    possible_lifetime: bool
    days_left: int | None
    reasons: tuple[str, ...]
    needs: tuple[Need, ...]
    file_by: dt.date | None
    part_back_by: dt.date | None

    @property
    def result_words(self) -> str:
        """The result as a word."""
        return RESULT_WORDS[self.result]

    @property
    def days(self) -> str:
        """The days of the certain term, if there is one: how long it still runs, or that it is not what is hoped for."""
        if self.first is None:
            return ""
        span = f"{in_words(self.first)} {'on, with no last day' if self.last is None else f'to {in_words(self.last)}'}"
        match self.result:
            case Result.COVERED if self.days_left is not None and self.days_left >= 0:
                return f"{span}, {self.days_left:,} {'day' if self.days_left == 1 else 'days'} left"
            case Result.COVERED_IF:
                return f"Certain from {span}"
            case _:
                return span

    @property
    def headed(self) -> bool:
        """Whether its one sentence says more than its reasons do; a no with a single reason says the same twice."""
        return self.result in (Result.COVERED, Result.COVERED_IF) or len(self.reasons) > 1


@dataclass(frozen=True, slots=True)
class Paper:
    """One payer's terms with what they say: kinds of cost that get the very same stand together."""

    first: Shown
    said: tuple[tuple[tuple[str, ...], Shown], ...]


@dataclass(frozen=True, slots=True)
class AnswerPart:
    """The answer for one failure: who pays first, then each payer's terms with their reasons."""

    question: Question
    heading: str
    pays: tuple[Pays, ...]
    answers: tuple[Shown, ...]
    notes: tuple[str, ...]

    @property
    def papers(self) -> tuple[Paper, ...]:
        """The answers by terms, in their order."""
        by_terms: dict[str, list[Shown]] = {}
        for shown in self.answers:
            by_terms.setdefault(shown.terms, []).append(shown)
        return tuple(Paper(these[0], _together(these)) for these in by_terms.values())


def _together(answers: Sequence[Shown]) -> tuple[tuple[tuple[str, ...], Shown], ...]:
    found: dict[Shown, list[str]] = {}
    for shown in answers:
        found.setdefault(replace(shown, kind=""), []).append(shown.kind)
    return tuple((tuple(kinds), shown) for shown, kinds in found.items())


@dataclass(frozen=True, slots=True)
class Choices:
    """What can be asked: the components usual for the unit's role, all others, and the causes."""

    usual: tuple[str, ...]
    others: tuple[str, ...]
    causes: tuple[str, ...]


# ------------------------------------------------------------------------------------------------- history, terms


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that happened on a day, in words, with what else is on file of it; `sort` says what kind of thing.

    `failure` is the key of one, which has a page of its own; `voided` says when and why it counts for nothing.
    """

    day: dt.date
    sort: str
    words: str
    details: tuple[str, ...] = ()
    failure: int | None = None
    voided: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """Terms that the unit holds: when they start and by which date, where registration stands, and their source."""

    code: str
    pk: int
    title: str
    payer: str
    attached: bool
    start: dt.date | None
    start_words: str
    assumed: bool
    registration: str
    state: str
    number: str
    source: str
    proofs: tuple[Proof, ...] = ()


@dataclass(frozen=True, slots=True)
class UnitPage:
    """Everything on the unit's page."""

    identity: Identity
    today: dt.date
    sentences: tuple[str, ...]
    lifeline: LifeLine
    choices: Choices
    answer: AnswerPart
    history: tuple[Entry, ...]
    holdings: tuple[Held, ...]


# ------------------------------------------------------------------------------------------------- until when


@dataclass(frozen=True, slots=True)
class Ends:
    """Until when one kind of cost is paid for some components, by anybody, asked today.

    `state` is the best result that anybody's terms give; no last day: for the life of the unit, or it never was paid for.
    `first` is set where nothing is paid yet, but will be from that day.
    """

    components: tuple[str, ...]
    state: Result
    last: dt.date | None
    first: dt.date | None = None


def ends_in_words(ends: Ends) -> str:
    """Say until when.

    >>> ends_in_words(Ends(("*",), Result.COVERED, dt.date(2027, 3, 8)))
    'until 8 March 2027'
    """
    match ends.state:
        case Result.COVERED:
            return "for the life of the unit" if ends.last is None else f"until {in_words(ends.last)}"
        case Result.COVERED_IF:
            return "perhaps for the life of the unit" if ends.last is None else f"perhaps until {in_words(ends.last)}"
        case Result.CANNOT_SAY:
            return "cannot say"
        case _ if ends.first is not None:
            return f"from {in_words(ends.first)}"
        case _:
            return "nobody" if ends.last is None else f"ended {in_words(ends.last)}"


def cell_lines(found: Sequence[Ends], *, over_too: bool = False) -> tuple[str, ...]:
    """Write what holds for everything else first, then the components that fare otherwise.

    Components for which nothing is paid any more are named only if asked for, or if nothing else is to be said.
    """
    ordered = sorted(found, key=lambda ends: "*" not in ends.components)
    if not over_too:
        ordered = [ends for ends in ordered if ends.state is not Result.NOT_COVERED or ends.first or ends is ordered[0]]
    if not ordered:
        return ("nobody",)
    alone = len(found) == 1
    named = [(components_in_words(ends.components, alone="*" in ends.components), ends) for ends in ordered]
    return tuple(ends_in_words(ends) if alone or not name else f"{name} {ends_in_words(ends)}" for name, ends in named)
