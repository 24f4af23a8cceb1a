"""The care sheet in force, a task recorded, and what it moves: dues and the proof of yearly maintenance."""

import datetime as dt

import pytest

from fleet import models
from fleet.business.actions import house
from fleet.care.actions import care_sheets, due
from fleet.coverage.actions import terms
from fleet.coverage.queries import answers
from fleet.derived import recheck, refresh
from fleet.elements.edits import Edit
from fleet.facts import care as gather_care
from fleet.loading import history
from fleet.refusals import Refused
from fleet.registry.actions import correct
from fleet.rules import tables
from fleet.rules.dues import work_out
from tests import rows
from tests.caring import entry
from tests.paths import HOUSE_SHEET

pytestmark = pytest.mark.django_db

TODAY = rows.TODAY
HOUSE = HOUSE_SHEET
SHEET = {
    "code": "ours-1",
    "task": [
        entry("coil", per="head", early_days=30, late_days=30),
        entry("drain", per="drain line"),
        entry("check", per="system"),
        entry("wash", by="owner", every_months=1, early_days=7, late_days=14),
    ],
}
YEARLY = rows.TERMS | {
    "coverage": [
        {"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60, "when": ["yearly maintenance"]}]}
    ]
}


def loaded(**changes):
    return care_sheets.load_table(SHEET | changes, on=TODAY)


def due_row(task, serial="A1"):
    return models.DueRow.objects.get(task=task, unit__serial=serial)


def put_in(*serials, **named):
    rows.installed(
        *({"serial": one, "room": one, "installed_on": "2024-05-15", "style": "wall"} | named for one in serials)
    )


@pytest.fixture(autouse=True)
def nothing_differs():
    yield
    assert list(recheck.differences(on=TODAY)) == []


# ------------------------------------------------------------------------------------------------- the care sheet


def test_the_house_care_sheet_has_a_task_of_every_kind_with_source_minutes_and_cautions():
    assert care_sheets.load_file(HOUSE, by=None, on=dt.date(2026, 11, 24)) == care_sheets.Taken(
        "house-2026", changed=True
    )
    sheet = gather_care.care_sheet()
    assert {task.code for task in sheet.tasks} == {
        "filter wash", "ducted filter", "furnace filter", "air handler filter", "hose rinse", "dehumidifier filter",
        "drain clearing", "coil cleaning", "blower wheel check", "blower wheel cleaning", "built-in pump test",
        "ducted check", "air handler check", "furnace check", "outdoor rinse", "branch box check", "electrical check",
        "heating check", "pump test", "dehumidifier service",
    }  # fmt: skip
    for task in sheet.tasks:
        assert task.source_title, task.code
        assert task.cautions, task.code
        assert task.minutes > 0, task.code


def test_the_same_sheet_twice_changes_nothing():
    put_in("A1")
    loaded()
    before = rows.everything(), list(models.DueRow.objects.values_list())
    assert loaded() == care_sheets.Taken("ours-1", changed=False)
    assert (rows.everything(), list(models.DueRow.objects.values_list())) == before


def test_a_new_sheet_takes_over_and_every_due_is_worked_out_again():
    put_in("A1")
    loaded()
    assert due_row("coil").due_on == dt.date(2025, 5, 15)
    other = SHEET | {"code": "ours-2", "task": [entry("coil", every_months=6)]}
    assert care_sheets.load_table(other, on=TODAY).changed
    assert list(models.CareSheet.objects.values_list("code", "in_force")) == [("ours-1", False), ("ours-2", True)]
    assert [(row.task, row.due_on) for row in models.DueRow.objects.all()] == [("coil", dt.date(2024, 11, 15))]
    assert loaded().changed
    assert due_row("coil").due_on == dt.date(2025, 5, 15)


def test_a_sheet_may_be_written_anew_under_its_code_and_the_log_keeps_that_it_was():
    put_in("A1")
    loaded()
    was = models.CareSheet.objects.get().digest
    assert loaded(task=[entry("coil", every_months=24)]).changed
    assert due_row("coil").due_on == dt.date(2026, 5, 15)
    assert models.Change.objects.get(table="caresheet", field="digest").before == was


BEGUN = dt.date(2026, 6, 1)


def test_the_day_that_the_record_begins_stays_in_force_until_a_sheet_gives_another():
    """Installed on May 15, 2024; what was due on May 15 of 2025 and 2026 counts as done."""
    put_in("A1")
    loaded(upkeep_on_file_from=BEGUN)
    assert (due_row("coil").due_on, due_row("coil").assumed_on) == (dt.date(2027, 5, 15), dt.date(2026, 5, 15))
    # A new sheet without the day, the same one written anew without it, and an older one put in force again.
    for table in (SHEET | {"code": "ours-2"}, SHEET | {"setup_minutes": 5}):
        assert care_sheets.load_table(table, on=TODAY).changed
        assert due_row("coil").due_on == dt.date(2027, 5, 15)
    care_sheets.load_table(SHEET | {"code": "ours-2", "upkeep_on_file_from": dt.date(2026, 5, 15)}, on=TODAY)
    assert due_row("coil").due_on == dt.date(2026, 5, 15)
    assert models.Change.objects.filter(table="caresheet", field="upkeep_on_file_from").exists()


@pytest.mark.parametrize(("begins", "taken"), [("2026-11-23", True), ("2026-11-24", True), ("2026-11-25", False)])
def test_the_record_begins_no_later_than_the_day_of_loading(begins, taken):
    begins = dt.date.fromisoformat(begins)
    if taken:
        assert loaded(upkeep_on_file_from=begins).changed
        return
    with pytest.raises(tables.BadTable) as refused:
        care_sheets.load_table(SHEET | {"upkeep_on_file_from": begins}, name="care.toml", on=TODAY)
    assert "care.toml: upkeep_on_file_from" in str(refused.value)
    assert not models.CareSheet.objects.exists()


def test_what_is_assumed_is_no_proof_for_a_payer():
    """A payer asks for yearly maintenance: the two years that count as done for our plan are open all the same."""
    terms.load_tables([YEARLY], on=TODAY)
    put_in("A1")
    loaded(upkeep_on_file_from=BEGUN)
    (answer,) = answers.ask(serial="A1", component="indoor coil", on=TODAY, asked=TODAY)["answers"]
    assert answer["result"] == "covered_if"
    assert [need["code"] for need in answer["needs"]] == ["maintenance_gap"] * 2


WINTER = {"task": [entry("rinse", per="outdoor", not_months=[12, 1, 2], late_days=30)]}


@pytest.fixture
def rinsed():
    """An outdoor unit of November 20, 2024: its rinse of 2025 is late, and was from December 20 by the plain count."""
    rows.installed({"serial": "O1", "role": "outdoor", "room": "", "installed_on": "2024-11-20"})
    loaded(**WINTER)


def test_a_last_day_in_winter_is_kept_as_the_first_working_day_after_it(rinsed):
    assert due_row("rinse", "O1").late_after == dt.date(2026, 3, 2)


@pytest.mark.parametrize(
    ("closed", "late_after"),
    [
        pytest.param("2026-03-02", "2026-03-03", id="that very day"),
        pytest.param("2026-03-03", "2026-03-02", id="the day after"),
        pytest.param("2026-02-27", "2026-03-02", id="a day inside those months"),
    ],
)
def test_a_day_that_is_closed_and_opened_again_moves_it(rinsed, closed, late_after):
    house.close(days={dt.date.fromisoformat(closed): ""}, by=None, on=TODAY)
    assert due_row("rinse", "O1").late_after == dt.date.fromisoformat(late_after)
    assert list(recheck.differences(on=TODAY)) == []
    house.reopen(models.ClosedDay.objects.get().pk, by=None, on=TODAY)
    assert due_row("rinse", "O1").late_after == dt.date(2026, 3, 2)


def test_two_days_closed_at_once(rinsed):
    house.close(days={dt.date(2026, 3, 2): "", dt.date(2026, 3, 3): ""}, by=None, on=TODAY)
    assert due_row("rinse", "O1").late_after == dt.date(2026, 3, 4)


def test_other_weekdays_move_it(rinsed):
    house.settle(was={"weekdays": "01234"}, facts={"weekdays": "0123456"}, by=None, on=TODAY)
    assert due_row("rinse", "O1").late_after == dt.date(2026, 3, 1)


def test_minutes_by_style_are_kept():
    put_in("A1", style="cassette")
    loaded(task=[entry("coil", style_minutes={"cassette": 40})])
    assert due_row("coil").minutes == 60


@pytest.mark.parametrize(
    ("table", "told"),
    [
        pytest.param(SHEET | {"colour": "red"}, "colour", id="a key that nobody knows"),
        pytest.param(SHEET | {"task": [entry("coil", by="somebody")]}, "by", id="a word that nobody knows"),
        pytest.param(
            SHEET | {"task": [entry("coil", checked_on=dt.date(2026, 11, 25))]},
            "later than today",
            id="checked tomorrow",
        ),
    ],
)
def test_a_sheet_that_cannot_be_read_changes_nothing(table, told):
    with pytest.raises(tables.BadTable) as refused:
        care_sheets.load_table(table, name="care.toml", on=TODAY)
    assert told in str(refused.value.faults[0])
    assert str(refused.value.faults[0]).startswith("care.toml")
    assert not models.CareSheet.objects.exists()


def test_a_file_that_is_no_toml_is_told_by_its_name(tmp_path):
    path = tmp_path / "care.toml"
    path.write_text("code = ", encoding="utf-8")
    with pytest.raises(tables.BadTable) as refused:
        care_sheets.load_file(path, by=None, on=TODAY)
    assert str(refused.value.faults[0]).startswith("care.toml")


# ------------------------------------------------------------------------------------------------- what is recorded


def test_a_task_done_moves_its_due_on():
    put_in("A1")
    loaded()
    unit = models.Unit.objects.get()
    made = due.record(unit.pk, "coil", day=dt.date(2026, 11, 20), technician=" Robin Vale ", by=None, on=TODAY)
    assert (made.technician, made.skipped) == ("Robin Vale", False)
    assert (due_row("coil").last_done, due_row("coil").due_on) == (dt.date(2026, 11, 20), dt.date(2027, 11, 20))


def test_a_task_skipped_waits_and_keeps_its_day():
    put_in("A1")
    loaded()
    until = dt.date(2026, 12, 20)
    due.record(
        models.Unit.objects.get().pk, "coil", day=TODAY, skipped=True, skip_reason="no access", not_before=until,
        by=None, on=TODAY,
    )  # fmt: skip
    assert (due_row("coil").due_on, due_row("coil").not_before) == (dt.date(2025, 5, 15), until)


@pytest.mark.parametrize(
    ("told", "field"),
    [
        pytest.param({"task": "polish"}, "task", id="a task that nobody knows"),
        pytest.param({"day": dt.date(2026, 11, 25)}, "day", id="tomorrow"),
        pytest.param({"skipped": True}, "skip_reason", id="skipped without a reason"),
        pytest.param({"skip_reason": "no access"}, "skip_reason", id="done, with a reason for skipping"),
        pytest.param(
            {"skipped": True, "skip_reason": "other", "not_before": dt.date(2026, 11, 23)},
            "not_before",
            id="until yesterday",
        ),
        pytest.param({"dirt_wheel": 4}, "", id="dirtier than blocked"),
    ],
)
def test_what_cannot_be_is_refused_by_field_and_nothing_is_recorded(told, field):
    put_in("A1")
    loaded()
    with pytest.raises(Refused) as refused:
        due.record(models.Unit.objects.get().pk, **({"task": "coil", "day": TODAY} | told), by=None, on=TODAY)
    assert field in refused.value.faults
    assert not models.MaintenanceRecord.objects.exists()


@pytest.mark.parametrize(
    ("day", "taken"),
    [
        pytest.param("2026-03-01", True, id="its last day"),
        pytest.param("2026-03-02", False, id="the day after it was taken out"),
    ],
)
def test_nothing_is_done_on_a_unit_that_is_gone(day, taken):
    put_in("A1")
    loaded()
    history.load_rows([{"serial": "A1", "day": "2026-03-01", "kind": "removed"}], on=TODAY)
    unit = models.Unit.objects.get()
    if taken:
        due.record(unit.pk, "coil", day=dt.date.fromisoformat(day), by=None, on=TODAY)
    else:
        with pytest.raises(Refused):
            due.record(unit.pk, "coil", day=dt.date.fromisoformat(day), by=None, on=TODAY)


def test_done_today_said_twice_was_done_once():
    put_in("A1")
    loaded()
    somebody = models.User.objects.create_user("robin", role="technician")
    first = due.done(models.Unit.objects.get().pk, "coil", by=somebody, on=TODAY)
    assert due.done(models.Unit.objects.get().pk, "coil", by=somebody, on=TODAY).pk == first.pk
    assert models.MaintenanceRecord.objects.count() == 1


def test_what_somebody_recorded_is_theirs_to_take_back():
    put_in("A1")
    loaded()
    robin = models.User.objects.create_user("robin", role="technician")
    other = models.User.objects.create_user("sam", role="technician")
    made = due.done(models.Unit.objects.get().pk, "coil", by=robin, on=TODAY)
    day = models.Change.objects.get(table="maintenancerecord").at.date()
    with pytest.raises(Refused):
        due.undo(made.pk, by=other, on=day)
    due.undo(made.pk, by=robin, on=day)
    assert not models.MaintenanceRecord.objects.exists()
    assert due_row("coil").last_done is None


# ------------------------------------------------------------------------------------------------- what is kept


@pytest.mark.parametrize(
    ("told", "units"),
    [
        pytest.param({"kind": "removed"}, {"A1"}, id="taken out"),
        pytest.param({"kind": "idle"}, {"A1"}, id="idle"),
        pytest.param({"kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"}, {"A1", "N1"}, id="exchanged"),
        pytest.param({"kind": "moved", "to_system": "Annex"}, {"A1", "B2"}, id="moved to another system"),
    ],
)
def test_whatever_becomes_of_a_unit_its_dues_follow(told, units):
    loaded()
    put_in("A1", "B2")
    history.load_rows([{"serial": "B2", "day": "2025-02-01", **told}], on=TODAY)
    assert set(models.DueRow.objects.filter(task="coil").values_list("unit__serial", flat=True)) == units


def test_an_exchanged_unit_starts_anew_and_keeps_what_was_done_before():
    loaded()
    put_in("A1")
    history.load_rows(
        [
            {"serial": "A1", "day": "2025-01-10", "kind": "maintenance", "task": "coil", "technician": "Robin Vale"},
            {"serial": "A1", "day": "2025-02-01", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"},
            {"serial": "N1", "day": "2025-06-01", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N2"},
        ],
        on=TODAY,
    )
    found = due_row("coil", "N2")
    assert (found.last_done, found.due_on) == (dt.date(2025, 1, 10), dt.date(2026, 6, 1))


def test_a_drain_line_that_is_shared_has_one_due_and_parts_when_it_is_no_longer():
    loaded()
    put_in("A1", "B2", drain="west")
    assert list(models.DueRow.objects.filter(task="drain").values_list("unit__serial", flat=True)) == ["A1"]
    unit = models.Unit.objects.get(serial="B2")
    correct.unit(unit.pk, {"drain": Edit("west", "east")}, by=None, on=TODAY)
    assert set(models.DueRow.objects.filter(task="drain").values_list("unit__serial", flat=True)) == {"A1", "B2"}


def test_a_kept_due_reads_back_as_the_rules_gave_it():

    sheet = {"code": "x", "task": [entry("coil", shorten=[{"when": "pets", "times": "0.5"}], counts_from="due day")]}
    care_sheets.load_table(sheet, on=TODAY)
    put_in("A1", surroundings="pets")
    history.load_rows([{"serial": "A1", "day": "2026-06-01", "kind": "maintenance", "task": "coil"}], on=TODAY)
    row = models.DueRow.objects.select_related("unit").get()
    (system,) = gather_care.systems([row.system_id])
    (due,) = work_out(system, gather_care.care_sheet(), on=TODAY).dues
    again = gather_care.due_of(row, gather_care.care_sheet())
    assert again == due
    assert again.after(TODAY) == due.after(TODAY)


def test_gathering_takes_as_many_queries_for_five_systems_as_for_one():
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    for number in range(5):
        put_in(f"A{number}", f"B{number}", system=f"S{number}")
    counts = []
    for ids in (
        models.System.objects.values_list("pk", flat=True)[:1],
        models.System.objects.values_list("pk", flat=True),
    ):
        wanted = list(ids)
        with CaptureQueriesContext(
            connection,
        ) as asked:
            assert len(gather_care.systems(wanted)) == len(wanted)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_start_and_a_style_that_are_not_known_are_wanted():
    loaded()
    rows.installed({"serial": "A1", "room": "Den"})
    wanted = set(models.FactRow.objects.values_list("unit__serial", "fact"))
    assert wanted >= {("A1", "installed_on"), ("A1", "style")}
    unit = models.Unit.objects.get()
    correct.unit(unit.pk, {"installed_on": Edit("", "2025-05-15")}, by=None, on=TODAY)
    assert due_row("coil").due_on == dt.date(2026, 5, 15)
    assert not models.FactRow.objects.filter(fact="installed_on").exists()


def test_a_unit_done_once_needs_no_start():
    loaded()
    rows.installed({"serial": "A1", "room": "Den"})
    for task in ("coil", "drain", "check", "wash"):
        history.load_rows([{"serial": "A1", "day": "2026-06-01", "kind": "maintenance", "task": task}], on=TODAY)
    assert not models.FactRow.objects.filter(fact="installed_on").exists()


# --------------------------------------------------------------------------------------- proof of yearly maintenance


def answer(serial):
    (found,) = answers.ask_all([answers.question(
        {"serial": serial, "component": "indoor coil", "on": "2026-11-24", "asked": "2026-11-24"}, today=TODAY
    )])  # fmt: skip
    return found["answers"][0]["result"]


@pytest.mark.parametrize(
    ("days", "result"),
    [
        pytest.param(["2024-05-15", "2025-05-15"], "covered", id="the first day of each year"),
        pytest.param(["2025-05-14", "2026-05-14"], "covered", id="the last day of each year"),
        pytest.param(["2024-05-15", "2026-05-15"], "covered_if", id="a year lacks one: the second came a day late"),
        pytest.param(["2024-05-14", "2025-05-15"], "covered_if", id="a year lacks one: the first came a day early"),
    ],
)
@pytest.mark.parametrize(("serial", "task"), [("A1", "coil"), ("O1", "coil"), ("O1", "check"), ("B2", "drain")])
def test_what_was_written_elsewhere_in_the_system_proves_it_as_well(serial, task, days, result):
    """Two whole years from May 15, 2024; A1 and B2 are on one drain line, O1 is the outdoor unit."""
    terms.load_tables([YEARLY], on=TODAY)
    loaded()
    put_in("A1", "B2", drain="west")
    rows.installed({"serial": "O1", "room": "Yard", "role": "outdoor", "installed_on": "2024-05-15"})
    history.load_rows(
        [
            {"serial": serial, "day": day, "kind": "maintenance", "task": task, "technician": "Robin Vale"}
            for day in days
        ],
        on=TODAY,
    )
    assert answer("A1") == result


def test_what_is_on_file_of_one_head_proves_nothing_of_another():
    terms.load_tables([YEARLY], on=TODAY)
    loaded()
    put_in("A1", "B2")
    for day in ("2024-06-01", "2025-06-01"):
        history.load_rows([{"serial": "B2", "day": day, "kind": "maintenance", "task": "coil"}], on=TODAY)
    assert (answer("A1"), answer("B2")) == ("covered_if", "covered")


def test_a_new_care_sheet_changes_whose_work_a_record_was():
    terms.load_tables([YEARLY], on=TODAY)
    put_in("A1", "B2")
    for day in ("2024-06-01", "2025-06-01"):
        history.load_rows([{"serial": "B2", "day": day, "kind": "maintenance", "task": "check"}], on=TODAY)
    assert answer("A1") == "covered_if"
    loaded()
    assert answer("A1") == "covered"


def test_one_unit_worked_out_again_takes_its_neighbors_along():
    """A unit that moves away takes its part in the work of the system with it, up to the day it went."""
    terms.load_tables([YEARLY], on=TODAY)
    loaded()
    put_in("A1", "B2")
    for day in ("2024-06-01", "2025-06-01"):
        history.load_rows([{"serial": "B2", "day": day, "kind": "maintenance", "task": "check"}], on=TODAY)
    history.load_rows([{"serial": "B2", "day": "2025-05-01", "kind": "moved", "to_system": "Annex"}], on=TODAY)
    assert answer("A1") == "covered_if"
    refresh.refresh([models.Unit.objects.get(serial="A1").pk], on=TODAY)
