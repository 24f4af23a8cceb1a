"""Does an installs file come in as told: whole or not at all, twice as once, in any order of its rows?"""

import csv
import datetime as dt
import os
import subprocess
import sys
from io import StringIO
from pathlib import Path

import openpyxl
import pytest
from django.core.management import call_command
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import models
from fleet.coverage.actions import terms
from fleet.derived import recheck
from fleet.loading import history, installs, loading
from fleet.sheets import BadFile
from tests import rows
from tests.paths import ROOT
from tests.rows import FULL, TODAY, installed, undone

pytestmark = pytest.mark.django_db


@pytest.fixture
def plan():
    terms.load_tables([rows.PLAN], on=TODAY)


def refused(*told, **how) -> list[str]:
    """The problems of rows that are refused, having changed nothing."""
    before = rows.everything()
    with pytest.raises(BadFile) as caught:
        installed(*told, **how)
    assert rows.everything() == before
    return [str(problem) for problem in caught.value.problems]


def unit(serial="A1") -> models.Unit:
    return models.Unit.objects.get(serial=serial)


# -- what a row becomes


def test_every_column_has_its_place(plan):
    assert set(FULL) == set(installs.columns_on(TODAY))
    assert installed(FULL) == installs.Report(added=1, filled=0, corrected=0, unchanged=0, rows=1)
    found = models.Unit.objects.select_related("system__site__customer").get()
    site = found.system.site
    assert (site.customer.name, site.customer.phone, site.customer.email) == (
        "Ada Quill",
        "555-0101",
        "ada@example.com",
    )
    assert (site.name, site.street, site.city, site.region) == ("Home", "4 Alder Road", "Brackwater", "US-KY")
    assert (site.postcode, site.new_construction, site.drive_minutes) == ("04791", False, 35)
    assert site.closed_on == dt.date(2014, 2, 3)
    assert list(site.uses.values_list("use", "from_on")) == [("owner home", None)]
    assert (found.system.name, found.role, found.style, found.room) == ("Main", "head", "wall", "Den")
    assert (found.maker, found.model, found.serial) == ("Osmarik", "OC-9", "A 1-1")
    assert (found.maker_key, found.model_key, found.serial_key) == ("osmarik", "oc9", "a11")
    assert (found.purchased_on, found.installed_on) == (dt.date(2019, 5, 1), dt.date(2019, 5, 3))
    assert (found.started_on, found.manufactured_on) == (dt.date(2019, 5, 4), dt.date(2018, 11, 30))
    assert (found.installed_by, found.installer) == ("us", "Robin Vale")
    assert (found.recognized_installer, found.licensed_installer) == (True, True)
    assert (found.matched_system, found.original_site) == (False, True)
    assert (found.drain, found.surroundings, found.access) == ("gravity", "pets;all year", "high")
    assert (found.refrigerant, str(found.plate_charge_oz), str(found.plate_amps)) == ("R-410A", "38.50", "7.10")
    assert found.notes == "Label is faint"
    registration = found.registrations.get()
    assert (registration.registered_on, registration.number) == (dt.date(2019, 6, 1), "K-77")
    assert (registration.accepted_late, registration.with_install, registration.terms) == (False, True, None)
    assert list(found.attachments.values_list("terms__code", "attached_on")) == [("plan-1", None)]
    assert list(found.places.values_list("system", "joined_on", "left_on")) == [(found.system_id, None, None)]
    assert found.load == models.Load.objects.get(kind="installs")
    assert (found.load.row_count, found.load.name) == (1, "the rows")
    assert not models.Change.objects.exists()
    assert list(recheck.differences(on=TODAY)) == []


def test_rows_of_one_place_add_up_and_a_blank_takes_the_others_value():
    installed(
        {"serial": "A1", "phone": "555-0101", "region": "US-KY"},
        {"serial": "A2", "room": "Attic", "street": "4 Alder Road"},
        {"serial": "A3", "site": "Cabin", "system": "Main", "use": "rental"},
    )
    home, cabin = models.Site.objects.order_by("-name")
    assert models.Customer.objects.get().phone == "555-0101"
    assert (home.region, home.street, home.systems.count()) == ("US-KY", "4 Alder Road", 1)
    assert (cabin.region, cabin.uses.get().use) == ("", "rental")


@pytest.mark.parametrize(
    ("one", "other", "problem"),
    [
        (
            {"phone": "555-0101"},
            {"phone": "555-0102"},
            "column phone: wanted one phone for the whole customer 'Ada Quill'",
        ),
        ({"region": "US-KY"}, {"region": "US-TN"}, "column region: wanted one region for the whole site 'Home'"),
        ({"use": "rental"}, {"use": "business"}, "column use: wanted one use for the whole site 'Home'"),
    ],
)
def test_rows_of_one_place_that_disagree_are_refused(one, other, problem):
    (found,) = refused({"serial": "A1"} | one, {"serial": "A2"} | other)
    assert found.startswith(f"the rows: row 3, {problem}: row 2 says ")
    (found,) = refused({"serial": "A1"} | one, {"serial": "A2"} | other, correct=True)


# -- what is refused


@pytest.mark.parametrize(
    ("told", "problem"),
    [
        ({"customer": ""}, "column customer: wanted a value"),
        ({"role": ""}, "column role: wanted a value"),
        ({"maker": ""}, "column maker: wanted a value"),
        ({"serial": "", "room": ""}, "column serial: wanted a serial, or a room while the label cannot be read"),
        ({"serial": "- -"}, "column serial: wanted something other than spaces and hyphens"),
        ({"serial": "ß" * 61}, "column serial: wanted something other than spaces and hyphens, of at most 120 letters"),
        ({"serial": "7" * 121}, "column serial: wanted at most 120 characters"),
        (
            {"role": "boiler"},
            "column role: wanted one of outdoor, head, branch box, air handler, furnace, dehumidifier,",
        ),
        ({"use": "office"}, "column use: wanted one of owner home, rental, business, not 'office'"),
        (
            {"surroundings": "pets;swamp"},
            "column surroundings: wanted any of pets, grease, smoke, dust, coast, all year",
        ),
        ({"original_site": "maybe"}, "column original_site: wanted yes, no or nothing, not 'maybe'"),
        (
            {"region": "Kentucky"},
            "column region: wanted a region by its ISO 3166-2 code, such as US-KY, not 'Kentucky'",
        ),
        ({"region": "KY"}, "column region: wanted a region by its ISO 3166-2 code"),
        ({"installed_on": "4/3/2019"}, "column installed_on: wanted a day written as 2024-03-08, not '4/3/2019'"),
        ({"installed_on": "2019-02-29"}, "column installed_on: wanted a day written as 2024-03-08, not '2019-02-29'"),
        ({"installed_on": "2026-11-25"}, "column installed_on: wanted a day no later than today (2026-11-24)"),
        (
            {"installed_on": "1949-12-31"},
            "column installed_on: wanted a day no earlier than 1950-01-01, not 1949-12-31",
        ),
        ({"drive_minutes": "1441"}, "column drive_minutes: wanted a whole number from 0 to 1,440, not '1441'"),
        ({"drive_minutes": "-5"}, "column drive_minutes: wanted a whole number from 0 to 1,440, not '-5'"),
        (
            {"plate_amps": "7.125"},
            "column plate_amps: wanted a number such as 12.50, with at most 2 places, not '7.125'",
        ),
        ({"attached": "no-such-plan"}, "column attached: wanted codes of terms on file; 'no-such-plan' is not one"),
        ({"notes": "=1+1"}, "column notes: wanted a value, not a formula"),
        ({"notes": "a\x00b"}, "column notes: wanted plain text without control characters"),
    ],
)
def test_a_cell_that_is_not_in_order_is_named(told, problem):
    (found,) = refused({"serial": "B1"}, {"serial": "A1"} | told)
    assert found.startswith(f"the rows: row 3, {problem}")


@pytest.mark.parametrize("day", ["1950-01-01", "2026-11-24"])
def test_the_first_and_the_last_day_are_taken(day):
    installed({"serial": "A1", "installed_on": day})
    assert str(unit().installed_on) == day


def test_an_unknown_column_is_refused_by_name():
    (found,) = refused({"serial": "A1", "colour": "white"})
    assert found.startswith("the rows: row 1, column colour: wanted only known columns: customer, phone, email, site,")


def test_all_problems_are_told_up_to_a_hundred_and_the_rest_counted():
    before = rows.everything()
    with pytest.raises(BadFile) as caught:
        installed(*({"serial": f"A{n}", "role": "boiler", "use": "office"} for n in range(80)))
    assert (len(caught.value.problems), caught.value.count) == (100, 160)
    assert caught.value.lines()[-1] == "and 60 more"
    assert rows.everything() == before


def test_no_rows_at_all_change_nothing():
    assert installed() == installs.Report(0, 0, 0, 0, 0)
    assert not models.Load.objects.exists()


# -- which unit is meant


def test_case_spaces_and_hyphens_do_not_make_another_unit():
    installed({"serial": "AB 12-3"})
    report = installed({"serial": "ab123", "maker": "OS MA-RIK", "model": "oc 9"})
    assert (report.added, report.unchanged) == (0, 1)
    assert models.Unit.objects.get().serial == "AB 12-3"


def test_the_same_serial_of_another_model_is_another_unit():
    installed({"serial": "A1"}, {"serial": "A1", "model": "OC-12", "room": "Attic"})
    assert models.Unit.objects.count() == 2


def test_a_faded_label_is_known_by_its_room_and_a_serial_that_comes_later_fills_the_blank():
    installed({"serial": "", "installed_on": "2019-05-03"})
    first = models.Unit.objects.get()
    report = installed({"serial": "A1"})
    assert (report.added, report.filled) == (0, 1)
    found = models.Unit.objects.get()
    assert (found.pk, found.serial, found.serial_key, found.installed_on) == (first.pk, "A1", "a1", dt.date(2019, 5, 3))
    assert models.LookupEntry.objects.get(kind="unit").text == "A1"
    change = models.Change.objects.get()
    assert (change.table, change.field, change.before, change.after) == ("unit", "serial", "", "A1")
    assert installed({"serial": ""}).unchanged == 1, "the row without the serial still means that unit"
    assert installed({"serial": "A1"}).unchanged == 1


def test_rows_with_and_without_the_serial_in_one_file_are_one_unit():
    installed({"serial": "", "installed_on": "2019-05-03"}, {"serial": "A1", "style": "wall"})
    found = models.Unit.objects.get()
    assert (found.serial, found.style, found.installed_on) == ("A1", "wall", dt.date(2019, 5, 3))


def test_two_serials_that_could_fill_one_blank_are_refused():
    installed({"serial": ""})
    assert len(refused({"serial": "A1"}, {"serial": "A2"})) == 2
    report = installed({"serial": "A1"}, {"serial": "A2", "model": "OC-12"})
    assert (report.filled, report.added) == (1, 1), "only one of them is of its model"
    assert unit("A2").model == "OC-12"


def test_a_room_with_two_serials_cannot_be_meant_by_a_row_without_one():
    installed({"serial": "A1"}, {"serial": "A2"})
    (found,) = refused({"serial": ""})
    assert "column room: wanted a room of its own for each unit" in found


def test_a_faded_label_of_another_model_in_that_room_contradicts():
    installed({"serial": "", "model": "OC-9"})
    (found,) = refused({"serial": "", "model": "OC-12"})
    assert (
        found
        == "the rows: row 2, column model: wanted 'OC-9' as on file, not 'OC-12' (--correct takes the file's word)"
    )
    installed({"serial": "", "model": "OC-12"}, correct=True)
    found = models.Unit.objects.get()
    assert (found.model, found.model_key) == ("OC-12", "oc12")


def test_rows_of_one_unit_in_a_file_add_up_or_are_refused():
    report = installed({"serial": "A1", "style": "wall"}, {"serial": "a-1", "installed_on": "2019-05-03"})
    assert (report.added, report.unchanged, report.rows) == (1, 1, 2)
    assert (unit().style, str(unit().installed_on)) == ("wall", "2019-05-03")
    for how in ({}, {"correct": True}):
        (found,) = refused({"serial": "A1", "style": "wall"}, {"serial": "A1", "style": "floor"}, **how)
        assert "row 3, column style: wanted 'wall' as in row 2, which is of the same unit, not 'floor'" in found


# -- twice, blanks, contradictions


def test_the_same_file_twice_changes_nothing(plan):
    told = [FULL, FULL | {"serial": "A2", "room": "Attic"}, FULL | {"serial": "", "room": "Porch"}]
    installed(*told)
    before = rows.everything()
    assert installed(*told) == installs.Report(added=0, filled=0, corrected=0, unchanged=3, rows=3)
    assert installed(*told, correct=True).unchanged == 3
    assert rows.everything() == before


def test_a_value_fills_a_blank_and_a_blank_empties_nothing(plan):
    known = {name: FULL[name] for name in ("customer", "site", "system", "role", "maker", "model", "serial", "room")}
    installed(known)
    report = installed(FULL)
    assert (report.added, report.corrected) == (0, 0)
    assert report.filled == len(FULL) - len(known)
    told = rows.said()
    filled = {(change.table, change.field, change.before) for change in models.Change.objects.all()}
    assert {
        ("customer", "phone", ""),
        ("site", "region", ""),
        ("siteuse", "use", ""),
        ("unit", "plate_amps", ""),
    } <= filled
    assert {("registration", "number", ""), ("attachment", "terms", "")} <= filled
    installed(known)
    assert rows.said() == told
    with undone():
        models.Unit.objects.all().delete()
        models.System.objects.all().delete()
        models.SiteUse.objects.all().delete()
        models.Site.objects.all().delete()
        models.Customer.objects.all().delete()
        installed(FULL)
        assert rows.said() == told, "filled bit by bit, it is what one file would have made of it"


@pytest.mark.parametrize(
    ("column", "other", "stored"),
    [
        ("phone", "555-0999", "555-0101"),
        ("region", "US-TN", "US-KY"),
        ("use", "rental", "owner home"),
        ("new_construction", "yes", "no"),
        ("closed_on", "2014-02-04", "2014-02-03"),
        ("installed_on", "2019-05-04", "2019-05-03"),
        ("installed_by", "Hale and Daughters", "us"),
        ("matched_system", "yes", "no"),
        ("plate_amps", "7.2", "7.10"),
        ("surroundings", "pets", "pets;all year"),
        ("registered_on", "2019-06-02", "2019-06-01"),
        ("registration_accepted_late", "yes", "no"),
        ("system", "Upstairs", "Ada Quill, Home, Main"),
        ("site", "Cabin", "Ada Quill, Home, Main"),
    ],
)
def test_a_contradiction_is_refused_showing_both_and_a_correction_keeps_both(plan, column, other, stored):
    installed(FULL)
    found = refused(FULL | {column: other})
    assert any(f"column {column}: wanted '{stored}' as on file, not '" in line and other in line for line in found)
    clerk = models.User.objects.create_user("wren")
    report = installed(FULL | {column: other}, correct=True, by=clerk)
    assert (report.corrected, report.added, report.filled) == (1, 0, 0)
    change = models.Change.objects.exclude(before="").get()
    assert (change.before, change.by, change.load.correcting) == (stored, clerk, True)
    assert other in change.after
    assert installed(FULL | {column: other}).unchanged == 1
    assert list(recheck.differences(on=TODAY)) == []


def test_a_check_says_what_would_come_and_takes_nothing():
    installed({"serial": "A1"})
    before = rows.everything()
    report = installed({"serial": "A1", "style": "wall"}, {"serial": "A2", "room": "Attic"}, check=True)
    assert report == installs.Report(added=1, filled=1, corrected=0, unchanged=0, rows=2)
    assert rows.everything() == before


# -- after what history told


def exchanged(**more) -> None:
    installed({"serial": "OLD", "installed_on": "2019-05-03", "style": "wall", "refrigerant": "R-410A"})
    history.load_rows(
        [{"serial": "OLD", "day": "2022-03-04", "kind": "exchanged", "under_warranty": "yes"} | more], on=TODAY
    )


def test_the_row_of_an_exchanged_serial_still_changes_nothing():
    exchanged(new_serial="NEW")
    assert installed({"serial": "OLD", "installed_on": "2019-05-03"}).unchanged == 1


@pytest.mark.parametrize("installed_on", ["2019-05-03", "2022-03-04", ""])
def test_a_unit_that_came_in_exchange_has_the_start_of_its_line(installed_on):
    exchanged(new_serial="NEW")
    assert installed({"serial": "NEW", "installed_on": installed_on}).unchanged == 1
    assert unit("NEW").installed_on is None


def test_what_is_told_of_a_start_goes_to_the_first_of_the_line(plan):
    exchanged(new_serial="NEW")
    assert "'2019-05-03' as on file, not '2019-05-09'" in refused({"serial": "NEW", "installed_on": "2019-05-09"})[0]
    installed(
        {"serial": "NEW", "started_on": "2019-05-06", "registered_on": "2019-06-01", "attached": "plan-1", "drain": "x"}
    )
    assert (str(unit("OLD").started_on), unit("NEW").started_on) == ("2019-05-06", None)
    assert unit("OLD").registrations.get().registered_on == dt.date(2019, 6, 1)
    assert unit("OLD").attachments.get().terms.code == "plan-1"
    assert (unit("NEW").drain, unit("OLD").drain) == ("x", "")


def test_a_faded_label_that_was_exchanged_is_still_known():
    installed(
        {"serial": "A1", "installed_on": "2019-05-03"}, {"serial": "", "room": "Attic", "installed_on": "2019-05-03"}
    )
    faded = models.Unit.objects.get(serial="")
    models.Unit.objects.filter(pk=faded.pk).update(removed_on=dt.date(2022, 1, 1), removal_reason="exchanged")
    rows.unit("N1", within=faded.system, room="Attic", took_over_from=faded, replaced_on="2022-01-01")
    assert installed({"serial": "", "room": "Attic", "installed_on": "2019-05-03"}).unchanged == 1


def test_after_a_move_the_rows_of_both_places_change_nothing():
    installed({"serial": "A1"}, {"serial": "C1", "site": "Cabin"})
    history.load_rows([{"serial": "A1", "day": "2022-03-04", "kind": "moved", "to_site": "Cabin"}], on=TODAY)
    assert unit().system.site.name == "Cabin"
    assert installed({"serial": "A1"}).unchanged == 1
    assert installed({"serial": "A1", "site": "Cabin"}).unchanged == 1
    (found,) = refused({"serial": "A1", "system": "Elsewhere"}, correct=True)
    assert "column site: wanted one of the systems it stood in" in found or "column system" in found


# -- order of rows


def shuffled(told):
    return st.permutations(told)


MIXED = [
    {"serial": "A1", "phone": "555-0101", "installed_on": "2019-05-03", "registered_on": "2019-06-01"},
    {"serial": "A2", "room": "Attic", "region": "US-KY"},
    {"serial": "", "room": "Porch", "style": "floor"},
    {"serial": "A3", "room": "Porch", "maker": "OSMARIK"},
    {"serial": "a3", "room": "Porch", "drain": "gravity"},
    {"serial": "A1", "use": "rental"},
    {"serial": "", "room": "Den", "surroundings": "pets"},
    {"serial": "B1", "customer": "Bo Reed", "site": "Home", "closed_on": "2019-05-01"},
    {"serial": "", "customer": "Bo Reed", "site": "Home", "new_construction": "yes"},
    {"serial": "B2", "customer": "Bo Reed", "site": "Shop", "system": "1", "use": "business"},
]


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=shuffled(MIXED))
def test_the_order_of_rows_does_not_matter(order, db):
    with undone():
        installed(*MIXED)
        wanted = rows.said()
    assert len(wanted) == 5
    with undone():
        installed(*order)
        assert rows.said() == wanted


@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=shuffled(MIXED), cut=st.integers(0, len(MIXED)))
def test_nor_does_it_matter_how_a_fleet_is_cut_into_files(order, cut, db):
    with undone():
        installed(*MIXED)
        wanted = rows.said()
    with undone():
        try:
            installed(*order[:cut])
            installed(*order[cut:])
        except BadFile:
            return  # a blank that two serials could fill only shows when they come apart
        spelled = [str(line).casefold() for line in rows.said()]
        assert sorted(spelled) == sorted(str(line).casefold() for line in wanted)


def test_batches_cut_between_and_within_systems_change_nothing(monkeypatch):
    told = [{"serial": f"A{n}" if n % 3 else "", "room": f"Room {n}", "system": f"S{n % 2}"} for n in range(40)]
    with undone():
        installed(*told)
        wanted = rows.said()
    monkeypatch.setattr("fleet.loading.installs.units.BATCH", 3)
    monkeypatch.setattr("fleet.loading.installs.levels.BATCH", 1)
    installed(*told)
    assert rows.said() == wanted
    assert loading.BATCH == 2_000
    before = rows.everything()
    assert installed(*told).unchanged == 40
    assert rows.everything() == before


# -- files


def written(path: Path, told: list[dict[str, str]], encoding="utf-8", delimiter=",") -> Path:
    with path.open("w", encoding=encoding, newline="") as file:
        sheet = csv.DictWriter(file, list(told[0]), delimiter=delimiter)
        sheet.writeheader()
        sheet.writerows(told)
    return path


RENEE = rows.INSTALL | {"customer": "Renée Oakes", "serial": "A1", "installed_on": "2019-05-03", "postcode": "04791"}


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252"])
def test_the_ways_a_csv_file_is_written(tmp_path, encoding, delimiter):
    path = written(tmp_path / "fleet.csv", [RENEE], encoding, delimiter)
    assert installs.load(path, by=None, on=TODAY).added == 1
    assert models.Customer.objects.get().name == "Renée Oakes"
    load = models.Load.objects.get()
    assert (load.name, len(load.digest), load.row_count) == ("fleet.csv", 64, 1)


def test_a_workbook_gives_what_the_same_csv_gives(tmp_path):
    book = openpyxl.Workbook()
    book.active.append([*RENEE, "plate_amps", "drive_minutes", "original_site"])
    book.active.append(
        [dt.date(2019, 5, 3) if name == "installed_on" else cell for name, cell in RENEE.items()] + [7.1, 35, True]
    )
    book.active["J2"] = 4791
    assert book.active["J1"].value == "postcode"
    book.active["J2"].number_format = "00000"
    book.save(tmp_path / "fleet.xlsx")
    told = RENEE | {"plate_amps": "7.1", "drive_minutes": "35", "original_site": "yes"}
    installs.load(written(tmp_path / "fleet.csv", [told]), by=None, on=TODAY)
    report = installs.load(tmp_path / "fleet.xlsx", by=None, on=TODAY)
    assert (report.unchanged, report.rows) == (1, 1)
    assert models.Site.objects.get().postcode == "04791"


def test_an_uploaded_file_goes_by_the_name_it_came_with(tmp_path):
    path = written(tmp_path / "tmp123", [RENEE | {"role": "boiler"}])
    with pytest.raises(BadFile) as caught:
        installs.load(path, by=None, on=TODAY, name="Our fleet.csv")
    assert str(caught.value).startswith("Our fleet.csv: row 2, column role: wanted one of outdoor,")


def run(*arguments) -> tuple[int, str, str]:
    out, error = StringIO(), StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=error)
    except SystemExit as ended:
        return int(ended.code or 0), out.getvalue(), error.getvalue()
    return 0, out.getvalue(), error.getvalue()


def test_the_command_takes_checks_corrects_and_refuses(tmp_path):
    path = str(written(tmp_path / "fleet.csv", [RENEE]))
    code, out, _ = run("load_installs", path, "--check")
    assert (code, models.Unit.objects.count()) == (0, 0)
    assert out.endswith("Nothing was changed: this was a check.\n")
    assert run("load_installs", path)[0] == 0
    assert unit().maker == "Osmarik"
    written(tmp_path / "fleet.csv", [RENEE | {"installed_on": "2019-05-04"}])
    code, out, error = run("load_installs", path)
    assert (code, out) == (1, "")
    assert error == (
        "fleet.csv: row 2, column installed_on: wanted '2019-05-03' as on file, not '2019-05-04'"
        " (--correct takes the file's word)\n"
    )
    assert run("load_installs", path, "--correct")[0] == 0
    assert str(unit().installed_on) == "2019-05-04"
    assert run("load_installs", str(tmp_path / "none.csv"))[0] == 1


def test_bad_use_of_the_command_ends_with_two(tmp_path):
    ended = subprocess.run(
        [sys.executable, "manage.py", "load_installs"],
        env=os.environ | {"DATA_DIR": str(tmp_path)}, capture_output=True, text=True, check=False,
        cwd=ROOT,
    )  # fmt: skip
    assert (ended.returncode, ended.stdout) == (2, "")
    assert "FILE" in ended.stderr


# -- how much it asks of the database


def test_a_larger_file_asks_no_more_of_the_database_for_each_batch():
    def told(number: int) -> list[dict[str, str]]:
        return [
            {"serial": f"A{n}", "room": f"R{n}", "customer": f"C{n}", "phone": "1", "region": "US-KY"}
            for n in range(number)
        ]

    asked = []
    for number in (2, 8):
        with undone():
            installed(*told(number))
            with rows.asked() as first:
                installed(*told(number))
            asked.append(len(first))
    assert asked[0] == asked[1]
