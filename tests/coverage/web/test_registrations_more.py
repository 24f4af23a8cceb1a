"""Registrations in a fleet too large to count: the queue and what is said first tell that there are more, and every page is there."""

import pytest

from fleet.coverage.queries import registration_lead
from fleet.coverage.queries import registration_queue as queries
from tests import company
from tests.coverage.web.test_registrations import listed, put_in, words

pytestmark = pytest.mark.django_db

MISSED = ("2025-12-05", "2025-12-06", "2025-12-07")


@pytest.fixture
def office(monkeypatch):
    """Three systems of two units each were missed, a day apart: the latest stands first."""
    company.on_file()
    for number, installed_on in enumerate(MISSED):
        put_in(installed_on=installed_on, customer=f"Late {number}")
    monkeypatch.setattr(queries, "PER_PAGE", 1)
    monkeypatch.setattr("fleet.elements.lists.PER_PAGE", 1)
    return company.as_role("office")


@pytest.mark.parametrize("narrowed", ["", "&text=Late", "&payer=Northrill"], ids=["all", "by text", "by payer"])
@pytest.mark.parametrize(
    ("most", "most_units", "said", "pages"),
    [
        pytest.param(
            2, 5, "More than 5 units{} missed, in more than 2 rows of one system", "of more than 2", id="more"
        ),
        pytest.param(2, 6, "6 units{} missed, in more than 2 rows of one system", "of more than 2", id="more rows"),
        pytest.param(3, 5, "More than 5 units{} missed, in 3 rows of one system", "of 3", id="more units"),
        pytest.param(3, 6, "6 units{} missed, in 3 rows of one system", "of 3", id="all counted"),
    ],
)
def test_what_was_not_counted_is_told_as_more(most, most_units, said, pages, narrowed, office, monkeypatch):
    monkeypatch.setattr(queries, "MOST", most)
    monkeypatch.setattr(queries, "MOST_UNITS", most_units)
    page = words(office.get(f"/registrations?state=missed{narrowed}"))
    assert said.format(" such" if narrowed else "") in page
    assert f"Page 1 {pages}</span>" in page


@pytest.mark.parametrize("narrowed", ["", "&text=Late"], ids=["all", "by text"])
def test_each_page_beyond_what_was_counted_is_there_and_the_last_knows_that_it_is(narrowed, office, monkeypatch):
    monkeypatch.setattr(queries, "MOST", 1)
    shown, number = [], 1
    while number is not None:
        response = office.get(f"/registrations?state=missed&page={number}{narrowed}")
        shown += [line[1][1].value for line in response.context["page"].listing.lines]
        number = response.context["page"].listing.after
    assert shown == ["Late 2", "Late 1", "Late 0"]
    assert "3 to 3 of 3</p>" in words(response)
    assert "3 to 3 of 3</p>" in words(office.get(f"/registrations?state=missed&page=99{narrowed}"))


def test_a_payer_with_nothing_there_has_an_empty_list(office):
    assert listed(office, "state=confirmed&payer=Northrill") == []
    assert "Nothing such is confirmed." in words(office.get("/registrations?state=confirmed&payer=Northrill"))


@pytest.mark.parametrize(
    ("most", "said"),
    [
        pytest.param(
            2,
            "More than 2 registrations close this week, the first today. More than 2 were missed in the last 30 days.",
            id="more of each",
        ),
        pytest.param(
            3,
            "3 registrations close this week, the first today. More than 3 are to do in all. "
            "More than 3 were missed in the last 30 days.",
            id="more to do",
        ),
        pytest.param(
            6,
            "3 registrations close this week, the first today. 4 are to do in all. 6 were missed in the last 30 days.",
            id="all counted",
        ),
    ],
)
def test_what_is_said_first_says_how_many_at_least(most, said, office, monkeypatch):
    for number, installed_on in ((2, "2026-01-01"), (1, "2026-01-07"), (1, "2026-02-10")):
        put_in(number, installed_on=installed_on, customer=f"To do {installed_on}")
    monkeypatch.setattr(registration_lead, "MOST", most)
    assert said in words(office.get("/waiting-on-us"))
    assert said in words(office.get("/registrations"))
