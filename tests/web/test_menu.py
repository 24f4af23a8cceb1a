"""The head of every page: the few places that come first, the menu, and what stands beside the page."""

import re

import pytest

from fleet.models.people import Role
from fleet.web import access, menu
from tests import company
from tests.paths import ROOT

pytestmark = pytest.mark.django_db


def frame(role: str, address: str = "/look-up"):
    return company.as_role(role).get(address).context["frame"]


def titles(entries) -> list[str]:
    return [entry.title for entry in entries]


def beside(role: str, address: str) -> list[str]:
    return titles(frame(role, address).section)


def test_a_technician_is_offered_what_a_technician_may_see():
    assert titles(frame("technician").menu) == ["Today's stops", "Look-up", "Calls", "Maintenance", "Settings"]
    assert {"Terms on file", "Care sheet", "Your password"} <= set(beside("technician", "/settings"))


@pytest.mark.parametrize("role", list(Role))
def test_the_menu_holds_a_dozen_entries_at_most(role):
    assert 0 < len(frame(role).menu) <= 12


def test_the_owner_is_offered_the_year_and_the_office_is_not():
    assert set(titles(frame("owner").menu)) - set(titles(frame("office").menu)) == {"The year ahead"}
    assert set(titles(frame("office").menu)) <= set(titles(frame("owner").menu))


@pytest.mark.parametrize(
    ("address", "places"),
    [
        ("/on-our-desk", {"On our desk", "Deadlines", "Deadlines in your calendar"}),
        ("/claims", {"Claims", "Failures", "Payers' statements", "Suppliers", "Money"}),
        ("/agreements", {"Agreements", "Work to sell", "Compare layouts"}),
        ("/due", {"Maintenance", "Visits"}),
        ("/new-install", {"New install", "Import a file"}),
    ],
)
def test_the_desk_reaches_the_rest_from_the_page_it_belongs_with(address, places):
    assert places <= set(beside("office", address))


def test_what_the_owner_settles_stands_on_one_page():
    assert {"Company", "Care sheet", "People", "Hours and rates", "Background work"} <= set(
        beside("owner", "/settings")
    )
    assert not {"People", "Hours and rates", "Background work"} & set(beside("office", "/settings"))


def test_what_comes_first_differs_by_role():
    assert [titles(frame(role).first)[0] for role in ("technician", "owner")] == ["Today's stops", "The year ahead"]
    assert "New install" in titles(frame("office").first)
    assert "Coverage ending" in titles(frame("owner").first)


def test_a_place_is_offered_to_those_alone_who_may_go_there(monkeypatch):
    monkeypatch.setattr(access.table()["due"], "roles", frozenset({Role.OWNER}))
    for role, offered in (("technician", False), ("office", False), ("owner", True)):
        assert ("Maintenance" in company.as_role(role).get("/look-up").content.decode()) == offered


@pytest.mark.parametrize(
    ("address", "place", "also"),
    [
        ("/look-up", "Look-up", []),
        ("/coverage-ending", "Coverage ending", []),
        ("/claims", "Claims", ["Claims"]),
        ("/suppliers/add", "Claims", ["Suppliers"]),
        ("/people/add", "Settings", ["People"]),
    ],
)
def test_the_place_that_a_page_belongs_to_is_marked(address, place, also):
    shown = frame("owner", address)
    assert titles(entry for entry in shown.menu if entry.current) == [place]
    assert titles(entry for entry in shown.section if entry.current) == also


def test_what_a_page_belongs_to_stands_in_the_menu_or_beside_an_entry_of_it():
    """A page within an address that is no place would never be marked."""
    table = access.table()
    places = {name for name, address in table.items() if address.menu or address.beside}
    assert {address.within for address in table.values() if address.within} <= places
    assert {address.beside[0] for address in table.values() if address.beside} <= {
        name for name, address in table.items() if address.menu
    }


@pytest.mark.parametrize("role", list(Role))
def test_each_place_that_comes_first_is_a_place_that_the_role_may_see(role):
    table = access.table()
    assert all(table[name].menu and access.may_see(role, name) for name in menu.FIRST[role])


@pytest.mark.parametrize("role", list(Role))
def test_whoever_may_see_what_stands_beside_an_entry_may_see_the_entry(role):
    """Else there would be no way there."""
    table = access.table()
    tops = {address.beside[0] for name, address in table.items() if address.beside and access.may_see(role, name)}
    assert all(access.may_see(role, top) for top in tops)


def test_an_error_page_has_the_places_too_and_somebody_without_a_role_none():
    assert "All pages" in company.as_role("office").get("/no-such-page").content.decode()
    assert "All pages" not in company.as_role("").get("/no-such-page").content.decode()


def test_what_a_template_asks_of_a_role_is_an_address():
    """A name that no address has would hide what it guards from everybody."""
    guarded = {
        name for path in (ROOT / "templates").rglob("*.html") for name in re.findall(r"\bmay\.(\w+)", path.read_text())
    }
    assert guarded
    assert guarded <= set(access.table())
