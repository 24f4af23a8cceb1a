"""Headings of other people's sheets: what is suggested, and which header rows are the same."""

from fleet.rules import headings

OURS = ("customer", "site", "serial", "installed_on", "room", "notes")


def test_our_own_names_and_what_people_write_are_suggested():
    theirs = ["Client Name", "SERIAL #", "Installed_On", "Favorite color"]
    assert headings.suggest(theirs, OURS, {}) == {
        "Client Name": "customer",
        "SERIAL #": "serial",
        "Installed_On": "installed_on",
    }


def test_the_same_word_means_what_the_file_brings():
    assert headings.suggest(["Kind", "Start-up", "Where"], ("role", "started_on", "room"), {}) == {
        "Kind": "role",
        "Start-up": "started_on",
        "Where": "room",
    }
    assert headings.suggest(["Kind"], ("kind", "day"), {}) == {"Kind": "kind"}


def test_what_was_said_before_comes_first_and_each_of_ours_is_suggested_once():
    theirs = ["Notes", "Remarks", "Location"]
    assert headings.suggest(theirs, OURS, {}) == {"Notes": "notes", "Location": "room"}
    assert headings.suggest(theirs, OURS, {"remarks": "notes"}) == {"Remarks": "notes", "Location": "room"}


def test_nothing_is_suggested_that_the_kind_does_not_have():
    assert headings.suggest(["Brand", "Part that failed"], OURS, {"brand": "maker"}) == {}


def test_a_header_row_is_the_same_in_any_order_and_case_and_with_the_column_of_what_is_wrong():
    same = headings.digest(["Client", "Serial #"])
    assert headings.digest(["serial #", "CLIENT"]) == same
    assert headings.digest([headings.WRONG, "Client", "Serial #"]) == same
    assert headings.digest(["Client", "Serial #", "Notes"]) != same
    assert headings.digest(["Client"]) != same
