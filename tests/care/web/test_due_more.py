"""What is due on several pages: the list and its lead count all of it, and every page is there."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.care.actions import bookings, care_sheets
from fleet.care.facts.bookings import not_booked
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


SUMS = ("dues", "late", "first_on", "minutes", "price")


@pytest.mark.parametrize("sort", [*SUMS, "site", "customer"])
@pytest.mark.parametrize("narrowed", [{}, {"task": "coil"}, {"text": "S-"}, {"whose": "both"}], ids=str)
def test_sites_stand_in_the_order_of_what_is_shown_of_them(client, monkeypatch, sort, narrowed):
    """A site is ranked by its sums before they are added up for those that are shown: both must say the same."""
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 50)
    for number, site in enumerate(("Ash", "Ash", "Elm", "Gum", "Gum", "Gum")):
        company.unit(
            f"L-{number}", room=f"Loft {number}", started_on="2025-02-01", installed_on="2025-02-01", site=site
        )
    company.worked_out()
    home = models.Site.objects.get(name="Elm")
    bookings.book(home.pk, [(home.dues.first().unit_id, "coil")], day=company.TODAY, by=None, on=company.TODAY)
    of = queries.due("by site", on=company.TODAY)
    place = [column.name for column in of.columns].index(sort)
    found = {}
    for way in (sort, f"-{sort}"):
        page = of.page(of.filters_for(listed="by site", sort=way, **narrowed), on=company.TODAY)
        found[way] = [row.cells[place].value or 0 for row in page.rows]
        assert page.count == len(page.rows) == 7
    assert found[sort] == sorted(found[sort])
    assert found[f"-{sort}"] == sorted(found[sort], reverse=True)


def test_the_sums_of_a_site_are_those_of_its_dues_by_task(client, monkeypatch):
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 50)
    by_site, by_task = (
        [row.of for row in of.page(of.filters_for(listed=listed, whose="both"), on=company.TODAY).rows]
        for listed in ("by site", "by task")
        if (of := queries.due(listed, on=company.TODAY))
    )
    for name in ("dues", "late", "total_minutes", "total_price"):
        assert sum(row[name] for row in by_site) == sum(row[name] for row in by_task) > 0
    assert min(row["first_on"] for row in by_site) == min(row["first_on"] for row in by_task)


def test_a_due_booked_for_two_days_is_left_out_once(client):
    site = models.Site.objects.get(name="Ash")
    unit, dues = site.dues.first().unit_id, models.DueRow.objects.filter(by="technician")
    assert not_booked(dues, on=company.TODAY) == 14
    for day, state in (("2026-03-02", "booked"), ("2026-03-03", "booked"), ("2026-03-04", "called off")):
        visit = models.Booking.objects.create(site=site, on=company.day(day), state=state, minutes=20, price=0)
        visit.tasks.create(unit_id=unit, task="coil" if state == "booked" else "check")
    counts = [not_booked(dues, on=company.day(day)) for day in ("2026-03-02", "2026-03-03", "2026-03-04")]
    assert counts == [13, 13, 14]


def plans(work) -> list[str]:
    """How SQLite would answer each query that reads what is kept of dues, without the rows of any table."""
    with CaptureQueriesContext(connection) as asked:
        work()
    read = [query["sql"] for query in asked if "fleet_duerow" in query["sql"]]
    with connection.cursor() as cursor:
        return [
            " / ".join(step[3] for step in cursor.execute(f"EXPLAIN QUERY PLAN {query}").fetchall()) for query in read
        ]


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL chooses by the size of the table")
@pytest.mark.parametrize(
    ("address", "by_index"),
    # On our desk one question counts what closes soon and what is overdue, and reads the first few dues in the order in which they close.
    [("/due", 3), ("/due?listed=by+site", 3), ("/on-our-desk", 1)],
)
def test_what_grows_with_a_fleet_is_counted_by_an_index_alone(client, address, by_index):
    client.get(address)
    counts = plans(lambda: client.get(address))
    scanned = [plan for plan in counts if "SEARCH fleet_duerow USING INDEX due_by_lateness" in plan]
    # Only the one due that has been late longest is looked for in that order, and the first is enough.
    assert len(scanned) <= 1
    assert sum("COVERING INDEX" in plan for plan in counts) >= by_index
