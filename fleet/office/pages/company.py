"""Our company as its page shows it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Changed:
    """One change: when, by whom (blank: a command), of what, from what to what; and whether it can be undone."""

    pk: int
    at: str
    by: str
    what: str
    before: str
    after: str
    can_undo: bool


@dataclass(frozen=True, slots=True)
class CompanyPage:
    """Its facts by name, whether there is a logo, our account numbers by payer, and what was changed, newest first.

    `from_server` is what papers say as long as no name is entered.
    """

    facts: Mapping[str, Any]
    has_logo: bool
    accounts: Mapping[str, str]
    changes: tuple[Changed, ...]
    from_server: str
