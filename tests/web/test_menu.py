"""The head of every page: the few places that come first, and the menu of all that a role may go to."""

import re

import pytest

from fleet.models.people import Role
from fleet.web import access, menu
from tests import company
from tests.paths import ROOT

pytestmark = pytest.mark.django_db


def frame(role: str, address: str = "/look-up"):
    return company.as_role(role).get(address).context["frame"]


def titled(role: str) -> dict[str, list[str]]:
    return {group.heading: [entry.title for entry in group.entries] for group in frame(role).groups}


def test_a_technician_is_offered_what_a_technician_may_see():
    assert {"Look-up", "Terms"} <= {entry.title for entry in frame("technician").first}
    menu = titled("technician")
    assert "Look-up" in menu["Each day"]
    assert not {"Waiting on us", "New install"} & set(menu["Each day"])
    assert menu["The office"] == ["Which role may do what", "Your password"]
    assert "The outlook" not in menu  # a group of which nothing is theirs has no heading either


@pytest.mark.parametrize("role", ["office", "owner"])
def test_the_desk_finds_each_kind_of_work_under_its_heading(role):
    menu = titled(role)
    assert {"Waiting on us", "Look-up", "New install"} <= set(menu["Each day"])
    assert {"Registrations", "Payers differ", "New houses"} <= set(menu["Promises"])
    assert {"Facts wanted", "Terms"} <= set(menu["The record"])
    assert "Coverage ending" in menu["The outlook"]
    assert ("People" in menu["The office"]) == (role == "owner")


def test_what_comes_first_differs_by_role():
    assert [entry.title for entry in frame("office").first][:2] == ["Waiting on us", "Look-up"]
    assert "New install" in [entry.title for entry in frame("office").first]
    assert "Coverage ending" in [entry.title for entry in frame("owner").first]


def test_a_place_is_offered_to_those_alone_who_may_go_there(monkeypatch):
    monkeypatch.setattr(access.table()["terms_list"], "roles", frozenset({Role.OWNER}))
    for role, offered in (("technician", False), ("office", False), ("owner", True)):
        assert ("Terms" in company.as_role(role).get("/look-up").content.decode()) == offered


@pytest.mark.parametrize(
    ("address", "place"),
    [("/look-up", "Look-up"), ("/terms", "Terms"), ("/coverage-ending", "Coverage ending"), ("/people/add", "People")],
)
def test_the_place_that_a_page_belongs_to_is_marked(address, place):
    shown = frame("owner", address)
    assert [entry.title for group in shown.groups for entry in group.entries if entry.current] == [place]


def test_what_a_page_belongs_to_stands_in_the_menu():
    """A page within an address that is no place would never be marked."""
    table = access.table()
    assert [name for name, address in table.items() if address.within and not table[address.within].menu] == []


@pytest.mark.parametrize("role", list(Role))
def test_each_place_that_comes_first_is_a_place_that_the_role_may_see(role):
    table = access.table()
    assert all(table[name].menu and access.may_see(role, name) for name in menu.FIRST[role])


def test_the_headings_of_the_menu_keep_their_order():
    """Each stands once, whatever stands between its places in the table."""
    headings = [group.heading for group in frame("owner").groups]
    assert headings == ["Each day", "Promises", "Care", "The record", "The outlook", "The office"]


def test_an_error_page_has_the_places_too_and_somebody_without_a_role_none():
    assert "All pages" in company.as_role("office").get("/no-such-page").content.decode()
    assert "All pages" not in company.as_role("").get("/no-such-page").content.decode()


def test_what_a_template_asks_of_a_role_is_an_address():
    """A name that no address has would hide what it guards from everybody."""
    asked = {
        name for path in (ROOT / "templates").rglob("*.html") for name in re.findall(r"\bmay\.(\w+)", path.read_text())
    }
    assert asked
    assert asked <= set(access.table())
