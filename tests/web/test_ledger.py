"""The cells of a list's row as a browser gets them."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.elements.lists import Cell, Column, Link, Listing, Sort
from fleet.templatetags.ledger import cells, lines


def drawn(cell: Cell, shape: str = "text", title: str = "Customer") -> str:
    return cells(((Column("first", "First"), Cell("a"), "text"), (Column("name", title), cell, shape))).split("</th>")[
        1
    ]


@pytest.mark.parametrize(
    ("cell", "shape", "html"),
    [
        (Cell("Brit Sørby"), "text", "<span>Brit Sørby</span>"),
        (Cell(dt.date(2024, 3, 8)), "day", "<span>8 March 2024</span>"),
        (Cell(12345), "number", "<span>12,345</span>"),
        (Cell(-3), "number", "<span>\N{MINUS SIGN}3</span>"),
        (Cell(0), "number", "<span>0</span>"),
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


def test_the_first_cell_heads_the_row():
    assert cells(((Column("first", "First"), Cell("a"), "text"),)).startswith('<th scope="row" data-shape="text"')


def test_all_rows_are_drawn_as_each_is():
    columns = (
        Column("serial", "Unit", "serial"),
        Column("maker", "Maker", shown=False),
        Column("site", "Site"),
        Column("last_day", "Last day", "day"),
    )
    rows = (
        (Cell("SB-1", Link("unit", 7), "NH-9"), Cell("Northrill"), Cell("A & B"), Cell(dt.date(2024, 3, 8))),
        (Cell("Den", Link("unit", 8), "", "text"), Cell("Northrill"), Cell(""), Cell(None)),
    )
    listing = Listing(columns, rows, 2, Sort("serial"))
    assert lines(listing) == "\n".join(f"<tr>{cells(line)}</tr>" for line in listing.lines)
    assert lines(listing).startswith('<tr><th scope="row" data-shape="serial" data-title="Unit">')
    assert "Northrill" not in lines(listing)
    assert lines(Listing(columns, (), 0, Sort("serial"))) == ""


def test_a_payer_comes_with_the_pattern_of_its_band():
    assert 'fill="url(#band_labor-plan)"/></svg>labor plan</span>' in drawn(Cell("labor plan"), "payer")


@pytest.mark.parametrize("shape", ["text", "serial", "payer", "state"])
def test_what_somebody_typed_is_never_markup(shape):
    evil = "<b onclick=\"x('&')\">"
    html = drawn(Cell(evil, Link("unit", 1), evil), shape, title=evil)
    assert "<b " not in html
    assert "&lt;b onclick=" in html
