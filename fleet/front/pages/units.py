"""The unit page as values: who and where it is, its life line, the answer for a failure, its history, the terms it holds."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fleet.coverage.pages.answers import AnswerPart, Choices
from fleet.elements.pieces import Fact, UnitLink
from fleet.front.pages.lifeline import LifeLine
from fleet.registry.pages.documents import Proof
from fleet.rules.findings import Result
from fleet.rules.payers import BY_CODE
from fleet.rules.reach import Reach
from fleet.rules.wording.names import listed, upper
from fleet.rules.wording.reach import in_short, who_pays


def components_in_words(names: Sequence[str], *, alone: bool) -> str:
    """Components by name; `*` is everything not named, which goes without saying if nothing is.

    >>> components_in_words(("compressor", "outdoor coil", "contactor"), alone=False)
    'compressor, outdoor coil and contactor'
    >>> components_in_words(("*",), alone=True), components_in_words(("*",), alone=False)
    ('', 'everything else')
    """
    if "*" in names:
        return "" if alone else "everything else"
    return listed(names)


# ------------------------------------------------------------------------------------------------- who and where


@dataclass(frozen=True, slots=True)
class Identity:
    """What the unit is and where it stands; `may_swap`: it is a head that another of its system may have been taken for."""

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
    in_place_of: UnitLink | None
    taken_over_by: UnitLink | None
    neighbors: tuple[UnitLink, ...]
    dates: tuple[Fact, ...]
    facts: tuple[Fact, ...]
    may_swap: bool = False


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
    folded: LifeLine
    choices: Choices
    answer: AnswerPart
    history: tuple[Entry, ...]
    holdings: tuple[TermsHeld, ...]
    deadlines: tuple[Any, ...] = ()
    last_visit: Entry | None = None

    @property
    def failures(self) -> tuple[Entry, ...]:
        """What failed and was not voided, the newest first."""
        return tuple(entry for entry in self.history if entry.sort == "failure" and not entry.voided)

    @property
    def folds(self) -> bool:
        """Whether the line by kind and component says more than the one by payer."""
        return self.lifeline.words != self.folded.words

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
    """Who pays one kind of cost for some components, and until when, seen from today.

    `payers` has each payer that counts, in the order in which they pay: who pays now, then whoever pays longer. It is empty
    where nobody ever promised anything.
    """

    components: tuple[str, ...]
    payers: tuple[tuple[str, Reach], ...]

    @property
    def best(self) -> Reach:
        """The reach of the payer that pays longest for certain."""
        nothing = Reach(Result.NOT_COVERED)
        return max((reach for _, reach in self.payers), key=_worth, default=nothing)


def _worth(reach: Reach) -> tuple[bool, dt.date, dt.date]:
    return reach.is_running, reach.certain or dt.date.min, reach.furthest


def ends_of(components: tuple[str, ...], promises: Iterable[tuple[str, Reach]]) -> Ends:
    """Put the payers of some components into the order in which they pay, leaving out whoever adds no day."""
    ordered = sorted(promises, key=lambda one: (_RANK[one[1].result], *_turn(*one)))
    chain: list[tuple[str, Reach]] = []
    for payer, reach in ordered:
        if not chain or (reach.is_running and all(reach.furthest > other.furthest for _, other in chain)):
            chain.append((payer, reach))
    return Ends(components, tuple(chain))


# A payer that pays for certain comes first, one that never pays or pays no longer last.
_RANK = {Result.COVERED: 0, Result.COVERED_IF: 1, Result.CANNOT_SAY: 2, Result.NOT_COVERED: 3}


def _turn(payer: str, reach: Reach) -> tuple[bool, dt.date, int, int]:
    """Of payers alike: what is still to come by its first day, what runs by the order of payers, then the longest."""
    place = tuple(BY_CODE).index(payer)
    if reach.result is Result.NOT_COVERED and reach.begins is None:
        return True, dt.date.max, -reach.furthest.toordinal(), place
    return False, reach.begins or dt.date.min, place, -reach.furthest.toordinal()


def kind_in_words(kind: str, found: Sequence[Ends], *, on: dt.date) -> str:
    """Who pays one kind of cost until when, in a sentence: for everything else first, then for what fares otherwise.

    >>> kind_in_words("labor", [Ends(("*",), (("installer", Reach(Result.COVERED, dt.date(2027, 3, 8))),))],
    ...               on=dt.date(2026, 3, 2))
    'Labor: we pay until March 8, 2027.'
    """
    ordered = sorted(found, key=lambda ends: "*" not in ends.components)
    clauses = []
    for ends in ordered:
        clause = ". Then ".join(who_pays(payer, reach, asked=on) for payer, reach in _in_turn(ends.payers))
        names = "" if "*" in ends.components else f"for the {components_in_words(ends.components, alone=False)}, "
        clauses.append(f"{names}{clause or 'the customer pays'}")
    text = ". ".join(upper(clause) if place else clause for place, clause in enumerate(clauses))
    return f"{kind.capitalize()}: {text or 'the customer pays'}."


def _in_turn(payers: Iterable[tuple[str, Reach]]) -> Iterator[tuple[str, Reach]]:
    """The payers one after the other: what begins before the one before it ends goes on from there without a word.

    Of one whose certain days are over by then, only the possible days are said.
    """
    certain = dt.date.min
    for payer, reach in payers:
        if reach.begins is not None and reach.certain is not None and reach.begins <= certain:
            reach = replace(reach, result=Result.COVERED, begins=None)
        if reach.possible is not None and reach.certain is not None and reach.certain <= certain:
            reach = replace(reach, result=Result.COVERED_IF, certain=None, begins=None)
        yield payer, reach
        certain = max(certain, reach.certain or dt.date.min)


def cell_lines(found: Sequence[Ends]) -> tuple[str, ...]:
    """The same in the cell of a table; components for which nothing is paid any more only if nothing else is to be said.

    What holds for all that is not named comes first and has no name, since the column's heading is its name.

    >>> until = lambda year: (("maker", Reach(Result.COVERED, dt.date(year, 3, 8))),)
    >>> cell_lines([Ends(("compressor",), until(2031)), Ends(("*",), until(2027))])
    ('until Mar 8, 2027', 'compressor until Mar 8, 2031')
    """
    ordered = sorted(found, key=lambda ends: "*" not in ends.components)
    shown = [ends for ends in ordered if ends.best.is_running or ends.best.result is Result.CANNOT_SAY]
    lines = []
    for ends in shown or ordered[:1]:
        names = components_in_words(ends.components, alone=True)
        days = in_short(ends.best)
        lines.append(f"{names} {days}".strip() if days != "nothing" else "no")
    return tuple(lines) or ("no",)
