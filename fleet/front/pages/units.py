"""The unit page as values: who and where it is, its life line, the answer for a failure, its history, the terms it holds."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from fleet.coverage.pages.answers import AnswerPart, Choices
from fleet.elements.pieces import Fact, UnitLink
from fleet.front.pages.lifeline import LifeLine
from fleet.registry.pages.documents import Proof
from fleet.rules.dates import in_words
from fleet.rules.findings import Result


def components_in_words(names: Sequence[str], *, alone: bool) -> str:
    """Components in a few words; `*` is everything not named, which goes without saying if nothing is.

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
class TermsHeld:
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
    holdings: tuple[TermsHeld, ...]

    def held_in_short(self) -> tuple[str, tuple[tuple[int, str], ...]]:
        """The unit in a few words, and the terms it holds, by their codes; a unit that is gone has none stored."""
        unit = self.identity
        held = () if unit.gone else sorted(self.holdings, key=lambda one: one.code)
        return f"{unit.maker} {unit.model} {unit.serial or unit.room}".strip(), tuple(
            (one.pk, one.title) for one in held
        )


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
    """Until when something is covered, in words.

    >>> ends_in_words(Ends(("*",), Result.COVERED, dt.date(2027, 3, 8)))
    'until March 8, 2027'
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
