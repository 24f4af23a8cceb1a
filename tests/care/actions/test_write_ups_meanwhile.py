"""What changed between the phone and the desk: recorded where it can be, else left to the office. Asked on March 2, 2026."""

import copy

import pytest

from fleet import models
from fleet.calls.actions import calls
from fleet.care.actions import bookings, care_sheets, write_up_checks, write_ups
from fleet.refusals import Refused
from fleet.registry.actions import merges
from fleet.rules.calls import State
from tests import company, stops
from tests.company import day

pytestmark = pytest.mark.django_db

TODAY = stops.TODAY
KEY = "5f0c3b1a-7f41-4c3e-9d57-2f5f9b2f0a11"


@pytest.fixture
def units():
    return stops.house(2)


@pytest.fixture
def jules():
    return company.person("technician", first_name="Jules", last_name="Ouellet")


def record(units, jules, *said, **named) -> models.WriteUp:
    sent = {"key": KEY, "day": "2026-03-02", "technician": "Jules Ouellet", "units": list(said), **named}
    return write_ups.record(units[0].system.site_id, sent, sent=sent, by=jules, on=TODAY).write_up


def done(unit, *tasks) -> dict:
    return {"unit": unit.pk, "done": list(tasks or ("coil",))}


def left(write_up) -> list[tuple[str, str, str]]:
    return [(one.kind, one.why, one.said) for one in write_up.checks.all()]


# ------------------------------------------------------------------------------------------------- units


@pytest.mark.parametrize(
    ("removed_on", "is_recorded"),
    [("2026-03-01", False), ("2026-03-02", True), ("2026-03-03", True)],
    ids=["the day before", "that day", "the day after"],
)
def test_a_unit_that_left_before_the_day_is_left_to_the_office(units, jules, removed_on, is_recorded):
    den, loft, _ = units
    models.Unit.objects.filter(pk=den.pk).update(removed_on=day(removed_on), removal_reason="removed")
    made = record(units, jules, done(den), done(loft))
    assert made.records.filter(unit=loft).count() == 1
    assert made.records.filter(unit=den).exists() is is_recorded
    said = [("unit", "Room 1: The unit was removed on March 1, 2026.", "done: Clean the coil")]
    assert left(made) == ([] if is_recorded else said)


@pytest.mark.parametrize(
    ("moved_on", "is_recorded"),
    [("2026-03-01", False), ("2026-03-02", True), ("2026-03-03", True)],
    ids=["the day before", "that day", "the day after"],
)
def test_a_unit_that_moved_to_another_house_is_left_to_the_office(units, jules, moved_on, is_recorded):
    den = units[0]
    elsewhere = company.unit("ZZ-1", customer="Somebody Else", site="Barn").system
    den.places.update(left_on=day(moved_on))
    models.Place.objects.create(unit=den, system=elsewhere, joined_on=day(moved_on))
    made = record(units, jules, done(den))
    assert made.records.exists() is is_recorded
    why = "Room 1: The unit was moved on March 1, 2026 to Somebody Else, Barn."
    assert left(made) == ([] if is_recorded else [("unit", why, "done: Clean the coil")])


def test_everything_that_was_written_of_it_is_kept_in_words(units, jules):
    den = units[0]
    models.Unit.objects.filter(pk=den.pk).update(removed_on=day("2026-02-27"), removal_reason="removed")
    told = {
        "unit": den.pk, "done": ["drain"], "skipped": [{"task": "coil", "reason": "no access"}], "dirt_coil": 2,
        "notes": "Smells.\nBadly.", "readings": [{"reading": "amps", "value": "9"}],
    }  # fmt: skip
    failures = [{"unit": den.pk, "component": "sensor"}, {"unit": units[1].pk, "component": "capacitor"}]
    weighed = [{"unit": den.pk, "move": "added", "refrigerant": "R-32", "ounces": "4"}]
    made = record(units, jules, told, failures=failures, refrigerant=weighed)
    ((_, _, said),) = left(made)
    assert said == (
        "done: Clear the drain line; skipped: Clean the coil (no access); dirt on the coil: 2 of 3; measured: amps, 9; "
        "note: Smells. Badly.; failed: sensor; refrigerant: added, R-32, 4"
    )
    assert [one.component for one in made.failures.all()] == ["capacitor"]


def test_a_unit_that_is_no_longer_on_file_is_left_to_the_office(units, jules):
    made = record(units, jules, {"unit": 10**8, "notes": "Hums."}, notes="All well.")
    assert left(made) == [("unit", "The unit is no longer on file.", "note: Hums.")]


def test_a_unit_of_another_house_was_never_here_and_is_refused(units, jules):
    other = company.unit("ZZ-1", customer="Somebody Else", room="Attic")
    with pytest.raises(Refused, match="not at this site"):
        record(units, jules, done(other))


def test_a_unit_that_was_merged_is_the_one_it_is_now(units, jules):
    den, loft, _ = units
    gone = den.pk
    merges.merge("unit", loft.pk, gone, chosen={"room": "kept", "serial": "kept"}, by=jules, on=TODAY)
    made = record(units, jules, {"unit": gone, "done": ["coil"]})
    assert made.records.get().unit == loft
    assert left(made) == []


def test_a_check_follows_its_unit_through_a_merge_and_back(units, jules):
    den, loft, _ = units
    models.Unit.objects.filter(pk=den.pk).update(removed_on=day("2026-02-27"), removal_reason="removed")
    check = record(units, jules, done(den)).checks.get()
    merge = merges.merge("unit", loft.pk, den.pk, chosen={"room": "kept", "serial": "kept"}, by=jules, on=TODAY)
    check.refresh_from_db()
    assert check.unit == loft
    merges.undo(merge.pk, by=jules, on=TODAY)
    check.refresh_from_db()
    assert check.unit_id == den.pk


# ------------------------------------------------------------------------------------------------- tasks, calls, the visit


def test_a_task_that_left_the_care_sheet_is_left_to_the_office(units, jules):
    sheet = copy.deepcopy(stops.SHEET) | {"code": "ours-2"}
    sheet["task"] = [task for task in sheet["task"] if task["code"] != "drain"]
    care_sheets.load_table(sheet, on=TODAY)
    made = record(units, jules, done(units[0], "coil", "drain"))
    assert [one.task for one in made.records.all()] == ["coil"]
    why = "Room 1: this task is no longer on the care sheet."
    assert left(made) == [("task", why, "done: Clear the drain line")]


def test_a_task_that_no_sheet_ever_had_is_refused(units, jules):
    with pytest.raises(Refused):
        record(units, jules, done(units[0], "polish"))


def call(units, jules) -> models.Call:
    return models.Call.objects.create(
        key=KEY, came_on=TODAY, caller="Odile", site=units[0].system.site, trouble="no heat", by=jules
    )


@pytest.mark.parametrize(
    ("outcome", "is_left"), [("put right", False), ("needs another trip", True), ("needs a part", True)]
)
def test_what_is_said_of_a_call_that_somebody_else_put_right(units, jules, outcome, is_left):
    row = call(units, jules)
    for state in (State.BOOKED, State.PUT_RIGHT):
        calls.stand(row, state, by=jules, on=TODAY)
    made = record(units, jules, done(units[0]), calls=[{"call": row.pk, "outcome": outcome, "what": "Igniter"}])
    row.refresh_from_db()
    assert row.state == State.PUT_RIGHT
    said = [("call", "The call of Odile was already put right.", f"{outcome}, Igniter")]
    assert left(made) == (said if is_left else [])


def test_work_on_a_visit_that_was_called_off_is_recorded_and_flagged(units, jules):
    visit = bookings.book(units[0].system.site_id, [(units[0].pk, "coil")], day=TODAY, by=None, on=TODAY)
    bookings.cancel(visit.pk, was=bookings.seen(visit), why="Customer rang", by=None, on=TODAY)
    made = record(units, jules, done(units[0]), booking=visit.pk)
    assert (made.booking, made.records.count()) == (None, 1)
    ((kind, why, _),) = left(made)
    assert (kind, "canceled in the meantime" in why) == ("visit", True)


# ------------------------------------------------------------------------------------------------- sent again, settled, saved


def test_sent_again_it_is_left_to_the_office_once(units, jules):
    models.Unit.objects.filter(pk=units[0].pk).update(removed_on=day("2026-02-27"), removal_reason="removed")
    first, again = record(units, jules, done(units[0])), record(units, jules, done(units[0]))
    assert first == again
    assert models.WriteUpCheck.objects.count() == 1


def test_settled_twice_the_first_stands(units, jules):
    made = record(units, jules, {"unit": 10**8, "notes": "Hums."}, notes="All well.")
    pk = made.checks.get().pk
    write_up_checks.settle(pk, how="Rang them", by=jules, on=TODAY)
    assert write_up_checks.settle(pk, how="Again", by=jules, on=TODAY).settled_how == "Rang them"
    assert models.WriteUpCheck.objects.open().count() == 0
    write_up_checks.reopen(pk, by=jules)
    assert models.WriteUpCheck.objects.open().count() == 1
