"""People who log in as the owner sees them, and what each role may do."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

# What becomes of the booked visits of somebody who is switched off, where nobody else takes them.
TO_THE_PLAN = "plan"


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing that was changed about somebody: at which moment, by whom, what, from what to what, and how."""

    at: str
    by: str
    what: str
    before: str
    after: str
    how: str


@dataclass(frozen=True, slots=True)
class PersonPage:
    """One person; moments are written out, and blank where there is none."""

    pk: int
    name: str
    username: str
    first_name: str
    last_name: str
    email: str
    role: str
    standing: str
    joined: str
    last_here: str
    has_password: bool
    is_me: bool
    visits: int
    wrong: int
    wrong_last: str
    locked_until: str
    changes: tuple[Changed, ...]

    @property
    def active(self) -> bool:
        """Whether they may log in at all."""
        return self.standing != "switched off"


@dataclass(frozen=True, slots=True)
class Allowed:
    """One thing that can be done on a screen, and for each role whether it may."""

    what: str
    may: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen, with what can be done there."""

    name: str
    things: tuple[Allowed, ...]


@dataclass(frozen=True, slots=True)
class RolesPage:
    """Which role may do what, screen by screen."""

    roles: tuple[str, ...]
    screens: tuple[Screen, ...]


def roles_page(addresses: Iterable[tuple[str, Collection[str]]], roles: tuple[str, ...]) -> RolesPage:
    """Who may see what, in words: each address has `screen: what can be done there`, and its roles.

    Addresses that are said in the same words and that the same roles may see are one row.

    >>> page = roles_page([("Unit: see it", {"owner"}), ("Unit: see it", {"owner"})], ("owner", "office"))
    >>> [(screen.name, [(thing.what, thing.may) for thing in screen.things]) for screen in page.screens]
    [('Unit', [('see it', (('owner', True), ('office', False)))])]
    """
    screens: dict[str, dict[Allowed, None]] = {}
    for words, allowed in addresses:
        screen, _, what = words.partition(": ")
        row = Allowed(what, tuple((role, role in allowed) for role in roles))
        screens.setdefault(screen, {})[row] = None
    return RolesPage(roles, tuple(Screen(name, tuple(things)) for name, things in screens.items()))
