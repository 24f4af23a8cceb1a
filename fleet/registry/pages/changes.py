"""What was changed about one thing, as values."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changed:
    """One fact that changed: at which moment, what, from what to what, by whom, and why or with which file.

    `why_not` says why it cannot be undone by itself; blank where it can. `swap`: it says that two heads were swapped.
    """

    pk: int
    at: str
    what: str
    before: str
    after: str
    by: str
    why: str
    why_not: str
    swap: bool = False


@dataclass(frozen=True, slots=True)
class Merged:
    """That something was merged into this: what, when, by whom, and whether that was undone."""

    pk: int
    gone: str
    at: str
    by: str
    why: str
    undone: str


@dataclass(frozen=True, slots=True)
class ChangesPage:
    """Everything that was changed about one thing, newest first."""

    kind: str
    pk: int
    name: str
    changes: tuple[Changed, ...]
    merged: tuple[Merged, ...]
    count: int
