"""The head of every page: who is here and where they may go, as a context processor."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from fleet.models.people import Role
from fleet.rules.payers import PAYERS, Payer
from fleet.web import access

# The few that stand in the head itself, by role: where somebody begins comes first, and a phone shows two.
FIRST: dict[Role, tuple[str, ...]] = {
    Role.TECHNICIAN: ("today", "lookup", "terms_list"),
    Role.OFFICE: ("waiting", "lookup", "claims", "due", "put_in"),
    Role.OWNER: ("year_ahead", "lookup", "waiting", "ending", "claims"),
}


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
    """Who is here (blank: nobody), their role (blank: none), the few places that come first, and all of them.

    `payers` are those whose bands any page may draw.
    """

    person: str = ""
    role: str = ""
    first: tuple[Entry, ...] = ()
    groups: tuple[Group, ...] = ()
    payers: tuple[Payer, ...] = PAYERS


class May:
    """Whether somebody of a role may see an address, for templates: `{% if may.unit_correct %}`."""

    def __init__(self, role: str) -> None:
        self._role = role

    def __getitem__(self, name: str) -> bool:
        return access.may_see(self._role, name)


def frame(request: HttpRequest) -> dict[str, Any]:
    """The frame for whoever asks; an error page may come before anybody is known."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"frame": Frame()}
    here = request.resolver_match.view_name if request.resolver_match else ""
    return {"frame": Frame(str(user), user.role, *_offered(user.role, here)), "may": May(user.role)}


def _offered(role: str, here: str) -> tuple[tuple[Entry, ...], tuple[Group, ...]]:
    """What stands in the head for a role, and all that it may go to, by heading; `here` is the address asked for."""
    table = access.table()
    place = table[here].within or here if here in table else ""
    grouped: dict[str, list[Entry]] = {}
    for name, address in table.items():
        if address.menu and access.may_see(role, name):
            heading, title = address.menu
            grouped.setdefault(heading, []).append(Entry(name, title, name == place))
    entry_of = {entry.name: entry for entries in grouped.values() for entry in entries}
    first = FIRST[Role(role)] if role else ()
    groups = tuple(Group(heading, tuple(entries)) for heading, entries in grouped.items())
    return tuple(entry_of[name] for name in first if name in entry_of), groups
