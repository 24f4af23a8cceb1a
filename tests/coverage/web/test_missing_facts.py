"""Missing information: listed by what they open, filled in within their row, told, and undone. Asked on March 2, 2026."""

import csv
import io
from dataclasses import replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.coverage.queries import missing_facts as queries
from fleet.derived import recheck
from tests import company
from tests.pages import shown, words

pytestmark = pytest.mark.django_db


def listed(client, asked: str = "") -> list[list[object]]:
    response = client.get(f"/missing-information?{asked}")
    assert response.status_code == 200
    return shown(response.context["listing"])


@pytest.fixture
def office():
    company.on_file()
    return company.as_role("office")


def registered(serial: str, **named):
    return company.unit(serial, started_on="2021-03-10", installed_on="2021-03-09", registered_on="2021-04-01", **named)


def fill(client, fact, unit, value, asked="", **more):
    return client.post(
        f"/missing-information/fill?{asked}", {"fact": fact, "unit": unit.pk, "value": value, **more}, follow=False
    )


def test_a_row_says_what_is_missing_of_what_and_how_much_it_may_add(office):
    registered("SB-1")
    company.worked_out()
    # From March 10, 2026 to March 10, 2031 are 1,826 days.
    assert listed(office) == [
        ["Installed by a licensed installer", "SB-1", "Odile Marsh", 1, "up to 5 more years of parts"],
    ]
    assert "1 fact is not on file." in words(office.get("/missing-information"))


def test_filling_in_opens_coverage_says_so_and_is_undone(office):
    unit = registered("SB-1")
    company.worked_out()
    response = fill(office, "licensed_installer", unit, "yes")
    assert response.status_code == 302
    page = office.get(response["Location"])
    assert "Recorded. Coverage of 1 unit runs longer: parts until March 10, 2031." in words(page)
    assert listed(office) == []
    assert models.CoverageRow.objects.get(components="*", kind="parts").last_on == company.day("2031-03-10")
    assert list(recheck.differences(on=company.TODAY)) == []
    change = page.context["undo"].change
    undone = office.post(f"/missing-information/{change}/undo", follow=True)
    assert "Undone: it is listed as missing again." in words(undone)
    unit.refresh_from_db()
    assert unit.licensed_installer is None
    assert len(listed(office)) == 1
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_no_adds_nothing_and_is_missing_no_more(office):
    unit = registered("SB-1")
    company.worked_out()
    response = fill(office, "licensed_installer", unit, "no")
    assert "Recorded. No coverage changes." in words(office.get(response["Location"]))
    assert listed(office) == []


@pytest.mark.parametrize(("fact", "value"), [("licensed_installer", ""), ("licensed_installer", "perhaps")])
def test_what_cannot_be_meant_is_refused_in_its_row(fact, value, office):
    unit = registered("SB-1")
    company.worked_out()
    response = fill(office, fact, unit, value)
    assert response.status_code == 422
    assert 'class="fault"' in response.content.decode()
    assert len(listed(office)) == 1


@pytest.mark.parametrize(
    ("day", "status"), [("2026-03-02", 302), ("2026-03-03", 422), ("03/02/2024", 422), ("1949-12-31", 422)]
)
def test_a_start_is_taken_no_later_than_today_and_stays_typed(day, status, office):
    unit = company.unit("SB-1", installed_on="2021-03-09", started_on=None)
    company.worked_out()
    assert "Startup day" in [line[0] for line in listed(office)]
    response = fill(office, "started_on", unit, day)
    assert response.status_code == status
    if status == 422:
        assert f'value="{day}"' in response.content.decode()
    assert list(recheck.differences(on=company.TODAY)) == []


def test_what_somebody_else_filled_in_meanwhile_is_told_and_kept(office):
    unit = registered("SB-1")
    company.worked_out()
    fill(office, "licensed_installer", unit, "no")
    response = fill(office, "licensed_installer", unit, "yes")
    assert response.status_code == 409
    assert "Wynn Office changed this meanwhile; it is now no" in words(response)
    unit.refresh_from_db()
    assert unit.licensed_installer is False


def test_missing_serials_and_styles_come_last_and_are_filled_in(office):
    registered("SB-2")
    unit = registered("", room="Den", style="")
    company.worked_out()
    assert [(line[0], line[1]) for line in listed(office)] == [
        ("Installed by a licensed installer", "SB-2"),
        ("Installed by a licensed installer", "Den"),
        ("Serial", "Den"),
        ("Style of the head", "Den"),
    ]
    assert fill(office, "serial", unit, " - ").status_code == 422
    assert fill(office, "serial", unit, "SB-2").status_code == 422  # it is another unit's
    assert fill(office, "serial", unit, "SB-3").status_code == 302
    assert fill(office, "style", unit, "floor").status_code == 302
    unit.refresh_from_db()
    assert (unit.serial, unit.serial_key, unit.style) == ("SB-3", "sb3", "floor")
    assert list(recheck.differences(on=company.TODAY)) == []


REGION = company.MAKER | {
    "code": "northrill-2",
    "registration": {"within_days": 60, "counted_from": "installed_on", "not_required_in": [{"region": "US-FL"}]},
    "coverage": [
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["registered"]}],
        }
    ],
}


def test_a_fact_of_a_site_is_asked_once_for_all_units_there():
    company.on_file(REGION)
    office = company.as_role("office")
    units = [company.unit(f"SB-{n}", started_on="2021-03-10", installed_on="2021-03-09") for n in (1, 2, 3)]
    company.worked_out()
    assert listed(office) == [["State of the site", "Home", "Odile Marsh", 3, "up to 5 more years of parts on 3 units"]]
    site = units[0].system.site
    assert fill(office, "region", units[0], "Floridia", site=site.pk).status_code == 422
    response = fill(office, "region", units[0], "Florida", site=site.pk)
    page = words(office.get(response["Location"]))
    assert "Coverage of 3 units runs longer: parts until March 10, 2031." in page
    assert "State of the site: Florida" in page
    site.refresh_from_db()
    assert site.region == "US-FL"
    assert listed(office) == []
    assert list(recheck.differences(on=company.TODAY)) == []


YEARLY = company.MAKER | {
    "code": "northrill-3",
    "coverage": [
        {"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60, "when": ["yearly maintenance"]}]}
    ],
}


@pytest.mark.parametrize(
    ("day", "status"), [("2024-06-09", 422), ("2024-06-10", 302), ("2025-06-09", 302), ("2025-06-10", 422)]
)
def test_proof_of_maintenance_is_a_day_in_the_year_that_lacks_it_and_who(day, status):
    company.on_file(YEARLY)
    office = company.as_role("office")
    unit = company.unit("SB-1", started_on="2024-06-10", installed_on="2024-06-09")
    company.worked_out()
    assert "from June 10, 2024 to June 9, 2025" in words(office.get("/missing-information"))
    assert fill(office, "maintenance", unit, day, who="").status_code == 422
    response = fill(office, "maintenance", unit, day, who="Robin Vale")
    assert response.status_code == status
    assert list(recheck.differences(on=company.TODAY)) == []
    if status == 302:
        page = office.get(response["Location"])
        assert "Coverage of 1 unit runs longer: parts until June 10, 2029." in words(page)
        office.post(f"/missing-information/{page.context['undo'].change}/undo")
        assert not models.MaintenanceRecord.objects.exists()
        assert len(listed(office)) == 1
        assert list(recheck.differences(on=company.TODAY)) == []


def test_the_list_is_narrowed_sorted_and_handed_out_as_a_file(office):
    registered("SB-1", customer="Aldo Quist")
    registered("", customer="Brit Vane", site="Barn", room="Den")
    company.worked_out()
    assert [line[2] for line in listed(office, "text=vane")] == ["Brit Vane", "Brit Vane"]
    assert [line[0] for line in listed(office, "fact=serial")] == ["Serial"]
    assert [line[2] for line in listed(office, "sort=-customer")] == ["Brit Vane", "Brit Vane", "Aldo Quist"]
    response = office.get("/missing-information?as=csv&fact=serial")
    rows = list(csv.DictReader(io.StringIO(b"".join(response).decode("utf-8-sig"), newline="")))
    assert [(row["fact"], row["fact_of"], row["customer"], row["phone"]) for row in rows] == [
        ("Serial", "Den", "Brit Vane", "555-0100")
    ]


def test_only_whoever_filled_it_in_undoes_it_here(office):
    unit = registered("SB-1")
    company.worked_out()
    response = fill(office, "licensed_installer", unit, "yes")
    change = office.get(response["Location"]).context["undo"].change
    owner = company.as_role("owner")
    assert owner.get(response["Location"]).context["undo"] is None
    assert "Not undone." in words(owner.post(f"/missing-information/{change}/undo", follow=True))
    unit.refresh_from_db()
    assert unit.licensed_installer is True


@pytest.mark.parametrize(
    "content", [{}, {"fact": "nonsense", "unit": "1", "value": "x"}, {"fact": "region", "unit": "1", "value": "US-KY"}]
)
def test_a_form_that_no_row_has_finds_nothing(content, office):
    assert office.post("/missing-information/fill", content).status_code == 404


def test_a_technician_sees_none_of_it(office):
    assert company.as_role("technician").get("/missing-information").status_code == 403


def test_one_row_and_five_take_the_same_queries(office):
    def counted() -> int:
        with CaptureQueriesContext(connection) as found:
            assert office.get("/missing-information").status_code == 200
        return len(found)

    registered("SB-1")
    company.worked_out()
    one = counted()
    for number in range(2, 6):
        registered(f"SB-{number}", customer=f"Customer {number}")
    company.worked_out()
    assert len(listed(office)) == 5
    assert counted() == one


# -- what nobody knows


def put(client, unit, asked="", **more):
    told = {"fact": "licensed_installer", "unit": unit.pk, **more}
    return client.post(f"/missing-information/nobody-knows/set-aside?{asked}", told)


def test_what_nobody_knows_is_set_aside_in_its_row_and_brought_back_at_once(office):
    unit = registered("SB-1")
    company.worked_out()
    response = put(office, unit, "text=odile", note="The firm closed.")
    assert response["Location"].startswith("/missing-information?text=odile&aside=")
    page = words(office.get(response["Location"]))
    assert "Set aside because nobody knows it: Installed by a licensed installer, SB-1, Odile Marsh." in page
    assert '<a href="/missing-information/nobody-knows">1 fact that nobody knows</a>' in page
    assert listed(office) == []
    back = office.post(f"/missing-information/nobody-knows/{models.SetAside.objects.get().pk}/back?text=odile")
    assert back["Location"] == "/missing-information?text=odile"
    assert len(listed(office)) == 1
    assert list(recheck.differences(on=company.TODAY)) == []


def test_the_list_of_what_nobody_knows_says_who_when_and_why(office):
    unit = registered("SB-1")
    company.worked_out()
    put(office, unit, note="The firm closed.")
    response = office.get("/missing-information/nobody-knows")
    assert shown(response.context["listing"]) == [
        ["Installed by a licensed installer", "SB-1", "Odile Marsh", company.TODAY, "Wynn Office", "The firm closed."]
    ]
    assert "The coverage that depends on it stays open." in words(response)
    content = b"".join(office.get("/missing-information/nobody-knows?as=csv").streaming_content).decode()
    assert len(list(csv.reader(io.StringIO(content)))) == 2
    assert not office.get("/missing-information/nobody-knows?text=nobody").context["listing"].rows
    back = office.post(f"/missing-information/nobody-knows/{models.SetAside.objects.get().pk}/back", {"list": "1"})
    assert back["Location"] == "/missing-information/nobody-knows"
    assert "No fact is set aside." in words(office.get("/missing-information/nobody-knows"))


def test_a_reason_that_is_too_long_stays_typed(office):
    unit = registered("SB-1")
    company.worked_out()
    response = put(office, unit, note="w" * 301)
    assert response.status_code == 422
    assert "w" * 301 in words(response)
    assert "has room for 300 letters" in words(response)
    assert not models.SetAside.objects.exists()


def test_what_somebody_filled_in_meanwhile_is_not_set_aside(office):
    unit = registered("SB-1", licensed_installer=True)
    company.worked_out()
    page = words(office.get(put(office, unit)["Location"]))
    assert "Not set aside. Somebody filled it in or set it aside meanwhile" in page
    assert not models.SetAside.objects.exists()


def test_what_was_brought_back_already_is_not_there(office):
    assert office.post("/missing-information/nobody-knows/404/back").status_code == 404
    assert office.get("/missing-information?aside=404").status_code == 200


def test_one_that_was_set_aside_and_five_take_the_same_queries(office):
    def counted(number: int) -> int:
        for one in range(number):
            unit = registered(f"{number}-{one}")
            company.worked_out()
            put(office, unit)
        with CaptureQueriesContext(connection) as found:
            assert office.get("/missing-information/nobody-knows").status_code == 200
        return len(found)

    assert counted(1) == counted(5)


@pytest.mark.parametrize("narrowed", ["", "&text=Marsh"], ids=["all", "narrowed"])
def test_all_facts_are_counted_and_every_page_is_there(narrowed, office, monkeypatch):
    """Four rows: three units hang on who put them in, the third one on its serial as well."""
    monkeypatch.setattr(queries, "MISSING_FACTS", replace(queries.MISSING_FACTS, per_page=1))
    for serial in ("SB-1", "SB-2", ""):
        registered(serial, room="Den" if not serial else "")
    company.worked_out()
    pages = [office.get(f"/missing-information?page={number}{narrowed}") for number in (1, 2, 3, 4)]
    for number, page in enumerate(pages, 1):
        assert f"4{' such' if narrowed else ''} facts are not on file." in words(page)
        assert f"{number} to {number} of 4</p>" in words(page)
        assert f"Page {number} of 4</span>" in words(page)
    assert [tuple(cell.value for cell in page.context["listing"].rows[0].cells[:2]) for page in pages] == [
        ("Installed by a licensed installer", "SB-1"),
        ("Installed by a licensed installer", "SB-2"),
        ("Installed by a licensed installer", "Den"),
        ("Serial", "Den"),
    ]
    assert "4 facts that coverage depends on are not on file." in words(office.get("/on-our-desk"))


def test_a_page_has_twenty_rows_since_each_has_two_forms(office):
    for number in range(26):
        registered(f"SB-{number}")
    company.worked_out()
    first, second = (office.get(f"/missing-information?page={number}") for number in (1, 2))
    assert [len(page.context["listing"].rows) for page in (first, second)] == [20, 6]
    assert "1 to 20 of 26</p>" in words(first)
    assert first.content.count(b'class="fill"') == 40
