"""The head of every page: who is here and where they may go, as a context processor."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest

from fleet.models.people import Role
from fleet.rules.payers import PAYERS, Payer
from fleet.web import access

# The few that stand in the head itself, by role: where somebody begins comes first, and a phone shows two.
FIRST: dict[Role, tuple[str, ...]] = {
    Role.TECHNICIAN: ("today", "lookup", "calls"),
    Role.OFFICE: ("on_our_desk", "lookup", "claims", "due", "new_install"),
    Role.OWNER: ("year_ahead", "lookup", "on_our_desk", "ending", "claims"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One place to go: the name of its address, its words, and whether this page belongs to it."""

    name: str
    title: str
    current: bool


@dataclass(frozen=True, slots=True)
class Frame:
    """Who is here (blank: nobody), their role (blank: none), and where they may go.

    `pk`: whoever is here, for what a browser keeps of theirs (0: nobody). `first`: the few that the head shows. `menu`: all
    entries, those first. `section`: the entry of the menu that this page belongs to, and what stands beside it; empty where
    that is one page alone. `payers`: those whose bands any page may draw. `begins`: this owner is on the way through the
    first steps.
    """

    person: str = ""
    role: str = ""
    first: tuple[Entry, ...] = ()
    menu: tuple[Entry, ...] = ()
    section: tuple[Entry, ...] = ()
    payers: tuple[Payer, ...] = PAYERS
    begins: bool = False
    pk: int = 0


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
    begins = user.role == Role.OWNER and bool(request.session.get("first_steps")) and here != "first_steps"
    offered = _offered(user.role, here)
    return {"frame": Frame(str(user), user.role, *offered, begins=begins, pk=user.pk), "may": May(user.role)}


def _offered(role: str, here: str) -> tuple[tuple[Entry, ...], tuple[Entry, ...], tuple[Entry, ...]]:
    """What stands in the head for a role, its whole menu, and the section of it that holds the address asked for."""
    table = access.table()
    seen = {name: address for name, address in table.items() if access.may_see(role, name)}
    place = table[here].within or here if here in table else ""
    beside = table[place].beside if place else None
    top = beside[0] if beside else place

    places = {name: Entry(name, address.menu, name == top) for name, address in seen.items() if address.menu}
    first = tuple(places[name] for name in (FIRST[Role(role)] if role else ()) if name in places)
    rest = tuple(entry for entry in places.values() if entry not in first)

    others = [(name, at.beside[1]) for name, at in seen.items() if at.beside and at.beside[0] == top]
    head = [(top, places[top].title)] if top in places else []
    section = tuple(Entry(name, title, name == place) for name, title in head + others) if others else ()
    return first, first + rest, section
