"""A day or the manufacturer put right for a whole system at once."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import recheck
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
ROOMS = ("Den", "Hall", "Loft")


@pytest.fixture
def system() -> models.System:
    company.on_file(company.MAKER, company.OURS)
    for number, room in enumerate(ROOMS):
        company.unit(f"SB-100{number}", room=room, started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return models.System.objects.get()


@pytest.fixture
def office():
    return company.as_role("office")


def shown(client, system: models.System) -> dict[str, object]:
    """What the form shows, as a browser would send it back untouched."""
    form = client.get(f"/systems/{system.pk}/correct").context["form"]
    return {bound.html_name: bound.value() or "" for bound in form}


def started() -> dict[str, dt.date | None]:
    return dict(models.Unit.objects.order_by("pk").values_list("room", "started_on"))


def clean() -> bool:
    return not list(recheck.differences(on=company.TODAY))


def test_a_day_is_put_right_for_all_of_them_and_the_coverage_follows(system, office):
    before = set(models.CoverageRow.objects.values_list("last_on", flat=True))
    sent = shown(office, system) | {"started_on": "2021-04-10", "why": "invoice found"}
    response = office.post(f"/systems/{system.pk}/correct", sent)
    assert response["Location"] == f"/sites/{system.site_id}"
    assert set(started().values()) == {company.day("2021-04-10")}
    assert {unit.installed_on for unit in models.Unit.objects.all()} == {company.day("2021-03-09")}
    changes = models.Change.objects.filter(field="started_on", why="invoice found", by__username="office")
    assert changes.count() == 3
    assert set(models.CoverageRow.objects.values_list("last_on", flat=True)) != before
    assert clean()


@pytest.mark.parametrize("was", ["[" * 5000, "[1]", "{", '{"1": 2}'])
def test_of_what_the_form_did_not_carry_nothing_was_seen(was, system, office):
    sent = shown(office, system) | {"started_on": "2021-04-10", "why": "invoice found", "was": was}
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 409
    assert set(started().values()) == {company.day("2021-03-10")}


def test_only_those_that_are_chosen(system, office):
    hall = models.Unit.objects.get(room="Hall")
    sent = shown(office, system) | {"units": [hall.pk], "started_on": "2021-04-10"}
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 302
    assert started() == {
        "Den": company.day("2021-03-10"),
        "Hall": company.day("2021-04-10"),
        "Loft": company.day("2021-03-10"),
    }
    page = words(office.get(f"/systems/{system.pk}/correct"))
    assert "Now: March 10, 2021 (Den, SB-1000, Loft, SB-1002); April 10, 2021 (Hall, SB-1001)." in page


def test_the_manufacturer_of_all_of_them(system, office):
    sent = shown(office, system) | {"maker": "Halvik"}
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 302
    assert set(models.Unit.objects.values_list("maker", "maker_key")) == {("Halvik", "halvik")}
    assert clean()


def test_what_somebody_else_changed_meanwhile_is_said_and_nothing_is_half_done(system, office):
    sent = shown(office, system) | {"started_on": "2021-04-10"}
    hall = models.Unit.objects.get(room="Hall")
    owner = company.as_role("owner")
    alone = {bound.html_name: bound.value() or "" for bound in owner.get(f"/units/{hall.pk}/correct").context["form"]}
    owner.post(f"/units/{hall.pk}/correct", alone | {"started_on": "2021-05-01"})
    response = office.post(f"/systems/{system.pk}/correct", sent)
    assert response.status_code == 409
    assert "Hall: Wynn Owner changed this meanwhile; it is now May 1, 2021." in words(response)
    assert started()["Den"] == company.day("2021-03-10")
    again = {bound.html_name: bound.value() or "" for bound in response.context["form"]}
    assert again["started_on"] == "2021-04-10"
    assert office.post(f"/systems/{system.pk}/correct", again).status_code == 302
    assert set(started().values()) == {company.day("2021-04-10")}
    assert clean()


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({}, "Enter the manufacturer or the day that is right."),
        ({"units": [], "started_on": "2021-04-10"}, "Choose at least one unit."),
        ({"units": ["999999"], "started_on": "2021-04-10"}, "Select a valid choice."),
        ({"started_on": "2021-02-31"}, "Enter "),
        ({"started_on": "2999-01-01"}, "Enter "),
        ({"started_on": "2021-03-01"}, "Started on March 1, 2021, before it was installed on March 9, 2021."),
        ({"maker": "Northril"}, "Northrill"),
    ],
)
def test_what_cannot_be_or_is_odd_is_said_at_its_field_and_nothing_is_lost(system, office, wrong, why):
    response = office.post(f"/systems/{system.pk}/correct", shown(office, system) | {"why": "asked"} | wrong)
    assert response.status_code == 422
    assert why in words(response)
    assert response.context["form"]["why"].value() == "asked"
    assert set(started().values()) == {company.day("2021-03-10")}


def test_what_is_odd_is_taken_once_it_is_confirmed(system, office):
    sent = shown(office, system) | {"started_on": "2021-03-01"}
    asked = office.post(f"/systems/{system.pk}/correct", sent).context["form"].ticks
    assert len(asked) == 1
    response = office.post(f"/systems/{system.pk}/correct", sent | {"sure": asked[0]["value"]})
    assert response.status_code == 302
    assert set(started().values()) == {company.day("2021-03-01")}
    assert clean()


@pytest.mark.parametrize("was", ["", "[]", "{", '{"1": 2}', "null", '{"x": {"started_on": [1]}}'])
def test_a_form_that_was_tampered_with_writes_over_nothing(system, office, was):
    sent = shown(office, system) | {"started_on": "2021-04-10", "was": was}
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 409
    assert set(started().values()) == {company.day("2021-03-10")}


def test_a_unit_that_left_meanwhile_is_not_corrected(system, office):
    sent = shown(office, system) | {"started_on": "2021-04-10"}
    models.Unit.objects.filter(room="Loft").update(removed_on=company.TODAY, removal_reason="removed")
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 422
    assert set(started().values()) == {company.day("2021-03-10")}


def test_of_a_unit_that_took_over_the_first_of_its_line_is_corrected(system, office):
    den = models.Unit.objects.get(room="Den")
    models.Unit.objects.filter(pk=den.pk).update(removed_on=company.day("2025-01-05"), removal_reason="exchanged")
    new = models.Unit.objects.create(
        system=system, role="head", room="Den", maker=den.maker, model=den.model, serial="SB-2000",
        maker_key=den.maker_key, model_key=den.model_key, serial_key="sb2000", took_over_from=den, replaced_on=company.day("2025-01-05"),
    )  # fmt: skip
    sent = shown(office, system) | {"units": [new.pk], "started_on": "2021-04-10"}
    assert office.post(f"/systems/{system.pk}/correct", sent).status_code == 302
    den.refresh_from_db()
    new.refresh_from_db()
    assert (den.started_on, new.started_on) == (company.day("2021-04-10"), None)


def test_one_unit_and_many_ask_the_same_queries(system, office):
    counts = []
    for more in range(2):
        with CaptureQueriesContext(connection) as found:
            assert office.get(f"/systems/{system.pk}/correct").status_code == 200
        counts.append(len(found))
        for number in range(4 * (1 - more)):
            company.unit(f"SB-300{number}", room=f"Room {number}")
    assert counts[0] == counts[1] <= 12


def test_a_system_that_is_not_there_or_is_empty_and_who_may(system, office):
    assert office.get("/systems/999/correct").status_code == 404
    assert company.as_role("technician").get(f"/systems/{system.pk}/correct").status_code == 403
    assert "Correct a day or manufacturer" in words(office.get(f"/sites/{system.site_id}"))
    assert "Correct a day or manufacturer" not in words(company.as_role("technician").get(f"/sites/{system.site_id}"))
    models.Unit.objects.update(removed_on=company.TODAY, removal_reason="removed")
    assert office.get(f"/systems/{system.pk}/correct").status_code == 404
