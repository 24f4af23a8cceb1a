"""Coverage that ends soon. Asked on March 2, 2026; a unit started on day D five years before is covered until that day."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.elements.listing import PER_PAGE
from tests import company
from tests.pages import shown, words

pytestmark = pytest.mark.django_db


def listed(client, asked: str = "") -> list[list[object]]:
    response = client.get(f"/coverage-ending?{asked}")
    assert response.status_code == 200
    return shown(response.context["listing"])


def serials(client, asked: str = "") -> list[object]:
    return [line[0] for line in listed(client, asked)]


@pytest.fixture
def owner():
    company.on_file()
    return company.as_role("owner")


@pytest.mark.parametrize(
    ("started_on", "days", "there"),
    [
        pytest.param("2021-03-01", 30, False, id="ended yesterday"),
        pytest.param("2021-03-02", 30, True, id="ends today"),
        pytest.param("2021-04-01", 30, True, id="in 30 days"),
        pytest.param("2021-04-02", 30, False, id="in 31 days"),
        pytest.param("2021-04-02", 90, True, id="in 31 days, of 90"),
        pytest.param("2021-05-31", 90, True, id="in 90 days"),
        pytest.param("2021-06-01", 90, False, id="in 91 days"),
        pytest.param("2021-08-29", 180, True, id="in 180 days"),
        pytest.param("2021-08-30", 180, False, id="in 181 days"),
        pytest.param("2022-03-01", 365, True, id="on the last day of a year from today"),
        pytest.param("2022-03-02", 365, False, id="on the day that begins the next"),
    ],
)
def test_what_ends_in_the_days_asked_for(started_on, days, there, owner):
    company.unit("SB-1", started_on=started_on, installed_on=started_on)
    company.worked_out()
    assert serials(owner, f"days={days}") == (["SB-1"] if there else [])


def test_a_row_says_which_where_what_who_and_until_when(owner):
    company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    assert listed(owner) == [
        ["SB-1", "Odile Marsh", "Home", "parts", "all other components", "maker", company.day("2026-03-10"), 8, "no"]
    ]


def test_a_row_says_what_more_hangs_on(owner):
    company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09", registered_on="2021-04-01")
    company.worked_out()
    assert listed(owner)[0][-1] == "Until March 10, 2031 if it was installed by a licensed installer."


def test_what_already_runs_longer_does_not_end(owner):
    company.unit(
        "SB-1",
        started_on="2021-03-10",
        installed_on="2021-03-09",
        registered_on="2021-04-01",
        licensed_installer=True,
    )
    company.worked_out()
    assert serials(owner, "days=365") == []


def test_what_matters_stands_in_a_sentence(owner):
    for number, started in enumerate(["2021-03-20", "2021-03-12", "2021-06-01"]):
        company.unit(f"SB-{number}", started_on=started, installed_on=started)
    company.worked_out()
    assert "2 coverages end in the next 30 days, the first on March 12, 2026." in words(owner.get("/coverage-ending"))
    narrowed = words(owner.get("/coverage-ending?text=SB-0"))
    assert "1 coverage that matches ends in the next 30 days, on March 20, 2026." in narrowed


@pytest.mark.parametrize("narrowed", ["", "&text=SB-"], ids=["all", "narrowed"])
def test_everything_is_counted_and_every_page_is_there(narrowed, owner, monkeypatch):
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 1)
    for number, started in enumerate(["2021-03-20", "2021-03-12", "2021-03-16"]):
        company.unit(f"SB-{number}", started_on=started, installed_on=started)
    company.worked_out()
    such = " that match" if narrowed else ""
    pages = [owner.get(f"/coverage-ending?page={number}{narrowed}") for number in (1, 2, 3)]
    for number, page in enumerate(pages, 1):
        assert f"3 coverages{such} end in the next 30 days, the first on March 12, 2026." in words(page)
        assert f"{number} to {number} of 3</p>" in words(page)
        assert f"Page {number} of 3</span>" in words(page)
    assert [page.context["listing"].rows[0].cells[0].value for page in pages] == ["SB-1", "SB-2", "SB-0"]


def test_an_empty_page_says_what_will_stand_there(owner):
    assert "No coverage is on file yet." in words(owner.get("/coverage-ending"))
    company.unit("SB-1", started_on="2024-06-10", installed_on="2024-06-09")
    company.worked_out()
    assert "No coverage ends in the next 30 days. Look further ahead above." in words(owner.get("/coverage-ending"))
    assert "No coverage that matches ends" in words(owner.get("/coverage-ending?payer=maker"))


@pytest.fixture
def three(owner):
    company.unit("SB-1002", started_on="2021-03-20", installed_on="2021-03-19", customer="Aldo Quist", model="NH-12")
    company.unit("TC-2001", started_on="2021-03-12", installed_on="2021-03-11", site="Barn", customer="Brit Sørby")
    company.unit("UD-3000", started_on="2024-03-15", installed_on="2024-03-14", customer="Cato Wren", maker="Othermark")
    company.worked_out()
    return owner


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("", ["TC-2001", "UD-3000", "SB-1002"]),
        ("sort=-last_day", ["SB-1002", "UD-3000", "TC-2001"]),
        ("sort=customer", ["SB-1002", "TC-2001", "UD-3000"]),
        ("sort=-serial", ["UD-3000", "TC-2001", "SB-1002"]),
        ("sort=payer", ["UD-3000", "TC-2001", "SB-1002"]),
        ("sort=nonsense", ["TC-2001", "UD-3000", "SB-1002"]),
        ("payer=maker", ["TC-2001", "SB-1002"]),
        ("payer=installer", ["UD-3000"]),
        ("kind=labor", ["UD-3000"]),
        ("maker=Northrill", ["TC-2001", "SB-1002"]),
        ("text=sb 1002", ["SB-1002"]),
        ("text=nh12", ["SB-1002"]),
        ("text=barn", ["TC-2001"]),
        ("text=wren", ["UD-3000"]),
        ("text=-", []),
        ("payer=maker&text=quist", ["SB-1002"]),
    ],
)
def test_the_list_can_be_narrowed_and_sorted(asked, found, three):
    assert serials(three, asked) == found


@pytest.mark.parametrize(
    "asked", ["days=31", "days=x", "payer=nobody", "page=0", "page=x", "page=99", "maker=Nobody's"]
)
def test_what_cannot_be_meant_still_shows_the_list(asked, three):
    assert serials(three, asked) == ["TC-2001", "UD-3000", "SB-1002"]


def test_the_form_says_what_could_not_be_meant(three):
    assert "Select a valid choice. 31 is not one of the available choices." in words(
        three.get("/coverage-ending?days=31")
    )


def test_more_than_a_page_goes_on_on_the_next_one(owner):
    for number in range(PER_PAGE + 2):
        company.unit(f"SB-{number:03}", started_on="2021-03-10", installed_on="2021-03-09", site=f"Site {number:03}")
    company.worked_out()
    first, second = serials(owner), serials(owner, "page=2")
    assert (len(first), len(second)) == (PER_PAGE, 2)
    assert len({*first, *second}) == PER_PAGE + 2
    page = words(owner.get("/coverage-ending?payer=maker"))
    assert "1 to 50 of 52" in page
    assert 'href="?payer=maker&amp;page=2"' in page


def test_a_file_has_every_row_narrowed_and_sorted_as_shown(three):
    response = three.get("/coverage-ending?as=csv&payer=maker&sort=customer")
    assert response["Content-Disposition"] == 'attachment; filename="coverage-ending-2026-03-02.csv"'
    rows = list(csv.DictReader(io.StringIO(b"".join(response).decode("utf-8-sig"), newline="")))
    assert [row["serial"] for row in rows] == ["SB-1002", "TC-2001"]
    assert rows[0] == {
        "serial": "SB-1002",
        "maker": "Northrill",
        "model": "NH-12",
        "room": "",
        "customer": "Aldo Quist",
        "site": "Home",
        "phone": "555-0100",
        "pays_for": "parts",
        "components": "all other components",
        "payer": "maker",
        "terms": "northrill-1",
        "last_day": "2026-03-20",
        "days_left": "18",
        "possible_last_day": "",
        "hangs_on": "no",
    }


def test_a_file_is_for_the_roles_that_may_see_the_list(three):
    assert company.as_role("technician").get("/coverage-ending?as=csv").status_code == 403


def counted(client, address: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as found:
        assert client.get(address).status_code == 200
    return len(found)


def test_one_row_and_five_take_the_same_queries(owner):
    company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09", registered_on="2021-04-01")
    company.worked_out()
    one = counted(owner, "/coverage-ending")
    for number in range(2, 6):
        company.unit(
            f"SB-{number}",
            started_on="2021-03-10",
            installed_on="2021-03-09",
            registered_on="2021-04-01",
            customer=f"Customer {number}",
        )
    company.worked_out()
    assert len(serials(owner)) == 5
    assert counted(owner, "/coverage-ending") == one


def test_the_list_itself_is_one_query(three):
    with CaptureQueriesContext(connection) as found:
        three.get("/coverage-ending")
    reads = [query["sql"] for query in found if "fleet_coveragerow" in query["sql"]]
    assert len(reads) == 3  # how many, the first day, and the rows with all that they show
    assert models.CoverageRow.objects.count() > 3
