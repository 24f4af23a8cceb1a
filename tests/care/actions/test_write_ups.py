"""Is a write-up recorded whole, once, and by the one way that each of its parts is recorded? Asked on March 2, 2026."""

import datetime as dt
import threading
import uuid

import pytest
from django.db import connection

from fleet import models
from fleet.care.actions import bookings, write_ups
from fleet.derived import recheck
from fleet.refusals import Conflict, Refused
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


def told(*units: dict, **named) -> dict:
    return {"key": KEY, "day": "2026-03-02", "technician": "Jules Ouellet", "units": list(units), **named}


def record(site: models.Site, by: models.User, sent: dict, on: dt.date = TODAY) -> write_ups.Recorded:
    return write_ups.record(site.pk, sent, sent=sent, by=by, on=on)


def of(unit: models.Unit, **named) -> dict:
    return {"unit": str(unit.pk), **named}


def test_what_was_done_moves_the_dues_on_and_nothing_else(units, jules):
    den, loft, outdoor = units
    sent = told(of(den, done=["coil", "drain"]), of(outdoor, done=["check"]), minutes="95", notes="All quiet.")
    made = record(den.system.site, jules, sent).write_up
    assert (made.technician, made.minutes, made.notes, made.on) == ("Jules Ouellet", 95, "All quiet.", TODAY)
    assert made.content == sent
    assert stops.due(den).due_on == day("2027-03-02")
    assert stops.due(den, "drain").due_on == day("2027-03-02")
    assert stops.due(outdoor, "check").due_on == day("2027-03-02")
    assert stops.due(loft).due_on == day("2026-02-01")
    assert sorted(made.records.values_list("unit__serial", "task", "technician")) == [
        ("OD-1", "check", "Jules Ouellet"),
        ("SB-1", "coil", "Jules Ouellet"),
        ("SB-1", "drain", "Jules Ouellet"),
    ]
    assert list(recheck.differences(on=TODAY)) == []


def test_a_skip_says_why_and_until_when(units, jules):
    den = units[0]
    skip = {"task": "coil", "reason": "no access", "not_before": "2026-04-15"}
    made = record(den.system.site, jules, told(of(den, skipped=[skip]))).write_up
    row = made.records.get()
    assert (row.skipped, row.skip_reason, row.not_before) == (True, "no access", day("2026-04-15"))
    found = stops.due(den)
    assert (found.due_on, found.not_before) == (day("2026-02-01"), day("2026-04-15"))
    assert list(recheck.differences(on=TODAY)) == []


def test_dirt_seen_and_left_brings_the_work_forward_and_is_no_proof_of_upkeep(units, jules):
    den = units[0]
    record(den.system.site, jules, told(of(den, done=["coil"])), on=TODAY)
    later = day("2026-06-01")
    seen = told(of(den, dirt_coil="2", notes="Smells of frying."), key=str(uuid.uuid4()), day="2026-06-01")
    made = record(den.system.site, jules, seen, on=later).write_up
    row = made.records.get()
    assert (row.task, row.technician, row.dirt_coil, row.notes) == ("", "", 2, "Smells of frying.")
    assert stops.due(den).due_on == day("2026-07-01")
    assert list(recheck.differences(on=later)) == []


def test_dirt_and_notes_stand_on_the_first_record_of_the_unit(units, jules):
    den = units[0]
    made = record(den.system.site, jules, told(of(den, done=["coil", "drain"], dirt_coil="3", notes="Mold."))).write_up
    assert sorted(made.records.values_list("task", "dirt_coil", "notes")) == [("coil", 3, "Mold."), ("drain", None, "")]


def test_readings_and_refrigerant_stand_on_unit_and_system(units, jules):
    den, _, outdoor = units
    sent = told(
        of(outdoor, readings=[{"reading": "amps", "value": "9.4", "mode": "cooling", "minutes_running": "15"}]),
        refrigerant=[
            {"unit": str(outdoor.pk), "move": "added", "refrigerant": "R-410A", "ounces": "8", "who": "Jules"}
        ],
    )
    made = record(den.system.site, jules, sent).write_up
    reading = made.readings.get()
    assert (reading.unit, str(reading.value), reading.measure, reading.minutes_running) == (outdoor, "9.400", "A", 15)
    entry = made.refrigerant_entries.get()
    assert (entry.system, str(entry.ounces), entry.on, entry.failure) == (den.system, "8.00", TODAY, None)


def test_a_failure_found_is_recorded_as_any_other(units, jules):
    den = units[0]
    sent = told(failures=[{"unit": str(den.pk), "component": "drain pump", "cause": "wear", "notes": "Hums."}])
    made = record(den.system.site, jules, sent).write_up
    failure = made.failures.get()
    assert (failure.unit, failure.failed_on, failure.found_by) == (den, TODAY, "Jules Ouellet")
    assert failure.answers.count() == 1
    assert list(recheck.differences(on=TODAY)) == []


def test_a_technician_may_leave_open_what_failed(units, jules):
    den = units[0]
    sent = told(
        failures=[{"unit": str(den.pk), "component": "not known yet", "notes": "Dead; the board has no lights."}]
    )
    failure = record(den.system.site, jules, sent).write_up.failures.get()
    assert (failure.component, failure.found_by, failure.answers.count()) == ("", "Jules Ouellet", 0)
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize("said", [{"component": ""}, {"component": "not known yet", "repaired_on": "2026-03-02"}])
def test_what_was_repaired_is_said_and_nothing_is_no_answer(units, jules, said):
    den = units[0]
    with pytest.raises(Refused) as refused:
        record(den.system.site, jules, told(failures=[{"unit": str(den.pk), "notes": "Dead."} | said]))
    assert list(refused.value.faults) == ["failed-0-component"]
    assert not models.Failure.objects.exists()


def test_sent_twice_it_is_recorded_once(units, jules):
    den = units[0]
    sent = told(of(den, done=["coil"]), failures=[{"unit": str(den.pk), "component": "sensor"}])
    first = record(den.system.site, jules, sent)
    again = record(den.system.site, jules, sent)
    assert (first.new, again.new, again.write_up) == (True, False, first.write_up)
    counts = [table.objects.count() for table in (models.WriteUp, models.MaintenanceRecord, models.Failure)]
    assert counts == [1, 1, 1]


def test_a_key_is_nobody_elses_and_says_nothing_else(units, jules):
    den = units[0]
    record(den.system.site, jules, told(of(den, done=["coil"])))
    with pytest.raises(Conflict):
        record(den.system.site, jules, told(of(den, done=["drain"])))
    with pytest.raises(Conflict):
        record(den.system.site, company.person("office"), told(of(den, done=["coil"])))
    assert models.MaintenanceRecord.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        pytest.param({"day": "2026-03-03"}, "day", id="tomorrow"),
        pytest.param({"day": ""}, "day", id="no day"),
        pytest.param({"technician": " "}, "technician", id="nobody"),
        pytest.param({"key": "mine"}, "key", id="no key"),
        pytest.param({"minutes": "1441"}, "minutes", id="more than a day"),
        pytest.param({"units": []}, "", id="nothing"),
        pytest.param({"unit": "1"}, "unit", id="unknown name"),
        pytest.param({"units": "all"}, "units", id="no list"),
        pytest.param({"notes": ["a"]}, "notes", id="no text"),
        pytest.param({"booking": "99"}, "booking", id="no such booking"),
    ],
)
def test_what_cannot_be_is_refused_by_field(units, jules, wrong, field):
    before = models.WriteUp.objects.count()
    with pytest.raises(Refused) as refused:
        record(units[0].system.site, jules, told(of(units[0], done=["coil"])) | wrong)
    assert list(refused.value.faults) == [field]
    assert models.WriteUp.objects.count() == before
    assert models.MaintenanceRecord.objects.count() == 0


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"done": ["polish"]}, "due-{}:polish"),
        ({"done": ["coil"], "skipped": [{"task": "coil", "reason": "no access"}]}, "due-{}:coil"),
        ({"skipped": [{"task": "coil", "reason": ""}]}, "due-{}:coil"),
        ({"skipped": [{"task": "coil", "reason": "bored"}]}, "due-{}:coil"),
        ({"skipped": [{"task": "coil", "reason": "no access", "not_before": "2026-03-01"}]}, "until-{}"),
        ({"done": ["coil"], "dirt_wheel": "4"}, "wheel-{}"),
        ({"readings": [{"reading": "amps", "value": "401"}]}, "read-{}-amps"),
    ],
)
def test_what_cannot_be_of_a_unit_is_refused_and_nothing_of_the_rest_is_kept(units, jules, wrong, field):
    den, loft, _ = units
    with pytest.raises(Refused) as refused:
        record(den.system.site, jules, told(of(loft, done=["coil"]), of(den, **wrong)))
    assert list(refused.value.faults) == [field.format(den.pk)]
    assert [table.objects.count() for table in (models.WriteUp, models.MaintenanceRecord, models.Reading)] == [0, 0, 0]
    assert stops.due(loft).due_on == day("2026-02-01")


def test_a_failure_that_cannot_be_takes_the_whole_undo_write_up(units, jules):
    den = units[0]
    failures = [{"unit": str(den.pk), "component": "sensor"}, {"unit": str(den.pk), "component": "gearbox"}]
    with pytest.raises(Refused) as refused:
        record(den.system.site, jules, told(of(den, done=["coil"]), failures=failures))
    assert list(refused.value.faults) == ["failed-1-component"]
    assert models.Failure.objects.count() == 0


def test_another_sites_unit_is_refused(units, jules):
    other = company.unit("ZZ-1", customer="Somebody Else", room="Attic")
    with pytest.raises(Refused) as refused:
        record(units[0].system.site, jules, told(of(other, notes="Not here.")))
    assert list(refused.value.faults) == [""]


# ------------------------------------------------------------------------------------------------- with its booking


def booked(units, **named) -> models.Booking:
    tasks = [(units[0].pk, "coil"), (units[1].pk, "coil")]
    return bookings.book(units[0].system.site_id, tasks, day=TODAY, by=None, on=TODAY, **named)


def test_a_booked_visit_becomes_made(units, jules):
    visit = booked(units)
    sent = told(of(units[0], done=["coil"]), booking=str(visit.pk))
    made = record(units[0].system.site, jules, sent).write_up
    visit.refresh_from_db()
    assert (visit.state, made.booking) == ("made", visit)
    # What it left undone is due as before.
    assert stops.due(units[1]).due_on == day("2026-02-01")


def test_a_second_write_up_of_a_visit_stands_beside_the_first(units, jules):
    visit = booked(units)
    site = units[0].system.site
    record(site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    more = told(of(units[1], done=["coil"]), booking=str(visit.pk), key=str(uuid.uuid4()), technician="Kim")
    # The same person is asked first, and nothing is written before they say that it is more work.
    with pytest.raises(Refused) as asked:
        record(site, jules, more)
    assert list(asked.value.faults) == ["sure"]
    assert "You already wrote up this visit on March 2, 2026." in asked.value.faults["sure"]
    assert models.WriteUp.objects.count() == 1
    second = record(site, jules, more | {"sure": "yes"})
    assert second.write_up.booking is None
    assert second.note == "The visit was already written up by Jules Ouellet; this is a second write-up."
    assert stops.due(units[1]).due_on == day("2027-03-02")


def test_somebody_else_is_not_asked(units, jules):
    visit, site = booked(units), units[0].system.site
    record(site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    kim = models.User.objects.create_user("kim", password="quiet-ledger-9", role="technician")
    second = record(site, kim, told(of(units[1], done=["coil"]), booking=str(visit.pk), key=str(uuid.uuid4())))
    assert second.new


@pytest.mark.parametrize(
    ("changed", "is_asked"),
    [
        pytest.param({}, True, id="the same once more"),
        pytest.param({"notes": "And the den."}, False, id="something else"),
        pytest.param({"day": "2026-03-01"}, False, id="another day"),
    ],
)
def test_a_stop_that_was_not_booked_is_asked_about_where_it_says_the_same(units, jules, changed, is_asked):
    site = units[0].system.site
    first = told(of(units[0], done=["coil"]))
    record(site, jules, first)
    again = first | {"key": str(uuid.uuid4())} | changed
    if is_asked:
        with pytest.raises(Refused) as asked:
            record(site, jules, again)
        assert list(asked.value.faults) == ["sure"]
    else:
        assert record(site, jules, again).new


def test_the_same_words_in_another_shape_are_the_same_under_one_key(units, jules):
    """Numbers as numbers, and what is left out as blank, as a form and a program write it."""
    site = units[0].system.site
    first = record(site, jules, told(of(units[0], done=["coil"], dirt_coil="1"), minutes="95", notes=""))
    again = told(of(units[0], done=["coil"], dirt_coil=1, notes=None), minutes=95, failures=[{}])
    assert record(site, jules, again) == write_ups.Recorded(first.write_up, new=False)
    with pytest.raises(Conflict):
        record(site, jules, again | {"minutes": 96})


def test_work_done_on_a_visit_that_was_called_off_is_not_lost(units, jules):
    visit = booked(units)
    bookings.cancel(visit.pk, was=bookings.seen(visit), why="Customer rang", by=None, on=TODAY)
    made = record(units[0].system.site, jules, told(of(units[0], done=["coil"]), booking=str(visit.pk)))
    assert (made.write_up.booking, "canceled" in made.note) == (None, True)
    assert stops.due(units[0]).due_on == day("2027-03-02")


def test_eight_heads_are_due_again_by_themselves(jules):
    units = stops.house(8)
    sent = told(*(of(unit, done=["coil", "drain"]) for unit in units[:-1]), of(units[-1], done=["check"]))
    record(units[0].system.site, jules, sent)
    ours = models.DueRow.objects.filter(by="technician")
    assert set(ours.values_list("due_on", flat=True)) == {day("2027-03-02")}
    assert ours.count() == 17
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.django_db(transaction=True)
def test_sent_at_the_same_moment_it_is_recorded_once(units, jules):
    sent = told(of(units[0], done=["coil"]))
    site, found = units[0].system.site, []

    def send() -> None:
        try:
            found.append(record(site, jules, sent).write_up.pk)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 3
    assert len(set(found)) == 1
    assert models.MaintenanceRecord.objects.count() == 1
