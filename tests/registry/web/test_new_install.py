"""A new install from its form: taken whole, refused with everything still there, and seen before it doubles what is on file.

Asked on March 2, 2026; registration closes 60 days after the day of installing.
"""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import lookup, recheck
from fleet.registry.pages.new_install import Told
from fleet.registry.queries import new_install as queries
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db

SYSTEM = {
    "customer": "Brit Sørby",
    "site": "Home",
    "system": "System 1",
    "installed_on": "2026-02-20",
    "started_on": "2026-02-21",
}
OUTDOOR = {"role": "outdoor", "maker": "Northrill", "model": "NX-36", "room": "Shed", "serial": "NW-30177"}
HEAD = {"role": "head", "style": "wall", "maker": "Northrill", "model": "NH-9", "room": "Den", "serial": "NW-30277"}


def sent(*units: dict[str, str], **system: str) -> dict[str, str]:
    """What a browser sends: the last row is one that was copied and left alone."""
    rows = [*units, {**(units[-1] if units else {"role": "head"}), "room": "", "serial": ""}]
    told = {**SYSTEM, **system, "unit-TOTAL_FORMS": str(len(rows)), "unit-INITIAL_FORMS": "0"}
    return told | {f"unit-{n}-{name}": value for n, row in enumerate(rows) for name, value in row.items()}


def nothing_came() -> bool:
    return (
        not models.Unit.objects.filter(system__name="System 1").exists()
        and not models.Load.objects.filter(kind="installs").exists()
    )


@pytest.fixture
def office():
    company.on_file()
    return company.as_role("office")


@pytest.fixture
def there(office):
    """Odile Marsh's wall head SB-1002 in the den."""
    unit = company.unit("SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return unit


# -- taken


def test_an_install_is_taken_whole_and_its_holdings_stand_on_the_next_page(office):
    response = office.post("/new-install", sent(OUTDOOR, HEAD), follow=True)
    system = models.System.objects.get()
    assert response.redirect_chain == [(f"/new-install/{system.pk}", 302)]
    page = words(response)
    assert "Saved: 2 units added." in page
    assert "2 registrations are to do, by April 21, 2026 (50 days left)." in page
    assert f'href="/systems/{system.pk}/registration"' in page
    assert office.get(f"/systems/{system.pk}/registration").status_code == 200
    promises = response.context["page"].promises
    assert [(one.title, one.units, one.start, one.state, one.by) for one in promises] == [
        ("Ductless statement", "all 2 units", company.day("2026-02-21"), "to do", company.day("2026-04-21")),
        ("Our workmanship", "all 2 units", company.day("2026-02-21"), "not required", None),
    ]
    assert list(recheck.differences(on=company.TODAY)) == []
    load = models.Load.objects.get(kind="installs")
    assert (load.by.username, load.row_count) == ("office", 2)
    assert "NW-30177" in words(office.get("/look-up?text=3O177", follow=True))


def test_every_field_reaches_its_place(office):
    plan = {**company.OURS, "code": "plan-1", "payer": "labor plan", "title": "Ten-year labor plan"}
    company.on_file(plan)
    told = {
        "phone": "555-0101", "email": "brit@example.com", "street": "4 Alder Road", "city": "Brackwater", "region": "us-me",
        "postcode": "04791", "use": "owner home", "new_construction": "yes", "closed_on": "2026-02-25", "installed_by": "Oak & Son",
        "purchased_on": "2026-02-01", "installer": "Robin Vale", "licensed_installer": "yes", "recognized_installer": "no",
        "matched_system": "yes", "original_site": "yes", "attached": "plan-1",
    }  # fmt: skip
    office.post("/new-install", sent(HEAD | {"drain": "Pump A"}, **told))
    unit = models.Unit.objects.select_related("system__site__customer").get()
    site = unit.system.site
    assert (site.customer.name, site.customer.phone, site.customer.email) == (
        "Brit Sørby",
        "555-0101",
        "brit@example.com",
    )
    assert (site.street, site.city, site.region, site.postcode) == ("4 Alder Road", "Brackwater", "US-ME", "04791")
    assert (site.new_construction, site.closed_on) == (True, company.day("2026-02-25"))
    assert [use.use for use in site.uses.all()] == ["owner home"]
    assert (unit.installed_by, unit.installer, unit.drain, unit.style) == ("Oak & Son", "Robin Vale", "Pump A", "wall")
    assert (unit.purchased_on, unit.installed_on, unit.started_on) == (
        company.day("2026-02-01"),
        company.day("2026-02-20"),
        company.day("2026-02-21"),
    )
    conditions = (unit.licensed_installer, unit.recognized_installer, unit.matched_system, unit.original_site)
    assert conditions == (True, False, True, True)
    assert [attached.terms.code for attached in unit.attachments.all()] == ["plan-1"]
    assert list(recheck.differences(on=company.TODAY)) == []


def test_the_same_form_sent_twice_is_one_install(office):
    first = office.post("/new-install", sent(OUTDOOR, HEAD | {"serial": ""}))
    again = office.post("/new-install", sent(OUTDOOR, HEAD | {"serial": ""}), follow=True)
    assert again.redirect_chain == [(first["Location"], 302)]
    assert "Nothing new: all of it was already on file." in words(again)
    assert models.Unit.objects.count() == 2


@pytest.mark.parametrize(
    ("installed_on", "said"),
    [
        ("2026-01-01", "1 registration is to do, by March 2, 2026 (today)."),
        ("2026-01-02", "1 registration is to do, by March 3, 2026 (1 day left)."),
        ("2025-12-31", "1 registration is missed already."),
        ("", "1 registration is waiting for a date."),
    ],
)
def test_the_next_page_says_first_what_is_to_be_registered(installed_on, said, office):
    response = office.post("/new-install", sent(HEAD, installed_on=installed_on, started_on=installed_on), follow=True)
    assert said in words(response)


def test_units_without_terms_are_said(office):
    response = office.post("/new-install", sent(HEAD | {"maker": "Osmarik"}, installed_by="Oak & Son"), follow=True)
    assert "1 unit holds no terms on file, so no coverage is known for it: Osmarik NH-9." in words(response)
    assert "No terms on file fit these units." in words(response)
    assert "Register these units" not in words(response)


def test_units_that_hold_different_terms_are_named(office):
    response = office.post("/new-install", sent(OUTDOOR, HEAD | {"maker": "Osmarik"}), follow=True)
    named = {one.title: one.units for one in response.context["page"].promises}
    assert named == {"Ductless statement": "Shed", "Our workmanship": "all 2 units"}


def test_an_install_on_a_site_on_file_fills_its_blanks_and_keeps_who_did_it(there, office):
    told = sent(HEAD, customer="Odile Marsh", region="US-ME")
    assert office.post("/new-install", told).status_code == 302
    change = models.Change.objects.get()
    assert (change.table, change.field, change.before, change.after) == ("site", "region", "", "US-ME")
    assert change.by.username == "office"
    assert list(recheck.differences(on=company.TODAY)) == []


# -- refused, with everything still there


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("installed_on", "2026-03-02", None),
        ("installed_on", "2026-03-03", "Enter a day no later than today (2026-03-02), not 2026-03-03."),
        ("started_on", "3/1/2026", "Enter a day written as 2024-03-08, not"),
        ("customer", "", "Fill this in."),
        ("system", "", "Fill this in."),
        ("region", "Mane", "Enter a state by its name or its letters, such as Maine or ME."),
        ("use", "barn", "Enter one of owner home, rental, business, not"),
        ("street", "x" * 201, "Enter at most 200 characters."),
        ("attached", "no-such-plan", "Enter codes of terms on file"),
    ],
)
def test_a_wrong_fact_of_the_system_comes_back_beside_its_field_once(field, value, said, office):
    # A day it was started before it was installed would be asked about.
    other = {"started_on": ""} if field == "installed_on" else {}
    response = office.post("/new-install", sent(OUTDOOR, HEAD, **other | {field: value}))
    if said is None:
        assert response.status_code == 302
        return
    assert response.status_code == 422
    errors = response.context["form"].install.errors
    assert list(errors) == [field]
    assert len(errors[field]) == 1
    assert errors[field][0].startswith(said)
    page = response.content.decode()
    for typed in (
        "NW-30177",
        "NW-30277",
        "NX-36",
        "Den",
        "2026-02-21" if field not in ("started_on", "installed_on") else value,
    ):
        assert f'value="{typed}"' in page
    assert nothing_came()


@pytest.mark.parametrize(
    ("row", "field", "said"),
    [
        ({"maker": ""}, "maker", "Fill this in."),
        ({"model": ""}, "model", "Fill this in."),
        ({"room": "", "serial": ""}, None, ""),
        ({"role": "boiler"}, "role", "Enter one of outdoor, head,"),
        ({"serial": "- -"}, "serial", "Enter something other than spaces and hyphens"),
        ({"room": "=1+1"}, "room", "Enter a value, not a formula."),
        ({"model": "NH-12", "room": "", "serial": ""}, "serial", "Enter a serial, or a room while the label"),
    ],
)
def test_a_wrong_row_comes_back_with_its_fault_and_all_others(row, field, said, office):
    response = office.post("/new-install", sent(OUTDOOR, HEAD, HEAD | {"serial": "NW-30377", "room": "Loft"} | row))
    if field is None:  # a copied row in which nothing was written is no unit
        assert response.status_code == 302
        assert models.Unit.objects.count() == 2
        return
    assert response.status_code == 422
    form = response.context["form"]
    assert [dict(unit.errors) != {} for unit in form.units.forms] == [False, False, True, False]
    assert form.units.forms[2].errors[field][0].startswith(said)
    assert f'id="id_unit-2-{field}_error"' in response.content.decode()
    assert 'value="NW-30277"' in response.content.decode()
    assert nothing_came()


def test_a_form_without_a_unit_is_refused(office):
    response = office.post("/new-install", sent())
    assert response.status_code == 422
    assert "Enter at least one unit: manufacturer, model, and a serial or room." in words(response)
    assert nothing_came()


def test_a_form_that_lost_its_rows_is_refused(office):
    assert office.post("/new-install", SYSTEM).status_code == 422
    assert office.post("/new-install", sent(HEAD) | {"unit-TOTAL_FORMS": "101"}).status_code == 422
    assert nothing_came()


def test_another_fact_than_is_on_file_is_refused_with_both(there, office):
    whose = str(there.system.site.customer_id)
    response = office.post("/new-install", sent(HEAD, customer="Odile Marsh", street="8 Tar Lane", whose=whose))
    assert response.status_code == 422
    (said,) = response.context["form"].install.errors["street"]
    assert said == "Enter '7 Tar Lane' as on file, not '8 Tar Lane'. Correct what is on file on its own page."
    assert nothing_came()


# -- a name that is on file already


def asked(response) -> str:
    assert response.status_code == 422
    (said,) = response.context["form"].install.errors["whose"]
    return said


def test_a_name_on_file_at_another_street_asks_who_is_meant(there, office):
    told = sent(HEAD, customer="Odile Marsh", street="8 Tar Lane")
    response = office.post("/new-install", told)
    assert asked(response) == "Odile Marsh is on file already. Choose which customer this is."
    page = words(response)
    assert "Odile Marsh: 7 Tar Lane; 555-0100" in page
    assert "Another customer named Odile Marsh" in page
    assert nothing_came()


def test_another_customer_of_a_name_is_put_on_file_beside_the_first_once(there, office):
    told = sent(HEAD, customer="Odile Marsh", street="8 Tar Lane", whose="new")
    for _ in range(2):  # sent twice, it is one install
        assert office.post("/new-install", told).status_code == 302
    first, second = models.Customer.objects.filter(name="Odile Marsh").order_by("pk")
    assert [site.street for site in second.sites.all()] == ["8 Tar Lane"]
    assert models.Unit.objects.get(serial=HEAD["serial"]).system.site.customer == second
    assert models.Unit.objects.get(serial="SB-1002").system.site.customer == first
    found = [(place.customer, place.line.partition(";")[0]) for place in queries.places("odile")]
    assert found == [("Odile Marsh", "7 Tar Lane"), ("Odile Marsh", "8 Tar Lane")]
    # From now on the street alone says which of them is meant.
    more = HEAD | {"serial": "NW-30278", "room": "Loft"}
    told = sent(more, customer="Odile Marsh", street="8 Tar Lane", system="System 2")
    assert office.post("/new-install", told).status_code == 302
    assert models.Unit.objects.get(serial="NW-30278").system.site.customer == second
    assert asked(office.post("/new-install", sent(HEAD | {"serial": "NW-9"}, customer="Odile Marsh")))


def test_another_customer_of_a_name_needs_a_street(there, office):
    response = office.post("/new-install", sent(HEAD, customer="Odile Marsh", site="Lodge", whose="new"))
    assert response.context["form"].install.errors == {
        "street": ["Enter the street. It tells two customers of one name apart."]
    }
    assert nothing_came()


def test_a_new_site_of_a_customer_on_file_is_theirs_once_they_are_chosen(there, office):
    told = sent(HEAD, customer="Odile Marsh", site="Lodge", street="1 Lake Road")
    assert asked(office.post("/new-install", told))
    whose = str(there.system.site.customer_id)
    assert office.post("/new-install", told | {"whose": whose}).status_code == 302
    assert {site.name for site in models.Customer.objects.get(name="Odile Marsh").sites.all()} == {"Home", "Lodge"}


@pytest.mark.parametrize("whose", ["999999", "x", "9" * 30, "-1"])
def test_a_customer_who_is_not_of_the_name_counts_as_not_chosen(whose, there, office):
    told = sent(HEAD, customer="Odile Marsh", street="8 Tar Lane", whose=whose)
    assert asked(office.post("/new-install", told))
    assert office.post("/new-install", told | {"customer": "Brit Sørby"}).status_code == 302


# -- seen before it is saved


@pytest.mark.parametrize(
    ("row", "text", "tick"),
    [
        ({"serial": "sb 1002", "model": "nh9"}, "This unit is already on file.", ""),
        ({"serial": "SB-1002", "model": "NH-12"}, "This serial is on file under another model.", "581002"),
        ({"serial": "5B-IOO2"}, "A serial that looks like this one is on file. Check the nameplate.", "581002"),
        ({"serial": "SB-1003"}, None, ""),
    ],
)
def test_a_serial_on_file_or_one_like_it_is_shown_with_where_it_is(row, text, tick, there, office):
    told = sent(HEAD | row)
    response = office.post("/new-install", told)
    if text is None:
        assert response.status_code == 302
        return
    assert response.status_code == 422
    doubt = response.context["form"].units.forms[0].doubts["serial"]
    assert (doubt.text, doubt.value) == (text, tick)
    (known,) = doubt.known
    assert (known.pk, known.serial, known.what) == (there.pk, "SB-1002", "Northrill NH-9, wall head")
    assert known.where == "Den, Whole house, Home, Odile Marsh"
    assert f'href="/units/{there.pk}"' in response.content.decode()
    assert nothing_came()
    # While it is written, the same is said.
    asked = {name: value for name, value in told.items() if name.startswith("unit-0-")} | {"row": "unit-0"}
    part = words(office.get("/new-install/row", asked))
    assert text in part
    assert "Den, Whole house, Home, Odile Marsh" in part
    ticked = office.post("/new-install", told | {"unit-0-another_unit": tick})
    assert ticked.status_code == (302 if tick else 422)
    if tick:
        assert list(recheck.differences(on=company.TODAY)) == []


@pytest.mark.parametrize(
    ("system", "row", "of_system", "of_units"),
    [
        ({"installed_on": "2026-03-03", "started_on": ""}, {}, ["installed_on"], [["serial"], [], []]),
        ({}, {"maker": ""}, [], [["serial"], ["maker"], []]),
    ],
)
def test_what_else_is_wrong_is_told_at_once(system, row, of_system, of_units, there, office):
    told = sent(HEAD | {"serial": "5B-1002"}, HEAD | {"serial": "NW-1", "room": "Loft"} | row, **system)
    form = office.post("/new-install", told).context["form"]
    assert list(form.install.errors) == of_system
    assert [list(unit.errors) for unit in form.units.forms] == of_units
    assert nothing_came()


def test_a_tick_does_not_outlive_the_serial_it_was_set_for(there, office):
    told = sent(HEAD | {"serial": "5B-1002"}) | {"unit-0-another_unit": "something else"}
    assert office.post("/new-install", told).status_code == 422


def test_two_rows_with_one_serial_are_told_apart(office):
    response = office.post("/new-install", sent(OUTDOOR, HEAD, HEAD | {"room": "Loft"}))
    assert response.status_code == 422
    assert response.context["form"].units.forms[2].errors["serial"] == ["The same serial as in row 2 (Den)."]
    alike = sent(OUTDOOR, HEAD, HEAD | {"room": "Loft", "serial": "NW-3O277"})
    response = office.post("/new-install", alike)
    assert response.context["form"].units.forms[2].errors["serial"] == [
        "It looks like the serial in row 2 (Den). Check both nameplates."
    ]
    assert nothing_came()
    fold = response.context["form"].units.forms[2].doubts["serial"].value
    assert office.post("/new-install", alike | {"unit-2-another_unit": fold}).status_code == 302
    assert models.Unit.objects.count() == 3


def test_a_system_that_is_there_is_not_added_to_by_accident(there, office):
    told = sent(HEAD, customer="Odile Marsh", system="Whole house")
    response = office.post("/new-install", told)
    (said,) = response.context["form"].install.errors["system"]
    assert said == "Whole house is already on file at Home, with 1 unit. Give a new system another name."
    assert "These units belong to Whole house" in words(response)
    # Whether two heads stand in one room is asked too.
    joined = told | {"joins": "Whole house"}
    form = office.post("/new-install", joined).context["form"]
    sure = {f"unit-{at}-sure": [tick["value"] for tick in one.ticks] for at, one in enumerate(form.units.forms)}
    assert office.post("/new-install", joined | sure).status_code == 302
    assert models.Unit.objects.filter(system=there.system).count() == 2


@pytest.mark.parametrize(
    ("system", "field", "tick"),
    [
        ({"customer": "odile marsh"}, "customer", "another_customer"),
        ({"customer": "Odi1e Marsh"}, "customer", "another_customer"),
        ({"customer": "Odile Marsh", "site": "H0me"}, "site", "another_site"),
    ],
)
def test_a_name_that_is_nearly_on_file_is_asked_about(system, field, tick, there, office):
    response = office.post("/new-install", sent(HEAD, **system))
    assert response.status_code == 422
    assert list(response.context["form"].install.errors) == [field]
    assert nothing_came()
    assert office.post("/new-install", sent(HEAD, **system) | {tick: system[field]}).status_code == 302


# -- while it is written


def test_a_place_is_found_by_name_phone_or_street_and_fills_the_form(there, office):
    models.Site.objects.update(region="US-ME", new_construction=True, closed_on=company.day("2021-01-05"))
    for text in ("odil", "555-0100", "tar la"):
        (place,) = queries.places(text)
        assert (place.customer, place.site, place.line) == ("Odile Marsh", "Home", "7 Tar Lane, ME; there: Whole house")
        filled = place.initial()
        assert (filled["region"], filled["new_construction"], filled["closed_on"]) == ("Maine", "yes", "2021-01-05")
        assert filled["system"] == "System 2"
    assert 'data-customer="Odile Marsh"' in words(office.get("/new-install/places?customer=odil"))
    assert "a new customer" in words(office.get("/new-install/places?customer=nobody"))
    assert words(office.get("/new-install/places?customer=%00")) != ""
    models.Customer.objects.create(name="Odin Vale", phone="555-0199")
    lookup.index(customers=models.Customer.objects.filter(name="Odin Vale"))
    assert [(place.customer, place.site) for place in queries.places("odi")] == [
        ("Odile Marsh", "Home"),
        ("Odin Vale", ""),
    ]


def test_a_serial_does_not_crowd_out_the_places(office):
    for number in range(60):
        company.unit(f"MAR-{number:03}", customer="Odile Marsh")
    company.unit("X-1", customer="Marlo Fenn")
    assert [place.customer for place in queries.places("mar")] == ["Marlo Fenn", "Odile Marsh"]


def test_the_form_for_a_site_is_filled_and_one_for_no_site_is_not(there, office):
    page = office.get(f"/new-install?site={there.system.site_id}").content.decode()
    assert 'value="Odile Marsh"' in page
    assert 'value="System 2"' in page
    for nothing in ("", "999", "x", "9" * 30):
        response = office.get(f"/new-install?site={nothing}")
        assert response.status_code == 200
        assert 'value="Odile Marsh"' not in response.content.decode()


def test_makers_and_models_on_file_are_suggested_once_each(there):
    company.unit("SB-1003")
    company.unit("ZZ-2", model="nh 9")
    company.unit("NW-3", model="NX-36", role="outdoor", style="")
    company.unit("OC-1", maker="Osmarik", model="OC-12", style="cassette")
    found = queries.suggestions()
    assert found.makers == ("Northrill", "Osmarik")
    assert [(one.maker, one.model, one.role, one.style) for one in found.models] == [
        ("Northrill", "NH-9", "head", "wall"),
        ("Northrill", "NX-36", "outdoor", ""),
        ("Osmarik", "OC-12", "head", "cassette"),
    ]


def test_more_rows_are_like_the_last_and_lose_nothing(office):
    told = sent(OUTDOOR, HEAD | {"drain": "Pump A"}, installed_on="nonsense")
    response = office.post("/new-install", told | {"more_rows": "yes"})
    assert response.status_code == 200
    rows = [form.cells() for form in response.context["form"].units.forms]
    assert len(rows) == 7
    assert rows[1]["serial"] == "NW-30277"
    assert rows[6] == rows[1] | {"room": "", "serial": ""}
    assert rows[6]["drain"] == "Pump A"
    assert 'value="nonsense"' in response.content.decode()
    full = sent(*[HEAD] * 98) | {"more_rows": "yes"}
    assert len(office.post("/new-install", full).context["form"].units.forms) == 100
    assert nothing_came()


# -- how many queries


def counted(ask) -> int:
    with CaptureQueriesContext(connection) as found:
        ask()
    return len(found)


def test_more_on_file_takes_no_more_queries(there, office):
    def each() -> tuple[int, ...]:
        return (
            counted(lambda: office.get("/new-install")),
            counted(lambda: office.get("/new-install/places?customer=odile")),
            counted(lambda: office.get(f"/new-install/{there.system_id}")),
            counted(lambda: office.get("/new-install/row?row=unit-0&unit-0-serial=SB-1OO2")),
        )

    each()  # a document is read once per process
    before = each()
    for number in range(2, 7):
        company.unit(f"SB-1{number:03}", model=f"NH-{number}")
        company.unit(f"5B-I0O{number}", site=f"Cabin {number}")
    company.worked_out()
    assert each() == before


def test_more_units_take_no_more_queries_to_check(there):
    system = {**SYSTEM, "customer": "Odile Marsh"}

    def told(number: int) -> Told:
        return Told(system, {n: HEAD | {"serial": f"SB-1{n + 2:03}", "room": f"Room {n}"} for n in range(number)})

    def asked(number: int) -> int:
        return counted(lambda: queries.doubts(told(number), queries.there(told(number))))

    assert asked(1) == asked(5)


# -- taken back


def saved_at(days: int = 0) -> int:
    """Set when the one install was saved, which only the database knows, to so many days before the day of asking."""
    models.Load.objects.update(at=dt.datetime.fromisoformat(company.NOON) - dt.timedelta(days=days))
    return models.Load.objects.get(kind="installs").pk


def test_an_install_just_saved_is_taken_back_from_the_page_that_shows_it(office):
    saved = office.post("/new-install", sent(OUTDOOR, HEAD))
    load = saved_at()
    page = office.get(saved["Location"])
    assert "2 units saved March 2, 2026" in words(page)
    assert f'action="/new-install/saved/{load}/back"' in page.content.decode()
    taken = office.post(f"/new-install/saved/{load}/back", follow=True)
    assert taken.redirect_chain == [("/new-install", 302)]
    assert "Undone: System 1, 2 units. Nothing of it is on file any more." in words(taken)
    assert not models.Unit.objects.exists()
    assert list(recheck.differences(on=company.TODAY)) == []
    again = office.post(f"/new-install/saved/{load}/back", follow=True)
    assert "Nothing was undone. This install was already undone." in words(again)


def test_an_install_just_saved_is_taken_back_from_its_site_whose_changes_tell_it(there, office):
    site = there.system.site_id
    office.post("/new-install", sent(HEAD, customer="Odile Marsh", site="Home", system="Annex"))
    load = saved_at()
    shown = words(office.get(f"/sites/{site}"))
    assert "Annex: 1 unit saved March 2, 2026" in shown
    assert "Undo this install" in shown
    assert "Undo this install" not in words(company.as_role("technician").get(f"/sites/{site}"))
    taken = office.post(f"/new-install/saved/{load}/back", follow=True)
    assert taken.redirect_chain == [(f"/sites/{site}", 302)]
    assert "Undo this install" not in words(taken)
    told = words(office.get(f"/sites/{site}/changes"))
    assert "Annex: Northrill NH-9 NW-30277" in told
    assert "install undone" in told
    assert models.Unit.objects.get() == there


@pytest.mark.parametrize(("days", "offered"), [(30, True), (31, False)])
def test_a_site_offers_it_for_thirty_days(days, offered, there, office):
    site = there.system.site_id
    office.post("/new-install", sent(HEAD, customer="Odile Marsh", site="Home", system="Annex"))
    saved_at(days)
    assert ("Undo this install" in words(office.get(f"/sites/{site}"))) is offered


def test_what_hangs_on_an_install_is_said_where_it_stands(office):
    saved = office.post("/new-install", sent(HEAD))
    load = models.Load.objects.get(kind="installs").pk
    unit = models.Unit.objects.get()
    models.Failure.objects.create(unit=unit, component="compressor", failed_on=company.TODAY)
    refused = office.post(f"/new-install/saved/{load}/back", follow=True)
    assert refused.redirect_chain == [(saved["Location"], 302)]
    assert "Nothing was undone. 1 failure on Northrill NH-9 NW-30277." in words(refused)
    assert models.Unit.objects.get() == unit


def test_more_units_and_installs_take_no_more_queries(there, office):
    system, site = there.system_id, there.system.site_id
    office.post("/new-install", sent(HEAD, customer="Odile Marsh", site="Home", system="Annex"))
    for address in (f"/new-install/{system}", f"/sites/{site}"):
        office.get(address)  # the first one after the login does more
        with CaptureQueriesContext(connection) as few:
            office.get(address)
        for number in range(3):
            row = HEAD | {"serial": f"QQ-{address[1]}{number}"}
            office.post("/new-install", sent(row, customer="Odile Marsh", site="Home", system=f"{address}{number}"))
        with CaptureQueriesContext(connection) as many:
            office.get(address)
        assert len(many) == len(few)


@pytest.mark.parametrize(
    ("days", "said"),
    [
        ({}, ""),
        ({"installed_on": "2026-03-01", "started_on": "2026-03-01"}, ""),
        ({"installed_on": "2026-03-01", "started_on": "2026-02-28"},
         "Started on February 28, 2026, before it was installed on March 1, 2026."),
        ({"purchased_on": "2026-03-02"}, ""),
        ({"purchased_on": "2026-03-03"}, "Purchased: enter "),
        ({"installed_on": "2026-02-30"}, "Installed: enter "),
        ({"installed_on": "2026-02-30", "started_on": "yesterday"}, "Started: enter "),
    ],
)  # fmt: skip
def test_days_are_looked_at_as_they_are_left(days, said):
    """Today is March 2, 2026."""
    response = company.as_role("office").get("/new-install/days", days)
    text = " ".join(re.sub(r"<[^>]*>|{#.*?#}", " ", response.content.decode()).split())
    assert (said in text) if said else text == ""
    assert text.count("enter ") == sum(day in ("2026-03-03", "2026-02-30", "yesterday") for day in days.values())


def test_a_manufacturer_that_is_a_letter_off_is_said_as_it_is_left():
    company.on_file()
    company.unit("SB-1002")
    office = company.as_role("office")
    asked = {"row": "unit-0", "unit-0-role": "head", "unit-0-model": "NH-9", "unit-0-serial": "X-1"}
    assert "Northrill" in words(office.get("/new-install/row", asked | {"unit-0-maker": "Northril"}))
    assert "Northrill" not in words(office.get("/new-install/row", asked | {"unit-0-maker": "Halvik"}))
    assert "Correct it" not in words(office.get("/new-install/row", asked | {"unit-0-maker": "Northrill"}))
