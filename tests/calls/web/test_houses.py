"""A caller with no house on file: its address in one line, the call on it in one go, and the house taken off again."""

import pytest
from django.urls import reverse

from fleet import models
from fleet.calls.actions import calls as actions
from fleet.derived import recheck
from fleet.registry.forms.addresses import ASK
from fleet.registry.queries import addresses, lookup
from tests import company
from tests.company import NOON, TODAY
from tests.pages import words

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(NOON, tick=False)]
LINE = "12 Cider Ln, Quill Harbor, ME 04791"
HOUSE = {"street": "12 Cider Ln", "city": "Quill Harbor", "region": "Maine", "postcode": "04791"}


def sent(**named):
    return {"caller": "Wilma Trask", "phone": "555-0188", "trouble": "water", "came_on": "2026-03-02", **named}


def note(client, **named):
    return client.post(reverse("call_new"), sent(**named), follow=True)


@pytest.fixture
def office():
    company.person("office", first_name="Wynn", last_name="Office")
    return company.as_role("office")


# ------------------------------------------------------------------------------------------------- in one go


def test_one_line_is_looked_at_in_its_parts_and_then_noted_in_one_go(office):
    asked = note(office, street=LINE)
    assert (asked.status_code, ASK in words(asked)) == (422, True)
    for text in (
        'value="12 Cider Ln"',
        'value="Quill Harbor"',
        'value="Maine"',
        'value="04791"',
        'value="Wilma Trask"',
    ):
        assert text in words(asked)
    assert not models.Site.objects.exists()
    shown = note(office, **HOUSE)
    call = models.Call.objects.select_related("site__customer").get()
    site = call.site
    assert (site.name, site.street, site.city, site.region, site.postcode) == (
        "Home", "12 Cider Ln", "Quill Harbor", "US-ME", "04791",
    )  # fmt: skip
    assert (site.customer.name, site.customer.phone) == ("Wilma Trask", "555-0188")
    assert f'href="{reverse("site_visits", args=[site.pk])}?call={call.pk}"' in words(shown)
    assert {hit.kind for hit in lookup.find("trask cider", limit=5)} == {"site"}
    assert {(one.table, one.by.username) for one in models.Change.objects.filter(field="put_on_file")} == {
        ("customer", "office"), ("site", "office"),
    }  # fmt: skip
    assert list(recheck.differences(on=TODAY)) == []


def test_sent_twice_it_is_one_house(office):
    key = "7b1f2f6e-3e0c-4a53-9a55-0d4d2c1f8a01"
    note(office, key=key, **HOUSE)
    note(office, key=key, **HOUSE)
    assert (models.Call.objects.count(), models.Site.objects.count(), models.Customer.objects.count()) == (1, 1, 1)


def test_without_an_address_a_call_has_no_house(office):
    company.person("owner")
    models.Company.objects.create(pk=1, address="3 Mill Rd\nQuill Harbor, ME 04791")
    note(office, region="Maine")
    assert models.Call.objects.get().site is None
    assert not models.Customer.objects.exists()


@pytest.mark.parametrize(
    ("told", "where"),
    [
        ({"city": "Quill Harbor"}, "Enter the street."),
        ({"customer": "Gil Ashby"}, "Enter the street."),
        ({**HOUSE, "region": "Mane"}, "Enter a state by its name or its letters, such as Maine or ME."),
        ({**HOUSE, "street": "x" * 201}, "Enter "),
    ],
)
def test_what_is_wrong_with_it_is_said_there_and_nothing_is_on_file(office, told, where):
    refused = note(office, **told)
    assert (refused.status_code, where in words(refused)) == (422, True)
    assert 'value="Wilma Trask"' in words(refused)
    assert not models.Call.objects.exists()
    assert not models.Customer.objects.exists()


def test_the_house_of_somebody_else_is_theirs(office):
    note(office, customer="Gil Ashby", **HOUSE)
    call = models.Call.objects.get()
    assert (call.caller, call.site.customer.name) == ("Wilma Trask", "Gil Ashby")


# ------------------------------------------------------------------------------------------------- namesakes


def test_a_name_that_is_taken_is_told_apart_by_its_street(office):
    first = company.unit("SB-1", customer="Wilma Trask", site="Home").system.site
    first.street = "7 Tar Lane"
    first.save()
    asked = note(office, **HOUSE)
    assert (asked.status_code, "Wilma Trask is on file already. Choose which customer this is." in words(asked)) == (
        422,
        True,
    )
    assert "Another customer named Wilma Trask" in words(asked)
    note(office, **HOUSE, whose="new")
    assert models.Customer.objects.filter(name="Wilma Trask").count() == 2
    note(office, **(HOUSE | {"street": "40 Weir Rd"}), whose=str(first.customer_id))
    assert set(first.customer.sites.values_list("name", "street")) == {
        ("Home", "7 Tar Lane"),
        ("40 Weir Rd", "40 Weir Rd"),
    }


def test_a_house_on_file_at_that_street_is_that_house(office):
    site = company.unit("SB-1", customer="Wilma Trask", site="Cabin").system.site
    models.Site.objects.update(street="12 cider ln")
    note(office, **HOUSE)
    assert (models.Site.objects.count(), models.Call.objects.get().site) == (1, site)
    assert not models.Change.objects.filter(field="put_on_file").exists()


# ------------------------------------------------------------------------------------------------- later, and undone


def test_a_call_noted_before_gets_its_house_later_and_loses_it_again(office):
    note(office)
    call = models.Call.objects.get()
    assert "put their house on file" in words(office.get(reverse("call", args=[call.pk])))
    house = reverse("call_house", args=[call.pk])
    assert ASK in words(office.post(house, {"street": LINE}))
    shown = office.post(house, HOUSE, follow=True)
    assert "The house is on file." in words(shown)
    assert "Take Home, 12 Cider Ln, off file again" in words(shown)
    assert office.get(house).status_code == 302
    undone = office.post(reverse("call_house_off", args=[call.pk]), follow=True)
    assert "The house was taken off file. This call has no site now." in words(undone)
    assert (models.Site.objects.count(), models.Customer.objects.count(), models.Call.objects.count()) == (0, 0, 1)
    assert not models.LookupEntry.objects.filter(kind__in=("site", "customer")).exists()
    assert models.Change.objects.filter(table="call", field="site", why="house taken off file").exists()
    again = office.post(reverse("call_house_off", args=[call.pk]))
    assert (again.status_code, "already off file" in words(again)) == (409, True)


def test_a_house_on_which_more_hangs_stays(office):
    note(office, **HOUSE)
    call = models.Call.objects.get()
    models.Contact.objects.create(site=call.site, name="Neighbor", phone="555-0190")
    refused = office.post(reverse("call_house_off", args=[call.pk]))
    assert (
        refused.status_code,
        "There is more on file for this house: 1 contact. It stays on file." in words(refused),
    ) == (422, True)
    models.Contact.objects.all().delete()
    other = models.Site.objects.create(customer=call.site.customer, name="Barn")
    office.post(reverse("call_house_off", args=[call.pk]))
    assert list(models.Site.objects.all()) == [other]
    assert models.Customer.objects.count() == 1


def test_a_site_that_is_not_meant_is_taken_off_its_call_and_the_log_knows_both(office):
    site = company.unit("SB-1").system.site
    office.post(reverse("call_new"), sent(site=site.pk))
    call = models.Call.objects.get()
    assert "Wrong house: take Home off this call" in words(office.get(reverse("call", args=[call.pk])))
    late = office.post(reverse("call_site_off", args=[call.pk]), {"was": site.pk + 1})
    assert late.status_code == 409
    office.post(reverse("call_site_off", args=[call.pk]), {"was": site.pk})
    call.refresh_from_db()
    assert call.site is None
    change = models.Change.objects.get(table="call", field="site")
    assert (change.before, change.after, change.why) == ("Home", "", "it is about another site")


def test_the_site_that_a_booking_gives_a_call_is_in_the_log(office):
    site = company.unit("SB-1").system.site
    note(office)
    call = models.Call.objects.get()
    booking = models.Booking.objects.create(site=site, on=TODAY, minutes=60, price=0)
    actions.booked({call.pk: booking}, by=models.User.objects.first(), on=TODAY)
    change = models.Change.objects.get(table="call", field="site")
    assert (change.before, change.after, change.why) == ("", "Home", "a visit was booked there")
    held = office.post(reverse("call_site_off", args=[call.pk]), {"was": site.pk})
    assert (held.status_code, "Cancel the visit first." in words(held)) == (422, True)
    models.Booking.objects.filter(pk=booking.pk).update(state="called off")
    office.post(reverse("call_site_off", args=[call.pk]), {"was": site.pk})
    call.refresh_from_db()
    assert call.site is None


def test_a_technician_notes_calls_without_houses(office):
    page = company.as_role("technician").get(reverse("call_new"))
    assert "Their house, if it is not on file yet" not in words(page)
    company.as_role("technician").post(reverse("call_new"), sent(**HOUSE))
    assert models.Call.objects.get().site is None


# ------------------------------------------------------------------------------------------------- what one line says


def parts(text: str):
    one = addresses.read(text)
    return one and (one.street, one.city, one.region, one.postcode)


def test_what_a_line_leaves_out_is_taken_from_what_is_on_file(office):
    assert parts("12 Cider Ln") is None
    assert parts("Quill Harbor") is None
    assert parts("12 cider ln, quill harbor") == ("12 cider ln", "quill harbor", "", "")
    models.Company.objects.create(pk=1, address="3 Mill Rd\nBrackwater, ME 04790")
    assert parts("12 cider ln, quill harbor") == ("12 cider ln", "quill harbor", "Maine", "")
    assert parts("12 cider ln, brackwater") == ("12 cider ln", "Brackwater", "Maine", "04790")
    site = company.unit("SB-1").system.site
    models.Site.objects.filter(pk=site.pk).update(city="Quill Harbor", region="US-ME", postcode="04791")
    assert parts("12 cider ln, quill harbor") == ("12 cider ln", "Quill Harbor", "Maine", "04791")
    assert parts("12 cider ln, quill harbor, NH 03801") == ("12 cider ln", "quill harbor", "New Hampshire", "03801")
    other = company.unit("SB-2", customer="Gil Ashby").system.site
    models.Site.objects.filter(pk=other.pk).update(city="Quill Harbor", region="US-ME", postcode="04792")
    assert parts("12 cider ln, quill harbor") == ("12 cider ln", "Quill Harbor", "Maine", "")


def test_the_parts_are_told_to_a_script(office):
    told = office.get(reverse("address_parts"), {"text": LINE}).json()
    assert told == {
        "street": "12 Cider Ln", "city": "Quill Harbor", "region": "Maine", "postcode": "04791",
        "words": "Street: 12 Cider Ln. City: Quill Harbor. Maine 04791. Correct it below if it is wrong.",
    }  # fmt: skip
    assert office.get(reverse("address_parts"), {"text": "hello"}).json() == {}
