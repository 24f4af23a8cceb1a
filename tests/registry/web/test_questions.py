"""What is odd of a unit is said and confirmed, not swallowed: at a new install, a correction and an exchange alike."""

import re

import pytest

from fleet import models
from tests import company
from tests.claims.web.test_failures import sent as failure_form
from tests.pages import words
from tests.registry.web.test_editing import seen
from tests.registry.web.test_new_install import HEAD, OUTDOOR, nothing_came, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit(
        "SB-1002",
        room="Den",
        purchased_on="2021-03-05",
        installed_on="2021-03-09",
        started_on="2021-03-10",
        registered_on="2021-03-20",
    )
    company.unit("SB-1003", room="Loft", started_on="2021-03-10")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def sure(form) -> list[str]:
    return [one["value"] for one in form.ticks]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"started_on": "2021-03-08"}, "Started on March 8, 2021, before it was installed on March 9, 2021."),
        ({"installed_on": "2021-03-04"}, "Installed on March 4, 2021, before it was purchased on March 5, 2021."),
        ({"purchased_on": "2021-03-21"}, "Registered on March 20, 2021, before it was purchased on March 21, 2021."),
        ({"maker": "Northril"}, "Northrill is on file, which is one letter from Northril."),
        ({"model": "NJ-9"}, "Northrill NH-9 is on file, which is one letter from NJ-9."),
        ({"serial": "5B-1OO3"}, "A serial that looks like this one is on file: SB-1003"),
        ({"room": "loft"}, "This system already has a head in loft."),
    ],
)
def test_a_correction_that_makes_something_odd_is_confirmed_first(unit, office, change, said):
    address = f"/units/{unit.pk}/correct"
    typed = seen(office, address) | change | {"notes": "kept"}
    asked = office.post(address, typed)
    assert asked.status_code == 422
    assert said in words(asked)
    assert 'name="sure"' in asked.content.decode()
    unit.refresh_from_db()
    ((name, value),) = change.items()
    assert str(getattr(unit, name)) != value
    form = asked.context["form"]
    assert (form[name].value(), form["notes"].value()) == (value, "kept")
    assert office.post(address, typed | {"sure": sure(form)}).status_code == 302
    unit.refresh_from_db()
    assert (str(getattr(unit, name)), unit.notes) == (value, "kept")
    # What is odd already is not asked again where something else is corrected.
    assert office.post(address, seen(office, address) | {"notes": "more"}).status_code == 302


def test_a_tick_holds_for_what_it_was_set_for_alone(unit, office):
    address = f"/units/{unit.pk}/correct"
    typed = seen(office, address) | {"started_on": "2021-03-08"}
    ticked = sure(office.post(address, typed).context["form"])
    assert office.post(address, typed | {"started_on": "2021-03-07", "sure": ticked}).status_code == 422


def test_a_new_install_asks_back_and_takes_it_once_confirmed(unit, office):
    head = {**HEAD, "maker": "Northril"}
    typed = sent(OUTDOOR, head, {**HEAD, "serial": "NW-30377"}, started_on="2026-02-19")
    asked = office.post("/new-install", typed)
    assert asked.status_code == 422
    page = words(asked)
    assert "Started on February 19, 2026, before it was installed on February 20, 2026." in page
    assert "Northrill is on file, which is one letter from Northril." in page
    assert "This system already has a head in Den." in page
    assert nothing_came()
    form = asked.context["form"]
    confirmed = {"sure": sure(form.install)} | {f"unit-{at}-sure": sure(one) for at, one in enumerate(form.units.forms)}
    assert office.post("/new-install", typed | confirmed).status_code == 302
    assert models.Unit.objects.filter(system__name="System 1", room="Den").count() == 2


def test_a_plain_install_is_asked_nothing(unit, office):
    assert office.post("/new-install", sent(OUTDOOR, HEAD)).status_code == 302


def test_an_exchange_asks_back_about_the_new_unit(unit, office):
    address = f"/units/{unit.pk}/life"
    typed = {
        "kind": "exchanged",
        "day": "2026-02-20",
        "under_warranty": "yes",
        "new_model": "NJ-9",
        "new_serial": "5B-1OO3",
    }
    asked = office.post(address, typed)
    assert asked.status_code == 422
    assert "Northrill NH-9 is on file, which is one letter from NJ-9." in words(asked)
    assert "A serial that looks like this one is on file: SB-1003" in words(asked)
    form = asked.context["forms"]["exchanged"]
    assert office.post(address, typed | {"sure": sure(form)}).status_code == 302
    assert models.Unit.objects.get(took_over_from=unit).model == "NJ-9"


# ------------------------------------------------------------------------------- other screens that take the same facts


def test_an_exchange_within_a_failure_asks_back_about_the_new_unit(unit, office):
    typed = failure_form(
        component="compressor",
        failed_on="2026-02-18",
        repaired_on="2026-02-20",
        under_warranty="yes",
        new_model="NJ-9",
        new_serial="5B-1OO3",
    )
    address = f"/units/{unit.pk}/failure"
    asked = office.post(address, typed)
    assert asked.status_code == 422
    assert "Northrill NH-9 is on file, which is one letter from NJ-9." in words(asked)
    assert "A serial that looks like this one is on file: SB-1003" in words(asked)
    assert not models.Failure.objects.exists()
    assert office.post(address, typed | {"sure": sure(asked.context["form"])}).status_code == 302
    assert models.Unit.objects.get(took_over_from=unit).model == "NJ-9"


def test_a_part_alone_is_asked_nothing_and_its_later_exchange_is(unit, office):
    typed = failure_form(component="compressor", failed_on="2026-02-18", new_model="NJ-9")
    assert office.post(f"/units/{unit.pk}/failure", typed).status_code == 302
    address = f"/failures/{models.Failure.objects.get().pk}/repair"
    exchange = {
        "repaired_on": "2026-02-20",
        "under_warranty": "yes",
        "new_model": "NH-9",
        "new_serial": "5B-1OO3",
        "measured-rows": "2",
        "weighed-rows": "1",
    }
    asked = office.post(address, exchange)
    assert asked.status_code == 422
    assert "A serial that looks like this one is on file: SB-1003" in words(asked)
    assert office.post(address, exchange | {"sure": sure(asked.context["form"])}).status_code == 302
    assert models.Unit.objects.get(took_over_from=unit).serial == "5B-1OO3"


@pytest.mark.parametrize(
    ("day", "status"), [("2021-03-04", 422), ("2021-03-05", 302), ("2021-03-06", 302)], ids=["before", "on", "after"]
)
def test_a_registration_before_the_purchase_is_confirmed_first(office, day, status):
    company.on_file()
    unit = company.unit("SB-1002", purchased_on="2021-03-05", installed_on="2021-03-09", started_on="2021-03-10")
    company.unit("SB-1003", room="Den", installed_on="2021-03-09", started_on="2021-03-10")  # no purchase known
    company.worked_out()
    number = models.Terms.objects.get(code="northrill-1").pk
    address = f"/systems/{unit.system_id}/registration/missed"
    held = [f"{pk}-{number}" for pk in models.Unit.objects.values_list("pk", flat=True)]
    typed = {"payer": number, f"with-{number}-units": held, f"with-{number}-registered_on": day}
    asked = office.post(address, typed)
    assert asked.status_code == status
    if status == 422:
        assert "Registered on March 4, 2021, before it was purchased on March 5, 2021." in words(asked)
        assert not models.Registration.objects.exists()
        (value,) = re.findall(rf'name="with-{number}-sure"[^>]* value="([^"]*)"', asked.content.decode())
        assert office.post(address, typed | {f"with-{number}-sure": value}).status_code == 302
    assert models.Registration.objects.count() == 2


def test_a_day_filled_in_on_the_registration_page_is_confirmed_where_it_is_odd(office):
    company.on_file()
    unit = company.unit("SB-1002", purchased_on="2026-02-05", started_on="2026-02-10")
    company.worked_out()
    number = models.Terms.objects.get(code="northrill-1").pk
    address = f"/systems/{unit.system_id}/registration/date"
    typed = {"payer": number, f"with-{number}-date": "installed_on", f"with-{number}-day": "2026-02-04"}
    asked = office.post(address, typed)
    assert asked.status_code == 422
    assert "Installed on February 4, 2026, before it was purchased on February 5, 2026." in words(asked)
    (value,) = re.findall(rf'name="with-{number}-sure"[^>]* value="([^"]*)"', asked.content.decode())
    assert office.post(address, typed | {f"with-{number}-sure": value}).status_code == 302
    unit.refresh_from_db()
    assert str(unit.installed_on) == "2026-02-04"


@pytest.mark.parametrize(
    ("fact", "text", "said"),
    [
        ("installed_on", "2021-03-11", "Started on March 10, 2021, before it was installed on March 11, 2021."),
        ("serial", "5B-1OO3", "A serial that looks like this one is on file: SB-1003"),
    ],
)
def test_what_is_filled_in_as_missing_information_is_confirmed_where_it_is_odd(unit, office, fact, text, said):
    bare = company.unit("", room="Attic", started_on="2021-03-10")
    company.worked_out()
    typed = {"fact": fact, "unit": bare.pk, "value": text}
    asked = office.post("/missing-information/fill", typed)
    assert asked.status_code == 422
    assert said in words(asked)
    (value,) = set(re.findall(r'name="sure"[^>]* value="([^"]*)"', asked.content.decode()))
    assert office.post("/missing-information/fill", typed | {"sure": value}).status_code == 302
    bare.refresh_from_db()
    assert str(getattr(bare, fact)) == text
