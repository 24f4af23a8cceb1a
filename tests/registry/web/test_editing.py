"""Forms that put facts right, two made one, a unit's life, contacts, and a house sold: as people send them."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import recheck
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TRANSFER = {
    **company.MAKER,
    "coverage": [
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["first owner"]}],
        }
    ],
    "transfer": {"rule": "notice", "within_days": 30},
}


@pytest.fixture
def unit():
    company.on_file(TRANSFER, company.OURS)
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def clean() -> bool:
    return not list(recheck.differences(on=company.TODAY))


def seen(client, address) -> dict[str, str]:
    """Everything that a form shows, as a browser would send it back untouched."""
    form = client.get(address).context["form"]
    return {bound.html_name: bound.value() or "" for bound in form}


# -- correcting


def test_a_unit_is_put_right_and_its_changes_say_so(unit, office):
    address = f"/units/{unit.pk}/correct"
    sent = seen(office, address) | {"started_on": "2021-04-10", "why": "invoice found"}
    assert office.post(address, sent)["Location"] == f"/units/{unit.pk}"
    page = words(company.as_role("technician").get(f"/units/{unit.pk}/changes"))
    assert "Started" in page
    assert "March 10, 2021" in page
    assert "April 10, 2021" in page
    assert "invoice found" in page
    assert "Wynn Office" in page
    assert clean()


def test_two_at_once_the_second_is_told_and_keeps_what_was_typed(unit, office):
    address = f"/units/{unit.pk}/correct"
    first = seen(office, address)
    second = dict(first)
    office.post(address, first | {"room": "Study"})
    owner = company.as_role("owner")
    response = owner.post(address, second | {"room": "Loft", "notes": "loud", "why": "asked"})
    assert response.status_code == 409
    assert "Wynn Office changed this meanwhile; it is now Study. Save again to have yours instead." in words(response)
    assert "Everything else is saved." in words(response)
    form = response.context["form"]
    assert (form["room"].value(), form["was_room"].value(), form["why"].value()) == ("Loft", "Study", "asked")
    unit.refresh_from_db()
    assert (unit.room, unit.notes) == ("Study", "loud")
    again = {bound.html_name: bound.value() or "" for bound in form}
    assert owner.post(address, again).status_code == 302
    unit.refresh_from_db()
    assert (unit.room, unit.notes) == ("Loft", "loud")


def test_notes_of_several_lines_left_alone_are_no_change(unit, office):
    models.Unit.objects.filter(pk=unit.pk).update(notes="one\ntwo")
    address = f"/units/{unit.pk}/correct"
    sent = {name: text.replace("\n", "\r\n") for name, text in seen(office, address).items()}
    assert office.post(address, sent).status_code == 302
    assert not models.Change.objects.exists()


@pytest.mark.parametrize(("field", "text"), [("started_on", "2099-01-01"), ("maker", ""), ("role", "chimney")])
def test_what_cannot_be_is_told_beside_its_field_with_everything_still_there(unit, office, field, text):
    address = f"/units/{unit.pk}/correct"
    response = office.post(address, seen(office, address) | {field: text, "notes": "loud"})
    assert response.status_code == 422
    assert response.context["form"]["notes"].value() == "loud"
    assert response.context["form"].errors
    unit.refresh_from_db()
    assert unit.notes == ""


def test_a_site_and_a_customer_are_put_right(unit, office):
    site = unit.system.site
    address = f"/sites/{site.pk}/correct"
    office.post(address, seen(office, address) | {"gate_code": "4711#", "region": "US-ME", "use": "rental"})
    site.refresh_from_db()
    assert (site.gate_code, site.region, site.uses.get().use) == ("4711#", "US-ME", "rental")
    address = f"/customers/{site.customer_id}/correct"
    office.post(address, seen(office, address) | {"name": "Odile Harrow"})
    assert "Odile Marsh" in words(office.get(f"/customers/{site.customer_id}/changes"))
    assert clean()


def test_more_changes_take_no_more_queries(unit, office):
    address = f"/units/{unit.pk}/correct"

    def counted() -> int:
        with CaptureQueriesContext(connection) as found:
            office.get(f"/units/{unit.pk}/changes")
        return len(found)

    office.post(address, seen(office, address) | {"room": "R1"})
    counted()
    before = counted()
    for number in range(2, 6):
        office.post(address, seen(office, address) | {"room": f"R{number}"})
    assert counted() == before


# -- merging


def test_two_units_side_by_side_are_made_one_and_taken_apart(unit, office):
    other = company.unit("SB-10O2", started_on="2021-03-20")
    company.worked_out()
    address = f"/units/{unit.pk}/merge"
    assert "SB-10O2" in words(office.get(address))
    page = office.get(f"{address}?with={other.pk}")
    assert "March 10, 2021" in words(page)
    assert "March 20, 2021" in words(page)
    refused = office.post(address, {"other": other.pk, "use_serial": "kept"})
    assert refused.status_code == 422
    assert "Choose which is right." in words(refused)
    sent = {"other": other.pk, "use_serial": "kept", "use_started_on": "gone"}
    assert office.post(address, sent)["Location"] == f"/units/{unit.pk}"
    assert models.Unit.objects.count() == 1
    assert clean()
    merge = models.Merge.objects.get()
    assert "Undo this merge" in words(office.get(f"/units/{unit.pk}/changes"))
    assert "Undo this merge" not in words(company.as_role("technician").get(f"/units/{unit.pk}/changes"))
    assert office.post(f"/merges/{merge.pk}/undo").status_code == 302
    assert models.Unit.objects.count() == 2
    assert clean()


def test_what_is_not_there_cannot_be_merged(unit, office):
    address = f"/units/{unit.pk}/merge"
    assert office.post(address, {"other": unit.pk}).status_code == 422
    assert office.post(address, {"other": "x"}).status_code == 422
    assert office.get(address, {"text": "\0"}).status_code == 200
    assert office.get("/units/99999/merge").status_code == 404


# -- what becomes of a unit


def test_a_unit_is_exchanged_and_the_new_one_is_shown(unit, office):
    address = f"/units/{unit.pk}/life"
    sent = {"kind": "exchanged", "day": "2025-01-05", "new_model": "NH-9", "new_serial": "N-1"}
    refused = office.post(address, sent)
    assert refused.status_code == 422
    assert "Wanted: yes or no." in words(refused)
    assert 'value="N-1"' in refused.content.decode()
    heir = office.post(address, sent | {"under_warranty": "yes"})
    assert heir["Location"] == f"/units/{models.Unit.objects.get(serial='N-1').pk}"
    assert clean()


def test_what_was_told_by_mistake_is_taken_back_and_stays_to_be_read(unit, office):
    address = f"/units/{unit.pk}/life"
    assert "Entered by mistake?" not in words(office.get(address))
    office.post(address, {"kind": "idle", "day": "2025-01-05"})
    models.MaintenanceRecord.objects.create(unit=unit, done_on="2025-02-01", task="coil", technician="Ina")
    company.worked_out()
    shown = office.get(address)
    assert [text for _, text in shown.context["page"].told] == [
        "Out of use on January 5, 2025",
        "Coil done on February 1, 2025 by Ina",
    ]
    (idle, _), (record, _) = shown.context["page"].told
    refused = office.post(f"{address}/back", {"what": idle, "why": ""})
    assert refused.status_code == 422
    assert refused.context["back"].errors["why"] == ["Say why this is undone, in a few words."]
    for what, why in ((idle, "the other head"), (record, "never done")):
        assert office.post(f"{address}/back", {"what": what, "why": why}).status_code == 302
    again = office.post(f"{address}/back", {"what": record, "why": "never done"})
    assert again.context["back"].errors["what"] == ["That is no longer on file for this unit."]
    assert not models.MaintenanceRecord.objects.exists()
    assert not models.Idle.objects.exists()
    history = words(office.get(f"/units/{unit.pk}"))
    assert "Undone: out of use on January 5, 2025" in history
    assert "By Wynn Office; the other head" in history
    changes = words(office.get(f"/units/{unit.pk}/changes"))
    assert "Undone" in changes
    assert "coil done on February 1, 2025 by Ina" in changes
    assert clean()


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"kind": "moved", "day": "2025-01-05"}, "Wanted: the site or the system that it moved to."),
        ({"kind": "removed", "day": ""}, "Wanted: a value."),
        ({"kind": "removed", "day": "2020-01-05"}, "Wanted: a day on or after 2021-03-09, when it came."),
    ],
)
def test_an_impossible_order_is_refused_in_words(unit, office, sent, told):
    response = office.post(f"/units/{unit.pk}/life", sent)
    assert response.status_code == 422
    assert told in words(response).replace("&#x27;", "'")


@pytest.mark.parametrize(
    ("sent", "room", "where"),
    [
        ({"kind": "moved", "to_system": "Annex"}, "Loft", "Annex"),
        (
            {"kind": "exchanged", "under_warranty": "yes", "new_model": "NH-9", "new_serial": "N-1"},
            "Loft",
            "Whole house",
        ),
        ({"kind": "removed"}, "Loft", "Whole house"),
        ({"kind": "idle"}, "Loft", "Whole house"),
    ],
)
def test_a_unit_whose_label_nobody_can_read_has_a_life_too(unit, office, sent, room, where):
    faded = company.unit("", room="Loft", installed_on="2021-03-09")
    company.worked_out()
    address = f"/units/{faded.pk}/life"
    assert "can be recorded without" in words(office.get(address))
    response = office.post(address, sent | {"day": "2025-01-05"})
    assert response.status_code == 302
    shown = models.Unit.objects.get(pk=response["Location"].split("/")[2])
    assert (shown.room, shown.system.name) == (room, where)
    assert faded.told.count() == 1
    assert clean()


# -- contacts


def test_contacts_are_kept_by_the_desk_and_seen_by_everybody(unit, office):
    site = unit.system.site_id
    assert office.post(f"/sites/{site}/contacts/add", {"name": "", "role": "tenant", "phone": "5"}).status_code == 422
    sent = {"name": "Tam Reyes", "role": "tenant", "phone": "555-0111", "reach": "after five"}
    assert office.post(f"/sites/{site}/contacts/add", sent).status_code == 302
    made = models.Contact.objects.get()
    page = words(company.as_role("technician").get(f"/sites/{site}/contacts"))
    assert "Tam Reyes" in page
    assert ">Remove<" not in page
    assert office.post(f"/contacts/{made.pk}", sent | {"role": "manager"}).status_code == 302
    assert office.post(f"/contacts/{made.pk}/drop").status_code == 302
    assert not models.Contact.objects.exists()


def test_whoever_stands_at_the_gate_reads_on_the_site_how_to_get_in(unit, office):
    site = unit.system.site
    models.Contact.objects.create(site=site, name="Ida Moss", role="tenant", phone="207-555-0101", reach="after five")
    models.Site.objects.filter(pk=site.pk).update(gate_code="4711")
    page = words(company.as_role("technician").get(f"/sites/{site.pk}"))
    assert '<dt>Tenant</dt><dd>Ida Moss, <a href="tel:207-555-0101">207-555-0101</a>' in page
    assert "after five" in page
    assert "<dt>Gate code</dt><dd>4711</dd>" in page


# -- sold


def test_a_sold_house_says_whom_to_tell_by_when_and_that_it_was_done(unit, office):
    site = unit.system.site_id
    sent = {"sold_on": "2026-02-20", "buyer": "Wren Abbot", "phone": "555-0199"}
    assert office.post(f"/sites/{site}/sold", sent | {"buyer": ""}).status_code == 422
    assert office.post(f"/sites/{site}/sold", sent)["Location"] == f"/sites/{site}/sold"
    page = words(office.get(f"/sites/{site}/sold"))
    assert "Sold on February 20, 2026 by Odile Marsh to Wren Abbot." in page
    assert "notify them by March 22, 2026." in page
    terms = models.Terms.objects.get(code="northrill-1").pk
    early = office.post(f"/sites/{site}/payer-told", {"terms": terms, "told_on": "2026-02-19"})
    assert early.status_code == 422
    assert "Choose a day from the sale on February 20, 2026 to today." in words(early)
    assert office.post(f"/sites/{site}/payer-told", {"terms": terms, "told_on": "2026-03-01"}).status_code == 302
    assert "notified in time, on March 1, 2026." in words(office.get(f"/sites/{site}/sold"))
    assert clean()


def test_a_buyer_whose_name_is_on_file_is_that_customer_or_another(unit, office):
    wren = models.Customer.objects.create(name="Wren Abbot", phone="555-0144")
    address = f"/sites/{unit.system.site_id}/sold"
    sent = {"sold_on": "2026-02-20", "buyer": "Wren Abbot", "phone": "555-0199"}
    response = office.post(address, sent)
    assert response.status_code == 422
    assert response.context["form"].errors["whose"] == ["Wren Abbot is on file already. Choose who bought the house."]
    assert "Wren Abbot: no site yet; 555-0144" in words(response)
    assert not models.Sale.objects.exists()
    assert office.post(address, sent | {"whose": "new"}).status_code == 302
    buyer = models.Sale.objects.get().buyer
    assert (buyer.name, buyer.phone, buyer == wren) == ("Wren Abbot", "555-0199", False)
    # And from there on to the first of that name.
    again = sent | {"sold_on": "2026-02-25", "whose": str(wren.pk)}
    assert office.post(address, again | {"whose": str(buyer.pk)}).status_code == 422
    assert office.post(address, again).status_code == 302
    assert models.Sale.objects.order_by("sold_on").last().buyer == wren


def test_a_name_that_somebody_else_has_is_confirmed_with_a_tick(unit, office):
    wren = models.Customer.objects.create(name="Wren Abbot")
    address = f"/customers/{wren.pk}/correct"
    sent = {"was_name": "Wren Abbot", "name": "Odile Marsh", "was_phone": "", "phone": "", "was_email": "", "email": ""}
    response = office.post(address, sent)
    assert response.status_code == 422
    assert (
        "Odile Marsh is already on file (Odile Marsh: 7 Tar Lane; 555-0100). If they are one customer, merge them."
        in words(response)
    )
    assert office.post(address, sent | {"sure": "name:Odile Marsh"}).status_code == 302
    assert models.Customer.objects.filter(name="Odile Marsh").count() == 2


def test_a_house_that_was_not_sold_is_given_back_with_a_reason(unit, office):
    address = f"/sites/{unit.system.site_id}/sold"
    assert "It was not sold" not in words(office.get(address))
    office.post(address, {"sold_on": "2026-02-20", "buyer": "Wren Abbot"})
    refused = office.post(f"{address}/back", {"sold_on": "2026-02-20", "why": ""})
    assert refused.status_code == 422
    assert refused.context["back"].errors["why"] == ["Say why this is undone, in a few words."]
    done = office.post(f"{address}/back", {"sold_on": "2026-02-20", "why": "the house next door"}, follow=True)
    assert "Undone: the house is Odile Marsh’s again." in words(done)
    changes = words(office.get(f"/sites/{unit.system.site_id}/changes"))
    assert "2026-02-20, Odile Marsh to Wren Abbot" in changes
    assert "the house next door" in changes
    late = office.post(f"{address}/back", {"sold_on": "2026-02-20", "why": "the house next door"})
    assert "Somebody undid this sale meanwhile, or recorded another." in words(late)
    assert not models.Customer.objects.filter(name="Wren Abbot").exists()
    assert clean()


# -- new houses


@pytest.fixture
def houses(unit):
    for number in range(3):
        made = company.unit(f"NEW-{number}", customer="Bram Builders", site=f"Lot {number}", installed_on="2026-01-10")
        models.Site.objects.filter(pk=made.system.site_id).update(new_construction=True)
    company.worked_out()


def test_a_house_is_sold_under_another_name_in_the_same_step(unit, office):
    wren = models.Customer.objects.create(name="Wren Abbot")
    models.Site.objects.create(customer=wren, name="Home")
    site = unit.system.site
    sent = {"sold_on": "2026-02-20", "buyer": "Wren Abbot", "whose": str(wren.pk)}
    refused = office.post(f"/sites/{site.pk}/sold", sent)
    assert refused.status_code == 422
    assert "Wren Abbot already has a site named Home. Enter another name for this one." in words(refused)
    assert office.post(f"/sites/{site.pk}/sold", sent | {"called": "Tar Lane"}).status_code == 302
    site.refresh_from_db()
    assert (site.customer, site.name) == (wren, "Tar Lane")
    told = words(office.get(f"/sites/{site.pk}/changes"))
    assert "sold on 2026-02-20" in told
    assert clean()


def test_new_houses_wait_for_their_closing_day(houses, office):
    page = office.get("/new-houses")
    assert "3 new houses have no closing day on file" in words(page)
    site = models.Site.objects.get(name="Lot 1")
    late = office.post("/new-houses/closed", {"site": site.pk, "closed_on": "2099-01-01"})
    assert late.status_code == 422
    assert office.post("/new-houses/closed", {"site": site.pk, "closed_on": "2026-02-01"}).status_code == 302
    site.refresh_from_db()
    assert site.closed_on == company.day("2026-02-01")
    assert "2 new houses have" in words(office.get("/new-houses"))
    assert clean()


def test_new_houses_leave_as_a_file_without_a_gate_code(houses, office):
    models.Site.objects.update(gate_code="4711#")
    response = office.get("/new-houses?as=csv&text=Lot+2")
    rows = list(csv.reader(io.StringIO(b"".join(response).decode("utf-8-sig"), newline="")))
    assert rows == [
        ["customer", "site", "address", "units", "installed_on"],
        ["Bram Builders", "Lot 2", "7 Tar Lane", "1", "2026-01-10"],
    ]
