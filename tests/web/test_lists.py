"""A list as a browser gets it: its cells, and the form that narrows it."""

import datetime as dt
from decimal import Decimal

import pytest
from django.http import QueryDict
from django.template.loader import render_to_string

from fleet.elements.cells import Cell, Column, Link, Row, Table
from fleet.elements.listing import Filter, List
from fleet.web.lists import ListForm

ON = dt.date(2026, 3, 2)


def drawn(cell: Cell, shape: str = "text", title: str = "Customer") -> str:
    """The second cell of a row: the first heads it."""
    columns = (Column("first", "First"), Column("name", title, shape))
    (line,) = Table(columns, (Row((Cell("a"), cell)),), 1).lines
    return render_to_string("_shared/cells.html", {"line": line}).strip().split("</th>")[1]


@pytest.mark.parametrize(
    ("cell", "shape", "html"),
    [
        (Cell("Brit Sørby"), "text", "<span>Brit Sørby</span>"),
        (Cell(dt.date(2024, 3, 8)), "day", "<span>Mar 8, 2024</span>"),
        (Cell(dt.date(2024, 3, 1)), "month", "<span>March 2024</span>"),
        (Cell(dt.datetime(2024, 3, 8, 17, 5, tzinfo=dt.UTC)), "moment", "<span>Mar 8, 2024, 5:05 PM</span>"),
        (Cell(12345), "number", "<span>12,345</span>"),
        (Cell(-3), "number", "<span>\N{MINUS SIGN}3</span>"),
        (Cell(0), "number", "<span>0</span>"),
        (Cell(Decimal("1204.25")), "figure", "<span>1,204.3</span>"),
        (Cell(Decimal("-2.5")), "money", "<span>\N{MINUS SIGN}$2.50</span>"),
        (Cell("SB-1", Link("unit", 7)), "serial", '<span><a href="/units/7" class="serial">SB-1</a></span>'),
        (Cell("Home", Link("site", 12)), "text", '<span><a href="/sites/12">Home</a></span>'),
        (Cell("all", Link("terms_units", 30)), "text", '<span><a href="/terms/30/units">all</a></span>'),
        (Cell("SB-1", note="NH-9"), "text", '<span>SB-1<br><span class="note">NH-9</span></span>'),
    ],
)
def test_a_cell_is_written_in_its_shape(cell, shape, html):
    assert drawn(cell, shape) == f'<td data-shape="{shape}" data-title="Customer">{html}</td>'


@pytest.mark.parametrize(
    ("value", "shape"),
    [*((None, shape) for shape in ("text", "day", "number", "money", "payer", "serial")), ("", "text"), ("", "payer")],
)
def test_an_empty_cell_says_that_it_is(value, shape):
    assert drawn(Cell(value), shape) == f'<td data-shape="{shape}" data-title="Customer" data-empty><span></span></td>'


def test_the_first_cell_heads_the_row_and_hidden_columns_are_left_out():
    columns = (Column("serial", "Unit", "serial"), Column("maker", "Maker", shown=False), Column("site", "Site"))
    html = render_to_string(
        "_shared/rows.html", {"table": Table(columns, (Row(tuple(map(Cell, "abc"))),), 1), "title": "A & B"}
    )
    assert '<caption class="unseen">A &amp; B</caption>' in html
    assert '<tr><th scope="row" data-shape="serial" data-title="Unit"><span>a</span></th>' in " ".join(
        html.split()
    ).replace("> <", "><")
    assert "Maker" not in html


def test_a_payer_comes_with_the_pattern_of_its_band():
    assert 'fill="url(#band_labor-plan)"/></svg>labor plan</span>' in drawn(Cell("labor plan"), "payer")


@pytest.mark.parametrize("shape", ["text", "serial", "payer", "state"])
def test_what_somebody_typed_is_never_markup(shape):
    evil = "<b onclick=\"x('&')\">"
    html = drawn(Cell(evil, Link("unit", 1), evil), shape, title=evil)
    assert "<b " not in html
    assert "&lt;b onclick=" in html


OF = List(
    file="list",
    caption="A list",
    rows=lambda filters, on: [],
    usual="name",
    columns=(Column("name", "Name", order=("name",)), Column("note", "Note")),
    filters=(
        Filter("days", "Ends in", [(days, f"{days} days") for days in (30, 90)], blank="", usual=30),
        Filter("year", "Started in", between=(1950, 2200)),
        Filter("text", "Name has"),
    ),
)


def form(address: str) -> ListForm:
    return ListForm(QueryDict(address), OF, on=ON)


@pytest.mark.parametrize(
    ("address", "days", "year", "text", "sort"),
    [
        pytest.param("", 30, "", "", "name", id="nothing asked"),
        pytest.param("days=90&year=2020&text=a&sort=-name", 90, 2020, "a", "-name", id="everything asked"),
        pytest.param("days=31&year=20&sort=note", 30, "", "", "name", id="what cannot be meant"),
        pytest.param(f"text={'a' * 101}&sort={'n' * 41}&days=90", 90, "", "", "name", id="too long"),
    ],
)
def test_what_can_be_meant_is_asked_of_the_list(address, days, year, text, sort):
    filters = OF.filters_for(**form(address).chosen)
    assert (filters.days, filters.year, filters.text, str(filters.sort)) == (days, year, text, sort)


def test_the_form_says_what_could_not_be_meant():
    assert set(form("days=31&year=20").errors) == {"days", "year"}


def test_a_list_can_be_sorted_by_the_columns_that_say_so():
    assert form("").fields["sort"].widget.choices == [("", "as usual"), ("name", "Name"), ("-name", "Name, falling")]


def test_links_keep_what_was_asked_and_nothing_else():
    assert form("days=90&page=3&as=csv&filled=7&text=a b").query.urlencode() == "days=90&text=a+b"
