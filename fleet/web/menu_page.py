"""What stands around every page: who is here, and where they may go."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Entry:
    """One place to go: the name of its address, its words, and whether this page belongs to it."""

    name: str
    title: str
    current: bool


@dataclass(frozen=True, slots=True)
class Group:
    """Places that belong together, under one heading."""

    heading: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """Who is here (blank: nobody), their role (blank: none), the few places that come first, and all of them."""

    person: str = ""
    role: str = ""
    first: tuple[Entry, ...] = ()
    groups: tuple[Group, ...] = ()
