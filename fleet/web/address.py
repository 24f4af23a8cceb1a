"""A line of the table of addresses: where, what is shown there, who may see it, and its place in the menu."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http.response import HttpResponseBase
from django.urls import URLPattern, register_converter
from django.urls.resolvers import RoutePattern

from fleet.models.people import Role
from fleet.web.door import IdConverter, LabelConverter

register_converter(IdConverter, "id")
register_converter(LabelConverter, "label")


@dataclass(frozen=True, slots=True)
class Address:
    """One address by its name.

    `menu`: its words in the menu. `beside`: the entry of the menu whose pages link to it, and its words there. `within`:
    the page with one or the other that it belongs to.
    """

    route: str
    view: Callable[..., HttpResponseBase]
    name: str
    kwargs: Mapping[str, Any] = field(default_factory=dict)
    menu: str = ""
    beside: tuple[str, str] | None = None
    within: str = ""


class Guarded(URLPattern):
    """An address with the roles that may see it (None: anybody, even without a login) and what they do there, in words."""

    def __init__(self, address: Address, roles: frozenset[Role] | None, words: str) -> None:
        # Every number in an address is that of a row, or smaller.
        route = RoutePattern(address.route.replace("<int:", "<id:"), name=address.name, is_endpoint=True)
        super().__init__(route, address.view, dict(address.kwargs), address.name)
        self.roles, self.words = roles, words
        self.menu, self.beside, self.within = address.menu, address.beside, address.within


def without_login(*addresses: Address) -> list[Guarded]:
    """What anybody may see."""
    return [Guarded(address, None, "") for address in addresses]


# The words are those of the page of roles, `screen: what is done there`.


def everybody(words: str, *addresses: Address) -> list[Guarded]:
    """What every role may see."""
    return [Guarded(address, frozenset(Role), words) for address in addresses]


def desk(words: str, *addresses: Address) -> list[Guarded]:
    """What the office and the owner may see."""
    return [Guarded(address, frozenset({Role.OFFICE, Role.OWNER}), words) for address in addresses]


def owner(words: str, *addresses: Address) -> list[Guarded]:
    """What the owner alone may see."""
    return [Guarded(address, frozenset({Role.OWNER}), words) for address in addresses]
