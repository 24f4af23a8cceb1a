"""A house sold, people to reach, and what becomes of a unit told on a screen."""

import datetime as dt

import pytest

from fleet import models
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.loading import history, installs
from fleet.refusals import Refused
from fleet.registry.actions import contacts, correct, lives, sales
from fleet.registry.actions.sales import Buyer
from fleet.sheets import BadFile
from tests import company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
SOLD = dt.date(2026, 2, 20)
TRANSFER = {**company.MAKER, "transfer": {"rule": "notice", "within_days": 30, "source": "page 3"}}
ROW = {
    "customer": "Odile Marsh", "site": "Home", "system": "Whole house", "role": "head", "maker": "Northrill",
    "model": "NH-9", "serial": "SB-1002",
}  # fmt: skip


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return made


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


# -- sold


def sell(unit, name="Wren Abbot", sold_on=SOLD, whose=None, called=""):
    buyer = Buyer(name, "555-0199", whose=whose)
    return sales.sell(unit.system.site_id, sold_on=sold_on, buyer=buyer, called=called, by=None, on=TODAY)


def test_a_sold_house_is_its_buyers_and_keeps_who_sold_it(unit):
    sale = sell(unit)
    site = models.Site.objects.get()
    assert (site.customer.name, site.customer.phone) == ("Wren Abbot", "555-0199")
    assert (sale.seller.name, sale.buyer.name, sale.sold_on) == ("Odile Marsh", "Wren Abbot", SOLD)
    change = models.Change.objects.get(table="site", field="customer")
    assert (change.before, change.after) == ("Odile Marsh", "Wren Abbot")
    assert clean()


def test_a_file_that_names_the_former_owner_still_finds_the_house(unit):
    sell(unit)
    report = installs.load_rows([ROW, ROW | {"serial": "SB-9", "room": "Loft"}], on=TODAY)
    assert (report.added, report.unchanged) == (1, 1)
    assert models.Site.objects.count() == 1
    assert models.Unit.objects.get(serial="SB-9").system_id == unit.system_id
    assert clean()


def test_a_file_may_name_the_house_by_both_owners(unit):
    sell(unit)
    both = [
        ROW | {"serial": f"SB-{number}", "room": f"R{number}", "system": "New", "use": "rental"} for number in (5, 6)
    ]
    both[1]["customer"] = "Wren Abbot"
    assert installs.load_rows(both, on=TODAY).added == 2
    assert (models.Site.objects.count(), models.System.objects.count(), models.SiteUse.objects.count()) == (1, 2, 1)
    assert clean()


def test_a_house_that_the_seller_has_since_goes_before_the_one_sold(unit):
    sell(unit)
    customer = models.Customer.objects.get(name="Odile Marsh")
    mine = models.Site.objects.create(customer=customer, name="Home")
    installs.load_rows([ROW | {"serial": "SB-9"}], on=TODAY)
    assert models.Unit.objects.get(serial="SB-9").system.site_id == mine.pk


def test_a_buyer_with_a_site_of_that_name_gets_it_by_another_in_the_same_step(unit):
    wren = models.Customer.objects.create(name="Wren Abbot")
    models.Site.objects.create(customer=wren, name="Home")
    with pytest.raises(Refused) as refused:
        sell(unit, whose=wren.pk)
    assert refused.value.faults == {
        "called": "Wren Abbot already has a site named Home. Enter another name for this one."
    }
    sell(unit, whose=wren.pk, called="Tar Lane")
    site = unit.system.site
    site.refresh_from_db()
    assert (site.customer, site.name) == (wren, "Tar Lane")
    report = installs.load_rows([ROW, ROW | {"serial": "SB-9", "room": "Loft"}], on=TODAY)
    assert (report.added, report.unchanged) == (1, 1)
    assert models.Unit.objects.get(serial="SB-9").system_id == unit.system_id
    assert clean()


@pytest.mark.parametrize("when", ["before", "since"])
def test_a_file_finds_a_house_that_was_sold_by_a_name_it_had(unit, when):
    site = unit.system.site_id
    if when == "since":
        sell(unit)
    for was, now in (("Home", "Lot 7"), ("Lot 7", "7 Tar Lane")):
        correct.site(site, {"name": Edit(was, now)}, by=None, on=TODAY)
    if when == "before":
        sell(unit)
    for number, name in enumerate(("Home", "Lot 7", "7 Tar Lane")):
        row = ROW | {"site": name, "serial": f"SB-{number}", "room": name}
        installs.load_rows([row], on=TODAY)
        assert models.Unit.objects.get(serial=f"SB-{number}").system_id == unit.system_id
    assert models.Site.objects.count() == 1
    assert clean()


def test_a_name_that_another_house_has_now_is_that_ones(unit):
    site = unit.system.site_id
    correct.site(site, {"name": Edit("Home", "Lot 7")}, by=None, on=TODAY)
    other = models.Site.objects.create(customer=unit.system.site.customer, name="Home")
    sell(unit)
    installs.load_rows([ROW | {"serial": "SB-9"}], on=TODAY)
    assert models.Unit.objects.get(serial="SB-9").system.site_id == other.pk


def test_a_house_that_was_not_sold_is_known_by_the_name_it_has_alone(unit):
    """Its owner may have moved, and have a new house by the old name."""
    correct.site(unit.system.site_id, {"name": Edit("Home", "Lot 7")}, by=None, on=TODAY)
    installs.load_rows([ROW | {"serial": "SB-9"}], on=TODAY)
    assert models.Unit.objects.get(serial="SB-9").system.site_id != unit.system.site_id


def test_a_name_that_was_that_of_two_houses_is_asked_about(unit):
    second = company.unit("SB-2", site="Barn", room="Hay")
    for site, buyer in ((unit.system.site_id, "Wren Abbot"), (second.system.site_id, "Tove Lind")):
        was = models.Site.objects.get(pk=site).name
        if was != "Home":
            correct.site(site, {"name": Edit(was, "Home")}, by=None, on=TODAY)
        correct.site(site, {"name": Edit("Home", f"{buyer}'s")}, by=None, on=TODAY)
        sales.sell(site, sold_on=SOLD, buyer=Buyer(buyer), by=None, on=TODAY)
    with pytest.raises(BadFile, match="'Home' was that of Tove Lind's of Tove Lind or Wren Abbot's of Wren Abbot"):
        installs.load_rows([ROW | {"serial": "SB-9"}], on=TODAY)


@pytest.mark.parametrize(
    ("sold_on", "name", "field"),
    [
        pytest.param(TODAY + dt.timedelta(1), "Wren Abbot", "sold_on", id="tomorrow"),
        pytest.param(SOLD, "Odile Marsh", "whose", id="to its owner"),
        pytest.param(SOLD, "", "buyer", id="to nobody"),
        pytest.param(dt.date(2025, 1, 1), "Wren Abbot", "sold_on", id="on the day of closing"),
    ],
)
def test_a_sale_that_cannot_be_is_refused(unit, sold_on, name, field):
    models.Site.objects.update(closed_on=dt.date(2025, 1, 1))
    with pytest.raises(Refused) as refused:
        sell(unit, name, sold_on)
    assert set(refused.value.faults) == {field}
    assert not models.Sale.objects.exists()


def test_the_day_of_a_sale_told_by_a_file_gets_its_buyer_once(unit):
    models.Sale.objects.create(site=unit.system.site, sold_on=SOLD)
    assert sell(unit, sold_on=SOLD).buyer.name == "Wren Abbot"
    with pytest.raises(Refused, match="already on file"):
        sell(unit, "Third Owner")
    with pytest.raises(Refused, match="A later sale"):
        sell(unit, "Third Owner", SOLD - dt.timedelta(1))


def test_that_a_payer_was_told_is_recorded_for_each_unit_once(unit):
    sell(unit)
    terms = models.Terms.objects.get(code="northrill-1").pk
    tell = {"terms": terms, "number": "T-7", "by": None, "on": TODAY}
    with pytest.raises(Refused, match="Choose a day from the sale"):
        sales.told(unit.system.site_id, told_on=SOLD - dt.timedelta(1), **tell)
    assert len(sales.told(unit.system.site_id, told_on=SOLD, **tell)) == 1
    with pytest.raises(Refused, match="Nothing to record"):
        sales.told(unit.system.site_id, told_on=SOLD, **tell)
    assert models.Notice.objects.get().number == "T-7"
    assert clean()


# -- people to reach


def test_a_contact_is_kept_with_what_it_was(unit):
    site = unit.system.site_id
    made = contacts.add(site=site, told={"name": "Tam Reyes", "role": "tenant", "phone": "555-0111"}, by=None)
    assert not contacts.change(pk=made.pk, told={"name": "Tam Reyes", "role": "tenant", "phone": "555-0111"}, by=None)
    assert contacts.change(pk=made.pk, told={"name": "Tam Reyes", "role": "manager"}, by=None)
    contacts.drop(pk=made.pk, by=None)
    found = models.Change.objects.filter(table="site", object_id=site, field="contact").order_by("pk")
    assert list(found.values_list("before", "after")) == [
        ("", "Tam Reyes, tenant, 555-0111"),
        ("Tam Reyes, tenant, 555-0111", "Tam Reyes, manager"),
        ("Tam Reyes, manager", ""),
    ]


@pytest.mark.parametrize("told", [{"name": "", "role": "owner"}, {"name": "A", "role": "owner", "email": "no"}])
def test_a_contact_that_cannot_be_is_refused(unit, told):
    with pytest.raises(Refused):
        contacts.add(site=unit.system.site_id, told=told, by=None)
    assert not models.Contact.objects.exists()


# -- what becomes of a unit


def tell(unit, kind, day, **told):
    return lives.tell(unit.pk, kind=kind, day=day, told=told, by=None, on=TODAY)


def test_a_unit_moves_to_a_new_system(unit):
    tell(unit, "moved", "2024-05-01", to_system="Annex")
    unit.refresh_from_db()
    assert (unit.system.name, unit.places.count()) == ("Annex", 2)
    assert clean()


@pytest.mark.parametrize("warranty", ["yes", "no"])
def test_an_exchange_gives_the_unit_that_stands_there_now(unit, warranty):
    heir = tell(unit, "exchanged", "2024-05-01", new_serial="N-1", under_warranty=warranty)
    assert (heir.serial, heir.room) == ("N-1", "Den")
    assert heir.took_over_from_id == (unit.pk if warranty == "yes" else None)
    assert clean()


def test_idle_and_back_and_out(unit):
    tell(unit, "idle", "2024-05-01")
    with pytest.raises(Refused):
        tell(unit, "back in use", "2024-04-30")
    tell(unit, "back in use", "2024-06-01")
    tell(unit, "removed", "2025-01-01")
    with pytest.raises(Refused) as refused:
        tell(unit, "idle", "2025-01-02")
    assert "a day before 2025-01-01, when it was removed" in refused.value.faults["day"]
    assert clean()


def test_told_twice_it_is_told_so(unit):
    tell(unit, "moved", "2024-05-01", to_system="Annex")
    with pytest.raises(Refused, match="already on file"):
        tell(unit, "moved", "2024-05-01", to_system="Annex")


# -- and of one whose label nobody can read


@pytest.fixture
def faded(unit):
    """Of two units without a serial beside the one with it, the one that things become of."""
    made = company.unit("", room="Loft", started_on="2021-03-10", installed_on="2021-03-09")
    company.unit("", room="Attic", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    return made


def test_without_a_serial_it_moves_and_no_other_does(faded):
    tell(faded, "moved", "2024-05-01", to_system="Annex")
    assert list(models.Unit.objects.order_by("pk").values_list("room", "system__name")) == [
        ("Den", "Whole house"),
        ("Loft", "Annex"),
        ("Attic", "Whole house"),
    ]
    assert list(faded.places.values_list("system__name", "left_on")) == [
        ("Whole house", dt.date(2024, 5, 1)),
        ("Annex", None),
    ]
    assert clean()


def test_without_a_serial_it_moves_to_another_site(faded):
    shed = models.Site.objects.create(customer=faded.system.site.customer, name="Shed")
    tell(faded, "moved", "2024-05-01", to_site="Shed")
    faded.refresh_from_db()
    assert (faded.system.site, faded.system.name) == (shed, "Whole house")
    assert clean()


def test_without_a_serial_two_of_one_room_cannot_stand_in_one_system(faded):
    other = company.unit("", site="Shed", room="Loft")
    with pytest.raises(Refused) as refused:
        tell(faded, "moved", "2024-05-01", to_site="Shed")
    assert "no other head without a serial stands in 'Loft'" in refused.value.faults["to_system"]
    other.removed_on, other.removal_reason = dt.date(2023, 1, 1), "removed"
    other.save()
    tell(faded, "moved", "2024-05-01", to_site="Shed")
    faded.refresh_from_db()
    assert faded.system_id == other.system_id


@pytest.mark.parametrize(
    ("told", "serial", "took_over"),
    [
        pytest.param({"under_warranty": "yes", "new_serial": "N-1"}, "N-1", True, id="under warranty"),
        pytest.param({"under_warranty": "yes"}, "", True, id="under warranty, by one whose label nobody read"),
        pytest.param({"under_warranty": "no", "new_serial": "N-1"}, "N-1", False, id="bought"),
    ],
)
def test_without_a_serial_it_is_exchanged(faded, told, serial, took_over):
    heir = tell(faded, "exchanged", "2024-05-01", **told)
    faded.refresh_from_db()
    assert (faded.removed_on, faded.removal_reason) == (dt.date(2024, 5, 1), "exchanged")
    assert (heir.pk != faded.pk, heir.serial, heir.room) == (True, serial, "Loft")
    assert heir.took_over_from_id == (faded.pk if took_over else None)
    assert clean()


def test_without_a_serial_it_stands_idle_comes_back_and_is_taken_out(faded):
    tell(faded, "idle", "2024-05-01")
    tell(faded, "back in use", "2024-06-01")
    tell(faded, "removed", "2025-01-01")
    faded.refresh_from_db()
    assert (faded.removed_on, faded.removal_reason) == (dt.date(2025, 1, 1), "removed")
    assert [(one.idle_on, one.back_on) for one in models.Idle.objects.all()] == [
        (dt.date(2024, 5, 1), dt.date(2024, 6, 1))
    ]
    assert not models.Unit.objects.exclude(pk=faded.pk).filter(removed_on__isnull=False).exists()
    assert clean()


def test_what_was_told_without_a_serial_is_the_same_once_a_file_tells_it_by_the_serial(faded):
    tell(faded, "removed", "2024-05-01")
    correct.unit(faded.pk, {"serial": Edit("", "SB-7")}, by=None, on=TODAY)
    report = history.load_rows([{"serial": "SB-7", "day": "2024-05-01", "kind": "removed"}], on=TODAY)
    assert (report.added, report.unchanged) == (0, 1)


def test_of_two_units_with_one_serial_the_one_at_hand_is_meant(unit):
    twin = company.unit("SB-1002", model="NH-12", room="Den")
    tell(twin, "removed", "2024-05-01")
    assert list(models.Unit.objects.order_by("pk").values_list("removal_reason", flat=True)) == ["", "removed"]


def test_told_twice_without_a_serial_it_is_told_so(faded):
    tell(faded, "moved", "2024-05-01", to_system="Annex")
    with pytest.raises(Refused, match="already on file"):
        tell(faded, "moved", "2024-05-01", to_system="Annex")
