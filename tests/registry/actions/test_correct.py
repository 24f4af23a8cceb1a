"""Putting a fact right: kept with what it was, told to the second of two, and worked out at once."""

import datetime as dt

import pytest

from fleet import models
from fleet.coverage.actions import terms
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.loading import history, installs
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import correct
from fleet.registry.queries import lookup
from tests.derived.actions.test_kept import MAKER, ROW

pytestmark = pytest.mark.django_db
TODAY = dt.date(2024, 1, 1)


@pytest.fixture
def unit():
    terms.load_tables([MAKER], on=TODAY)
    installs.load_rows([ROW | {"serial": "A1", "started_on": "2019-06-15", "region": "US-KY"}], on=TODAY)
    return models.Unit.objects.get()


@pytest.fixture
def robin():
    return models.User.objects.create_user("robin", first_name="Robin", last_name="Vale", role="office")


def test_a_corrected_start_is_kept_with_what_it_was_and_moves_the_coverage(unit, robin):
    correct.unit(unit.pk, {"started_on": Edit("2019-06-15", "2023-06-15")}, by=robin, on=TODAY, why="invoice found")
    change = models.Change.objects.get()
    assert (change.table, change.field, change.before, change.after) == (
        "unit",
        "started_on",
        "2019-06-15",
        "2023-06-15",
    )
    assert (change.by, change.why) == (robin, "invoice found")
    assert models.HoldingRow.objects.get().start_on == dt.date(2023, 6, 15)
    assert list(recheck.differences(on=TODAY)) == []


def test_the_second_of_two_is_told_who_changed_it_and_nothing_is_lost(unit, robin):
    correct.unit(unit.pk, {"room": Edit("Den", "Study")}, by=robin, on=TODAY)
    with pytest.raises(Conflict) as refused:
        correct.unit(unit.pk, {"room": Edit("Den", "Loft"), "notes": Edit("", "loud")}, by=None, on=TODAY)
    assert refused.value.now == {"room": "Study"}
    assert refused.value.faults == {"room": "Robin Vale changed this meanwhile; it is now Study."}
    unit.refresh_from_db()
    assert (unit.room, unit.notes) == ("Study", "")


def test_two_who_change_different_facts_both_have_their_way(unit, robin):
    correct.unit(unit.pk, {"room": Edit("Den", "Study")}, by=robin, on=TODAY)
    correct.unit(unit.pk, {"notes": Edit("", "loud"), "room": Edit("Den", "Den")}, by=None, on=TODAY)
    unit.refresh_from_db()
    assert (unit.room, unit.notes) == ("Study", "loud")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        pytest.param("started_on", "15/06/2019", id="a day in another style"),
        pytest.param("started_on", "2024-01-02", id="a day later than today"),
        pytest.param("role", "chimney", id="a word that is not known"),
        pytest.param("maker", "", id="a blank that must not be"),
    ],
)
def test_what_cannot_be_is_refused_by_field_and_changes_nothing(unit, field, text):
    was = {"started_on": "2019-06-15", "role": "head", "maker": "Osmarik"}[field]
    with pytest.raises(Refused) as refused:
        correct.unit(unit.pk, {field: Edit(was, text), "notes": Edit("", "loud")}, by=None, on=TODAY)
    assert field in refused.value.faults or "__all__" in refused.value.faults
    assert not models.Change.objects.exists()
    unit.refresh_from_db()
    assert unit.notes == ""


def test_a_serial_that_another_unit_has_is_refused(unit):
    installs.load_rows([ROW | {"serial": "B2", "room": "Loft"}], on=TODAY)
    with pytest.raises(Refused):
        correct.unit(unit.pk, {"serial": Edit("A1", "b-2")}, by=None, on=TODAY)


def test_a_corrected_serial_is_found_and_the_old_one_is_not(unit):
    correct.unit(unit.pk, {"serial": Edit("A1", "KX77031")}, by=None, on=TODAY)
    assert [hit.object_id for hit in lookup.find("x770")] == [unit.pk]


def test_what_was_handed_on_is_corrected_on_the_first_of_the_line(unit):
    history.load_rows(
        [{"serial": "A1", "day": "2022-01-01", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"}],
        on=TODAY,
    )
    heir = models.Unit.objects.get(serial="N1")
    correct.unit(heir.pk, {"started_on": Edit("2019-06-15", "2020-06-15")}, by=None, on=TODAY)
    unit.refresh_from_db()
    heir.refresh_from_db()
    assert (unit.started_on, heir.started_on) == (dt.date(2020, 6, 15), None)
    assert models.HoldingRow.objects.get(unit=heir).start_on == dt.date(2020, 6, 15)
    assert list(recheck.differences(on=TODAY)) == []


def test_a_site_put_right_works_its_units_out_again(unit):
    site = unit.system.site
    correct.site(site.pk, {"region": Edit("US-KY", "US-FL"), "use": Edit("", "rental")}, by=None, on=TODAY)
    assert models.HoldingRow.objects.get().registration == "not required"
    assert list(recheck.differences(on=TODAY)) == []
    correct.site(site.pk, {"use": Edit("rental", "")}, by=None, on=TODAY)
    assert not models.SiteUse.objects.exists()
    assert list(recheck.differences(on=TODAY)) == []


def test_a_customer_renamed_is_found_by_the_new_name(unit):
    customer = models.Customer.objects.get()
    correct.customer(customer.pk, {"name": Edit("Ada Quill", "Ada Harrow")}, by=None, on=TODAY)
    assert [hit.kind for hit in lookup.find("harrow")] == ["customer"]
    assert list(lookup.find("quill")) == []
