"""The cells of a list's row.

A page of a list has some 450 cells; drawn node by node in a template they took four fifths of the page's time.
"""

from functools import lru_cache

from django import template
from django.template.loader import render_to_string
from django.urls import get_script_prefix, get_urlconf, reverse
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from fleet.pages.lists import Cell, Column, Link
from fleet.templatetags import formats

register = template.Library()

# How each shape's value is written; every other is written as it is.
_WRITTEN = {"day": formats.day, "number": formats.number, "money": formats.money}


@register.simple_tag
def cells(line: tuple[tuple[Column, Cell, str], ...]) -> SafeString:
    """Draw a row's cells; the first heads the row. Whatever somebody typed is escaped."""
    tags = ('th scope="row"', *("td" for _ in line[1:]))
    return mark_safe("".join(_cell(tag, *told) for tag, told in zip(tags, line, strict=True)))


def _cell(tag: str, column: Column, cell: Cell, shape: str) -> str:
    empty = " data-empty" if cell.value is None or cell.value == "" else ""
    inner = _payer(str(cell.value)) if shape == "payer" and not empty else escape(_text(cell, shape))
    if cell.to is not None:
        marked = ' class="serial"' if shape == "serial" else ""
        inner = f'<a href="{_address(cell.to)}"{marked}>{inner}</a>'
    if cell.note:
        inner += f'<br><span class="note">{escape(cell.note)}</span>'
    title = escape(column.title)
    return f'<{tag} data-shape="{shape}" data-title="{title}"{empty}><span>{inner}</span></{tag[:2]}>'


def _text(cell: Cell, shape: str) -> str:
    if cell.value is None:
        return ""
    written = _WRITTEN.get(shape)
    return str(cell.value) if written is None else written(cell.value)  # type: ignore[operator]


@lru_cache
def _payer(name: str) -> str:
    return render_to_string("_shared/payer.html", {"payer": name})


def _address(link: Link) -> str:
    before, after = _around(link.name, get_urlconf(), get_script_prefix())
    return f"{before}{link.pk}{after}"


@lru_cache
def _around(name: str, urlconf: str | None, prefix: str) -> tuple[str, str]:
    """Find what stands before and after the key in an address: asking for each of 150 links took a tenth of the page."""
    before, _, after = reverse(name, args=[0]).removeprefix(prefix).partition("0")
    return f"{prefix}{before}", after
