"""A write-up is taken back whole: the record stands as before it, what it said stays readable. Asked on March 2, 2026."""

import datetime as dt
import threading
import uuid
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from fleet import models
from fleet.care.actions import bookings, undo_write_up, write_ups
from fleet.care.facts import visits as gather_visits
from fleet.care.queries import stops as stop_queries
from fleet.care.queries import visit_plan
from fleet.care.queries import visits as visit_queries
from fleet.care.queries import write_ups as queries
from fleet.claims.actions import failures
from fleet.derived import recheck, refresh
from fleet.elements.edits import Edit
from fleet.facts.care import care_sheet
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import merges
from fleet.rules.claims import State
from tests import claimed, company, stops
from tests.company import day

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
WHY = "That was the loft, not the den"


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def jules():
    return company.person("technician", first_name="Jules", last_name="Ouellet")


@pytest.fixture
def desk():
    return company.person("office", first_name="Wynn", last_name="Office")


def told(*units: dict, **named) -> dict:
    return {"key": str(uuid.uuid4()), "day": "2026-03-02", "technician": "Jules Ouellet", "units": list(units), **named}


def of(unit: models.Unit, **named) -> dict:
    return {"unit": str(unit.pk), **named}


def record(site: models.Site, by: models.User, sent: dict) -> models.WriteUp:
    return write_ups.record(site.pk, sent, sent=sent, by=by, on=TODAY).write_up


def everything(units: list[models.Unit]) -> dict:
    """A write-up that tells of each kind of thing there is."""
    den, loft, outdoor = units
    return told(
        of(den, done=["coil", "drain"], dirt_coil="3", notes="Smells of frying."),
        of(loft, skipped=[{"task": "coil", "reason": "no access", "not_before": "2026-04-15"}]),
        of(outdoor, done=["check"], readings=[{"reading": "amps", "value": "9.4", "mode": "cooling"}]),
        failures=[{"unit": str(den.pk), "component": "drain pump", "cause": "wear", "repaired_on": "2026-03-02"}],
        refrigerant=[
            {"unit": str(outdoor.pk), "move": "added", "refrigerant": "R-410A", "ounces": "8", "who": "Jules"}
        ],
        minutes="95",
        notes="All quiet.",
    )  # fmt: skip


def standing() -> dict[str, list[dict[str, Any]]]:
    """All that is kept, and all that write-ups bring but failures, which are voided, without the keys of the rows."""
    tables = (*refresh.WORKED_OUT, models.MaintenanceRecord, models.Reading, models.RefrigerantEntry, models.BookedTask)
    found = {}
    for table in tables:
        rows = [{name: value for name, value in row.items() if name != "id"} for row in table.objects.values()]
        found[table._meta.model_name] = sorted(rows, key=repr)
    return found


def on_file() -> dict[str, list[dict[str, Any]]]:
    """Every row of every table that a write-up or its taking back may write."""
    tables = (models.WriteUp, models.Failure, models.FailureAnswer, models.Claim, models.Booking, models.Change)
    return standing() | {table._meta.model_name: list(table.objects.order_by("pk").values()) for table in tables}


def back(row: models.WriteUp, by: models.User, why: str = WHY) -> models.WriteUp:
    return undo_write_up.undo(row.pk, why=why, by=by, on=TODAY)


def refused(row: models.WriteUp, by: models.User, why: str = WHY) -> str:
    before = on_file()
    with pytest.raises(Refused) as found:
        back(row, by, why)
    assert on_file() == before
    return str(found.value)


# ------------------------------------------------------------------------------------------------- what goes


def test_everything_stands_as_it_did_before(units, jules):
    before = standing()
    made = record(units[0].system.site, jules, everything(units))
    assert standing() != before
    assert stops.due(units[0]).due_on == day("2027-03-02")
    back(made, jules)
    assert standing() == before
    assert stops.due(units[0]).due_on == day("2026-02-01")
    assert stops.due(units[1]).not_before is None
    assert list(recheck.differences(on=TODAY)) == []


def test_maintenance_of_before_stays_the_proof_that_it_was(units, jules):
    """What an earlier visit did is neither taken along nor outdone."""
    site = units[0].system.site
    first = record(site, jules, told(of(units[0], done=["coil"]), day="2026-02-10"))
    before = standing()
    second = record(site, jules, told(of(units[0], done=["coil"]), of(units[1], done=["coil"])))
    back(second, jules)
    assert standing() == before
    assert stops.due(units[0]).due_on == day("2027-02-10")
    assert first.records.count() == 1


def test_the_row_says_who_when_and_why_and_keeps_what_was_sent(units, jules, desk):
    sent = everything(units)
    made = record(units[0].system.site, jules, sent)
    back(made, desk, f"  {WHY} ")
    made.refresh_from_db()
    assert (made.taken_back_on, made.taken_back_by, made.taken_back_why) == (TODAY, desk, WHY)
    assert made.content == sent
    page = queries.page(made.pk, on=TODAY)
    assert page.taken_back.said == (
        "Room 1: Clean the coil done; coil 3 of 3; note: Smells of frying.",
        "Room 1: Clear the drain line done",
        "Room 2: Clean the coil skipped: no access; not before April 15, 2026",
        "outdoor OD-1: Check the volts done",
        "outdoor OD-1: amps 9.400 A",
        "Whole house: added 8.00 oz R-410A, Jules",
    )


def test_it_is_in_the_log_of_each_unit_and_of_the_write_up(units, jules, desk):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    back(made, desk)
    change = models.Change.objects.get(table="unit", object_id=units[0].pk)
    assert (change.field, change.before, change.after, change.by) == (
        "maintenance",
        "2026-03-02: Clean the coil done, Jules Ouellet",
        "",
        desk,
    )
    assert change.why == f"write-up taken back: {WHY}"
    own = models.Change.objects.get(table="writeup", object_id=made.pk, field="taken_back_on")
    assert (own.before, own.after, own.why, own.by) == ("", "2026-03-02", WHY, desk)


def test_the_failures_that_it_found_are_voided_as_any_failure_is(units, jules):
    sent = told(of(units[0], done=["coil"]), failures=[{"unit": str(units[0].pk), "component": "drain pump"}])
    made = record(units[0].system.site, jules, sent)
    back(made, jules)
    failure = models.Failure.objects.get()
    assert (failure.voided_on, failure.write_up) == (TODAY, made)
    assert failure.void_reason == f"The write-up of March 2, 2026 by Jules Ouellet was taken back: {WHY}"
    assert failure.answers.count() == 2
    assert models.ClockRow.objects.count() == 0


def test_a_long_reason_fits_everywhere(units, jules):
    visit = booked(units)
    sent = told(of(units[0], done=["coil"]), failures=[{"unit": str(units[0].pk), "component": "drain pump"}])
    made = record(units[0].system.site, jules, sent | {"booking": str(visit.pk)})
    back(made, jules, "x" * 300)
    assert models.WriteUp.objects.get().taken_back_why == "x" * 300
    assert len(models.Failure.objects.get().void_reason) == 300


def test_every_row_that_points_at_a_write_up_is_one_that_it_takes_along():
    """A new table that points at write-ups must be decided about in undo_write_up."""
    pointing = {relation.related_model for relation in models.WriteUp._meta.related_objects}
    # Photos stay with the site; what could not be recorded stays to read, and stands on no desk any more.
    assert pointing == {
        models.CallPart, models.CallStep, models.Document, models.Failure, models.MaintenanceRecord, models.Reading,
        models.RefrigerantEntry, models.Signature, models.WriteUpCheck,
    }  # fmt: skip


def test_a_write_up_of_a_note_alone_goes_too(units, jules):
    made = record(units[0].system.site, jules, told(notes="Nobody there."))
    back(made, jules)
    assert queries.page(made.pk, on=TODAY).taken_back.why == WHY


# ------------------------------------------------------------------------------------------------- no visit any more


def booked(units, **named) -> models.Booking:
    tasks = [(units[0].pk, "coil"), (units[1].pk, "coil")]
    return bookings.book(units[0].system.site_id, tasks, day=TODAY, by=None, on=TODAY, **named)


def test_its_visit_stands_as_booked_and_can_be_written_up_again(units, jules):
    visit, site = booked(units), units[0].system.site
    before = standing()
    first = record(site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    back(first, jules)
    visit.refresh_from_db()
    assert (visit.state, standing()) == ("booked", before)
    log = models.Change.objects.filter(table="booking", object_id=visit.pk, field="state")
    assert list(log.order_by("pk").values_list("before", "after", "why")) == [
        ("booked", "made", ""),
        ("made", "booked", f"write-up taken back: {WHY}"),
    ]
    assert [stop.booking for stop in stop_queries.today(on=TODAY, technician=None).today] == [visit.pk]
    second = record(site, jules, told(of(units[1], done=["coil"]), booking=str(visit.pk)))
    visit.refresh_from_db()
    assert (visit.state, second.booking) == ("made", visit)
    assert visit_queries.page(visit.pk, visit_plan.board(on=TODAY)).booking.write_up == second.pk
    back(second, jules)
    assert visit_queries.page(visit.pk, visit_plan.board(on=TODAY)).booking.write_up is None
    assert list(visit.write_ups.order_by("pk")) == [first, second]
    assert list(recheck.differences(on=TODAY)) == []


def test_of_two_write_ups_that_count_only_one_is_of_a_visit(units, jules):
    visit, site = booked(units), units[0].system.site
    record(site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    beside = record(site, jules, told(of(units[1], done=["coil"]), booking=str(visit.pk), sure="yes"))
    with pytest.raises(IntegrityError), transaction.atomic():
        models.WriteUp.objects.filter(pk=beside.pk).update(booking=visit)


def test_a_visit_called_off_stays_called_off(units, jules):
    visit = booked(units)
    bookings.cancel(visit.pk, was=bookings.seen(visit), why="Customer rang", by=None, on=TODAY)
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    back(made, jules)
    visit.refresh_from_db()
    assert visit.state == "called off"


def test_no_list_counts_it_as_a_visit(units, jules):
    site = units[0].system.site
    stops.agreed(site)
    made = record(site, jules, told(of(units[0], done=["coil"]), notes="All quiet."))
    span = {"since": day("2026-01-01"), "before": day("2027-01-01")}

    def counted() -> list[Any]:
        page = queries.of_site(site.pk, on=TODAY)
        stop = stop_queries.at_site(site.pk, on=TODAY)
        return [
            len(stop_queries.today(on=TODAY, technician=jules).done),
            stop.last != "",
            any(unit.last for unit in stop.units),
            len(page.written),
            len(page.taken_back),
            dict(gather_visits.made([site.pk], **span)),
            [sold.made for sold in visit_queries.at_site(site.pk, visit_plan.board(on=TODAY)).sold],
        ]

    assert counted() == [1, True, True, 1, 0, {site.pk: (TODAY,)}, [1]]
    planned = visit_plan.plan(care_sheet(), on=TODAY, until=day("2026-12-31"))
    back(made, jules)
    assert counted() == [0, False, False, 0, 1, {}, [0]]
    assert visit_plan.plan(care_sheet(), on=TODAY, until=day("2026-12-31")) != planned


# ------------------------------------------------------------------------------------------------- sent again


def test_a_sending_that_comes_late_records_nothing_again(units, jules):
    sent = everything(units)
    made = record(units[0].system.site, jules, sent)
    back(made, jules)
    before = on_file()
    late = write_ups.record(units[0].system.site_id, sent, sent=sent, by=jules, on=TODAY)
    assert (late.new, late.write_up) == (False, made)
    assert late.note == (
        f"This write-up was taken back on March 2, 2026 by Jules Ouellet. The reason: {WHY}. It is not recorded again."
    )
    other = sent | {"notes": "More."}
    with pytest.raises(Conflict, match="was taken back, and it said something else"):
        write_ups.record(units[0].system.site_id, other, sent=other, by=jules, on=TODAY)
    assert on_file() == before


def test_written_anew_under_a_new_key_it_counts(units, jules):
    sent = everything(units)
    site = units[0].system.site
    first = record(site, jules, sent)
    after = standing()
    back(first, jules)
    second = record(site, jules, sent | {"key": str(uuid.uuid4())})
    now = standing()
    for rows in (*after.values(), *now.values()):
        for row in rows:
            for name in ("write_up_id", "failure_id"):
                row.pop(name, None)
    assert now == after
    assert [row.voided_on for row in models.Failure.objects.order_by("pk")] == [TODAY, None]
    assert second.records.count() == 4
    assert list(recheck.differences(on=TODAY)) == []


# ------------------------------------------------------------------------------------------------- refused


@pytest.mark.parametrize("why", ["", "  "])
def test_without_a_reason_it_is_refused(units, jules, why):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    assert refused(made, jules, why) == "Say why it is taken back."


@pytest.mark.parametrize(("role", "allowed"), [("technician", False), ("office", True), ("owner", True), ("", False)])
def test_the_sender_and_the_desk_may_and_nobody_else(units, jules, role, allowed):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    models.User.objects.filter(pk=jules.pk).update(username="jules")
    other = company.person(role)
    if allowed:
        back(made, other)
        return
    before = on_file()
    with pytest.raises(Refused, match="Only the person who sent it"):
        back(made, other)
    assert on_file() == before
    back(made, jules)


def test_who_left_takes_nothing_back(units, jules):
    """Somebody whose role was taken away is nobody here, whatever they sent before."""
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    jules.role = ""
    with pytest.raises(Refused, match="Only the person who sent it"):
        back(made, jules)


def test_taken_back_twice_it_says_so(units, jules, desk):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    back(made, desk)
    before = on_file()
    with pytest.raises(Conflict) as found:
        back(made, jules, "Me too")
    assert str(found.value) == f"It was already taken back on March 2, 2026 by Wynn Office. The reason: {WHY}."
    assert on_file() == before


@pytest.fixture
def pump(units, jules) -> models.Failure:
    sent = told(of(units[1], done=["coil"]), failures=[{"unit": str(units[0].pk), "component": "drain pump"}])
    return record(units[0].system.site, jules, sent).failures.get()


def test_a_claim_stands_in_the_way_until_it_is_withdrawn(pump, jules):
    claim = claimed.claim(pump)
    assert refused(pump.write_up, jules) == (
        "The failure of the drain pump on Room 1 is claimed: the claim with Northrill is not filed yet. "
        "Withdraw the claim first, or leave the write-up as it is."
    )
    claimed.step(claim, State.WITHDRAWN, "2026-03-02", reason="Never failed")
    back(pump.write_up, jules)
    pump.refresh_from_db()
    assert pump.voided_on == TODAY
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize(
    "since",
    [
        pytest.param({"edits": {"notes": Edit("", "Hums.")}}, id="corrected"),
        pytest.param({"edits": {"repaired_on": Edit("", "2026-03-02")}}, id="repaired"),
        pytest.param({"edits": {}, "measured": [{"reading": "amps", "value": "2"}]}, id="measured"),
        pytest.param(
            {"edits": {}, "weighed": [{"move": "added", "refrigerant": "R-410A", "ounces": "3", "who": "Kim"}]},
            id="weighed",
        ),
    ],
)  # fmt: skip
def test_what_was_told_of_a_failure_since_stands_in_the_way(pump, jules, since):
    edits = since.pop("edits")
    failures.correct(pump.pk, edits, by=None, on=TODAY, **since)
    assert refused(pump.write_up, jules) == (
        "The failure of the drain pump on Room 1 was repaired or corrected since. "
        "Have the office void it on its own page first, if it never happened."
    )
    failures.void(pump.pk, reason="Never failed", by=None, on=TODAY)
    back(pump.write_up, jules)
    pump.refresh_from_db()
    assert pump.void_reason == "Never failed"
    # What was measured or weighed at the failure goes the way of the failure.
    rows = models.Reading.objects.count() + models.RefrigerantEntry.objects.count()
    assert rows == (0 if edits else 1)
    assert list(recheck.differences(on=TODAY)) == []


def test_where_the_old_part_is_stands_in_the_way_too(pump, jules):
    failures.old_part(pump.pk, Edit("", "truck"), by=None, on=TODAY)
    assert "was repaired or corrected since" in refused(pump.write_up, jules)


def test_a_whole_unit_that_came_for_it_stands_in_the_way(units, jules):
    rows = [{"unit": str(units[0].pk), "component": "drain pump", "repaired_on": "2026-03-02"}]
    made = record(units[0].system.site, jules, told(failures=rows))
    exchange = {"new_serial": "SB-77", "under_warranty": "yes"}
    failures.correct(made.failures.get().pk, {}, exchange=exchange, by=None, on=TODAY)
    assert "was repaired or corrected since" in refused(made, jules)


def test_of_two_failures_the_one_built_upon_keeps_the_other(units, jules):
    rows = [{"unit": str(units[0].pk), "component": name} for name in ("drain pump", "sensor")]
    made = record(units[0].system.site, jules, told(failures=rows))
    failures.correct(made.failures.get(component="sensor").pk, {"notes": Edit("", "Hums.")}, by=None, on=TODAY)
    assert "The failure of the sensor on Room 1" in refused(made, jules)
    assert models.Failure.objects.filter(voided_on=None).count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        {"taken_back_on": TODAY},
        {"taken_back_why": WHY},
        {"taken_back_on": TODAY, "taken_back_why": WHY},
    ],
)
def test_all_of_it_is_said_or_none(units, jules, wrong):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    with pytest.raises(IntegrityError), transaction.atomic():
        models.WriteUp.objects.filter(pk=made.pk).update(**wrong)
    with pytest.raises(IntegrityError), transaction.atomic():
        models.WriteUp.objects.filter(pk=made.pk).update(taken_back_on=TODAY, taken_back_by=jules)


# ------------------------------------------------------------------------------------------------- at the same moment


def at_once(*acts: Any) -> list[Any]:
    """Do things in threads of their own; give what each gave or raised."""
    found: list[Any] = []

    def one(act: Any) -> None:
        try:
            found.append(act())
        except Exception as wrong:
            found.append(wrong)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(act,)) for act in acts]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


@pytest.mark.django_db(transaction=True)
def test_of_two_who_take_it_back_at_once_one_is_told(units, jules, desk):
    before = standing()
    made = record(units[0].system.site, jules, everything(units))
    found = at_once(*(lambda by=by: back(made, by) for by in (jules, desk)))
    assert sorted(type(one).__name__ for one in found) == ["Conflict", "WriteUp"]
    assert standing() == before
    assert models.Failure.objects.get().answers.count() == 2


@pytest.mark.django_db(transaction=True)
def test_a_claim_opened_at_the_same_moment_is_not_left_without_its_failure(pump, jules):
    found = at_once(lambda: back(pump.write_up, jules), lambda: claimed.claim(pump))
    pump.refresh_from_db()
    is_claimed = models.Claim.objects.exclude(state=State.WITHDRAWN).exists()
    assert [one for one in found if isinstance(one, Refused)], found
    assert is_claimed == (pump.voided_on is None)
    assert list(recheck.differences(on=TODAY)) == []


def test_days_are_told_not_asked(units, jules):
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"])))
    later = TODAY + dt.timedelta(days=40)
    undo_write_up.undo(made.pk, why=WHY, by=jules, on=later)
    assert models.WriteUp.objects.get().taken_back_on == day("2026-04-11")
    assert list(recheck.differences(on=later)) == []


def test_taking_a_merge_apart_brings_nothing_of_it_back(units, jules):
    """Of two units that were one, the write-up told the same: the merge dropped one of each, and remembers it."""
    den, loft, _ = units
    rows = [{"unit": str(unit.pk), "component": "drain pump"} for unit in (den, loft)]
    sent = told(of(den, done=["coil"]), of(loft, done=["coil"]), failures=rows)
    made = record(den.system.site, jules, sent)
    chosen = dict.fromkeys(("serial", "room"), "kept")
    merge = merges.merge("unit", den.pk, loft.pk, chosen=chosen, by=None, on=TODAY)
    assert (models.MaintenanceRecord.objects.count(), models.Failure.objects.count()) == (1, 1)
    back(made, jules)
    merges.undo(merge.pk, by=None, on=TODAY)
    assert models.MaintenanceRecord.objects.count() == 0
    assert list(models.Failure.objects.values_list("unit", "voided_on").order_by("unit")) == [
        (den.pk, TODAY),
        (loft.pk, TODAY),
    ]
    assert stops.due(loft).due_on == day("2026-02-01")
    assert list(recheck.differences(on=TODAY)) == []
