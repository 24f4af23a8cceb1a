"""A head that was bought in the place of one that was taken out: a person says which, and no head more is billed.

Two heads under an agreement billed upfront from September 1, 2025; one was taken out on January 10, 2026 and another put in on
February 1. A first head is 120 a visit and a further one 80.
"""

import datetime as dt

import pytest

from fleet import models
from fleet.business.actions import agreements
from fleet.care.actions import care_sheets
from fleet.derived import recheck
from fleet.facts import care
from fleet.loading import history
from fleet.refusals import Refused
from fleet.registry.actions import merges, undo_events
from fleet.rules.revenue import serves
from tests import company
from tests.business.web.test_bills import AGREED, HOW, SHEET
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
ADDED = "1 head was added on February 1, 2026"


@pytest.fixture
def office():
    return company.as_role("office")


@pytest.fixture
def old(office):
    company.on_file()
    company.unit("SB-1", room="Den", started_on="2024-05-01", installed_on="2024-05-01")
    made = company.unit("SB-2", room="Loft", started_on="2024-05-01", installed_on="2024-05-01")
    care_sheets.load_table(SHEET, on=TODAY)
    agreements.make(made.system.site_id, facts=AGREED, **HOW)
    company.worked_out()
    assert office.post(f"/units/{made.pk}/life", {"kind": "removed", "day": "2026-01-10"}).status_code == 302
    made.refresh_from_db()
    return made


@pytest.fixture
def new(old):
    return company.unit("SB-3", room="Loft", started_on="2026-02-01", installed_on="2026-02-01")


def say(client, unit, place, was=""):
    return client.post(f"/units/{unit.pk}/place", {"place": str(place), "was_place": str(was)})


def agreement(client) -> str:
    return words(client.get(f"/agreements/{models.Agreement.objects.get().pk}"))


def serving(unit, on: str) -> bool:
    (system,) = care.systems([unit.system_id])
    return serves(next(one for one in system.units if one.key == str(unit.pk)), dt.date.fromisoformat(on))


def test_a_head_that_was_added_is_billed_until_somebody_says_whose_place_it_took(old, new, office):
    assert ADDED in agreement(office)
    assert say(office, new, old.pk).status_code == 302
    new.refresh_from_db()
    assert new.in_place_of == old
    assert ADDED not in agreement(office)
    page = words(office.get(f"/units/{new.pk}"))
    assert "It took the place of" in page
    change = models.Change.objects.get(table="unit", object_id=new.pk, field="in_place_of")
    assert (change.before, change.after, str(change.by)) == ("", "Northrill NH-9 SB-2", "Wynn Office")
    assert "Takes the place of" in words(office.get(f"/units/{new.pk}/changes"))
    # Undone, it is one more again.
    assert say(office, new, "", was=old.pk).status_code == 302
    assert ADDED in agreement(office)
    assert not list(recheck.differences(on=TODAY))


@pytest.mark.parametrize(("day", "there"), [("2026-01-09", False), ("2026-01-10", True), ("2026-02-01", True)])
def test_it_is_in_service_from_the_day_that_the_other_left(old, new, office, day, there):
    say(office, new, old.pk)
    assert serving(new, day) is there
    assert serving(old, day) is not there


def test_the_page_after_a_new_install_asks_it(old, new, office):
    page = office.get(f"/new-install/{old.system_id}")
    assert "Loft, Northrill NH-9 SB-3 takes the place of" in words(page)
    assert "Northrill NH-9 SB-2, Loft, taken out on January 10, 2026" in words(page)
    # A head that stood there before the other went is not asked about.
    assert "Den, Northrill NH-9 SB-1 takes the place of" not in words(page)


@pytest.mark.parametrize(
    ("put_in", "offered"), [("2026-01-09", False), ("2026-01-10", True), ("2026-01-11", True), (None, True)]
)
def test_only_a_head_that_went_before_is_offered(old, office, put_in, offered):
    unit = company.unit("SB-9", room="Attic", installed_on=put_in)
    assert ("SB-2" in words(office.get(f"/units/{unit.pk}/place"))) is offered
    assert say(office, unit, old.pk).status_code == (302 if offered else 422)


def test_a_place_is_taken_once_and_by_a_head_of_the_system(old, new, office):
    say(office, new, old.pk)
    second = company.unit("SB-4", room="Attic", installed_on="2026-02-01")
    elsewhere = company.unit("SB-5", customer="Ulla Prent", installed_on="2026-02-01")
    outdoor = company.unit("OUT-1", role="outdoor", style="", installed_on="2026-02-01")
    for unit in (second, elsewhere, outdoor):
        refused = say(office, unit, old.pk)
        assert refused.status_code == 422
        assert "Choose a head that was taken out of this system before this one was put in." in words(refused)


def test_what_somebody_else_said_meanwhile_is_told(old, new, office):
    say(office, new, old.pk)
    late = say(company.as_role("owner"), new, "", was="x")
    assert late.status_code in (409, 422)
    new.refresh_from_db()
    assert new.in_place_of == old


def test_a_bought_exchange_says_it_itself_and_is_undone_whole(old, office):
    first = models.Unit.objects.get(serial="SB-1")
    row = {"serial": "SB-1", "day": "2026-02-01", "kind": "exchanged", "under_warranty": "no", "new_serial": "SB-7"}
    history.load_rows([row], **HOW)
    heir = models.Unit.objects.get(serial="SB-7")
    assert heir.in_place_of == first
    assert ADDED not in agreement(office)
    undo_events.undo_event(first.pk, kind="exchanged", day=dt.date(2026, 2, 1), why="wrong house", **HOW)
    assert not models.Unit.objects.filter(serial="SB-7").exists()
    assert not list(recheck.differences(on=TODAY))


def test_a_removal_is_not_undone_under_the_head_that_took_the_place(old, new, office):
    say(office, new, old.pk)
    told = {"kind": "removed", "day": dt.date(2026, 1, 10), "why": "never happened", **HOW}
    with pytest.raises(Refused, match="took its place"):
        undo_events.undo_event(old.pk, **told)
    say(office, new, "", was=old.pk)
    undo_events.undo_event(old.pk, **told)


def test_merging_carries_it_along_and_apart_again(old, new, office):
    say(office, new, old.pk)
    twin = company.unit("5B-2", room="Loft")
    merges.merge("unit", twin.pk, old.pk, chosen={"serial": "gone"}, **HOW)
    new.refresh_from_db()
    assert new.in_place_of_id == twin.pk
    twin.refresh_from_db()
    differing = merges.contradictions("unit", new, twin)
    with pytest.raises(Refused, match="took the other's place"):
        merges.merge("unit", new.pk, twin.pk, chosen={one.field: "kept" for one in differing}, **HOW)
    merges.undo(models.Merge.objects.get().pk, **HOW)
    new.refresh_from_db()
    assert new.in_place_of_id == old.pk


def test_a_technician_does_not_say_it(old, new):
    assert company.as_role("technician").get(f"/units/{new.pk}/place").status_code == 403
