"""Importing a person's own sheet: asked about a step at a time, taken whole in the background or given back."""

import csv
import datetime as dt
import io
import os
import threading
import time
from contextlib import suppress

import pytest
import time_machine
from django.db import connection
from openpyxl import Workbook, load_workbook

from fleet import models, tasks
from fleet.derived import recheck
from fleet.models.office import IMPORT_KINDS
from fleet.office.actions import import_answers, import_course, import_files, import_take, imports, jobs
from fleet.office.actions.import_kinds import KINDS
from fleet.refusals import Refused
from fleet.rules.spreadsheets.cells import AS_NOTE, BLANK, Act, Meaning
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.headings import NOTE, WRONG
from fleet.rules.spreadsheets.places import Address
from tests import company, sheets

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("media")]

NOON = dt.datetime(2026, 3, 2, 17, 0, tzinfo=dt.UTC)


def brought(office, file, *, name: str = "units.csv", kind: str = "installs") -> models.Import:
    return settled(imports.bring(file=file, name=name, kind=kind, by=office, on=company.TODAY))


def settled(found: models.Import) -> models.Import:
    """Have everything done with it that is done in the background."""
    tasks.drain()
    found.refresh_from_db()
    return found


def matched(office, file, *, columns=sheets.MATCHING, **named: str) -> models.Import:
    found = brought(office, file, **named)
    import_answers.match(imported=found, columns=columns, by=office, on=company.TODAY)
    return settled(found)


def wrong(office, file, **named: str) -> models.Import:
    """A file of which nothing can be asked, and whose every row with a car names terms that are not on file."""
    return matched(office, file, columns=sheets.MATCHING | {sheets.WITH_TERMS: "attached"}, **named)


def asked(found: models.Import, *, correcting: bool = False, checking: bool = False) -> models.Import:
    imports.ask(imported=found, correcting=correcting, checking=checking, by=found.by)
    return settled(found)


def files(media) -> list[str]:
    return [path.name for path in media.rglob("*") if path.is_file()]


def problems_file(found: models.Import) -> bytes:
    return import_files.path_of(found.problems_stored).read_bytes()


def test_each_kind_has_its_word_and_its_columns():
    assert set(KINDS) == set(IMPORT_KINDS)
    for kind in KINDS.values():
        assert set(kind.required) <= set(kind.names)
        assert kind.days < set(kind.names)
    assert "installed_on" in KINDS["installs"].days
    assert KINDS["history"].days >= {"day", "not_before", "repaired_on"}


# -- columns


def test_a_sheet_is_read_with_its_samples_and_kept_where_nobody_else_can_read_it(office, media):
    found = brought(office, sheets.as_csv(sheets.row(1), sheets.row(2), sheets.row(3), sheets.row(4)))
    assert (found.state, found.step, found.row_count, found.columns) == ("asking", "columns", 4, {})
    (serial,) = [column for column in found.sheet if column["heading"] == "Serial #"]
    assert (serial["samples"], serial["filled"]) == (["SB-1", "SB-2", "SB-3", "SB-4"], 4)
    path = import_files.path_of(found.stored)
    assert path.stat().st_mode & 0o077 == 0
    assert path.parent.stat().st_mode & 0o077 == 0
    assert "units" not in found.stored


def test_a_file_of_the_promised_columns_needs_no_matching(office):
    headings = [sheets.MATCHING.get(heading, "notes") for heading in sheets.HEADINGS]
    found = brought(office, sheets.as_csv(sheets.row(1, "2021-03-14"), headings=headings))
    assert found.columns == {name: name for name in headings}
    assert found.state == "checked", "with nothing to ask, what would come of it is shown at once"
    assert asked(found).state == "taken"


def test_a_matching_is_remembered_for_the_same_headings_in_any_order(office):
    assert asked(matched(office, sheets.as_csv(sheets.row(1)))).state == "taken"
    turned = [list(reversed(line)) for line in (sheets.HEADINGS, sheets.row(2))]
    again = brought(office, sheets.as_csv(turned[1], headings=[heading.upper() for heading in turned[0]]))
    assert again.columns == {heading.upper(): name for heading, name in sheets.MATCHING.items()}
    assert asked(again).state == "taken"
    assert models.Unit.objects.get(serial="SB-2").installed_on == dt.date(2021, 3, 14)


def test_another_header_row_or_kind_is_not_taken_for_the_same(office):
    matched(office, sheets.as_csv(sheets.row(1)))
    assert brought(office, sheets.as_csv([*sheets.row(1), ""], headings=[*sheets.HEADINGS, "Fax"])).columns == {}
    assert brought(office, sheets.as_csv(sheets.row(1)), kind="history").columns == {}


def test_what_each_row_needs_must_be_matched(office):
    found = brought(office, sheets.as_csv(sheets.row(1)))
    less = {heading: name for heading, name in sheets.MATCHING.items() if name not in ("maker", "system")}
    with pytest.raises(Refused, match="Each row needs System, Manufacturer"):
        import_answers.match(imported=found, columns=less, by=office, on=company.TODAY)
    with pytest.raises(Refused, match="Answer its questions first"):
        imports.ask(imported=found, correcting=False, checking=False, by=office)


def test_headings_that_are_blank_or_twice_there_are_told_apart(office):
    headings = [*sheets.HEADINGS, "", "Client", ""]
    found = brought(office, sheets.as_csv([*sheets.row(1), "a", "b", "c"], headings=headings))
    theirs = [column["heading"] for column in found.sheet]
    assert theirs == [*sheets.HEADINGS, "column 11", "Client (2)", "column 13"][: len(theirs)]
    assert "Client (2)" in theirs


def test_a_column_that_is_left_out_may_hold_anything(office):
    line = sheets.row(1)
    line[-1] = "=HYPERLINK(A1)"
    assert asked(matched(office, sheets.as_csv(line))).state == "taken"


def test_a_column_that_we_do_not_have_may_go_to_the_notes(office):
    found = matched(office, sheets.as_csv(sheets.row(1)), columns=sheets.MATCHING | {"Crew car": NOTE})
    assert asked(found).state == "taken"
    assert models.Unit.objects.get().notes == "Crew car: blue"


def test_what_the_file_does_not_have_is_given_for_all_rows_or_worked_out_and_remembered(office):
    less = {heading: name for heading, name in sheets.MATCHING.items() if name not in ("site", "system", "maker")}
    found = brought(office, sheets.as_csv(sheets.row(1), sheets.row(2, "4/15/2021")))
    given, ways = {"maker": "Northrill"}, {"site": Way.SITE_HOME, "system": Way.SYSTEM_DAY}
    import_answers.match(imported=found, columns=less, given=given, ways=ways, by=office, on=company.TODAY)
    assert asked(settled(found)).state == "taken"
    units = models.Unit.objects.order_by("serial").values_list("maker", "system__name", "system__site__name")
    assert list(units) == [
        ("Northrill", "Installed March 14, 2021", "Home"),
        ("Northrill", "Installed April 15, 2021", "Home"),
    ]
    again = brought(office, sheets.as_csv(sheets.row(3)))
    assert (again.state, again.plan["given"], again.plan["ways"]) == ("checked", given, ways)


# -- sheets and headings


def test_a_row_that_names_the_columns_in_words_of_its_own_may_be_chosen(office):
    lines = [["a", "b"], ["c", "d"], ["e"], ["f", "g"]]
    found = brought(office, sheets.as_csv(*lines[1:], headings=lines[0]))
    import_answers.choose_sheet(imported=found, sheet="", heading_row=2, by=office, on=company.TODAY)
    assert [column["heading"] for column in settled(found).sheet] == ["c", "d"]
    with pytest.raises(Refused, match="one of the sheets"):
        import_answers.choose_sheet(imported=found, sheet="Old", heading_row=2, by=office, on=company.TODAY)


@pytest.mark.parametrize(
    ("lines", "step"),
    [
        pytest.param([["a", "b"], ["c", "d"]], "columns", id="a first line that names every column"),
        pytest.param([["a", ""], ["c", "d"]], "sheet", id="one that does not"),
        pytest.param([["a"], ["c", "d"]], "sheet", id="one that is shorter"),
        pytest.param([["title", ""], ["Name", "Ser #"], ["c", "d"]], "columns", id="a title above words of ours"),
    ],
)
def test_the_row_of_the_headings_is_asked_for_where_it_is_not_sure(lines, step, office):
    assert brought(office, sheets.as_csv(*lines[1:], headings=lines[0])).step == step


def test_another_sheet_of_a_workbook_is_brought_without_uploading_it_again(office, media):
    book = Workbook()
    for number, title in enumerate(("Units", "Older")):
        sheet = book.active if number == 0 else book.create_sheet()
        sheet.title = title
        for line in (sheets.HEADINGS, sheets.row(number)):
            sheet.append(line)
    file = io.BytesIO()
    book.save(file)
    file.seek(0)
    found = brought(office, file, name="units.xlsx")
    assert (found.step, found.sheet_name) == ("sheet", "Units")
    import_answers.choose_sheet(imported=found, sheet="Units", heading_row=1, by=office, on=company.TODAY)
    import_answers.match(imported=settled(found), columns=sheets.MATCHING, by=office, on=company.TODAY)
    assert asked(settled(found)).state == "taken"
    other = settled(imports.bring_sheet(imported=found, sheet="Older", by=office, on=company.TODAY))
    assert (other.state, other.columns) == ("checked", sheets.MATCHING)
    assert asked(other).state == "taken"
    assert models.Unit.objects.count() == 2


# -- values


def say(found: models.Import, meanings=None, **more) -> models.Import:
    import_answers.say_values(
        imported=found, values=import_answers.Values(meanings or {}, **more), by=found.by, on=company.TODAY
    )
    return settled(found)


def unread(found: models.Import) -> list[tuple[str, str, int, list[int]]]:
    return [(one["column"], one["text"], one["count"], one["rows"]) for one in found.findings["values"]["unread"]]


def test_what_cannot_be_read_is_asked_once_with_how_often_and_where(office):
    rows = [sheets.row(number, ("n/a", "?", "yes - see file")[number % 3]) for number in range(9)]
    found = matched(office, sheets.as_csv(*rows, sheets.row(9, role="Indoor")))
    assert (found.state, found.step) == ("asking", "values")
    assert unread(found) == [
        ("installed_on", "?", 3, [3, 6, 9]),
        ("installed_on", "n/a", 3, [2, 5, 8]),
        ("installed_on", "yes - see file", 3, [4, 7, 10]),
        ("role", "Indoor", 1, [11]),
    ]
    assert not models.Unit.objects.exists()


def test_each_text_becomes_what_a_person_says_and_is_remembered_for_the_next_file(office):
    file = sheets.as_csv(sheets.row(1, "n/a"), sheets.row(2, "see Bo"), sheets.row(3, "old", role="Indoor"))
    found = matched(office, file)
    days = {"n/a": BLANK, "see Bo": AS_NOTE, "old": Meaning(Act.VALUE, "2019-03-08")}
    with pytest.raises(Refused, match="Say what each"):
        say(found, {"installed_on": days})
    found.refresh_from_db()
    assert asked(say(found, {"installed_on": days, "role": {"Indoor": Meaning(Act.VALUE, "head")}})).state == "taken"
    units = models.Unit.objects.order_by("serial").values_list("installed_on", "notes", "role")
    assert list(units) == [
        (None, "", "head"), (None, "Installed on: see Bo", "head"), (dt.date(2019, 3, 8), "", "head"),
    ]  # fmt: skip
    again = brought(office, sheets.as_csv(sheets.row(4, "n/a", role="Indoor")))
    assert again.state == "checked"
    assert asked(again).state == "taken"
    fresh = brought(office, sheets.as_csv(sheets.row(5, "N/A?")))
    assert (fresh.state, unread(fresh)) == ("asking", [("installed_on", "N/A?", 1, [2])])


def test_a_column_with_more_odd_texts_than_a_form_has_room_for_is_asked_about_as_a_whole(office):
    rows = [sheets.row(number, f"crew {number}") for number in range(70)]
    found = matched(office, sheets.as_csv(*rows))
    assert len(unread(found)) == 60
    assert found.findings["values"]["others"] == [{"column": "installed_on", "count": 10}]
    meanings = {"installed_on": {text: AS_NOTE for _, text, _, _ in unread(found)}}
    with pytest.raises(Refused, match="Say what each"):
        say(found, meanings)
    found.refresh_from_db()
    assert asked(say(found, meanings, rest={"installed_on": BLANK})).state == "taken"
    assert models.Unit.objects.filter(notes="").count() == 10


def test_a_row_without_a_unit_is_told_and_left_out(office):
    total = ["TOTAL 1", *[""] * 9]
    found = matched(office, sheets.as_csv(sheets.row(1), total, [heading.upper() for heading in sheets.HEADINGS]))
    assert found.findings["values"]["empty"] == {"count": 1, "rows": [3], "texts": ["TOTAL 1"]}
    assert asked(found).state == "taken"
    assert models.Unit.objects.count() == 1


# -- looked over


def confirmed(found: models.Import, **said) -> models.Import:
    said.setdefault("keys", frozenset(("addresses",)))
    import_answers.confirm(imported=found, said=import_answers.Confirmed(**said), by=found.by, on=company.TODAY)
    return settled(found)


def questions(found: models.Import, name: str) -> list:
    return found.findings["confirm"][name]


def test_serials_that_are_read_alike_are_shown_side_by_side_before_anything_is_taken(office):
    found = matched(office, sheets.as_csv(sheets.row(1, serial="SO-12"), sheets.row(2, serial="S0 12"), sheets.row(3)))
    assert (found.state, found.step) == ("asking", "confirm")
    (twins,) = questions(found, "twins")
    assert [(row["row"], row["serial"], row["customer"]) for row in twins["rows"]] == [
        (2, "SO-12", "Odile Marsh 1"), (3, "S0 12", "Odile Marsh 2"),
    ]  # fmt: skip
    assert twins["answer"] == "", "nobody but a person can say"
    done = asked(confirmed(found, twins={twins["key"]: import_answers.Twin("row 3")}))
    assert done.state == "taken"
    assert sorted(models.Unit.objects.values_list("serial", flat=True)) == ["S0 12", "SB-3"]


def test_a_serial_may_be_put_right_beside_the_other(office):
    found = matched(office, sheets.as_csv(sheets.row(1, serial="SB-12"), sheets.row(2, serial="SB-12")))
    (twins,) = questions(found, "twins")
    assert (twins["one_plate"], twins["answer"]) == (True, ""), "one serial stands at two customers"
    asked(confirmed(found, twins={twins["key"]: import_answers.Twin("as they are", {2: "SB-12", 3: "SB-13"})}))
    assert sorted(models.Unit.objects.values_list("serial", flat=True)) == ["SB-12", "SB-13"]


def test_the_same_row_twice_is_one_unit_and_says_which_row_brought_nothing(office):
    found = matched(office, sheets.as_csv(sheets.row(1), sheets.row(1)))
    (twins,) = questions(found, "twins")
    assert twins["answer"] == "as they are"
    done = asked(confirmed(found, twins={twins["key"]: import_answers.Twin("as they are")}))
    assert (done.report["added"], done.report["same"]) == (1, [[3, 3]])


def test_a_serial_that_reads_like_one_on_file_may_be_that(office):
    asked(matched(office, sheets.as_csv(sheets.row(1, serial="SO-12"))))
    found = brought(office, sheets.as_csv(sheets.row(1, serial="S0-12")))
    (twins,) = questions(found, "twins")
    (there,) = twins["on_file"]
    assert there["serial"] == "SO-12"
    done = asked(confirmed(found, twins={twins["key"]: import_answers.Twin(f"unit {there['unit']}")}))
    assert (done.report["added"], done.report["same"]) == (0, [[2, 2]])
    assert models.Unit.objects.get().serial == "SO-12"


MORE = {**sheets.MATCHING, "Phone": "phone", "Where": "address"}


def with_house(number: int, phone: str, where: str, **changed: str) -> list[str]:
    return [*sheets.row(number, **changed), phone, where]


def test_customers_that_may_be_one_and_facts_that_differ_are_asked_and_the_rest_is_a_note(office):
    file = sheets.as_csv(
        with_house(1, "207-555-0134", "12 Elm St, Salt Neck, ME 4792", customer="Ann & Bo Marsh"),
        with_house(2, "207-555-0134", "12 Elm Street, Salt Neck, Maine", customer="Ann & Bo Marsh"),
        with_house(3, "(207) 555-0199", "12 Elm St Salt Neck ME", customer="Marsh, Ann and Bo"),
        headings=[*sheets.HEADINGS, "Phone", "Where"],
    )
    found = matched(office, file, columns=MORE)
    (names,) = questions(found, "names")
    assert [one["name"] for one in names["names"]] == ["Ann & Bo Marsh", "Marsh, Ann and Bo"]
    facts = {one["column"]: [value["value"] for value in one["values"]] for one in questions(found, "facts")}
    assert facts == {"phone": ["207-555-0134", "207-555-0199"], "street": ["12 Elm St", "12 Elm Street"]}
    (unsure,) = questions(found, "addresses")["unsure"]
    assert (unsure["street"], unsure["city"], unsure["region"]) == ("12 Elm St", "Salt Neck", "US-ME")
    done = asked(
        confirmed(
            found,
            addresses={unsure["text"]: Address("12 Elm St", "Salt Neck", "US-ME", "04792")},
            names={names["key"]: "Marsh, Ann and Bo"},
            facts={one["key"]: one["values"][0]["value"] for one in questions(found, "facts")},
        )
    )
    assert done.state == "taken"
    site = models.Site.objects.get(customer__name="Marsh, Ann and Bo")
    assert (site.street, site.city, site.postcode, site.customer.phone) == (
        "12 Elm St", "Salt Neck", "04792", "207-555-0134",
    )  # fmt: skip
    notes = models.Unit.objects.order_by("serial").values_list("notes", flat=True)
    assert list(notes) == ["", "", "Phone: 207-555-0199"], "another street says the same, another phone does not"


def test_somebody_may_go_back_to_any_step_and_finds_what_they_said(office):
    found = say(matched(office, sheets.as_csv(sheets.row(1, "n/a"))), {"installed_on": {"n/a": BLANK}})
    assert found.state == "checked"
    import_answers.match(imported=found, columns=sheets.MATCHING, by=office, on=company.TODAY)
    again = settled(found)
    assert again.state == "checked", "what was said of its texts still holds"
    assert again.findings["values"]["unread"][0]["known"]
    assert say(again, {"installed_on": {"n/a": AS_NOTE}}).state == "checked"
    asked(again)
    assert models.Unit.objects.get().notes == "Installed on: n/a"


# -- days


def test_each_day_that_can_be_read_one_way_is_read_whatever_its_style(office):
    rows = [sheets.row(number, text) for number, text in enumerate(["3/19/24", "3-Mar-19", "2019-03-08", "19/3/2021"])]
    assert asked(matched(office, sheets.as_csv(*rows))).state == "taken"
    days = models.Unit.objects.order_by("serial").values_list("installed_on", flat=True)
    assert [day.isoformat() for day in days] == ["2024-03-19", "2019-03-03", "2019-03-08", "2021-03-19"]


@pytest.mark.parametrize(
    ("order", "day"), [(Order.MONTH_FIRST, dt.date(2021, 3, 8)), (Order.DAY_FIRST, dt.date(2021, 8, 3))]
)
def test_what_could_be_two_days_is_asked_once_for_its_column_with_its_rows(order, day, office):
    found = matched(
        office, sheets.as_csv(sheets.row(1, "3/8/2021"), sheets.row(2, "12/12/2021"), sheets.row(3, "4/13/2021"))
    )
    (asked_of,) = found.findings["values"]["days"]
    assert (asked_of["column"], asked_of["count"], asked_of["rows"]) == ("installed_on", 1, [2])
    assert asked_of["orders"] == {"month first": 1}
    with pytest.raises(Refused, match="Say what each"):
        say(found)
    found.refresh_from_db()
    assert asked(say(found, orders={"installed_on": order})).state == "taken"
    assert models.Unit.objects.get(serial="SB-1").installed_on == day
    assert brought(office, sheets.as_csv(sheets.row(4, "5/6/2021"))).state == "checked", "it is remembered"


def test_days_of_a_workbook_are_days(office):
    rows = [sheets.row(1), sheets.row(2)]
    rows[0][8], rows[1][8] = dt.date(2021, 3, 8), dt.date(2021, 3, 9)  # type: ignore[call-overload]
    found = asked(matched(office, sheets.as_xlsx(*rows), name="units.xlsx"))
    assert found.state == "taken"
    assert models.Unit.objects.get(serial="SB-1").installed_on == dt.date(2021, 3, 8)


# -- taken


def test_a_file_that_is_taken_says_what_came_of_it_and_is_not_kept(office, media):
    found = asked(matched(office, sheets.as_csv(sheets.row(1), sheets.row(2))))
    assert found.state == "taken"
    assert {name: found.report[name] for name in ("rows", "added", "filled", "corrected", "unchanged")} == {
        "rows": 2, "added": 2, "filled": 0, "corrected": 0, "unchanged": 0,
    }  # fmt: skip
    assert models.Load.objects.get(kind="installs").by == office
    assert files(media) == []
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_check_says_what_would_change_and_changes_nothing(office, media):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    found = brought(office, sheets.as_csv(sheets.row(1, "3/15/2021", room="Attic")))
    assert found.state == "refused"
    again = asked(found, correcting=True, checking=True)
    assert again.state == "checked"
    assert again.report["corrected"] == 2
    assert {(change["field"], change["before"], change["after"]) for change in again.report["changes"]} == {
        ("installed_on", "2021-03-14", "2021-03-15"),
        ("room", "Den", "Attic"),
    }
    assert models.Unit.objects.get().room == "Den"
    assert models.Load.objects.filter(kind="installs").count() == 1
    assert import_files.path_of(again.stored).exists()
    assert asked(again, correcting=True).state == "taken"
    assert models.Unit.objects.get().room == "Attic"
    assert list(recheck.differences(on=company.TODAY)) == []


def test_a_contradiction_is_refused_unless_correcting_was_asked(office):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    found = asked(brought(office, sheets.as_csv(sheets.row(1, room="Attic"))))
    assert found.state == "refused"
    (problem,) = found.report["problems"]
    assert problem == [2, "Room", "'Den' as on file, not 'Attic' (“Change what is on file” takes the file's word)"]
    assert asked(found, correcting=True).state == "taken"


def test_history_comes_in_the_same_way(office):
    asked(matched(office, sheets.as_csv(sheets.row(1))))
    headings = ("Serial", "Date", "What happened", "Failed part")
    found = brought(
        office, sheets.as_csv(["SB-1", "June 15, 2022", "failure", "compressor"], headings=headings), kind="history"
    )
    columns = dict(zip(headings, ("serial", "day", "kind", "component"), strict=True))
    import_answers.match(imported=found, columns=columns, by=office, on=company.TODAY)
    assert asked(settled(found)).state == "taken"
    assert models.Failure.objects.get().failed_on == dt.date(2022, 6, 15)
    assert list(recheck.differences(on=company.TODAY)) == []


def test_of_two_who_press_at_once_one_has_it_begun(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, correcting=False, checking=False, by=office)
    with pytest.raises(Refused):
        imports.ask(imported=found, correcting=False, checking=False, by=office)
    assert models.Job.objects.filter(state="waiting").count() == 1


# -- given back


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_file_comes_back_with_what_is_wrong_and_is_taken_once_it_is_put_right(suffix, office):
    make = sheets.as_csv if suffix == "csv" else sheets.as_xlsx
    file = make(sheets.row(1, car=""), sheets.row(2), sheets.row(3, model="+NW"))
    found = wrong(office, file, name=f"units.{suffix}")
    assert (found.state, found.report["count"]) == ("refused", 2)
    assert not models.Unit.objects.exists()
    lines = as_lines(problems_file(found), suffix)
    assert lines[0] == [WRONG, *sheets.HEADINGS]
    assert lines[1][0] == ""
    assert lines[2][0] == lines[3][0] == "Crew car: codes of terms on file; 'blue' is not one"
    assert lines[3][7] == ("'+NW" if suffix == "csv" else "+NW")

    lines[2][10] = lines[3][10] = ""
    again = brought(office, make(*lines[1:], headings=lines[0]), name=f"units.{suffix}")
    assert again.columns == sheets.MATCHING | {sheets.WITH_TERMS: "attached"}
    assert asked(again).state == "taken"
    assert models.Unit.objects.get(serial="SB-3").model == "+NW"
    assert models.Unit.objects.count() == 3


TITLE = (["Installs of the house"], [], ["printed", "March 3, 2026"])


@pytest.mark.parametrize("suffix", ["csv", "xlsx"])
def test_a_title_above_the_columns_is_no_header_and_comes_back_as_it_was(suffix, office):
    make = sheets.as_csv if suffix == "csv" else sheets.as_xlsx

    def titled(*rows):
        return make(*TITLE[1:], sheets.HEADINGS, *rows, headings=TITLE[0])

    found = wrong(office, titled(sheets.row(1, car=""), sheets.row(2)), name=f"units.{suffix}")
    assert [column["heading"] for column in found.sheet] == list(sheets.HEADINGS)
    assert (found.row_count, found.report["count"]) == (2, 1)
    assert found.report["problems"][0][0] == 6, "rows are numbered as they stand in the file"
    lines = as_lines(problems_file(found), suffix)
    assert [line[0] for line in lines[:5]] == ["", "", "", WRONG, ""]
    assert lines[3][1:] == list(sheets.HEADINGS)
    assert lines[5][0].startswith("Crew car: codes of terms")
    lines[5][10] = ""
    again = asked(brought(office, make(*lines[1:], headings=lines[0]), name=f"units.{suffix}"))
    assert again.state == "taken", "its columns are known from the first time"
    assert models.Unit.objects.count() == 2


def test_semicolons_are_found_below_a_title(office):
    text = sheets.as_csv(sheets.row(1)).getvalue().decode().replace(",", ";")
    found = brought(office, io.BytesIO(f"Installs of the house\r\n\r\n{text}".encode()))
    assert [column["heading"] for column in found.sheet] == list(sheets.HEADINGS)


def test_a_file_given_back_twice_has_one_column_of_what_is_wrong(office):
    found = wrong(office, sheets.as_csv(sheets.row(1)))
    again = brought(office, io.BytesIO(problems_file(found)))
    assert again.state == "refused"
    assert as_lines(problems_file(again), "csv")[0].count(WRONG) == 1


@pytest.mark.parametrize("sign", ["+", "-", "@"])
def test_nothing_in_a_file_given_back_runs_as_a_formula(sign, office):
    text = f"{sign}1+1"
    row = sheets.row(1, customer=text)
    (line,) = as_lines(problems_file(wrong(office, sheets.as_csv(row))), "csv")[1:]
    assert line[1] == f"'{text}"
    book = load_workbook(io.BytesIO(problems_file(wrong(office, sheets.as_xlsx(row)))))
    (_, cell) = book.active["B"]
    assert (cell.data_type, cell.value) == ("s", text)


def test_a_formula_is_never_a_value_also_behind_the_sign_that_keeps_it_from_running(office):
    for text in ("=1+1", "'=1+1"):
        found = matched(office, sheets.as_csv(sheets.row(1, customer=text)))
        assert unread(found) == [("customer", "(formula without a stored value)", 1, [2])]


def test_every_problem_of_a_long_file_is_in_the_file_given_back(office):
    found = wrong(office, sheets.as_csv(*(sheets.row(number) for number in range(1, 251))))
    assert (found.report["count"], len(found.report["problems"])) == (250, 100)
    lines = as_lines(problems_file(found), "csv")
    assert len(lines) == 251
    assert all(line[0] for line in lines)


def test_a_file_that_breaks_off_is_refused_without_one_to_give_back(office):
    found = brought(office, io.BytesIO(b'Client,Site\nOdile,"Home\n'))
    assert (found.state, found.problems_stored, found.sheet) == ("refused", "", [])
    assert "quotes that close" in found.report["problems"][0][2]


def test_a_file_above_the_limit_is_refused_and_not_kept(office, media, settings):
    settings.IMPORT_LARGEST = 2_000_000
    with pytest.raises(Refused, match="larger than 2 MB"):
        brought(office, io.BytesIO(b"x" * 2_000_001))
    assert files(media) == []
    assert not models.Import.objects.exists()


# -- in the background


def test_a_long_file_is_read_in_the_background(office, monkeypatch):
    monkeypatch.setattr(import_course, "READ_AT_ONCE", 10)
    found = imports.bring(file=sheets.as_csv(sheets.row(1)), name="a.csv", kind="installs", by=office, on=company.TODAY)
    assert (found.state, found.job.name) == ("reading", "read_import")
    assert (settled(found).state, found.step, found.row_count) == ("asking", "columns", 1)
    import_answers.match(imported=found, columns=sheets.MATCHING, by=office, on=company.TODAY)
    found.refresh_from_db()
    assert (found.state, found.job.name) == ("reading", "read_import")
    assert settled(found).state == "checked"


def test_progress_is_told_while_rows_are_checked(office, monkeypatch):
    monkeypatch.setattr("fleet.loading.loading.BATCH", 20)
    told = []
    monkeypatch.setattr(tasks.Run, "progress", lambda self, done, parts=None: told.append((done, parts)))
    many = sheets.as_csv(*(sheets.row(number) for number in range(41)))
    found = asked(matched(office, many))
    assert found.state == "taken"
    assert told[-3:] == [(20, 41), (40, 41), (41, 41)]


def stop_at(monkeypatch, name: str, found: models.Import, office: models.User) -> None:
    """Have somebody press Stop when the load comes to a step."""
    real = getattr(import_take._ImportHooks, name)

    def pressed(self, *given):
        if name == "applying":
            # From another process this row could not be written now; the file beside the stored one says it.
            import_files.ask_to_stop(found.stored)
        else:
            imports.stop(imported=models.Import.objects.get(pk=found.pk), by=office, at=NOON)
        return real(self, *given)

    monkeypatch.setattr(import_take._ImportHooks, name, pressed)


@pytest.mark.parametrize("step", ["checked", "applying"])
def test_what_is_stopped_in_the_middle_leaves_everything_as_it_was(step, office, monkeypatch):
    monkeypatch.setattr("fleet.loading.loading.BATCH", 20)
    monkeypatch.setattr("fleet.derived.refresh.CHUNK", 5)
    found = matched(office, sheets.as_csv(*(sheets.row(number) for number in range(41))))
    with monkeypatch.context() as patch:
        stop_at(patch, step, found, office)
        asked(found)
    assert models.Job.objects.latest("pk").state == "stopped"
    assert found.state == "waiting"
    assert not models.Unit.objects.exists()
    assert not models.Load.objects.filter(kind="installs").exists()
    assert asked(found).state == "taken"
    assert models.Unit.objects.count() == 41


@pytest.mark.parametrize(
    "stop",
    [
        pytest.param(lambda found: imports.stop(imported=found, by=found.by, at=NOON), id="on its own page"),
        pytest.param(lambda found: imports.stop_work(job=found.job, by=found.by, at=NOON), id="as background work"),
    ],
)
def test_a_load_that_holds_the_database_hears_from_another_connection_that_it_should_stop(stop, office, monkeypatch):
    found = matched(office, sheets.as_csv(sheets.row(1), sheets.row(2)))
    imports.ask(imported=found, correcting=False, checking=False, by=office)
    found.refresh_from_db()
    is_applying, real = threading.Event(), import_take._ImportHooks.applying

    def applying(self, done=0, of=0):
        is_applying.set()
        for _ in range(1_000):
            if import_files.is_stopped(found.stored):
                break
            time.sleep(0.01)
        real(self, done, of)

    monkeypatch.setattr(import_take._ImportHooks, "applying", applying)

    def work():
        tasks.drain()
        connection.close()

    worker = threading.Thread(target=work)
    worker.start()
    assert is_applying.wait(20)
    assert stop(found) in ("running", "stopped")
    worker.join(20)
    assert models.Job.objects.latest("pk").state == "stopped"
    assert not models.Unit.objects.exists()


def test_stopping_what_waits_begins_nothing(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, correcting=False, checking=False, by=office)
    found.refresh_from_db()
    assert imports.stop(imported=found, by=office, at=NOON) == "stopped"
    tasks.drain()
    assert not models.Unit.objects.exists()


@pytest.mark.parametrize("when", ["parse", "applied", "ended"])
def test_a_worker_that_dies_leaves_a_file_that_is_taken_once(when, office, monkeypatch):
    found = matched(office, sheets.as_csv(sheets.row(1), sheets.row(2)))
    imports.ask(imported=found, correcting=False, checking=False, by=office)

    class Killed(BaseException):
        pass

    def die(*given):
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(import_take._ImportHooks, when, die)
        patch.setattr(jobs, "hand_back", lambda *given, **named: None)  # a dead worker hands nothing back
        with suppress(Killed):
            tasks.drain()
    assert models.Job.objects.latest("pk").state == "running"
    assert not models.Unit.objects.exists()
    with time_machine.travel(company.NOON) as clock:
        clock.shift(jobs.LEASE + dt.timedelta(minutes=1))
        tasks.drain()
        tasks.drain()
    found.refresh_from_db()
    assert (found.state, models.Job.objects.latest("pk").state) == ("taken", "done")
    assert (models.Unit.objects.count(), models.Load.objects.filter(kind="installs").count()) == (2, 1)


# -- dropped


def test_a_dropped_file_is_gone(office, media):
    found = wrong(office, sheets.as_csv(sheets.row(1)))
    assert len(files(media)) == 2
    imports.drop(imported=found)
    assert files(media) == []
    assert not models.Import.objects.exists()


def test_what_was_taken_or_is_under_way_cannot_be_dropped(office):
    found = matched(office, sheets.as_csv(sheets.row(1)))
    imports.ask(imported=found, correcting=False, checking=False, by=office)
    with pytest.raises(Refused):
        imports.drop(imported=found)
    tasks.drain()
    with pytest.raises(Refused):
        imports.drop(imported=found)


@pytest.mark.parametrize(("days", "is_kept"), [(30, True), (31, False)])
def test_a_file_that_nobody_comes_back_for_is_kept_for_thirty_days(days, is_kept, office, media):
    found = brought(office, sheets.as_csv(sheets.row(1)))
    models.Import.objects.update(at=NOON)
    imports.drop_old(at=NOON + dt.timedelta(days=days))
    found.refresh_from_db()
    assert (len(files(media)), bool(found.stored)) == (is_kept, is_kept)


@pytest.mark.parametrize(("hours", "is_kept"), [(23, True), (25, False)])
def test_what_an_upload_left_that_broke_off_is_removed_after_a_day(hours, is_kept, office, media):
    at = NOON
    left = import_files.path_of(import_files.keep(io.BytesIO(b"a,b\n")))
    written = (at - dt.timedelta(hours=hours)).timestamp()
    os.utime(left, (written, written))
    imports.drop_old(at=at)
    assert left.exists() == is_kept


def as_lines(content: bytes, suffix: str) -> list[list[str]]:
    if suffix == "csv":
        return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))
    rows = load_workbook(io.BytesIO(content)).active.iter_rows(values_only=True)
    return [["" if value is None else str(value) for value in line] for line in rows]
