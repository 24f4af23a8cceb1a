"""Terms on file: one paper."""

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Named:
    """Terms by name, and the key of their page."""

    pk: int
    code: str
    title: str


@dataclass(frozen=True, slots=True)
class Check:
    """That somebody held the terms against the payer's paper; `undo` is its key while it may be taken back."""

    day: dt.date
    by: str
    note: str
    undo: int | None = None


@dataclass(frozen=True, slots=True)
class TermsPage:
    """What one paper says, in words, where it stands, and who checked it when."""

    terms: Named
    payer: str
    maker: str
    says: tuple[str, ...]
    source: str
    checks: tuple[Check, ...]
    checked_on: dt.date
    replaces: Named | None
    replaced_by: tuple[Named, ...]
    held_by: int
