"""In whose name and with which serials a registration was made, and what waits on us where ours are others by now."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet import models
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.registry.actions import contacts, correct, merges, sales, swaps
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def office():
    company.on_file()
    return company.as_role("office")


@pytest.fixture
def units(office):
    """Two heads of one system of Odile Marsh's, registered on March 1, 2026."""
    made = [
        company.unit(f"SB-{number}", room=room, installed_on="2026-02-10", started_on="2026-02-10")
        for number, room in ((1, "Den"), (2, "Loft"))
    ]
    company.worked_out()
    register(office, made[0].system)
    return made


def register(office, system: models.System, **told: str) -> None:
    number = models.Terms.objects.get(code="northrill-1").pk
    held = [f"{pk}-{number}" for pk in system.units.values_list("pk", flat=True)]
    told = {"registered_on": "2026-03-01", "number": "N-77"} | told
    sent = {"payer": number, f"with-{number}-units": held} | {
        f"with-{number}-{name}": value for name, value in told.items()
    }
    assert office.post(f"/systems/{system.pk}/registration", sent).status_code == 302


def rename(unit, now: str) -> None:
    customer = unit.system.site.customer
    correct.customer(customer.pk, {"name": Edit("Odile Marsh", now)}, by=None, on=TODAY)


def listed(office) -> list[list[object]]:
    rows = office.get("/registrations/differing").context["listing"].rows
    return [[cell.value for cell in row.cells] for row in rows]


def differing(office, unit) -> list[str]:
    return [one.words for one in office.get(f"/systems/{unit.system_id}/registration").context["page"].differing]


def act(office, unit, what: str, which: str):
    page = office.get(f"/systems/{unit.system_id}/registration").context["page"]
    keys = [key for one in page.differing if one.what == what for key in one.keys]
    sent = {"what": what, "act": which, "key": keys}
    return office.post(f"/systems/{unit.system_id}/registration/differing", sent, follow=True)


def test_a_registration_keeps_the_owner_and_the_serials_it_was_made_with(units, office):
    rows = models.Registration.objects.order_by("pk")
    assert [(row.in_name, row.serial) for row in rows] == [("Odile Marsh", "SB-1"), ("Odile Marsh", "SB-2")]
    page = words(office.get(f"/systems/{units[0].system_id}/registration"))
    assert "Registered on March 1, 2026, number N-77, in the name of Odile Marsh" in page
    assert listed(office) == []
    assert "differ from our records" not in words(office.get("/on-our-desk"))


def test_another_name_can_be_told_and_the_owner_among_the_contacts_comes_first(office):
    first = company.unit("SB-1", room="Den", installed_on="2026-02-10", started_on="2026-02-10")
    contacts.add(site=first.system.site_id, told={"name": "Tam Reyes", "role": "owner"}, by=None)
    other = company.unit(
        "SB-2", customer="Bram Builders", room="Den", installed_on="2026-02-10", started_on="2026-02-10"
    )
    company.worked_out()
    assert 'value="Tam Reyes"' in words(office.get(f"/systems/{first.system_id}/registration"))
    register(office, first.system)
    register(office, other.system, in_name="Ida Moss")
    assert list(models.Registration.objects.order_by("pk").values_list("in_name", flat=True)) == [
        "Tam Reyes",
        "Ida Moss",
    ]
    assert [row[3:5] for row in listed(office)] == [["Ida Moss", "Bram Builders"]]


def test_an_owners_name_corrected_later_waits_on_us_once_for_the_system(units, office):
    rename(units[0], "Odile Marshall")
    assert listed(office) == [["Whole house", "Odile Marshall", "Northrill", "Odile Marsh", "Odile Marshall", 2]]
    desk = words(office.get("/on-our-desk"))
    assert "Registrations that differ from our records" in desk
    assert differing(office, units[0]) == [
        "Northrill has Odile Marsh as the owner: 2 units are registered in that name. By our records the owner is Odile Marshall."
    ]


def test_a_serial_corrected_later_waits_on_us(units, office):
    correct.unit(units[1].pk, {"serial": Edit("SB-2", "SB-20")}, by=None, on=TODAY)
    assert differing(office, units[1]) == ["Northrill has serial SB-2 for Loft. By our records it is SB-20."]
    # The same written otherwise is the same.
    correct.unit(units[1].pk, {"serial": Edit("SB-20", "sb 2")}, by=None, on=TODAY)
    assert differing(office, units[1]) == []


@pytest.mark.parametrize(
    ("which", "said", "in_name", "fine"),
    [
        pytest.param("right", "2 registrations: they have our records now.", "Odile Marshall", "", id="put right"),
        pytest.param("fine", "2 registrations: as it should be.", "Odile Marsh", "Odile Marshall", id="left as it is"),
    ],
)
def test_one_step_puts_it_right_or_says_that_it_is_as_it_should_be(which, said, in_name, fine, units, office):
    rename(units[0], "Odile Marshall")
    assert said in words(act(office, units[0], "name", which))
    assert {(row.in_name, row.fine_name) for row in models.Registration.objects.all()} == {(in_name, fine)}
    assert listed(office) == []
    # The log says so, and there it is undone for one unit.
    change = models.Change.objects.filter(table="registration").order_by("pk").first()
    assert (change.before, change.after, change.by.username) == (
        "Odile Marsh" if which == "right" else "", "Odile Marshall", "office",
    )  # fmt: skip
    page = words(office.get(f"/units/{units[0].pk}/changes"))
    assert "Undo this correction" in page
    assert office.post(f"/changes/{change.pk}/undo")["Location"] == f"/units/{units[0].pk}/changes"
    assert [row[5] for row in listed(office)] == [1]
    # What was fine with one owner is asked about again with the next.
    correct.customer(
        units[0].system.site.customer_id, {"name": Edit("Odile Marshall", "Odile Reyes")}, by=None, on=TODAY
    )
    assert [row[5] for row in listed(office)] == [2]


def test_a_serial_is_put_right_or_left(units, office):
    for unit, now in zip(units, ("SB-10", "SB-20"), strict=True):
        correct.unit(unit.pk, {"serial": Edit(unit.serial, now)}, by=None, on=TODAY)
    act(office, units[0], "serial", "right")
    assert list(models.Registration.objects.order_by("pk").values_list("serial", "serial_key")) == [
        ("SB-10", "sb10"),
        ("SB-20", "sb20"),
    ]
    correct.unit(units[0].pk, {"serial": Edit("SB-10", "SB-11")}, by=None, on=TODAY)
    act(office, units[0], "serial", "fine")
    assert differing(office, units[0]) == []
    assert act(office, units[0], "serial", "fine").status_code == 200


def test_a_house_sold_since_leaves_it_in_the_sellers_name(units, office):
    """The payer is told of the sale another way; a name that was nobody's here still waits."""
    site = units[0].system.site_id
    sales.sell(site, sold_on=dt.date(2026, 3, 1), buyer=sales.Buyer("Wren Abbot"), by=None, on=TODAY)
    assert listed(office) == []
    models.Registration.objects.update(in_name="Ida Moss")
    assert [row[3:5] for row in listed(office)] == [["Ida Moss", "Wren Abbot"]]


def test_a_registration_of_before_the_sale_day_in_the_buyers_name_is_right(units, office):
    site = units[0].system.site_id
    models.Registration.objects.update(in_name="Wren Abbot")
    assert len(listed(office)) == 1
    sales.sell(site, sold_on=dt.date(2026, 3, 1), buyer=sales.Buyer("Wren Abbot"), by=None, on=TODAY)
    assert listed(office) == []


def test_what_nobody_kept_or_is_gone_does_not_wait(units, office):
    rename(units[0], "Odile Marshall")
    models.Registration.objects.filter(unit=units[0]).update(in_name="", serial="", serial_key="")
    models.Unit.objects.filter(pk=units[1].pk).update(removed_on="2026-03-01", removal_reason="removed")
    assert listed(office) == []


def test_swapped_serials_take_their_registrations_along(units, office):
    swaps.swap(units[0].pk, units[1].pk, what="serials", by=None, on=TODAY)
    assert listed(office) == []
    swaps.swap(units[0].pk, units[1].pk, what="rooms", by=None, on=TODAY)
    assert listed(office) == []


def test_a_merged_unit_brings_what_its_registration_was_made_with(units, office):
    twin = company.unit("", room="Attic", installed_on="2026-02-10", started_on="2026-02-10")
    chosen = {"room": "kept", "serial": "gone"}
    made = merges.merge("unit", twin.pk, units[1].pk, chosen=chosen, by=None, on=TODAY)
    assert (twin.registrations.get().serial, twin.registrations.get().in_name) == ("SB-2", "Odile Marsh")
    assert listed(office) == []
    merges.undo(made.pk, by=None, on=TODAY)
    assert units[1].registrations.get().serial == "SB-2"
    assert not list(recheck.differences(on=TODAY))


def test_only_the_desk_sees_and_settles_it(units, office):
    rename(units[0], "Odile Marshall")
    technician = company.as_role("technician")
    assert technician.get("/registrations/differing").status_code == 403
    address = f"/systems/{units[0].system_id}/registration/differing"
    key = models.Registration.objects.values_list("pk", flat=True)[0]
    assert technician.post(address, {"what": "name", "act": "right", "key": key}).status_code == 403
    for nonsense in ({"what": "phone", "act": "right"}, {"what": "name", "act": "x"}, {}):
        assert office.post(address, nonsense).status_code == 404
    other = company.unit("X-1", customer="Bram Builders")
    office.post(f"/systems/{other.system_id}/registration/differing", {"what": "name", "act": "right", "key": key})
    assert models.Registration.objects.filter(in_name="Odile Marsh").count() == 2


@pytest.mark.parametrize("address", ["/registrations/differing", "/on-our-desk"])
def test_more_of_them_take_no_more_queries(address, units, office):
    def asked() -> int:
        office.get(address)
        with CaptureQueriesContext(connection) as queries:
            office.get(address)
        return len(queries)

    rename(units[0], "Odile Marshall")
    few = asked()
    for number in range(5):
        unit = company.unit(f"X-{number}", customer=f"Bram {number}", room="Den", installed_on="2026-02-10")
        models.Registration.objects.create(unit=unit, registered_on="2026-03-01", in_name="Ida Moss")
    assert asked() == few
