"""The pages of a site and of a customer: sentences first, then each system with its units."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.care.actions import care_sheets
from fleet.front.queries import sites
from tests import company
from tests.caring import entry
from tests.company import day

pytestmark = pytest.mark.django_db

TODAY = dt.date(2026, 3, 2)


@pytest.fixture(autouse=True)
def terms_on_file():
    company.on_file()


def started(serial, **named):
    return company.unit(serial, **{"started_on": "2025-03-10", "installed_on": "2025-03-09", **named})


def page(unit):
    found = sites.page(unit.system.site_id, on=TODAY)
    assert found is not None
    return found


def test_no_site_and_no_customer_have_no_page():
    assert sites.page(404, on=TODAY) is None
    assert sites.customer_page(404, on=TODAY) is None


def test_sentences_come_first():
    started("SB-1", room="Den", licensed_installer=True, registered_on="2025-04-01")
    unit = started("SB-2", room="Loft", started_on="2024-06-01", installed_on="2026-02-01")
    gone = started("SB-3", room="Old room", removed_on="2025-06-01", removal_reason="removed")
    assert page(unit).sentences == (
        "1 system, 2 units.",
        "The next coverage to end: labor on Loft, June 1, 2026.",
        "1 registration is to do, by April 2, 2026.",
    )
    assert gone.serial not in str(page(unit).sentences)


def test_nothing_covered_is_a_sentence_too():
    unit = started("SB-1", started_on="2010-01-01", installed_on="2010-01-01")
    assert page(unit).sentences == ("1 system, 1 unit.", "Nothing here is covered to a known last day.")


def test_a_site_without_equipment_says_so():
    customer = models.Customer.objects.create(name="Ida Farrow")
    site = models.Site.objects.create(customer=customer, name="Barn")
    assert sites.page(site.pk, on=TODAY).sentences == ("No systems, no units.",)


def test_each_unit_stands_with_what_is_covered_what_is_open_and_its_registration():
    unit = started("SB-1", room="Den", installed_on="2026-02-01", started_on="2026-02-01")
    (system,) = page(unit).systems
    (row,) = system.units
    assert (system.name, row.what, row.room, row.started) == ("Whole house", "wall head", "Den", dt.date(2026, 2, 1))
    assert row.parts == ("until Feb 1, 2031, possibly Feb 1, 2036",)
    assert row.labor == ("until Feb 1, 2028",)
    assert [(one.state, one.words) for one in row.registration] == [("to do", "to do by April 2, 2026")]
    assert row.open == ()


def test_what_is_open_is_told_once():
    paper = company.MAKER | {
        "code": "brill-1",
        "maker": "Brill",
        "starts": [{"from": "started_on"}, {"from": "installed_on", "assumed": True}],
    }
    company.on_file(paper)
    unit = company.unit("SB-1", maker="Brill", installed_on="2025-03-09")
    (row,) = page(unit).systems[0].units
    assert row.open == (
        "Find proof of when it started: we assume March 9, 2025, going by the day it was installed.",
        "Find the startup day.",
    )


@pytest.mark.parametrize(
    ("named", "words"),
    [
        pytest.param({"registered_on": "2025-05-08"}, "sent May 8, 2025", id="on the limit"),
        pytest.param({"registered_on": "2025-05-09"}, "missed; the deadline was May 8, 2025", id="the day after"),
        pytest.param(
            {"registered_on": "2025-05-08", "registration_number": "N-7"}, "confirmed May 8, 2025", id="with a number"
        ),
        pytest.param({}, "missed; the deadline was May 8, 2025", id="never"),
        pytest.param({"installed_on": None}, "waiting for a date", id="no date to count from"),
    ],
)
def test_a_registration_in_a_few_words(named, words):
    (row,) = page(started("SB-1", **named)).systems[0].units
    assert [one.words for one in row.registration] == [words]


def test_a_unit_that_is_gone_stands_last_and_promises_nothing():
    unit = started("SB-1", room="Room 10")
    started("SB-2", room="Attic", removed_on="2025-06-01", removal_reason="removed")
    started("SB-3", room="Room 9")
    started("SB-4", room="Yard", role="outdoor", style="")
    rows = page(unit).systems[0].units
    assert [row.room for row in rows] == ["Yard", "Room 9", "Room 10", "Attic"]
    assert (rows[-1].gone, rows[-1].parts, rows[-1].registration) == ("taken out on June 1, 2025", (), ())


def test_sales_stand_with_who_was_told_before_the_next():
    unit = started("SB-1")
    site = unit.system.site
    for sold_on in ("2025-04-01", "2025-08-01"):
        models.Sale.objects.create(site=site, sold_on=day(sold_on))
    maker = models.Terms.objects.get(code="northrill-1")
    models.Notice.objects.create(unit=unit, terms=maker, notified_on=day("2025-07-31"))
    models.Notice.objects.create(unit=started("SB-2"), terms=maker, notified_on=day("2025-07-31"))
    assert [
        (str(sold.day), [(str(told.day), told.whose, told.units) for told in sold.told]) for sold in page(unit).sales
    ] == [("2025-08-01", []), ("2025-04-01", [("2025-07-31", "Ductless statement", 2)])]


def test_the_use_is_the_one_of_today():
    unit = started("SB-1")
    site = unit.system.site
    models.SiteUse.objects.create(site=site, use="owner home")
    models.SiteUse.objects.create(site=site, use="rental", from_on=day("2026-03-02"))
    models.SiteUse.objects.create(site=site, use="business", from_on=day("2026-03-03"))
    assert [(fact.name, fact.value) for fact in page(unit).facts] == [("Use", "rental, since March 2, 2026")]


def test_a_customer_has_every_site_with_what_is_in_service_there():
    unit = started("SB-1")
    started("SB-2", removed_on="2025-06-01", removal_reason="removed")
    started("SB-3", site="Cottage")
    models.Site.objects.create(customer=unit.system.site.customer, name="Empty lot")
    found = sites.customer_page(unit.system.site.customer_id, on=TODAY)
    assert found.sentence == "3 sites, 2 units in service."
    assert [(row.name, row.systems, row.units) for row in found.sites] == [
        ("Cottage", 1, 1), ("Empty lot", 0, 0), ("Home", 1, 1),
    ]  # fmt: skip


def test_a_page_asks_as_many_queries_with_five_units_as_with_one():
    unit = started("SB-1", registered_on="2025-04-01")
    page(unit)
    with CaptureQueriesContext(connection) as one:
        page(unit)
    for number in range(2, 6):
        models.Failure.objects.create(
            unit=started(f"SB-{number}", site="Home"), component="sensor", failed_on=day("2025-07-01")
        )
    with CaptureQueriesContext(connection) as five:
        page(unit)
    assert len(five) == len(one) <= 20


def test_the_whole_page_asks_thirty_queries_at_most():
    unit = started("SB-1", room="Den", registered_on="2025-04-01")
    care_sheets.load_table({"code": "ours-1", "task": [entry("coil", checked_on=TODAY, not_months=[12, 1])]}, on=TODAY)
    client, address = company.as_role("office"), f"/sites/{unit.system.site_id}"
    client.get(address)
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    assert len(asked) <= 30
    tables = [query["sql"].split('FROM "', 1)[-1].split('"')[0] for query in asked]
    assert "fleet_closedday" not in tables, "nothing is counted on"
    for once in ("fleet_caresheet", "fleet_siteuse", "fleet_sale", "fleet_writeup"):
        assert tables.count(once) == 1, once
