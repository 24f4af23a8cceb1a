"""What is due on several pages: the list and its lead count all of it, and every page is there."""

import datetime as dt

import pytest

from fleet import models
from fleet.care.actions import care_sheets
from fleet.care.queries import due_list as queries
from fleet.facts.care import care_sheet, due_of
from fleet.rules.care import State
from tests import company
from tests.care.web.test_due import SHEET, words

pytestmark = pytest.mark.django_db

# Seven sites with two dues of ours each: five have been late since March 4, 2025, two may be done now.
LATE, NOW = ("Ash", "Birch", "Cedar", "Dogwood", "Elm"), ("Fir", "Gum")


@pytest.fixture
def client(monkeypatch):
    for sites, day in ((LATE, "2024-02-01"), (NOW, "2025-02-01")):
        for site in sites:
            company.unit(f"S-{site}", room="Loft", started_on=day, installed_on=day, site=site)
    care_sheets.load_table(SHEET, on=company.TODAY)
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 2)
    return company.as_role("office")


def sites_of(listing) -> list[object]:
    place = [column.name for column in listing.columns].index("site")
    return [row.cells[place].value for row in listing.rows]


@pytest.mark.parametrize(
    ("listed", "count", "pages"),
    [pytest.param("each due", 14, 7, id="dues"), pytest.param("by site", 7, 4, id="sites")],
)
@pytest.mark.parametrize("narrowed", [{}, {"text": "S-"}], ids=["all", "narrowed"])
def test_everything_is_counted_and_each_page_is_there(client, listed, count, pages, narrowed):
    shown = []
    for number in range(1, pages + 1):
        response = client.get("/due", {"listed": listed, "page": number} | narrowed)
        assert f"{2 * number - 1} to {min(2 * number, count)} of {count}</p>" in words(response)
        assert f"Page {number} of {pages}</span>" in words(response)
        assert ('rel="next"' in words(response)) == (number < pages)
        shown += sites_of(response.context["listing"])
    assert shown == [site for site in (*LATE, *NOW) for _ in range(count // 7)]


def test_a_page_that_is_not_there_is_the_last_one(client):
    assert "13 to 14 of 14</p>" in words(client.get("/due", {"page": 1_000_000}))


def test_the_lead_says_how_many_there_are(client):
    said = (
        "10 maintenance tasks are overdue, the longest since March 4, 2025. 4 more maintenance tasks can be done now."
    )
    assert said in words(client.get("/due"))


@pytest.mark.parametrize("listed", ["each due", "by site"])
@pytest.mark.parametrize("whose", ["technician", "both"])
@pytest.mark.parametrize(
    "day", ["2025-01-02", "2025-01-03", "2026-01-01", "2026-01-02", "2026-03-03", "2026-03-04", "2027-06-01"]
)
def test_each_state_lists_what_the_rules_say_of_each_due(client, monkeypatch, listed, whose, day):
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 50)
    on, sheet = dt.date.fromisoformat(day), care_sheet()
    dues = [due_of(row, sheet) for row in models.DueRow.objects.select_related("unit")]
    sites = dict(models.Unit.objects.values_list("pk", "system__site__name"))
    for state in State:
        found = [due for due in dues if due.state(on) is state and (whose == "both" or due.task.by == whose)]
        names = [sites[int(due.unit)] for due in found]
        expected = sorted(names if listed == "each due" else set(names))
        of = queries.due(listed, on=on)
        page = of.page(of.filters_for(listed=listed, whose=whose, state=state.value), on=on)
        assert sorted(sites_of(page)) == expected, state
        assert page.count == len(expected)
