"""How a row is read by what was said of its spreadsheet: every text becomes a value, a note or a question, none is lost."""

import datetime as dt
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import plan as plans
from fleet.rules.spreadsheets.cells import AS_ABOVE, AS_NOTE, BLANK, NO_ROW, Act, Meaning, propose, read
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.filling import Way
from fleet.rules.spreadsheets.places import Address
from fleet.rules.spreadsheets.plan import Columns, Plan, Reader, Row

TODAY = "2026-11-24"


def past(cell: str) -> str:
    if cell > TODAY:
        raise ValueError("a day no later than today")
    return dt.date.fromisoformat(cell).isoformat()


NAMES = (
    "customer", "phone", "email", "site", "street", "city", "region", "postcode", "system", "role", "style", "room", "maker", "model",
    "serial", "installed_on", "registered_on", "licensed_installer", "notes",
)  # fmt: skip
OURS = Columns(
    plain={name: (past if name.endswith("_on") else str) for name in NAMES},
    days=frozenset(("installed_on", "registered_on")),
    required=("customer", "site", "system", "role", "maker", "model"),
)
COLUMNS = {
    "Name": "customer", "Kind": "role", "Model": "model", "Ser #": "serial", "Installed": "installed_on", "Ph": "phone", "Room": "room",
}  # fmt: skip
ROW = {
    "Name": "Ann Ibarra",
    "Kind": "ODU",
    "Model": "HC36",
    "Ser #": "S1",
    "Installed": "3-Mar-19",
    "Ph": "",
    "Room": "",
}


def one(plan: Plan | None = None, **cells: str) -> Row:
    """The reading of one row; what differs is named by heading."""
    named = {heading: heading.replace("Ser #", "Ser").replace(" ", "_") for heading in (plan or Plan(COLUMNS)).columns}
    row = Reader(plan or Plan(COLUMNS), OURS).row(
        5, {heading: cells.get(name, ROW.get(heading, "")) for heading, name in named.items()}
    )
    assert row is not None
    return row


def saying(column: str, text: str, meaning: Meaning, **more: Any) -> Plan:
    return Plan(COLUMNS, meanings={column: {text: meaning}}, **more)


def test_a_row_that_can_be_read_one_way_is_read():
    row = one()
    assert row.cells == {
        "customer": "Ann Ibarra", "role": "outdoor", "model": "HC36", "serial": "S1", "installed_on": "2019-03-03",
    }  # fmt: skip
    assert (row.unread, row.ambiguous, row.notes) == ([], [], [])


@pytest.mark.parametrize(
    ("column", "text", "meaning", "cells", "notes"),
    [
        pytest.param("installed_on", "yes - see file", None, {}, [], id="nothing is said"),
        pytest.param("installed_on", "yes - see file", BLANK, {}, [], id="blank"),
        pytest.param("installed_on", "yes - see file", AS_NOTE, {}, ["Installed on: yes - see file"], id="a note"),
        pytest.param(
            "installed_on", "yes - see file", Meaning(Act.VALUE, "2019-05-01"), {"installed_on": "2019-05-01"}, [], id="a value"
        ),
        pytest.param("role", "Indoor", Meaning(Act.VALUE, "wall head"), {"role": "head", "style": "wall"}, [], id="two values"),
        pytest.param("serial", "n/a", BLANK, {}, [], id="blank serial"),
        pytest.param("phone", "ask Bo", AS_NOTE, {}, ["Phone: ask Bo"], id="a phone"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_what_a_person_says_it_is(column, text, meaning, cells, notes):
    heading = next(heading for heading, name in COLUMNS.items() if name == column).replace("Ser #", "Ser")
    plan = saying(column, text, meaning) if meaning else Plan(COLUMNS)
    row = one(plan, **{heading: text, "Room": "Den"})
    assert {name: row.cells.get(name) for name in (column, *cells)} == {column: None, **cells}
    assert row.notes == notes
    assert row.unread == ([] if meaning else [(column, text)])


def test_a_value_that_was_said_and_cannot_hold_is_still_open():
    row = one(saying("installed_on", "soon", Meaning(Act.VALUE, "2026-11-25")), Installed="soon")
    assert (row.cells.get("installed_on"), row.unread) == (None, [("installed_on", "soon")])


@pytest.mark.parametrize(
    ("day", "unread"), [("11/23/2026", []), ("11/24/2026", []), ("11/25/2026", [("installed_on", "11/25/2026")])]
)
def test_a_day_to_come_is_not_taken_for_a_fact(day, unread):
    assert one(Installed=day).unread == unread


@pytest.mark.parametrize(
    ("order", "day", "ambiguous"),
    [
        (None, None, [("installed_on", "3/8/24")]),
        (Order.MONTH_FIRST, "2024-03-08", []),
        (Order.DAY_FIRST, "2024-08-03", []),
    ],
)
def test_what_could_be_two_days_waits_for_the_order_of_its_column(order, day, ambiguous):
    row = one(Plan(COLUMNS, orders={"installed_on": order} if order else {}), Installed="3/8/24")
    assert (row.cells.get("installed_on"), row.ambiguous, row.unread) == (day, ambiguous, [])


def test_rest_says_it_of_every_other_text_but_not_of_a_blank():
    plan = Plan(COLUMNS, rest={"role": AS_NOTE})
    assert one(plan, Kind="fridge").notes == ["Kind of unit: fridge"]
    assert one(plan, Kind="").unread == [("role", "")]


@pytest.mark.parametrize("missing", ["Name", "Kind", "Model"])
def test_a_blank_that_each_row_needs_is_asked_and_never_filled_in_silence(missing):
    row = one(**{missing: ""})
    assert row.unread == [(COLUMNS[missing], "")]


def test_a_unit_without_a_serial_needs_a_room_to_be_known_by():
    assert one(Ser="").unread == [("room", "")]
    assert one(Ser="", Room="Den").unread == []
    assert one(saying("room", "", Meaning(Act.VALUE, "Outside")), Ser="").cells["room"] == "Outside"


def test_a_row_may_be_left_out_for_what_it_lacks_or_by_its_number():
    theirs = ROW | {"Model": ""}
    assert Reader(saying("model", "", NO_ROW), OURS).row(5, theirs) is None
    assert Reader(Plan(COLUMNS, left_out={5}), OURS).row(5, ROW) is None
    assert Reader(Plan(COLUMNS, left_out={4, 6}), OURS).row(5, ROW) is not None


def test_headings_again_and_rows_without_a_unit_are_no_units():
    reader = Reader(Plan(COLUMNS), OURS)
    assert reader.row(9, {heading: heading.upper() for heading in COLUMNS}) is None
    assert one(Name="TOTAL 12", Kind="", Model="", Ser="", Installed="").is_empty
    assert not one(Kind="", Model="", Installed="").is_empty


def test_a_blank_or_a_ditto_mark_is_of_the_row_above_once_somebody_said_so():
    plan = Plan(COLUMNS, meanings={"customer": {"": AS_ABOVE, '"': AS_ABOVE}, "installed_on": {'"': AS_ABOVE}})
    reader = Reader(plan, OURS)
    reader.row(2, ROW | {"Ph": "(207) 555-0134"})
    second = reader.row(3, ROW | {"Name": "", "Ser #": "S2", "Installed": '"'})
    third = reader.row(4, ROW | {"Name": '"', "Ser #": "S3", "Installed": ""})
    assert second is not None and third is not None  # noqa: PT018
    assert (second.cells["customer"], second.cells["phone"], second.cells["installed_on"]) == (
        "Ann Ibarra",
        "207-555-0134",
        "2019-03-03",
    )
    assert (third.cells["customer"], third.cells["phone"], third.cells.get("installed_on")) == (
        "Ann Ibarra",
        "207-555-0134",
        None,
    )


def test_the_first_row_has_nothing_above_it():
    assert one(saying("customer", "", AS_ABOVE), Name="").unread == [("customer", "")]


def test_what_is_given_for_all_rows_is_in_each_that_does_not_say_otherwise():
    plan = Plan(COLUMNS | {"St": "region", "Zip": "postcode"}, given={"region": "US-ME", "maker": "Halvik"})
    assert one(plan, Zip="4101").cells["postcode"] == "04101"
    row = one(plan, St="N.H.")
    assert (row.cells["region"], row.cells["maker"]) == ("US-NH", "Halvik")


def test_a_column_that_is_worked_out_is_not_asked_for():
    columns = COLUMNS | {"Where": "system"}
    assert one(Plan(columns)).unread == [("system", "")]
    assert one(Plan(COLUMNS, ways={"system": Way.SYSTEM_DAY})).unread == []


def test_an_address_is_taken_apart_or_is_what_a_person_put_right():
    plan = Plan(COLUMNS | {"Where": "address"})
    row = one(plan, Where="12 Elm St, Quill Harbor, ME 4791")
    assert {name: row.cells[name] for name in ("street", "city", "region", "postcode")} == {
        "street": "12 Elm St", "city": "Quill Harbor", "region": "US-ME", "postcode": "04791",
    }  # fmt: skip
    right = Address("12 Broadway", "Quill Harbor", "US-ME", "")
    row = one(Plan(plan.columns, addresses={"12 Broadway Quill Harbor": right}), Where="12 Broadway Quill Harbor")
    assert (row.cells["street"], row.cells["city"], row.address) == ("12 Broadway", "Quill Harbor", right)


def test_two_names_are_one_and_customers_that_are_one_have_one_name():
    columns = {"First": "first name", "Last": "last name"} | {h: c for h, c in COLUMNS.items() if h != "Name"}
    assert one(Plan(columns), First="Ann", Last="Ibarra").cells["customer"] == "Ann Ibarra"
    assert one(Plan(columns), First="", Last="").unread == [("customer", "")]
    assert one(Plan(COLUMNS, names={"Ibarra, Ann": "Ann Ibarra"}), Name="Ibarra, Ann").cells["customer"] == "Ann Ibarra"


def test_what_we_have_no_column_for_goes_to_the_notes_with_its_heading():
    plan = Plan(COLUMNS | {"Truck": "note", "Memo": "notes"})
    row = one(plan, Truck="blue", Memo="Dog bites", Ph="ask Bo")
    assert row.cells["notes"] == "Dog bites; Truck: blue"
    assert row.unread == [("phone", "ask Bo")]


def test_a_serial_is_as_it_was_put_right():
    assert one(Plan(COLUMNS, serials={5: "S9"})).cells["serial"] == "S9"
    assert one(Plan(COLUMNS, serials={6: "S9"})).cells["serial"] == "S1"


@pytest.mark.parametrize(
    ("column", "cell", "required", "meaning"),
    [
        ("serial", "n/a", False, BLANK), ("serial", '"', False, AS_ABOVE), ("customer", "", True, AS_ABOVE), ("model", "", True, None),
        ("model", "?", True, None), ("role", "Indoor", True, Meaning(Act.VALUE, "head")),
        ("role", "Wall head (old)", True, Meaning(Act.BOTH, "wall head")), ("role", "fridge", True, None),
        ("installed_on", "March 2019", False, AS_NOTE), ("installed_on", "3/8/24", False, None),
        ("postcode", "4101", False, Meaning(Act.VALUE, "04101")), ("phone", "207-555-0134 or 0135", False, Meaning(Act.BOTH, "207-555-0134")),
        ("phone", "207-555-0134 / 207-555-0177", False, Meaning(Act.BOTH, "207-555-0134")),
        ("email", "ann@example.com; bob@example.com", False, Meaning(Act.BOTH, "ann@example.com")),
        ("serial", "M9996 (replaced)", False, Meaning(Act.BOTH, "M9996")), ("serial", "M9996 see plate", False, Meaning(Act.BOTH, "M9996")),
        ("serial", "'0012345 (old)", False, Meaning(Act.BOTH, "0012345")), ("serial", "M9996, M9997", False, AS_NOTE),
        ("serial", "M9996 & M9997", False, AS_NOTE), ("serial", "replaced, see below", False, AS_NOTE), ("model", "KX 36 (rev B)", True, Meaning(Act.BOTH, "KX 36")),
        ("role", "ODU Bldg 2", True, Meaning(Act.BOTH, "outdoor")),
        ("customer", "Ann Ibarra 207-555-0134 or 207-555-0177", True, Meaning(Act.BOTH, "Ann Ibarra or")),
        ("installed_on", "March '19", False, AS_NOTE), ("installed_on", "spring 2018", False, AS_NOTE), ("installed_on", "2018?", False, AS_NOTE),
        ("installed_on", "about 3/19/24", False, Meaning(Act.BOTH, "2024-03-19")), ("installed_on", "3/19/24, again 4/20/24", False, AS_NOTE),
        ("installed_on", "about 3/8/24", False, AS_NOTE), ("installed_on", "43532", False, Meaning(Act.VALUE, "2019-03-08")),
        ("licensed_installer", "x", False, Meaning(Act.VALUE, "yes")), ("region", "Mane", False, AS_NOTE),
    ],
)  # fmt: skip
def test_what_is_proposed_is_never_more_than_it_can_be(column, cell, required, meaning):
    assert propose(column, cell, is_required=required, is_day=column == "installed_on") == meaning


@pytest.mark.parametrize(
    ("column", "cell", "values"),
    [
        ("model", "2024-03-09", None), ("serial", "1.23457E+12", None), ("serial", "SB-1", {"serial": "SB-1"}),
        ("style", "Wall mount", {"style": "wall"}), ("style", "furnace", None), ("role", "other", {"role": "other"}),
        ("installed_by", "We", {"installed_by": "us"}), ("installed_by", "Dunmore Heating", {"installed_by": "Dunmore Heating"}),
        ("site", "n/a", None), ("room", "  Den \n 2", {"room": "Den 2"}), ("notes", "a\nb", {"notes": "a\nb"}),
    ],
)  # fmt: skip
def test_a_cell_is_what_it_can_only_mean(column, cell, values):
    assert read(column, cell) == values


TEXTS = st.sampled_from(
    ["", "n/a", '"', "Ann Ibarra", "ODU", "Indoor", "HC36", "S1", "3/8/24", "3/19/24", "March 2019", "12 Elm St, Salt Neck, ME 4791", "4791",
     "207-555-0134", "see file", "Maine", "TOTAL"]
)  # fmt: skip


@given(
    st.dictionaries(st.sampled_from([*COLUMNS, "Where", "Zip", "Truck"]), TEXTS),
    st.dictionaries(st.sampled_from(["role", "serial", "phone"]), st.sampled_from([BLANK, AS_NOTE, AS_ABOVE])),
)
def test_every_text_of_a_row_becomes_a_value_a_note_or_a_question(theirs, rest):
    plan = Plan(COLUMNS | {"Where": "address", "Zip": "postcode", "Truck": "note"}, rest=rest)
    row = Reader(plan, OURS).row(5, theirs)
    if row is None or row.is_empty:
        return
    open_texts = [text for _, text in (*row.unread, *row.ambiguous)]
    for heading, text in theirs.items():
        column = plan.columns[heading]
        said = rest.get(column)
        is_taken = column in row.cells or (column == "address" and row.address is not None)
        is_noted = any(note.endswith(f": {text}") for note in row.notes)
        assert (
            not text
            or is_taken
            or is_noted
            or text in open_texts
            or (said is not None and said.act in (Act.BLANK, Act.ABOVE))
        )


def test_a_plan_is_kept_in_plain_values_and_read_back_as_it_was():
    plan = Plan(
        COLUMNS,
        given={"site": "Home"},
        ways={"system": Way.SYSTEM_DAY},
        orders={"installed_on": Order.MONTH_FIRST},
        meanings={"role": {"Indoor": Meaning(Act.VALUE, "head"), "?": BLANK}},
        rest={"phone": AS_NOTE},
        addresses={"12 Broadway": Address("12 Broadway", "Salt Neck", "US-ME", "04791")},
        names={"A": "B"},
        left_out=frozenset((3, 9)),
        serials={7: "S7"},
        facts={("Ann Ibarra", "", "phone"): "207-555-0134", ("Ann Ibarra", "Home", "street"): "12 Elm St"},
        confirmed=frozenset(("addresses",)),
    )
    assert plans.from_json(COLUMNS, plans.as_json(plan)) == plan
    assert re.fullmatch(r"[\x20-\x7e]*", repr(plans.as_json(plan)))


@pytest.mark.parametrize(
    ("name", "phone", "cells", "notes"),
    [
        ("Ann Ibarra 207-555-0134", "", {"customer": "Ann Ibarra", "phone": "207-555-0134"}, []),
        ("Ann Ibarra, cell: (207) 555-0134", "207.555.0134", {"customer": "Ann Ibarra", "phone": "207-555-0134"}, []),
        ("Ann Ibarra 207-555-0134", "555-0177", {"customer": "Ann Ibarra", "phone": "555-0177"}, ["Phone: 207-555-0134"]),
        ("Suite 9 Dental", "", {"customer": "Suite 9 Dental"}, []),
    ],
)  # fmt: skip
def test_a_phone_behind_a_name_is_the_customers(name, phone, cells, notes):
    row = one(Name=name, Ph=phone)
    assert {column: row.cells.get(column) for column in cells} == cells
    assert row.notes == notes


@pytest.mark.parametrize("cell", ["Ann 207-555-0134 / 207-555-0177", "207-555-0134", "Ann 12 207-555-0134"])
def test_a_name_among_more_than_one_phone_is_asked_about(cell):
    assert ("customer", cell) in one(Name=cell).unread


@pytest.mark.parametrize("cell", ["'0012345", "’0012345"])
def test_the_mark_that_keeps_a_serials_zeros_is_no_part_of_it(cell):
    assert one(Ser=cell).cells["serial"] == "0012345"


@pytest.mark.parametrize("cell", ["SO-12 Z8", "K/N 09 W", "M9996.1", "abc123"])
def test_a_serial_of_signs_and_letters_is_read_as_it_is(cell):
    assert one(Ser=cell).cells["serial"] == cell


def test_a_value_with_a_note_is_both():
    row = one(saying("serial", "M9 (replaced)", Meaning(Act.BOTH, "M9")), Ser="M9 (replaced)")
    assert (row.cells["serial"], row.notes, row.unread) == ("M9", ["Serial: M9 (replaced)"], [])


@pytest.mark.parametrize(
    ("theirs", "is_left_out"),
    [
        ({"Name": "TOTAL", "Ser #": "293"}, True),
        ({"Name": "Grand total:", "Model": "293 units"}, True),
        ({"Kind": "Total units", "Ser #": "1,293"}, True),
        ({"Name": "Total Comfort LLC", "Kind": "ODU", "Ser #": "S1"}, False),
        ({"Name": "Count", "Kind": "ODU", "Ser #": "S1"}, False),
    ],
)
def test_a_row_that_adds_up_is_no_unit(theirs, is_left_out):
    row = Reader(Plan(COLUMNS), OURS).row(5, theirs)
    assert row is not None
    assert row.is_empty == is_left_out


@pytest.mark.parametrize(
    ("theirs", "is_again"),
    [
        ({"Name": "NAME", "Kind": "Kind", "Model": "model"}, True),
        ({"Name": "Name", "Kind": "Kind", "Model": "Model", "Ph": "page 2"}, True),
        ({"Name": "Name", "Kind": "ODU", "Model": "Model"}, False),
        ({"Name": "Ann Ibarra", "Kind": "Kind", "Model": "HC36", "Ser #": "S1"}, False),
    ],
)
def test_a_row_of_headings_in_the_middle_is_left_out(theirs, is_again):
    assert (Reader(Plan(COLUMNS), OURS).row(5, theirs) is None) == is_again
