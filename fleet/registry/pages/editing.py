"""Facts as they are put right on a form, and two things side by side before they are made one."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Shown:
    """One thing as its form begins: what each field shows, as a file would write it."""

    kind: str
    pk: int
    name: str
    fields: tuple[tuple[str, str], ...]
    handed_on: str = ""


@dataclass(frozen=True, slots=True)
class ShownUnit:
    """A unit of a system: what it is called there, and its facts as a file would write them."""

    pk: int
    name: str
    facts: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ShownSystem:
    """A system in which several units are put right at once."""

    pk: int
    name: str
    site_pk: int
    where: str
    units: tuple[ShownUnit, ...]

    def alike(self, fact: str) -> dict[str, list[str]]:
        """What the units tell of a fact, each with those that tell it, in the order of the system."""
        found: dict[str, list[str]] = {}
        for unit in self.units:
            found.setdefault(unit.facts[fact], []).append(unit.name)
        return found


@dataclass(frozen=True, slots=True)
class Choice:
    """A fact that two tell differently."""

    field: str
    label: str
    kept: str
    gone: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """One that this may be merged with."""

    pk: int
    name: str
    note: str


@dataclass(frozen=True, slots=True)
class SameName:
    """A site of the customer who goes whose name the other has too: where each is, and what the two tell differently."""

    pk: int
    name: str
    kept: str
    gone: str
    another: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class MergePage:
    """A thing, those it may be one with, and beside the one chosen what the two tell differently."""

    kind: str
    pk: int
    name: str
    note: str
    candidates: tuple[Candidate, ...]
    other: Candidate | None = None
    choices: tuple[Choice, ...] = ()
    same_names: tuple[SameName, ...] = ()


@dataclass(frozen=True, slots=True)
class Head:
    """A head: the room it is in, its manufacturer and model, and its serial."""

    pk: int
    room: str
    model: str
    serial: str


@dataclass(frozen=True, slots=True)
class SwapPage:
    """A head and the others in service in its system, with one of which it may be swapped."""

    head: Head
    where: str
    others: tuple[Head, ...]


@dataclass(frozen=True, slots=True)
class PlacePage:
    """A head, and those that were taken out whose place it may have taken, by key and in words; `now` is the key of that one."""

    pk: int
    name: str
    what: str
    where: str
    now: str
    choices: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class LifePage:
    """A unit whose life goes on elsewhere: where it stands, and where it may move to.

    `told` is what may be taken back of it, newest first: what a form sends for it, and what it was.
    """

    pk: int
    name: str
    model: str
    where: str
    serial: str
    gone: str
    is_idle: bool
    asks_match: bool
    sites: tuple[str, ...]
    systems: tuple[str, ...]
    told: tuple[tuple[str, str], ...] = ()
    may_take_a_place: bool = False
