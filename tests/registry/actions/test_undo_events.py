"""What was told by mistake is taken back: everything stands as before it, and what it was stays readable."""

import datetime as dt
from typing import Any

import pytest

from fleet import models
from fleet.care.actions import care_sheets, due
from fleet.claims.actions import failures
from fleet.derived import recheck, refresh
from fleet.elements.edits import Edit
from fleet.loading import history
from fleet.refusals import Refused
from fleet.registry.actions import correct, lives, sales, undo_events
from tests import caring, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
TABLES: tuple[Any, ...] = (
    models.Unit, models.Place, models.Idle, models.System, models.Site, models.Customer, models.Sale, models.Notice,
    models.MaintenanceRecord, models.Attachment, models.LookupEntry, models.HistoryRow, *refresh.WORKED_OUT,
)  # fmt: skip


@pytest.fixture
def unit() -> models.Unit:
    company.on_file(company.MAKER | {"requires": ["yearly maintenance", "first owner"]}, company.OURS)
    made = company.unit(
        "SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den", registered_on="2021-03-20"
    )
    company.unit("SB-1003", started_on="2021-03-10", installed_on="2021-03-09", room="Loft")
    coil = caring.entry("clean-coil", checked_on=dt.date(2025, 8, 1))
    care_sheets.load_table({"code": "house", "task": [coil]}, on=TODAY)
    company.worked_out()
    return made


def everything() -> dict[str, list[dict[str, Any]]]:
    """All that is on file and all that is kept of it; a kept row is written anew, so that its key says nothing."""
    found = {}
    for table in TABLES:
        rows = list(table.objects.order_by("pk").values())
        if table in refresh.WORKED_OUT:
            rows = sorted([{name: row[name] for name in row if name != "id"} for row in rows], key=str)
        found[table.__name__] = rows
    return found


def tell(unit: models.Unit, kind: str, day: str, **told: str) -> models.Unit:
    return lives.tell(unit.pk, kind=kind, day=day, told=told, by=None, on=TODAY)


def back(unit: models.Unit, kind: str, day: str, why: str = "another unit was meant") -> str:
    told = {"why": why, "by": None, "on": TODAY}
    return undo_events.undo_event(unit.pk, kind=kind, day=dt.date.fromisoformat(day), **told)


def clean() -> bool:
    return not [str(one) for one in recheck.differences(on=TODAY)]


# ------------------------------------------------------------------------------------------- what became of it


@pytest.mark.parametrize(
    ("kind", "told", "words"),
    [
        ("removed", {}, "taken out on May 1, 2024"),
        ("idle", {}, "out of use on May 1, 2024"),
        ("moved", {"to_system": "Annex"}, "moved on May 1, 2024"),
        ("exchanged", {"new_serial": "N-1", "under_warranty": "yes"}, "exchanged on May 1, 2024"),
        ("exchanged", {"new_serial": "N-1", "under_warranty": "no"}, "exchanged on May 1, 2024"),
        ("exchanged", {"under_warranty": "no"}, "exchanged on May 1, 2024"),
        ("exchanged", {"under_warranty": "yes"}, "exchanged on May 1, 2024"),
    ],
)
def test_after_it_everything_stands_as_it_did_and_the_same_can_be_told_again(unit, kind, told, words):
    before = everything()
    tell(unit, kind, "2024-05-01", **told)
    after = everything()
    assert after != before
    assert back(unit, kind, "2024-05-01") == words
    assert everything() == before
    change = models.Change.objects.filter(field="taken_back").get()
    assert (change.table, change.object_id, change.before, change.why) == (
        "unit",
        unit.pk,
        words,
        "another unit was meant",
    )
    tell(unit, kind, "2024-05-01", **told)
    assert clean()


def test_in_use_again_is_taken_back_to_idle(unit):
    tell(unit, "idle", "2024-05-01")
    before = everything()
    tell(unit, "back in use", "2024-06-01")
    assert back(unit, "back in use", "2024-06-01") == "back in use on June 1, 2024"
    assert everything() == before


def test_only_the_last_can_be_taken_back_and_one_after_the_other_all_of_it(unit):
    start = everything()
    tell(unit, "moved", "2023-05-01", to_system="Annex")
    tell(unit, "idle", "2023-05-01")
    tell(unit, "back in use", "2023-06-01")
    tell(unit, "removed", "2024-05-01")
    for kind, day in (("moved", "2023-05-01"), ("removed", "2024-05-02")):
        with pytest.raises(Refused, match="last event is now: taken out on May 1, 2024. Nothing of yours was saved."):
            back(unit, kind, day)
    for kind, day in (("removed", "2024-05-01"), ("back in use", "2023-06-01"), ("idle", "2023-05-01"), ("moved", "2023-05-01")):  # fmt: skip
        back(unit, kind, day)
        assert clean()
    assert everything() == start
    with pytest.raises(Refused, match="Nothing is recorded of it any more"):
        back(unit, "moved", "2023-05-01")


def test_why_is_wanted(unit):
    tell(unit, "removed", "2024-05-01")
    before = everything()
    with pytest.raises(Refused) as refused:
        back(unit, "removed", "2024-05-01", why=" ")
    assert refused.value.faults == {"why": "Say why this is undone, in a few words."}
    assert everything() == before


def test_an_exchange_stays_while_something_hangs_on_the_new_unit(unit):
    heir = tell(unit, "exchanged", "2024-05-01", new_serial="N-1", under_warranty="yes")
    due.record(heir.pk, "clean-coil", day=dt.date(2025, 5, 1), technician="Ina", by=None, on=TODAY)
    before = everything()
    with pytest.raises(Refused, match=r"N-1 replaced it and has 1 record of maintenance. Undo that first."):
        back(unit, "exchanged", "2024-05-01")
    assert everything() == before
    record = models.MaintenanceRecord.objects.get()
    undo_events.undo_record(heir.pk, what="record", row=record.pk, why="never done", by=None, on=TODAY)
    back(unit, "exchanged", "2024-05-01")
    assert clean()


def test_a_unit_that_was_on_file_before_it_took_over_is_not_thrown_away(unit):
    company.unit("N-1", room="Den", customer="Aldo Quist", manufactured_on="2020-05-02")
    company.worked_out()
    tell(unit, "exchanged", "2024-05-01", new_serial="N-1", under_warranty="yes")
    before = everything()
    with pytest.raises(Refused, match="was on file before it replaced this one"):
        back(unit, "exchanged", "2024-05-01")
    assert everything() == before


def test_the_failure_that_told_of_an_exchange_tells_of_none_afterward(unit):
    told = {"component": "compressor", "failed_on": "2024-04-20", "repaired_on": "2024-05-01", "new_serial": "N-1", "under_warranty": "yes"}  # fmt: skip
    failure = failures.record(unit.pk, told, by=None, on=TODAY)
    assert failure.new_serial == "N-1"
    back(unit, "exchanged", "2024-05-01")
    failure.refresh_from_db()
    assert failure.new_serial == ""
    assert clean()


def test_a_faded_unit_does_not_come_back_to_a_room_that_another_has_taken(unit):
    faded = company.unit("", room="Attic")
    company.worked_out()
    tell(faded, "removed", "2024-05-01")
    company.unit("", room="Attic")
    with pytest.raises(Refused, match="Another head without a serial is in Attic now"):
        back(faded, "removed", "2024-05-01")


@pytest.mark.parametrize("reference", ["", "J-1"])
def test_what_a_file_told_is_brought_back_by_no_file(unit, tmp_path, reference):
    path = tmp_path / "history.csv"
    path.write_text(f"serial,day,kind,reference,cause\nSB-1002,2024-05-01,removed,{reference},\n")
    history.load(path, by=None, on=TODAY)
    back(unit, "removed", "2024-05-01")
    assert history.load(path, by=None, on=TODAY).added == 0
    path.write_text(f"serial,day,kind,reference,cause\nSB-1002,2024-05-01,removed,{reference},wear\n")
    if reference:
        assert history.load(path, by=None, on=TODAY, correct=True).added == 0
        unit.refresh_from_db()
        assert unit.removed_on is None
    assert clean()


# ------------------------------------------------------------------------------------------- what was told of it


def test_a_record_of_upkeep_goes_and_what_hung_on_it_with_it(unit):
    before = everything()
    due.record(unit.pk, "clean-coil", day=dt.date(2026, 2, 1), technician="Ina", by=None, on=TODAY)
    row = models.MaintenanceRecord.objects.get()
    told = {"what": "record", "row": row.pk, "by": None, "on": TODAY}
    other = models.Unit.objects.get(serial="SB-1003")
    with pytest.raises(Refused, match="Somebody undid this meanwhile"):
        undo_events.undo_record(other.pk, why="x", **told)
    assert (
        undo_events.undo_record(unit.pk, why="the other head", **told) == "Clean-coil done on February 1, 2026 by Ina"
    )
    assert everything() == before
    with pytest.raises(Refused, match="Somebody undid this meanwhile"):
        undo_events.undo_record(unit.pk, why="the other head", **told)


def test_a_promise_goes_unless_a_claim_rests_on_it(unit):
    company.on_file(company.MAKER | {"requires": ["yearly maintenance", "first owner"]}, company.OURS, company.OURS | {"code": "plan-1", "payer": "labor plan", "title": "Ten years of labor"})  # fmt: skip
    company.worked_out()
    before = everything()
    history.load_rows([{"serial": "SB-1002", "day": "2021-03-10", "kind": "attached", "terms": "plan-1"}], on=TODAY)
    promise = models.Attachment.objects.get()
    failure = failures.record(unit.pk, {"component": "compressor", "failed_on": "2026-02-20"}, by=None, on=TODAY)
    plan = models.Terms.objects.get(code="plan-1")
    claim = models.Claim.objects.create(failure=failure, terms=plan, payer="labor plan", payer_name=plan.title, kinds="labor", opened_on=TODAY)  # fmt: skip
    told = {"what": "promise", "row": promise.pk, "why": "not bought", "by": None, "on": TODAY}
    with pytest.raises(Refused, match=rf"Claim {claim.pk} to Ten years of labor rests on this promise"):
        undo_events.undo_record(unit.pk, **told)
    claim.delete()
    failure.delete()
    refresh.refresh([unit.pk], on=TODAY)
    undo_events.undo_record(unit.pk, **told)
    assert everything() == before


# ------------------------------------------------------------------------------------------- a sale


def sold(unit: models.Unit, name: str = "Wren Abbot", **named: Any) -> models.Sale:
    on_file = models.Customer.objects.filter(name=name).first()
    buyer = sales.Buyer(name, "555-0199", whose=on_file and on_file.pk)
    return sales.sell(unit.system.site_id, sold_on=dt.date(2026, 2, 20), buyer=buyer, by=None, on=TODAY, **named)


def not_sold(
    unit: models.Unit, day: str = "2026-02-20", why: str = "the neighbor's house", called: str = ""
) -> models.Customer:
    site = models.Unit.objects.get(pk=unit.pk).system.site_id
    return sales.undo(site, sold_on=dt.date.fromisoformat(day), why=why, called=called, by=None, on=TODAY)


@pytest.mark.parametrize("called", ["", "Lodge"])
def test_a_house_that_was_not_sold_is_the_sellers_again_as_it_was(unit, called):
    before = everything()
    sold(unit, called=called)
    assert everything()["CoverageRow"] != before["CoverageRow"]
    assert not_sold(unit).name == "Odile Marsh"
    assert everything() == before
    assert clean()


def test_a_buyer_who_was_on_file_stays_and_what_payers_were_told_goes(unit):
    company.unit("SB-9", customer="Wren Abbot", site="Shop")
    company.worked_out()
    before = everything()
    sold(unit, called="Lodge")
    terms = models.Terms.objects.get(code="northrill-1").pk
    sales.told(unit.system.site_id, terms=terms, told_on=dt.date(2026, 2, 25), number="T-7", by=None, on=TODAY)
    not_sold(unit)
    assert everything() == before
    told = models.Change.objects.filter(table="site", field="payer told", after="").values_list("before", flat=True)
    assert sorted(told) == [f"Ductless statement, 2026-02-25, for Northrill NH-9 {serial}" for serial in ("SB-1002", "SB-1003")]  # fmt: skip


def test_a_sale_that_is_not_the_last_or_without_a_reason_stays(unit):
    sold(unit)
    before = everything()
    with pytest.raises(Refused) as refused:
        not_sold(unit, why="")
    assert refused.value.faults == {"why": "Say why this is undone, in a few words."}
    with pytest.raises(Refused, match="Somebody undid this sale meanwhile"):
        not_sold(unit, day="2026-02-19")
    assert everything() == before


def test_a_seller_who_gave_the_name_to_another_house_is_named(unit):
    sold(unit)
    company.unit("SB-9", customer="Odile Marsh", site="Home")
    with pytest.raises(Refused, match="Odile Marsh now has another site named Home") as refused:
        not_sold(unit)
    assert list(refused.value.faults) == ["called"]
    not_sold(unit, called="7 Tar Lane")  # named on the spot, nothing has to be renamed first
    unit.system.site.refresh_from_db()
    assert (unit.system.site.name, unit.system.site.customer.name) == ("7 Tar Lane", "Odile Marsh")
    changes = models.Change.objects.filter(table="site", field="name", object_id=unit.system.site_id)
    assert list(changes.values_list("before", "after", "why")) == [("Home", "7 Tar Lane", "sale undone")]


def test_a_sale_that_a_file_told_is_brought_back_by_no_file(unit, tmp_path):
    path = tmp_path / "history.csv"
    path.write_text("serial,day,kind\nSB-1002,2026-02-20,sold\nSB-1003,2026-02-20,sold\n")
    history.load(path, by=None, on=TODAY)
    not_sold(unit)
    assert not models.Sale.objects.exists()
    assert history.load(path, by=None, on=TODAY).added == 0
    assert clean()


def test_a_correction_since_is_kept_when_the_unit_comes_back(unit):
    tell(unit, "removed", "2024-05-01")
    correct.unit(unit.pk, {"room": Edit("Den", "Study")}, by=None, on=TODAY)
    back(unit, "removed", "2024-05-01")
    unit.refresh_from_db()
    assert (unit.room, unit.removed_on) == ("Study", None)
