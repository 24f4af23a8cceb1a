"""Lists as values: which sort an address asks for, which page, what a click on a head asks for next."""

import datetime as dt

import pytest

from fleet.elements.lists import PER_PAGE, Cell, Column, Listing, Sort, in_order, sort_of, unit_cell

COLUMNS = (
    Column("name", "Name", sorts=True),
    Column("phone", "Phone", shown=False),
    Column("day", "Day", "day", sorts=True),
    Column("note", "Note"),
)


def row(name, day=None):
    return (Cell(name), Cell("555"), Cell(day), Cell(""))


@pytest.mark.parametrize(
    ("text", "sort"),
    [
        pytest.param("", Sort("day"), id="nothing asked"),
        pytest.param("name", Sort("name"), id="rising"),
        pytest.param("-name", Sort("name", falling=True), id="falling"),
        pytest.param("note", Sort("day"), id="a column that does not sort"),
        pytest.param("--name", Sort("day"), id="nonsense"),
        pytest.param("-", Sort("day"), id="only a sign"),
    ],
)
def test_a_sort_is_one_that_a_column_has(text, sort):
    assert sort_of(text, COLUMNS, otherwise="day") == sort


def test_what_is_blank_comes_last_either_way():
    rows = [row("b", dt.date(2024, 2, 1)), row("A", None), row("c", dt.date(2023, 2, 1))]
    rising = [found[0].value for found in in_order(rows, COLUMNS, Sort("day"))]
    falling = [found[0].value for found in in_order(rows, COLUMNS, Sort("day", falling=True))]
    assert (rising, falling) == (["c", "b", "A"], ["b", "c", "A"])


def test_capital_letters_do_not_sort_apart():
    rows = [row("beta"), row("Alpha"), row("Gamma")]
    assert [found[0].value for found in in_order(rows, COLUMNS, Sort("name"))] == ["Alpha", "beta", "Gamma"]


def test_a_screen_shows_fewer_columns_than_a_file_has():
    listing = Listing(COLUMNS, (row("a"),), 1, Sort("name"))
    assert [column.name for column in listing.shown] == ["name", "day", "note"]
    assert [column.name for column, _, _ in listing.lines[0]] == ["name", "day", "note"]


def test_a_click_on_a_head_turns_the_sort_over_or_takes_another_column():
    rising = Listing(COLUMNS, (), 0, Sort("name"))
    falling = Listing(COLUMNS, (), 0, Sort("name", falling=True))
    assert [(head.next, head.sorted) for head in rising.headings[:2]] == [("-name", "ascending"), ("day", "")]
    assert [(head.next, head.sorted) for head in falling.headings[:2]] == [("name", "descending"), ("day", "")]


@pytest.mark.parametrize(
    ("count", "number", "pages", "first", "last", "before", "after"),
    [
        pytest.param(0, 1, 1, 1, 0, None, None, id="empty"),
        pytest.param(PER_PAGE, 1, 1, 1, 50, None, None, id="just one page"),
        pytest.param(PER_PAGE + 1, 1, 2, 1, 50, None, 2, id="the first of two"),
        pytest.param(PER_PAGE + 1, 2, 2, 51, 51, 1, None, id="the last of two"),
    ],
)
def test_pages_of_a_list(count, number, pages, first, last, before, after):
    rows = [row(f"{place:03}") for place in range(count)]
    listing = Listing.cut(COLUMNS, rows, Sort("name"), number)
    assert (listing.last_number, listing.first, listing.last) == (pages, first, last)
    assert (listing.before, listing.after) == (before, after)


def test_a_page_past_the_end_is_the_last_one():
    rows = [row(f"{place:03}") for place in range(PER_PAGE + 1)]
    assert Listing.cut(COLUMNS, rows, Sort("name"), 9).number == 2


def test_a_unit_is_named_by_its_room_while_its_label_cannot_be_read():
    read = unit_cell(7, serial="SB-1", room="Den", maker="Northrill", model="NH-9")
    faded = unit_cell(7, serial="", room="Den", maker="Northrill", model="NH-9")
    assert (read.value, read.shape, read.note) == ("SB-1", "", "Northrill NH-9")
    assert (faded.value, faded.shape) == ("Den", "text")
