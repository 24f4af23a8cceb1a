"""A correction undone from the log of changes: where the fact still says what it set; otherwise the page says why not."""

import datetime as dt

import pytest
import time_machine

from fleet import models
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.refusals import Refused
from fleet.registry.actions import correct, lives, merges, sales, undo_correction
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        yield


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def correct_unit(unit, **now: str) -> models.Change:
    """Correct one fact of the unit; what it was is as on file."""
    ((field, text),) = now.items()
    unit.refresh_from_db()
    was = getattr(unit, field)
    edit = Edit(was.isoformat() if isinstance(was, dt.date) else was, text)
    correct.unit(unit.pk, {field: edit}, by=None, on=TODAY, why="misread")
    return models.Change.objects.filter(table="unit", field=field).latest("pk")


def last_of(table: str, field: str) -> models.Change:
    return models.Change.objects.filter(table=table, field=field).latest("pk")


def reasons(office, address: str) -> dict[str, str]:
    return {f"{one.what}: {one.after}": one.why_not for one in office.get(address).context["page"].changes}


def test_a_correction_is_undone_with_all_that_hangs_on_it(unit, office):
    before = set(models.CoverageRow.objects.values_list("terms_id", "kind", "last_on"))
    change = correct_unit(unit, started_on="2022-03-10")
    assert set(models.CoverageRow.objects.values_list("terms_id", "kind", "last_on")) != before
    page = words(office.get(f"/units/{unit.pk}/changes"))
    assert "Undo this correction" in page
    answer = office.post(f"/changes/{change.pk}/undo", follow=True)
    assert answer.redirect_chain == [(f"/units/{unit.pk}/changes", 302)]
    assert "Undone: Started is March 10, 2021 again." in words(answer)
    unit.refresh_from_db()
    assert unit.started_on == dt.date(2021, 3, 10)
    assert set(models.CoverageRow.objects.values_list("terms_id", "kind", "last_on")) == before
    undone = last_of("unit", "started_on")
    assert (undone.before, undone.after, undone.why, str(undone.by)) == (
        "2022-03-10", "2021-03-10", "correction undone", "Wynn Office",
    )  # fmt: skip
    assert not list(recheck.differences(on=TODAY))


def test_what_was_corrected_again_since_is_not_undone(unit, office):
    first = correct_unit(unit, serial="SB-1003")
    second = correct_unit(unit, serial="SB-1004")
    address = f"/units/{unit.pk}/changes"
    assert reasons(office, address) == {"Serial: SB-1004": "", "Serial: SB-1003": "It was changed again since."}
    answer = office.post(f"/changes/{first.pk}/undo", follow=True)
    assert "Nothing was undone: Serial. It was changed again since." in words(answer)
    unit.refresh_from_db()
    assert unit.serial == "SB-1004"
    # The last first, then the one before it: each is what it was.
    for change in (second, first):
        office.post(f"/changes/{change.pk}/undo")
    unit.refresh_from_db()
    assert (unit.serial, unit.serial_key) == ("SB-1002", "sb1002")
    assert models.LookupEntry.objects.get(kind="unit", object_id=unit.pk).text == "SB-1002"


def test_an_undoing_can_be_undone_itself(unit):
    change = correct_unit(unit, room="Loft")
    undo_correction.undo(change.pk, by=None, on=TODAY)
    undo_correction.undo(last_of("unit", "room").pk, by=None, on=TODAY)
    unit.refresh_from_db()
    assert unit.room == "Loft"


def told(site: models.Site) -> list[object]:
    return [*models.Site.objects.filter(pk=site.pk).values(), *site.uses.values("use", "from_on")]


@pytest.mark.parametrize(
    ("field", "was", "now"),
    [
        pytest.param("name", "Home", "Lodge", id="name"),
        pytest.param("street", "7 Tar Lane", "8 Tar Lane", id="street"),
        pytest.param("region", "", "US-ME", id="a blank filled"),
        pytest.param("new_construction", "", "no", id="yes or no"),
        pytest.param("closed_on", "", "2020-02-29", id="day"),
        pytest.param("drive_minutes", "", "35", id="number"),
        pytest.param("use", "", "rental", id="use"),
    ],
)
def test_each_kind_of_fact_of_a_site_is_as_it_was(field, was, now, unit, office):
    site = unit.system.site
    before = told(site)
    correct.site(site.pk, {field: Edit(was, now)}, by=None, on=TODAY)
    assert told(site) != before
    assert office.post(f"/changes/{last_of('site', field).pk}/undo").status_code == 302
    assert told(site) == before


def test_a_customers_correction_is_undone(unit, office):
    customer = unit.system.site.customer
    correct.customer(customer.pk, {"phone": Edit("555-0100", "555-0101")}, by=None, on=TODAY)
    assert (
        office.post(f"/changes/{last_of('customer', 'phone').pk}/undo")["Location"]
        == f"/customers/{customer.pk}/changes"
    )
    customer.refresh_from_db()
    assert customer.phone == "555-0100"


def test_a_fact_that_cannot_be_so_any_more_stays_and_says_why(unit, office):
    """Another unit was put in since with the serial that this one had."""
    change = correct_unit(unit, serial="SB-1003")
    company.unit("SB-1002", room="Loft")
    answer = office.post(f"/changes/{change.pk}/undo", follow=True)
    assert "Nothing was undone: Serial cannot be SB-1002 now." in words(answer)
    unit.refresh_from_db()
    assert unit.serial == "SB-1003"


def test_what_was_no_correction_says_where_to_undo_it(unit, office):
    site = unit.system.site
    sales.sell(
        site.pk, sold_on=dt.date(2026, 2, 20), buyer=sales.Buyer("Wren Abbot"), called="Lodge", by=None, on=TODAY
    )
    sale = "It came with a sale. Undo the sale, or record it again."
    assert reasons(office, f"/sites/{site.pk}/changes") == {"Customer: Wren Abbot": sale, "Name: Lodge": sale}
    lives.tell(unit.pk, kind="moved", day="2026-02-25", told={"to_system": "Annex"}, by=None, on=TODAY)
    assert {*reasons(office, f"/units/{unit.pk}/changes").values()} <= {
        "Undo it where you say what happened to the unit."
    }
    twin = company.unit("", room="Den 2", installed_on="2021-03-09", started_on="2021-04-10")
    merges.merge(
        "unit", unit.pk, twin.pk, chosen={"started_on": "gone", "room": "kept", "system": "kept"}, by=None, on=TODAY
    )
    assert (
        reasons(office, f"/units/{unit.pk}/changes")["Started: April 10, 2021"]
        == "It came with a merge. Undo the merge."
    )
    with pytest.raises(Refused, match="It came with a merge"):
        undo_correction.undo(last_of("unit", "started_on").pk, by=None, on=TODAY)


def test_only_whoever_may_correct_may_undo_a_correction(unit):
    change = correct_unit(unit, room="Loft")
    technician = company.as_role("technician")
    assert "Undo this correction" not in words(technician.get(f"/units/{unit.pk}/changes"))
    assert technician.post(f"/changes/{change.pk}/undo").status_code == 403
    assert company.as_role("office").post("/changes/999999/undo").status_code == 404
    unit.refresh_from_db()
    assert unit.room == "Loft"
