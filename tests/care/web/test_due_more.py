"""What is due in a fleet too large to count: the list and its lead say that there is more, and every page is there."""

import datetime as dt

import pytest

from fleet import models
from fleet.care.actions import care
from fleet.care.pages import due as pages
from fleet.care.queries import due as queries
from fleet.care.queries import due_lead
from fleet.facts.care import care_sheet, due_of
from fleet.rules.care import State
from tests import company
from tests.care.web.test_due import SHEET, words

pytestmark = pytest.mark.django_db

# Seven sites with two dues of ours each: five have been late since 4 March 2025, two may be done now.
LATE, NOW = ("Ash", "Birch", "Cedar", "Dogwood", "Elm"), ("Fir", "Gum")


@pytest.fixture
def client(monkeypatch):
    for sites, day in ((LATE, "2024-02-01"), (NOW, "2025-02-01")):
        for site in sites:
            company.unit(f"S-{site}", room="Loft", started_on=day, installed_on=day, site=site)
    care.load_table(SHEET, on=company.TODAY)
    monkeypatch.setattr(queries, "PER_PAGE", 2)
    monkeypatch.setattr("fleet.elements.lists.PER_PAGE", 2)
    return company.as_role("office")


def sites_of(response) -> list[object]:
    page = response.context["page"]
    place = [column.name for column in page.listing.shown].index("site")
    return [line[place][1].value for line in page.listing.lines]


@pytest.mark.parametrize(
    ("listed", "most", "said"),
    [
        pytest.param("each due", 13, ("of more than 13", "of more than 7"), id="one due more"),
        pytest.param("each due", 14, ("of 14", "of 7"), id="as many dues"),
        pytest.param("by site", 6, ("of more than 6", "of more than 3"), id="one site more"),
        pytest.param("by site", 7, ("of 7", "of 4"), id="as many sites"),
    ],
)
@pytest.mark.parametrize("narrowed", ["", "&text=S-"], ids=["all", "narrowed"])
def test_what_was_not_counted_is_told_as_more(client, monkeypatch, listed, most, said, narrowed):
    monkeypatch.setitem(queries.MOST, listed, most)
    page = words(client.get("/due", {"listed": listed} | ({"text": "S-"} if narrowed else {})))
    assert f"1 to 2 {said[0]}</p>" in page
    assert f"Page 1 {said[1]}</span>" in page
    assert 'rel="next"' in page


@pytest.mark.parametrize("narrowed", [{}, {"text": "S-"}], ids=["all", "narrowed"])
def test_each_page_beyond_what_was_counted_is_there_and_the_last_knows_that_it_is(client, monkeypatch, narrowed):
    monkeypatch.setitem(queries.MOST, "by site", 2)
    shown, number = [], 1
    while number is not None:
        response = client.get("/due", {"listed": "by site", "page": number} | narrowed)
        shown += sites_of(response)
        number = response.context["page"].listing.after
    assert shown == [*LATE, *NOW]
    assert "7 to 7 of 7</p>" in words(response)
    assert "Page 4 of 4</span>" in words(response)


def test_a_page_that_is_not_there_is_the_last_one(client, monkeypatch):
    monkeypatch.setitem(queries.MOST, "each due", 2)
    response = client.get("/due", {"page": 1_000_000})
    assert "13 to 14 of 14</p>" in words(response)


@pytest.mark.parametrize(
    ("most", "said"),
    [
        pytest.param(
            3,
            "More than 3 dues of ours are late, the longest since 4 March 2025. More than 3 dues besides may be done now.",
            id="more of both",
        ),
        pytest.param(
            4,
            "More than 4 dues of ours are late, the longest since 4 March 2025. 4 dues more may be done now.",
            id="more that is late",
        ),
        pytest.param(
            10,
            "10 dues of ours are late, the longest since 4 March 2025. 4 dues more may be done now.",
            id="all counted",
        ),
    ],
)
def test_the_lead_says_how_many_at_least(client, monkeypatch, most, said):
    monkeypatch.setattr(due_lead, "MOST", most)
    assert said in words(client.get("/due"))


@pytest.mark.parametrize("listed", ["each due", "by site"])
@pytest.mark.parametrize("whose", ["technician", "both"])
@pytest.mark.parametrize(
    "day", ["2025-01-02", "2025-01-03", "2026-01-01", "2026-01-02", "2026-03-03", "2026-03-04", "2027-06-01"]
)
def test_each_state_lists_what_the_rules_say_of_each_due(client, monkeypatch, listed, whose, day):
    """The list is narrowed by more than the state asks for, so that an index serves; nothing may be missing for it."""
    monkeypatch.setattr(queries, "PER_PAGE", 50)
    on, sheet = dt.date.fromisoformat(day), care_sheet()
    dues = [due_of(row, sheet) for row in models.DueRow.objects.select_related("unit")]
    sites = dict(models.Unit.objects.values_list("pk", "system__site__name"))
    for state in State:
        found = [due for due in dues if due.state(on) is state and (whose == "both" or due.task.by == whose)]
        names = [sites[int(due.unit)] for due in found]
        expected = sorted(names if listed == "each due" else set(names))
        page = queries.page(pages.Asked(listed=listed, whose=whose, state=state.value), sort="", number=1, on=on)
        place = [column.name for column in page.listing.columns].index("site")
        assert sorted(row[place].value for row in page.listing.rows) == expected, state
        assert page.listing.count == len(expected)
