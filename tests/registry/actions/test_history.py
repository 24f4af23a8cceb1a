"""Does a history file come in as told: in the order of days, twice as once, and nothing that cannot have happened?"""

import csv
import datetime as dt
from io import StringIO

import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import models
from fleet.coverage.actions import terms
from fleet.derived import recheck
from fleet.loading import history, installs
from fleet.sheets import BadFile
from tests import rows
from tests.paths import WORKED
from tests.rows import TODAY, installed, undone

pytestmark = pytest.mark.django_db


def told(*lines: dict[str, str], **how) -> history.Report:
    return history.load_rows([{"serial": "A1"} | line for line in lines], **{"on": TODAY} | how)


def refused(*lines: dict[str, str], **how) -> list[str]:
    """The problems of rows that are refused, having changed nothing."""
    before = rows.everything()
    with pytest.raises(BadFile) as caught:
        told(*lines, **how)
    assert rows.everything() == before
    return [str(problem) for problem in caught.value.problems]


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def unit(serial: str = "A1") -> models.Unit:
    return models.Unit.objects.get(serial=serial)


@pytest.fixture(autouse=True)
def home():
    terms.load_tables([rows.TERMS, rows.PLAN], on=TODAY)
    installed(
        {"serial": "A1", "installed_on": "2019-05-03", "style": "wall", "drain": "gravity", "surroundings": "pets"},
        {"serial": "A2", "room": "Attic", "installed_on": "2019-05-03"},
        {"serial": "C1", "site": "Cabin", "system": "Main", "installed_on": "2019-05-03"},
        {"serial": "R1", "customer": "Bo Reed", "site": "Shop", "system": "Floor", "installed_on": "2019-05-03"},
    )


# -- what each kind becomes


def test_a_failure():
    report = told(
        {
            "day": "2021-02-03", "kind": "failure", "component": "Sensor", "cause": "wear", "repaired_on": "2021-02-09",
            "part_taken_on": "2021-02-08", "part_number": "S-1", "new_part_number": "S-2", "parts_cost": "21.6",
            "labor_minutes": "45", "technician": "Robin Vale", "reference": "W-1", "notes": "reads high",
        }
    )  # fmt: skip
    assert report == history.Report(added=1, filled=0, corrected=0, unchanged=0, rows=1)
    found = unit().failures.get()
    assert (found.component, found.cause, found.failed_on) == ("sensor", "wear", day("2021-02-03"))
    assert (found.repaired_on, found.part_taken_on) == (day("2021-02-09"), day("2021-02-08"))
    assert (found.part_number, found.new_part_number) == ("S-1", "S-2")
    assert (str(found.parts_cost), found.labor_minutes) == ("21.60", 45)
    assert (found.technician, found.notes) == ("Robin Vale", "reads high")
    line = models.HistoryRow.objects.get()
    assert (line.reference, line.table, line.object_id, line.unit) == ("W-1", "failure", found.pk, unit())
    assert line.content["notes"] == "reads high"
    assert line.load == found.load == models.Load.objects.get(kind="history")


def test_maintenance_and_a_skip():
    told(
        {"day": "2021-02-03", "kind": "maintenance", "task": "a task nobody knows", "dirt_wheel": "2", "dirt_coil": "0",
         "technician": "Robin Vale", "labor_minutes": "30", "notes": "slimy"},
        {"day": "2021-03-03", "kind": "skipped", "task": "filter wash", "not_before": "2031-04-05", "notes": "no access"},
    )  # fmt: skip
    done, skipped = unit().records.all()
    assert (done.task, done.done_on, done.skipped) == ("a task nobody knows", day("2021-02-03"), False)
    assert (done.dirt_wheel, done.dirt_coil, done.technician, done.labor_minutes) == (2, 0, "Robin Vale", 30)
    assert (skipped.skipped, skipped.not_before, skipped.dirt_wheel) == (True, day("2031-04-05"), None)


def test_registered_and_accepted_late_and_notified():
    told(
        {"day": "2019-06-01", "kind": "registered", "number": "K-7"},
        {"day": "2019-06-02", "kind": "registered", "terms": "plan-1"},
        {"day": "2019-09-01", "kind": "accepted late", "terms": "osmarik-1"},
        {"day": "2020-01-05", "kind": "notified"},
    )
    assert list(unit().registrations.order_by("pk").values_list("terms__code", "registered_on", "number")) == [
        (None, day("2019-06-01"), "K-7"), ("plan-1", day("2019-06-02"), ""), ("osmarik-1", None, ""),
    ]  # fmt: skip
    late = unit().registrations.get(accepted_late=True)
    assert (late.accepted_late_on, late.with_install) == (day("2019-09-01"), False)
    assert (unit().notices.get().notified_on, unit().notices.get().terms) == (day("2020-01-05"), None)


def test_a_sale_is_of_the_house_that_the_unit_stood_in_that_day():
    told({"day": "2022-01-01", "kind": "moved", "to_site": "Cabin"}, {"day": "2021-12-31", "kind": "sold"})
    assert models.Sale.objects.get().site.name == "Home"
    told({"day": "2022-01-01", "kind": "sold"})
    assert models.Sale.objects.latest("sold_on").site.name == "Cabin"


def test_a_sale_told_of_two_units_is_one_sale():
    told({"day": "2021-12-31", "kind": "sold"}, {"serial": "A2", "day": "2021-12-31", "kind": "sold"})
    assert models.Sale.objects.count() == 1
    assert models.HistoryRow.objects.count() == 2


@pytest.mark.parametrize(
    ("line", "customer", "site", "system"),
    [
        pytest.param(
            {"to_system": "Attic"}, "Ada Quill", "Home", "Attic", id="to another system of the site, made if missing"
        ),
        pytest.param(
            {"to_site": "Cabin"}, "Ada Quill", "Cabin", "Main", id="to a site of the customer: the system of that name"
        ),
        pytest.param({"to_site": "Cabin", "to_system": "2"}, "Ada Quill", "Cabin", "2", id="to a system there"),
        pytest.param({"to_site": "Shop"}, "Bo Reed", "Shop", "Main", id="to the only site of that name"),
    ],
)
def test_moved(line, customer, site, system):
    first = unit().system
    told({"day": "2022-03-04", "kind": "moved"} | line)
    now = unit().system
    assert (now.site.customer.name, now.site.name, now.name) == (customer, site, system)
    assert list(unit().places.values_list("system", "joined_on", "left_on")) == [
        (first.pk, None, day("2022-03-04")),
        (now.pk, day("2022-03-04"), None),
    ]
    change = models.Change.objects.get()
    assert (change.table, change.field) == ("unit", "system")


def test_a_move_that_comes_to_light_later_stands_between_those_on_file():
    told({"day": "2022-03-04", "kind": "moved", "to_site": "Cabin"})
    told({"day": "2020-03-04", "kind": "moved", "to_system": "Attic"})
    stood = [
        (place.system.name, place.system.site.name, place.joined_on, place.left_on) for place in unit().places.all()
    ]
    assert stood == [
        ("Main", "Home", None, day("2020-03-04")),
        ("Attic", "Home", day("2020-03-04"), day("2022-03-04")),
        ("Main", "Cabin", day("2022-03-04"), None),
    ]
    assert unit().system.site.name == "Cabin"


def test_exchanged_under_warranty():
    told({"day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N 1", "new_model": "OC-9B"})
    old, new = unit(), unit("N 1")
    assert (old.removed_on, old.removal_reason) == (day("2022-03-04"), "exchanged")
    assert (new.took_over_from, new.replaced_on, new.maker, new.model) == (old, day("2022-03-04"), "Osmarik", "OC-9B")
    assert (new.role, new.style, new.room, new.drain, new.surroundings) == ("head", "wall", "Den", "gravity", "pets")
    assert (new.installed_on, new.original_site, new.installed_by) == (None, None, "")
    assert new.places.get().system == old.system
    assert models.LookupEntry.objects.filter(text="N 1").count() == 1
    assert models.HoldingRow.objects.get(unit=new).start_on == day("2019-05-03")
    assert not models.HoldingRow.objects.filter(unit=old).exists()


def test_exchanged_under_warranty_for_one_whose_serial_nobody_wrote_down():
    told({"day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes"})
    new = unit().taken_over_by
    assert (new.serial, new.room, new.model) == ("", "Den", "OC-9")


def test_bought_in_exchange():
    told({"day": "2022-03-04", "kind": "exchanged", "under_warranty": "no", "new_serial": "N1"})
    new = unit("N1")
    assert (unit().removal_reason, new.took_over_from, new.replaced_on) == ("exchanged", None, None)
    assert (new.installed_on, new.installed_by, new.room) == (day("2022-03-04"), "us", "Den")
    told({"serial": "A2", "day": "2022-03-04", "kind": "exchanged", "under_warranty": "no"})
    assert models.Unit.objects.count() == 5, "nothing is known of what was put in for the second"


def test_exchanged_for_a_unit_that_the_installs_file_had_already():
    installed(
        {"serial": "N1", "installed_on": "2022-03-04", "purchased_on": "2019-04-01", "registered_on": "2019-06-01"}
    )
    told({"day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes", "new_serial": "n-1"})
    new = unit("N1")
    assert (new.took_over_from, new.replaced_on) == (unit(), day("2022-03-04"))
    assert (new.installed_on, new.purchased_on, unit().purchased_on) == (None, None, day("2019-04-01"))
    assert list(new.places.values_list("joined_on", flat=True)) == [day("2022-03-04")]
    assert installed({"serial": "N1", "installed_on": "2022-03-04", "purchased_on": "2019-04-01"}).unchanged == 1
    assert list(recheck.differences(on=TODAY)) == []


def test_what_the_new_units_row_says_of_another_start_contradicts():
    installed({"serial": "N1", "installed_on": "2022-03-09"})
    (found,) = refused({"day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"})
    assert "column installed_on: wanted '2019-05-03' as on file, not '2022-03-09'" in found


def test_removed_idle_and_back_in_use():
    told(
        {"day": "2020-06-01", "kind": "idle"},
        {"day": "2020-09-01", "kind": "back in use"},
        {"day": "2020-09-02", "kind": "idle"},
        {"day": "2022-01-01", "kind": "removed"},
    )
    assert list(unit().idles.values_list("idle_on", "back_on")) == [
        (day("2020-06-01"), day("2020-09-01")),
        (day("2020-09-02"), None),
    ]
    assert (unit().removed_on, unit().removal_reason) == (day("2022-01-01"), "removed")
    assert not models.HoldingRow.objects.filter(unit=unit()).exists()


def test_promised_on_a_day():
    told({"day": "2019-07-01", "kind": "attached", "terms": "plan-1", "number": "P-1"})
    assert list(unit().attachments.values_list("terms__code", "attached_on", "number")) == [
        ("plan-1", day("2019-07-01"), "P-1")
    ]


def test_promised_in_the_installs_file_and_the_day_told_later():
    installed({"serial": "A1", "attached": "plan-1"})
    assert told({"day": "2019-07-01", "kind": "attached", "terms": "plan-1"}).filled == 1
    assert unit().attachments.get().attached_on == day("2019-07-01")
    (found,) = refused({"day": "2019-07-02", "kind": "attached", "terms": "plan-1"})
    assert "column day: wanted '2019-07-01' as on file, not '2019-07-02'" in found
    told({"day": "2019-07-02", "kind": "attached", "terms": "plan-1"}, correct=True)
    assert unit().attachments.get().attached_on == day("2019-07-02")


# -- which unit


def test_the_serial_is_enough_where_it_is_the_only_one():
    told({"serial": "a-1", "day": "2021-02-03", "kind": "failure", "component": "sensor"})
    assert unit().failures.count() == 1


def test_a_serial_of_two_makers_needs_the_maker_and_the_choices_are_named():
    installed({"serial": "A1", "maker": "Velmora", "model": "V-3", "room": "Porch"})
    (found,) = refused({"day": "2021-02-03", "kind": "failure", "component": "sensor"})
    assert found.endswith(
        "column maker: wanted maker and model, since the serial alone means any of Osmarik OC-9, Velmora V-3"
    )
    told({"day": "2021-02-03", "kind": "failure", "component": "sensor", "maker": "VELMORA"})
    assert models.Failure.objects.get().unit.maker == "Velmora"


def test_an_unknown_serial_is_named():
    (found,) = refused({"serial": "Z9", "maker": "Osmarik", "day": "2021-02-03", "kind": "removed"})
    assert found.endswith("row 2, column serial: wanted a unit on file on that day; 'Osmarik Z9' is not one")


# -- what cannot be


@pytest.mark.parametrize(
    ("lines", "problem"),
    [
        ([{"kind": "failure", "component": "engine"}], "column component: wanted one of compressor, outdoor coil,"),
        ([{"kind": "failure", "component": "sensor", "cause": "ghosts"}], "column cause: wanted one of"),
        ([{"kind": "broken"}], "column kind: wanted one of exchanged, moved, removed,"),
        ([{"kind": "failure", "component": "sensor", "repaired_on": "2021-02-02"}], "column repaired_on: wanted a day no earlier than"),
        ([{"kind": "maintenance", "dirt_coil": "4"}], "column dirt_coil: wanted a whole number from 0 to 3, not '4'"),
        ([{"kind": "maintenance", "not_before": "2027-01-01"}], "column not_before: wanted nothing in a row of this kind; it goes with skipped"),
        ([{"kind": "maintenance", "day": "2026-11-25"}], "column day: wanted a day no later than today"),
        ([{"kind": "skipped", "task": "x", "not_before": "2021-02-02"}], "column not_before: wanted a day no earlier than 2021-02-03"),
        ([{"kind": "attached"}], "column terms: wanted a value"),
        ([{"kind": "registered", "terms": "nobody"}], "column terms: wanted the code of terms on file; 'nobody' is not one"),
        ([{"kind": "exchanged", "new_serial": "N1"}], "column under_warranty: wanted yes or no"),
        ([{"kind": "exchanged", "new_serial": "A2", "under_warranty": "yes", "day": "2019-05-02"}], "column day: wanted a day on or after 2019-05-03, when it came"),
        ([{"kind": "exchanged", "new_serial": "A1", "under_warranty": "yes"}], "column new_serial: wanted a unit that could take its place"),
        ([{"kind": "moved"}], "column to_site: wanted the site or the system that it moved to"),
        ([{"kind": "moved", "to_site": "Castle"}], "column to_site: wanted a site of the same customer or another one on file; 'Castle' is not"),
        ([{"kind": "moved", "to_system": "Main"}], "column to_system: wanted another system than 'Main', where it stands already"),
        ([{"kind": "moved", "to_system": "2", "day": "2019-05-02"}], "column day: wanted a day on or after 2019-05-03, when it came"),
        ([{"kind": "moved", "to_system": "2"}, {"kind": "moved", "to_system": "3"}], "column day: wanted a day after it came to where it stands"),
        ([{"kind": "removed"}, {"kind": "removed", "day": "2021-02-04"}], "column day: wanted a day before 2021-02-03, when it was removed"),
        ([{"kind": "removed"}, {"kind": "exchanged", "under_warranty": "yes", "day": "2021-02-04"}], "column day: wanted a day before 2021-02-03"),
        ([{"kind": "removed"}, {"kind": "failure", "component": "sensor", "day": "2021-02-04"}], "column day: wanted a day before 2021-02-03"),
        ([{"kind": "back in use"}], "column day: wanted a day on which it was idle; none is on file for that day"),
        ([{"kind": "idle"}, {"kind": "idle", "day": "2021-02-04"}], "column day: wanted a day on which it was in use"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_naming_the_row(lines, problem):
    found = refused(*({"day": "2021-02-03"} | line for line in lines))
    assert any(problem in line for line in found), found
    # Of two moves on one day, neither is the later one.
    assert found[0].startswith(
        tuple(f"the rows: row {row}, " for row in ((2, 3) if "to_system" in lines[-1] else (len(lines) + 1,)))
    )


def test_a_failure_on_the_last_day_is_still_of_the_old_unit():
    told(
        {"day": "2021-02-03", "kind": "failure", "component": "sensor"},
        {"day": "2021-02-03", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"},
        {"serial": "N1", "day": "2021-02-03", "kind": "maintenance", "technician": "Robin Vale"},
    )
    assert (unit().failures.count(), unit("N1").records.count()) == (1, 1)


def test_a_unit_cannot_go_before_something_that_is_on_file_of_it():
    told({"day": "2021-02-03", "kind": "failure", "component": "sensor"})
    (found,) = refused({"day": "2021-02-02", "kind": "removed"})
    assert found.endswith("column day: wanted a day after all that is on file of it; its sensor failed on 2021-02-03")
    told({"day": "2021-02-03", "kind": "removed"})


def test_nothing_happens_to_a_new_unit_before_it_came():
    told({"day": "2021-02-03", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"})
    (found,) = refused({"serial": "N1", "day": "2021-02-02", "kind": "failure", "component": "sensor"})
    assert found.endswith("column day: wanted a day on or after 2021-02-03, when it came")


# -- twice, references, corrections


LIFE = [
    {"day": "2019-06-01", "kind": "registered", "number": "K-7"},
    {"day": "2019-07-01", "kind": "attached", "terms": "plan-1"},
    {"day": "2020-01-05", "kind": "sold"},
    {"day": "2020-01-20", "kind": "notified"},
    {"day": "2020-02-03", "kind": "failure", "component": "sensor", "reference": "W-1"},
    {"day": "2020-02-03", "kind": "failure", "component": "sensor", "repaired_on": "2020-02-03"},
    {"day": "2020-04-03", "kind": "maintenance", "task": "wash", "technician": "Robin Vale"},
    {"day": "2020-06-01", "kind": "idle"},
    {"day": "2020-09-01", "kind": "back in use"},
    {"day": "2021-03-04", "kind": "moved", "to_site": "Cabin", "to_system": "2"},
    {"day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"},
    {"serial": "N1", "day": "2022-05-04", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N2", "reference": "W-2"},
    {"serial": "N2", "day": "2023-01-01", "kind": "skipped", "task": "wash", "not_before": "2027-01-01"},
    {"serial": "N2", "day": "2024-01-01", "kind": "removed"},
    {"serial": "N2", "day": "2024-02-01", "kind": "accepted late", "terms": "osmarik-1"},
]  # fmt: skip


def state() -> list[str]:
    """List what came of the history, by names and not by keys."""
    found = []
    for one in models.Unit.objects.select_related("system__site", "took_over_from"):
        found.append(
            f"{one} in {one.system} at {one.system.site}, {one.removal_reason} {one.removed_on} from {one.took_over_from} {one.replaced_on}"
        )
        found += [f"{one} {place.system} {place.joined_on} {place.left_on}" for place in one.places.all()]
        found += [f"{one} {idle.idle_on} {idle.back_on}" for idle in one.idles.all()]
        found += [f"{one} {failure} {failure.repaired_on}" for failure in one.failures.all()]
        found += [f"{one} {record} {record.skipped} {record.not_before}" for record in one.records.all()]
        found += [f"{one} {told} {told.terms} {told.accepted_late_on}" for told in one.registrations.all()]
        found += [f"{one} {told.terms} {told.attached_on}" for told in one.attachments.all()]
        found += [f"{one} {told}" for told in one.notices.all()]
    found += [f"{sale.site} {sale}" for sale in models.Sale.objects.select_related("site")]
    return sorted(found)


def test_a_file_twice_changes_nothing():
    assert told(*LIFE).added == len(LIFE)
    assert list(recheck.differences(on=TODAY)) == []
    before = rows.everything()
    assert told(*LIFE) == history.Report(added=0, filled=0, corrected=0, unchanged=len(LIFE), rows=len(LIFE))
    assert told(*({"maker": "Os marik", "model": "oc9"} | line for line in LIFE), correct=True).unchanged == len(LIFE)
    assert rows.everything() == before


def test_an_identical_row_is_the_same_row_and_a_reference_makes_two_of_them():
    line = {"day": "2020-02-03", "kind": "failure", "component": "sensor"}
    assert told(line, line) == history.Report(added=1, filled=0, corrected=0, unchanged=1, rows=2)
    told(line | {"reference": "W-1"}, line | {"reference": "W-2"})
    assert models.Failure.objects.count() == 3


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(LIFE))
def test_the_order_of_rows_does_not_matter(order, db):
    with undone():
        told(*LIFE)
        wanted = state()
    with undone():
        told(*order)
        assert state() == wanted


def test_nor_does_it_matter_where_batches_are_cut(monkeypatch):
    with undone():
        told(*LIFE)
        wanted = state()
    monkeypatch.setattr("fleet.loading.history.batch.BATCH", 1)
    told(*LIFE)
    assert state() == wanted
    assert told(*LIFE).unchanged == len(LIFE)


def test_one_reference_cannot_tell_two_things():
    line = {"day": "2020-02-03", "kind": "failure", "component": "sensor", "reference": "W-1"}
    (found,) = refused(line, line | {"component": "compressor"})
    assert found.endswith("row 3, column reference: wanted a reference of its own; 'W-1' in row 2 tells something else")
    refused(line, line | {"component": "compressor"}, correct=True)


def test_the_same_reference_fills_blanks_and_refuses_what_contradicts():
    line = {"day": "2020-02-03", "kind": "failure", "component": "sensor", "reference": "W-1"}
    told(line)
    assert told(line | {"repaired_on": "2020-02-05", "parts_cost": "12.00"}).filled == 2
    assert unit().failures.get().repaired_on == day("2020-02-05")
    assert told(line).unchanged == 1, "a blank empties nothing"
    (found,) = refused(line | {"repaired_on": "2020-02-06"})
    assert (
        "column repaired_on: wanted '2020-02-05' as on file, not '2020-02-06' (--correct takes the file's word)"
        in found
    )
    clerk = models.User.objects.create_user("wren")
    assert told(line | {"repaired_on": "2020-02-06"}, correct=True, by=clerk).corrected == 1
    assert unit().failures.get().repaired_on == day("2020-02-06")
    change = models.Change.objects.get(field="repaired_on", by=clerk)
    assert (change.table, change.before, change.after) == ("failure", "2020-02-05", "2020-02-06")
    assert told(line | {"repaired_on": "2020-02-06"}).unchanged == 1
    assert list(recheck.differences(on=TODAY)) == []


@pytest.mark.parametrize(
    ("line", "better"),
    [
        ({"day": "2020-02-03", "kind": "sold"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "registered", "number": "K1"}, {"day": "2020-03-03", "number": "K2"}),
        ({"day": "2020-02-03", "kind": "accepted late"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "notified"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "attached", "terms": "plan-1"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "skipped", "task": "x", "not_before": "2020-05-03"}, {"not_before": "2020-06-03", "task": "y"}),
        ({"day": "2020-02-03", "kind": "removed"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "idle"}, {"day": "2020-03-03"}),
        ({"day": "2020-02-03", "kind": "moved", "to_system": "2"}, {"day": "2020-03-03", "to_system": "3"}),
        ({"day": "2020-02-03", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N1"}, {"day": "2020-03-03", "new_serial": "N2", "new_model": "OC-8"}),
        ({"day": "2020-02-03", "kind": "exchanged", "under_warranty": "no", "new_serial": "N1"}, {"day": "2020-03-03", "new_serial": "N2"}),
        ({"day": "2020-02-03", "kind": "exchanged", "under_warranty": "yes"}, {"new_serial": "N2"}),
    ],
)  # fmt: skip
def test_a_corrected_row_leaves_what_the_right_one_would_have(line, better):
    line = line | {"reference": "W-1"}
    with undone():
        told(line | better)
        wanted = state()
    told(line)
    if line.keys() & better.keys():
        refused(line | better)
    told(line | better, correct=True)
    with_leftovers = [entry for entry in state() if " 2 at " not in entry]
    assert [entry for entry in with_leftovers if entry not in wanted] == []
    assert state() == wanted
    assert told(line | better).unchanged == 1
    assert list(recheck.differences(on=TODAY)) == []


def test_a_reference_stays_with_its_unit_and_kind():
    line = {"day": "2020-02-03", "kind": "failure", "component": "sensor", "reference": "W-1"}
    told(line)
    assert "column serial: wanted the unit that is on file" in refused(line | {"serial": "A2"}, correct=True)[0]
    other = {"day": "2020-02-03", "kind": "maintenance", "reference": "W-1"}
    assert "column kind: wanted 'failure' as on file, not 'maintenance'" in refused(other, correct=True)[0]


def test_a_check_takes_nothing():
    before = rows.everything()
    assert told(*LIFE, check=True).added == len(LIFE)
    assert rows.everything() == before


# -- files


def test_the_worked_fleets_come_in_and_come_in_again():
    terms.load_files(sorted((WORKED / "coverage" / "terms").glob("*.toml")), by=None, on=TODAY)
    for fleet, units, lines in (("coverage", 150, 837), ("dues", 156, 1379)):
        with undone():
            assert installs.load(WORKED / fleet / "installs.csv", by=None, on=TODAY).added == units
            assert history.load(WORKED / fleet / "history.csv", by=None, on=TODAY).added == lines
            before = rows.everything()
            assert installs.load(WORKED / fleet / "installs.csv", by=None, on=TODAY).unchanged == units
            assert history.load(WORKED / fleet / "history.csv", by=None, on=TODAY).unchanged == lines
            assert rows.everything() == before
            assert list(recheck.differences(on=TODAY)) == []


def test_the_command(tmp_path):
    path = tmp_path / "told.csv"
    with path.open("w", newline="") as file:
        csv.writer(file).writerows(
            [["serial", "day", "kind"], ["A1", "2021-02-03", "removed"], ["Z1", "2021-02-03", "idle"]]
        )
    error = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("load_history", str(path), stderr=error)
    assert ended.value.code == 1
    assert error.getvalue() == "told.csv: row 3, column serial: wanted a unit on file on that day; 'Z1' is not one\n"
    assert unit().removed_on is None
