"""Headings in words of the trade, and the row that they stand in under title rows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import headings
from fleet.rules.spreadsheets.headings import ADDRESS, FIRST_NAME, LAST_NAME, NOTE, HeaderRow

OURS = (
    "customer", FIRST_NAME, LAST_NAME, ADDRESS, NOTE, "phone", "email", "site", "street", "city", "region", "postcode", "use",
    "new_construction", "closed_on", "system", "role", "style", "room", "maker", "model", "serial", "purchased_on", "installed_on",
    "started_on", "manufactured_on", "installed_by", "installer", "registered_on", "registration_number", "plate_amps", "filter_size", "notes",
)  # fmt: skip


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("Ser #", "serial"), ("SERIAL NO.", "serial"), ("S/N", "serial"), ("Unit serial", "serial"), ("Model No.", "model"),
        ("Mod. #", "model"), ("M/N", "model"), ("Mfr", "maker"), ("Brand", "maker"), ("Make", "maker"), ("Installed", "installed_on"),
        ("Install Date", "installed_on"), ("Date of install (m/d/y)", "installed_on"), ("Inst. Dt", "installed_on"),
        ("Start-up date", "started_on"), ("Startup", "started_on"), ("Purchase date", "purchased_on"), ("Mfg Date", "manufactured_on"),
        ("Zip", "postcode"), ("ZIP Code", "postcode"), ("St", "region"), ("State", "region"), ("Town", "city"), ("Addr.", "street"),
        ("Service Address", "street"), ("Street Address", "street"), ("Cust. Name", "customer"), ("Homeowner", "customer"), ("Name", "customer"),
        ("Client", "customer"), ("Bill to", "customer"), ("First", FIRST_NAME), ("Last Name", LAST_NAME), ("Ph.", "phone"),
        ("Cell", "phone"), ("E-mail", "email"), ("Email address", "email"), ("Unit type", "role"), ("Type of unit", "role"),
        ("Head style", "style"), ("Room", "room"), ("Location", "room"), ("Reg #", "registration_number"), ("Registration No", "registration_number"),
        ("Registration confirmation", "registration_number"), ("Reg date", "registered_on"), ("Registered", "registered_on"),
        ("Closing date", "closed_on"), ("Remarks", "notes"), ("Job site", "site"), ("installed_on", "installed_on"), ("RLA", "plate_amps"), ("Filter", "filter_size"), ("Size of filter", "filter_size"),
        ("Truck", ""), ("Unit #", ""), ("", ""), ("#", ""), ("Warranty expires", ""), ("Sales tax", ""),
    ],
)  # fmt: skip
def test_a_heading_means_what_the_trade_means_by_it(heading, name):
    assert headings.meant(heading, OURS) == name


@pytest.mark.parametrize("name", OURS)
def test_every_name_of_ours_means_itself(name):
    assert headings.meant(name.upper().replace("_", " "), OURS) == name


def test_what_was_said_before_comes_first_then_words_then_what_stands_in_a_column():
    samples = {
        "Box": ["ann@ibarra.example"],
        "Where": ["12 Elm St, Quill Harbor, ME 04791"],
        "Truck": ["blue"],
        "Kind": ["ODU"],
    }
    theirs = ["Truck", "Remarks", "Notes", "Where", "Box", "Kind", "Ser #"]
    assert headings.suggest(theirs, samples, OURS, {"truck": NOTE, "remarks": "notes"}) == {
        "Truck": NOTE, "Remarks": "notes", "Where": ADDRESS, "Box": "email", "Kind": "role", "Ser #": "serial",
    }  # fmt: skip


def test_nothing_is_suggested_that_the_kind_of_file_does_not_have():
    assert headings.suggest(["Ser #", "Truck"], {"Truck": ["ann@ibarra.example"]}, ("day",), {"ser": "serial"}) == {}


@given(
    st.lists(
        st.sampled_from(["Name", "Client", "Ser #", "Serial", "Where", "Zip", "x", "Owner", "Notes", "Remarks"]),
        unique=True,
    )
)
def test_each_of_ours_is_suggested_at_most_once(theirs):
    found = headings.suggest(theirs, {}, OURS, {})
    assert len(set(found.values())) == len(found)
    assert set(found) <= set(theirs)


@pytest.mark.parametrize(
    ("lines", "place", "sure"),
    [
        pytest.param([["Name", "Ser #", "Model"], ["Ann", "S1", "HC36"]], 0, True, id="at the top"),
        pytest.param(
            [["Our units"], [], ["Name", "Ser #", "Model"], ["Ann", "S1", "HC36"]], 2, True, id="under a title"
        ),
        pytest.param(
            [["Our units", "printed", "3/1/24"], ["Name", "Ser #", "Model"]], 1, True, id="under a full title"
        ),
        pytest.param(
            [["", "Unit", "", "When"], ["Name", "Model", "Ser #", "Installed"]], 1, True, id="under names of groups"
        ),
        pytest.param([["Ser #"], ["S1"]], 0, True, id="of one column"),
        pytest.param([["a", "b"], ["c", "d"]], 0, False, id="in no words of ours"),
        pytest.param(
            [["Our units"], ["a", "b", "c", "d"], ["1", "2", "3", "4"]], 1, False, id="in none, under a title"
        ),
        pytest.param([[], []], 0, False, id="of nothing"),
        pytest.param([], 0, False, id="of no lines"),
    ],
)
def test_the_row_that_names_the_columns_is_found_under_titles(lines, place, sure):
    assert headings.header_row(lines) == HeaderRow(place, is_sure=sure)


def test_headings_that_are_said_again_are_no_row():
    assert headings.is_header_again({"Name": "Name", "Ser #": "SER #", "Notes": ""})
    assert not headings.is_header_again({"Name": "Name", "Ser #": "S1"})
    assert not headings.is_header_again({"Name": "", "Ser #": ""})


def test_a_header_row_is_the_same_in_any_order_and_case_and_with_the_column_of_what_is_wrong():
    same = headings.digest(["Client", "Serial #"])
    assert headings.digest(["serial #", "CLIENT"]) == same
    assert headings.digest([headings.WRONG, "Client", "Serial #"]) == same
    assert headings.digest(["Client", "Serial #", "Notes"]) != same
    assert headings.digest(["Client"]) != same
