"""The cells of a list's row.

A page of a list has some 450 cells; drawn node by node in a template they took four fifths of the page's time.
"""

from functools import lru_cache
from html import escape
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.urls import get_script_prefix, get_urlconf, reverse
from django.utils.safestring import SafeString, mark_safe

from fleet.elements.lists import Cell, Column
from fleet.templatetags import formats

register = template.Library()

_HEAD, _TAG = "th", "td"

# How each shape's value is written; every other is written as it is.
_WRITTEN = {"day": formats.day, "number": formats.number, "money": formats.money}


@register.simple_tag
def lines(listing: Any) -> SafeString:
    """Draw all rows of a list or a table: what does not hang on a row is asked for once."""
    where = get_urlconf(), get_script_prefix()
    shown = [(place, column) for place, column in enumerate(listing.columns) if column.shown]
    tags = [_HEAD, *(_TAG for _ in shown[1:])]
    columns = [
        (place, tag, column.title, column.shape, _opening(tag, column.title, column.shape))
        for tag, (place, column) in zip(tags, shown, strict=True)
    ]
    drawn = []
    for row in listing.rows:
        parts = []
        for place, tag, title, shape, opening in columns:
            cell = row[place]
            if cell.shape:
                parts.append(_cell(tag, cell, _opening(tag, title, cell.shape), cell.shape, where))
            else:
                parts.append(_cell(tag, cell, opening, shape, where))
        drawn.append(f"<tr>{''.join(parts)}</tr>")
    return mark_safe("\n".join(drawn))


@register.simple_tag
def cells(line: tuple[tuple[Column, Cell, str], ...]) -> SafeString:
    """Draw one row's cells; the first heads the row. Whatever somebody typed is escaped."""
    where = get_urlconf(), get_script_prefix()
    drawn = [_cell(_TAG, cell, _opening(_TAG, column.title, shape), shape, where) for column, cell, shape in line[1:]]
    column, cell, shape = line[0]
    return mark_safe(_cell(_HEAD, cell, _opening(_HEAD, column.title, shape), shape, where) + "".join(drawn))


# Where addresses are looked up: the table of addresses, and what stands before each.
_Where = tuple[str | None, str]


def _cell(tag: str, cell: Cell, opening: str, shape: str, where: _Where) -> str:
    value, to, note, _ = cell
    if value is None or value == "":
        inner, empty = "", " data-empty"
    else:
        empty = ""
        written = _WRITTEN.get(shape)
        text = str(value) if written is None else written(value)  # type: ignore[operator]
        inner = _payer(text) if shape == "payer" else escape(text)
    if to is not None:
        marked = ' class="serial"' if shape == "serial" else ""
        before, after = _around(to.name, *where)
        inner = f'<a href="{before}{to.pk}{after}"{marked}>{inner}</a>'
    if note:
        inner += f'<br><span class="note">{escape(note)}</span>'
    return f"{opening}{empty}><span>{inner}</span></{tag}>"


@lru_cache(maxsize=1024)
def _opening(tag: str, title: str, shape: str) -> str:
    """Write the beginning of a cell of a column, but for what hangs on its value."""
    scope = ' scope="row"' if tag == _HEAD else ""
    return f'<{tag}{scope} data-shape="{shape}" data-title="{escape(title)}"'


@lru_cache
def _payer(name: str) -> str:
    return render_to_string("_shared/payer.html", {"payer": name})


@lru_cache
def _around(name: str, urlconf: str | None, prefix: str) -> tuple[str, str]:
    """Find what stands before and after the key in an address: asking for each of 150 links took a tenth of the page."""
    before, _, after = reverse(name, args=[0]).removeprefix(prefix).partition("0")
    return f"{prefix}{before}", after
