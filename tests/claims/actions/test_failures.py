"""A failure recorded, put right and voided: what is taken, what is refused, and what was answered before."""

import datetime as dt
import threading
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from django.db import connection

from fleet import models
from fleet.claims.actions import failures
from fleet.derived import recheck, refresh
from fleet.elements.edits import Edit
from fleet.facts import fleet_facts
from fleet.loading import history
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import lives
from fleet.rules.claims import State
from fleet.sheets import BadFile
from tests import claimed, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
KEY = UUID("6b1f2f6e-3e0c-4a53-9a55-0d4d2c1f8a01")
FOUND = {"component": "sensor", "failed_on": "2026-02-20"}


@pytest.fixture
def unit():
    company.on_file()
    made = company.unit("SB-1002", started_on="2021-03-10", installed_on="2021-03-09", room="Den")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.person("office", first_name="Wynn", last_name="Office")


def clean() -> bool:
    return not list(recheck.differences(on=TODAY))


def record(unit, *, on=TODAY, by=None, **named):
    rows = {name: named.pop(name) for name in ("measured", "weighed", "key") if name in named}
    return failures.record(unit.pk, FOUND | named, by=by, on=on, **rows)


def edit(failure, by=None, why="", **named):
    """Correct fields, each given as (what it showed, what it is to be)."""
    edits = {name: Edit(*told) for name, told in named.items()}
    return failures.correct(failure.pk, edits, by=by, on=TODAY, why=why)


# -- recording


def test_all_that_is_known_is_recorded(unit, office):
    failure = record(
        unit,
        by=office,
        cause="manufacturing defect",
        leak_at="flare at the head",
        fault_code="E7",
        found_by="Tam Reyes",
        notes="intermittent",
        repaired_on="2026-02-24",
        part_number="P-1",
        new_part_number="P-2",
        part_taken_on="2026-02-25",
        parts_cost="84.5",
        labor_minutes="95",
        technician="Tam Reyes",
        supplier="Harbor Supply",
        invoice="H-771",
        refrigerant_cost="30",
        freight_cost="12.25",
        old_part_at="truck",
        measured=[{"reading": "amps", "value": "7.25", "measure": "A", "mode": "cooling", "minutes_running": "15"}],
        weighed=[
            {"move": "recovered", "refrigerant": "R-410A", "ounces": "20", "who": "Tam Reyes", "certificate": "C-9"},
            {"move": "added", "refrigerant": "R-410A", "ounces": "24.5", "who": "Tam Reyes", "cylinder": "7"},
        ],
    )
    failure.refresh_from_db()
    assert (failure.component, failure.failed_on, failure.cause) == (
        "sensor", dt.date(2026, 2, 20), "manufacturing defect",
    )  # fmt: skip
    assert (failure.leak_at, failure.fault_code, failure.found_by) == ("flare at the head", "E7", "Tam Reyes")
    assert (failure.repaired_on, failure.part_taken_on) == (dt.date(2026, 2, 24), dt.date(2026, 2, 25))
    assert (failure.parts_cost, failure.refrigerant_cost, failure.freight_cost) == (
        Decimal("84.50"), Decimal("30.00"), Decimal("12.25"),
    )  # fmt: skip
    assert (failure.supplier.name, failure.invoice, failure.old_part_at, failure.by) == (
        "Harbor Supply", "H-771", "truck", office,
    )  # fmt: skip
    reading = failure.readings.get()
    assert (reading.unit, reading.value, reading.mode, reading.minutes_running) == (
        unit,
        Decimal("7.25"),
        "cooling",
        15,
    )
    assert [(row.move, row.ounces, row.on, row.system) for row in failure.refrigerant_entries.all()] == [
        ("recovered", Decimal("20.00"), dt.date(2026, 2, 24), unit.system),
        ("added", Decimal("24.50"), dt.date(2026, 2, 24), unit.system),
    ]
    assert clean()


def test_a_supplier_is_known_by_name_however_it_is_written(unit):
    models.Supplier.objects.create(name="Harbor Supply")
    assert record(unit, supplier="harbor supply").supplier.name == "Harbor Supply"
    assert models.Supplier.objects.count() == 1


def test_sent_twice_it_is_recorded_once(unit):
    first = record(unit, key=KEY)
    assert record(unit, key=KEY, component="louver") == first
    assert models.Failure.objects.get().component == "sensor"
    assert models.FailureAnswer.objects.count() == 1


def test_what_the_rules_say_is_kept_as_the_command_gives_it(unit, office):
    answer = record(unit, by=office).answers.get()
    assert (answer.asked_on, answer.by) == (TODAY, office)
    assert (answer.content["serial"], answer.content["on"], answer.content["asked"]) == (
        "SB-1002", "2026-02-20", "2026-03-02",
    )  # fmt: skip
    assert answer.content["pays"] == {
        "parts": "maker", "labor": "customer", "refrigerant": "customer", "freight": "customer",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("named", "field", "words"),
    [
        pytest.param({"component": ""}, "component", "what failed", id="nothing failed"),
        pytest.param({"component": "flux"}, "component", "one of compressor", id="no such component"),
        pytest.param({"failed_on": ""}, "failed_on", "the day", id="no day"),
        pytest.param({"failed_on": "2026-03-03"}, "failed_on", "no later than today", id="tomorrow"),
        pytest.param({"failed_on": "3/2/2026"}, "failed_on", "written as", id="a day written otherwise"),
        pytest.param({"repaired_on": "2026-02-19"}, "repaired_on", "no earlier than 2026-02-20", id="repaired before"),
        pytest.param({"part_taken_on": "2026-02-19"}, "part_taken_on", "no earlier than", id="taken before"),
        pytest.param({"parts_cost": "-1"}, "parts_cost", "a number such as", id="less than nothing"),
        pytest.param({"old_part_at": "roof"}, "old_part_at", "one of truck", id="no such place"),
        pytest.param(
            {"measured": [{}, {"reading": "amps", "value": "401", "measure": "A"}]},
            "measured-1-value", "from 0 to 400 A", id="a slip of the pen",
        ),
        pytest.param(
            {"measured": [{"reading": "", "value": "7", "measure": "A"}]}, "measured-0-reading", "what was", id="of what"
        ),
        pytest.param(
            {"weighed": [{"move": "added", "refrigerant": "R-32", "ounces": "0", "who": "Tam"}]},
            "weighed-0-ounces", "", id="weighs nothing",
        ),
        pytest.param(
            {"weighed": [{"move": "added", "refrigerant": "R-32", "ounces": "4"}]}, "weighed-0-who", "who", id="nobody"
        ),
        pytest.param({"new_serial": "N-1", "under_warranty": "yes"}, "repaired_on", "exchanged", id="exchanged when"),
        pytest.param(
            {"new_serial": "N-1", "repaired_on": "2026-02-24"}, "under_warranty", "yes or no", id="who paid for it"
        ),
    ],
)  # fmt: skip
def test_refused_it_leaves_nothing(unit, named, field, words):
    with pytest.raises(Refused) as refused:
        record(unit, supplier="New Supply", **named)
    assert words in refused.value.faults[field]
    assert not models.Failure.objects.exists()
    assert not models.Supplier.objects.exists()
    assert not models.Reading.objects.exists()


@pytest.mark.parametrize(
    ("failed_on", "taken"), [("2026-02-09", True), ("2026-02-10", True), ("2026-02-11", False)]
)  # fmt: skip
def test_a_unit_can_fail_on_its_last_day_and_not_after(unit, failed_on, taken):
    lives.tell(unit.pk, kind="removed", day="2026-02-10", told={}, by=None, on=TODAY)
    if taken:
        assert record(unit, failed_on=failed_on).pk
        return
    with pytest.raises(Refused, match="a day before 2026-02-10, when it was removed"):
        record(unit, failed_on=failed_on)


@pytest.mark.parametrize("value", ["39", "40", "60", "61"])
def test_a_reading_out_of_its_band_is_taken_all_the_same(unit, value):
    failure = record(unit, measured=[{"reading": "indoor relative humidity", "value": value, "measure": "%"}])
    assert failure.readings.get().value == Decimal(value)


def test_a_unit_without_a_serial_fails_too(unit):
    blank = company.unit("", room="Loft", started_on="2021-03-10")
    refresh.refresh([blank.pk], on=TODAY)
    assert record(blank).answers.get().content["pays"]["parts"] == "maker"
    assert clean()


# -- a whole unit


def test_a_whole_unit_that_came_takes_over_in_the_same_step(unit):
    failure = record(
        unit, component="compressor", repaired_on="2026-02-24", new_serial="N-1", under_warranty="yes"
    )  # fmt: skip
    heir = models.Unit.objects.get(serial="N-1")
    assert (heir.took_over_from, heir.replaced_on, heir.model) == (unit, dt.date(2026, 2, 24), "NH-9")
    unit.refresh_from_db()
    assert (unit.removed_on, unit.removal_reason, failure.new_serial) == (dt.date(2026, 2, 24), "exchanged", "N-1")
    assert failure.answers.get().content["pays"]["parts"] == "maker"
    assert clean()


def test_exchanged_on_the_day_it_failed_it_is_answered_as_it_stood(unit):
    failure = record(unit, repaired_on="2026-02-20", new_serial="N-1", under_warranty="yes")
    assert failure.answers.get().content["pays"]["parts"] == "maker"


def test_an_exchange_that_cannot_be_leaves_no_failure(unit):
    company.unit("N-1", started_on="2020-01-01")
    with pytest.raises(Refused) as refused:
        record(unit, repaired_on="2026-02-24", new_serial=unit.serial, under_warranty="yes")
    assert "could not" in refused.value.faults["new_serial"]
    assert not models.Failure.objects.exists()
    unit.refresh_from_db()
    assert unit.removed_on is None


# -- correcting


def test_a_correction_keeps_what_was_before(unit, office):
    failure = record(unit)
    edit(failure, by=office, why="misread", component=("sensor", "compressor"), cause=("", "misuse"))
    failure.refresh_from_db()
    assert (failure.component, failure.cause) == ("compressor", "misuse")
    log = models.Change.objects.filter(table="failure", object_id=failure.pk).order_by("pk")
    assert [(one.field, one.before, one.after, one.why, one.by) for one in log] == [
        ("component", "sensor", "compressor", "misread", office),
        ("cause", "", "misuse", "misread", office),
    ]
    assert [answer.content["component"] for answer in failure.answers.order_by("pk")] == ["sensor", "compressor"]
    assert clean()


def test_of_two_at_once_the_second_is_told(unit, office):
    failure = record(unit)
    edit(failure, by=office, fault_code=("", "E7"))
    with pytest.raises(Conflict) as refused:
        edit(failure, fault_code=("", "E9"))
    assert refused.value.faults == {"fault_code": f"{office} changed this meanwhile; it is now E7."}
    assert refused.value.now == {"fault_code": "E7"}
    failure.refresh_from_db()
    assert failure.fault_code == "E7"


@pytest.mark.parametrize(("repaired_on", "taken"), [("2026-02-19", False), ("2026-02-20", True)])
def test_a_repair_is_no_earlier_than_the_failure(unit, repaired_on, taken):
    failure = record(unit)
    if taken:
        assert edit(failure, repaired_on=("", repaired_on)).repaired_on == dt.date(2026, 2, 20)
        return
    with pytest.raises(Refused, match="no earlier than 2026-02-20"):
        edit(failure, repaired_on=("", repaired_on))


def test_a_failure_cannot_be_moved_past_its_repair(unit):
    failure = record(unit, repaired_on="2026-02-24")
    with pytest.raises(Refused, match="no earlier than 2026-02-25"):
        edit(failure, failed_on=("2026-02-20", "2026-02-25"))


def test_what_was_told_first_cannot_be_emptied(unit):
    with pytest.raises(Refused, match="what failed"):
        edit(record(unit), component=("sensor", ""))


def test_the_repair_comes_later_with_its_rows_and_the_new_unit(unit):
    failure = record(unit)
    failures.correct(
        failure.pk,
        {"repaired_on": Edit("", "2026-02-24"), "supplier": Edit("", "Harbor Supply")},
        exchange={"new_serial": "N-1", "under_warranty": "yes"},
        weighed=[{"move": "recovered", "refrigerant": "R-410A", "ounces": "20", "who": "Tam"}],
        by=None,
        on=TODAY,
    )
    failure.refresh_from_db()
    assert (failure.supplier.name, failure.new_serial) == ("Harbor Supply", "N-1")
    assert models.Unit.objects.get(serial="N-1").took_over_from == unit
    assert failure.refrigerant_entries.get().ounces == Decimal("20.00")
    assert clean()
    with pytest.raises(Refused, match="N-1 came for it already"):
        failures.correct(failure.pk, {}, exchange={"new_serial": "N-2", "under_warranty": "yes"}, by=None, on=TODAY)


def test_a_wrong_reading_is_taken_off_and_stays_in_the_log(unit):
    failure = record(unit, measured=[{"reading": "amps", "value": "70", "measure": "A"}])
    failures.correct(failure.pk, {}, readings_off=[failure.readings.get().pk], by=None, on=TODAY, why="7.0, not 70")
    assert not failure.readings.exists()
    change = models.Change.objects.get(table="failure", field="reading")
    assert (change.before, change.after, change.why) == ("amps 70.000 A", "", "7.0, not 70")


def test_where_the_old_part_is_needs_no_new_answer(unit):
    failure = record(unit, old_part_at="truck")
    failures.old_part(failure.pk, Edit("truck", "sent"), by=None, on=TODAY)
    failure.refresh_from_db()
    assert failure.old_part_at == "sent"
    assert failure.answers.count() == 1


# -- voiding


def test_a_voided_failure_counts_for_nothing_and_stays_readable(unit, office):
    failure = record(unit, component="compressor", repaired_on="2026-02-20", new_part_number="P-2")
    failures.void(failure.pk, reason="another unit", by=office, on=TODAY)
    failure.refresh_from_db()
    assert (failure.voided_on, failure.void_reason) == (TODAY, "another unit")
    told = fleet_facts(models.Unit.objects.filter(pk=unit.pk))[unit.pk]
    assert told.unit.repairs == ()
    assert [answer.by for answer in failure.answers.order_by("pk")] == [None, office]
    change = models.Change.objects.get(table="failure", field="voided_on")
    assert (change.after, change.why, change.by) == ("2026-03-02", "another unit", office)
    assert clean()
    with pytest.raises(Refused, match="was voided: another unit"):
        failures.void(failure.pk, reason="again", by=office, on=TODAY)
    with pytest.raises(Refused, match="was voided"):
        edit(failure, fault_code=("", "E7"))


def test_voiding_says_why(unit):
    failure = record(unit)
    with pytest.raises(Refused, match="Say why"):
        failures.void(failure.pk, reason="  ", by=None, on=TODAY)
    failure.refresh_from_db()
    assert failure.voided_on is None


def test_voiding_withdraws_a_claim_that_nobody_filed(unit, office):
    failure = record(unit, parts_cost="84.50")
    gathering = claimed.claim(failure)
    failures.void(failure.pk, reason="another unit", by=office, on=TODAY)
    step = gathering.steps.get()
    assert (step.went_to, step.reason, step.by) == ("withdrawn", "The failure was voided: another unit", office)
    assert clean()


def test_a_failure_that_a_payer_was_asked_about_is_not_voided(unit):
    failure = record(unit, parts_cost="84.50")
    filed = claimed.claim(failure)
    claimed.step(filed, State.FILED, "2026-03-02", "84.50")
    with pytest.raises(Refused, match="the claim with Northrill is filed"):
        failures.void(failure.pk, reason="another unit", by=None, on=TODAY)
    failure.refresh_from_db()
    assert failure.voided_on is None
    claimed.step(filed, State.WITHDRAWN, "2026-03-02", reason="no")
    failures.void(failure.pk, reason="another unit", by=None, on=TODAY)
    assert clean()


# -- files


ROW = {"serial": "SB-1002", "day": "2026-02-20", "kind": "failure", "component": "sensor", "cause": "wear"}


def test_a_file_and_the_form_come_to_the_same(unit):
    other = company.unit("SB-2002", started_on="2021-03-10", installed_on="2021-03-09", room="Loft")
    refresh.refresh([other.pk], on=TODAY)
    told = {"repaired_on": "2026-02-24", "new_part_number": "P-2", "parts_cost": "84.50", "labor_minutes": "95"}
    history.load_rows([ROW | told], on=TODAY)
    typed = record(other, cause="wear", **told)
    loaded = unit.failures.get()
    same = ("component", "failed_on", "cause", "repaired_on", "new_part_number", "parts_cost", "labor_minutes")
    assert [getattr(loaded, name) for name in same] == [getattr(typed, name) for name in same]
    failures.correct(loaded.pk, {"fault_code": Edit("", "E7")}, by=None, on=TODAY)
    both = [loaded.answers.order_by("pk").first().content, typed.answers.get().content]
    assert both[0]["pays"] == both[1]["pays"]
    assert [{**one, "reasons": []} for one in both[0]["answers"]] == [
        {**one, "reasons": []} for one in both[1]["answers"]
    ]
    assert clean()


def test_a_file_is_refused_where_the_form_is(unit):
    with pytest.raises(BadFile, match="a day no earlier than 2026-02-20"):
        history.load_rows([ROW | {"part_taken_on": "2026-02-19"}], on=TODAY)


def test_a_file_does_not_bring_back_what_was_voided(unit):
    history.load_rows([ROW], on=TODAY)
    failures.void(unit.failures.get().pk, reason="told twice", by=None, on=TODAY)
    assert history.load_rows([ROW], on=TODAY).unchanged == 1
    assert unit.failures.count() == 1


def test_nor_what_was_recorded_on_screen_and_voided(unit):
    failure = record(unit, cause="wear", fault_code="E7")
    failures.void(failure.pk, reason="told twice", by=None, on=TODAY)
    assert history.load_rows([ROW], on=TODAY).unchanged == 1
    assert history.load_rows([ROW | {"cause": "power"}], on=TODAY).added == 1
    assert clean()


def test_a_correction_by_a_file_leaves_a_voided_failure_alone(unit):
    history.load_rows([ROW | {"reference": "R-1"}], on=TODAY)
    failures.void(unit.failures.get().pk, reason="told twice", by=None, on=TODAY)
    report = history.load_rows([ROW | {"reference": "R-1", "cause": "power"}], on=TODAY, correct=True)
    assert (report.corrected, report.unchanged) == (0, 1)
    assert unit.failures.get().cause == "wear"


def test_a_correction_by_a_file_keeps_what_was_answered_before_and_what_is_now(unit, office):
    row, too_early = ROW | {"reference": "R-1"}, {"day": "2021-03-09"}
    history.load_rows([row], on=TODAY)
    loaded = unit.failures.get()
    assert not loaded.answers.exists()
    history.load_rows([row | too_early], by=office, on=TODAY, correct=True)
    now, before = loaded.answers.all()
    assert (before.content["pays"]["parts"], before.by) == ("maker", None)
    assert (now.content["pays"]["parts"], now.by) == ("customer", office)
    history.load_rows([row | too_early], by=office, on=TODAY, correct=True)
    assert loaded.answers.count() == 2
    history.load_rows([row | {"cause": "power"}], on=TODAY, correct=True, check=True)
    assert loaded.answers.count() == 2
    history.load_rows([row], on=TODAY, correct=True)
    assert [one.content["pays"]["parts"] for one in loaded.answers.all()] == ["maker", "customer", "maker"]
    assert clean()


# -- at once


def at_once(act: Callable[[int], Any]) -> list[Any]:
    """What two threads came to, who began at the same moment."""
    found: list[Any] = []
    ready = threading.Barrier(2)

    def one(number: int) -> None:
        try:
            ready.wait(30)
            found.append(act(number))
        except Exception as refused:
            found.append(refused)
        finally:
            connection.close()

    threads = [threading.Thread(target=one, args=(number,)) for number in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return found


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_the_same_moment_it_is_recorded_once(unit):
    first, second = at_once(lambda _: record(unit, key=KEY).pk)
    assert first == second
    assert models.Failure.objects.count() == 1
    assert clean()


@pytest.mark.django_db(transaction=True)
def test_of_two_who_correct_at_the_same_moment_one_is_told(unit):
    failure = record(unit)
    found = at_once(lambda number: edit(failure, fault_code=("", f"E{number}")))
    refused = [one for one in found if isinstance(one, Refused)]
    done = [one for one in found if isinstance(one, models.Failure)]
    assert (len(refused), len(done)) == (1, 1)
    assert f"it is now {done[0].fault_code}" in refused[0].faults["fault_code"]
    failure.refresh_from_db()
    assert failure.fault_code == done[0].fault_code
