"""Registrations on several pages: the queue and what is said first count all of them, and every page is there."""

import pytest

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
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 1)
    return company.as_role("office")


@pytest.mark.parametrize("narrowed", ["", "&text=Late", "&payer=Northrill"], ids=["all", "by text", "by payer"])
def test_everything_is_counted_and_each_page_is_there(narrowed, office):
    pages = [office.get(f"/registrations?state=missed&page={number}{narrowed}") for number in (1, 2, 3, 99)]
    for number, page in zip((1, 2, 3, 3), pages, strict=True):
        assert "3 rows, one for each system and deadline, with 6 registrations: missed, one for each unit." in words(
            page
        )
        assert f"{number} to {number} of 3</p>" in words(page)
        assert f"Page {number} of 3</span>" in words(page)
    assert [page.context["listing"].rows[0].cells[1].value for page in pages] == [
        "Late 2",
        "Late 1",
        "Late 0",
        "Late 0",
    ]


def test_a_payer_with_nothing_there_has_an_empty_list(office):
    assert listed(office, "state=confirmed&payer=Northrill") == []
    assert "No registration matches." in words(office.get("/registrations?state=confirmed&payer=Northrill"))


def test_what_is_said_first_counts_everything(office):
    for number, installed_on in ((2, "2026-01-01"), (1, "2026-01-07"), (1, "2026-02-10")):
        put_in(number, installed_on=installed_on, customer=f"To do {installed_on}")
    said = "3 registrations are due this week, the first today. 4 are to do in all. 6 were missed in the last 30 days."
    assert said in words(office.get("/registrations"))
