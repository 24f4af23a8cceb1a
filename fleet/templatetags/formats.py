"""Days, money and numbers as every page and file writes them."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import template

from fleet.elements.cells import Value
from fleet.elements.pieces import moment_in_table
from fleet.rules.dates import in_table, in_words
from fleet.rules.payers import BY_CODE
from fleet.rules.wording.year import tenths

register = template.Library()


@register.filter
def day(value: dt.date | None) -> str:
    """A day as a sentence has it: March 8, 2024; a day that is not known is left blank."""
    return "" if value is None else in_words(value)


@register.filter
def short_day(value: dt.date | None) -> str:
    """A day as a table has it: Mar 8, 2024; a day that is not known is left blank."""
    return "" if value is None else in_table(value)


@register.filter
def payer_label(code: str) -> str:
    """What a kind of payer is called beside its band."""
    return BY_CODE[code].label if code in BY_CODE else code


@register.filter
def iso(value: dt.date | None) -> str:
    """Write a day as a machine reads it."""
    return "" if value is None else value.isoformat()


@register.filter
def number(value: int | None) -> str:
    """Write a number with commas, and a true minus sign."""
    return "" if value is None else f"{value:,}".replace("-", "\N{MINUS SIGN}")


@register.filter
def money(value: Decimal | None) -> str:
    """Write an amount in dollars and cents."""
    return "" if value is None else f"${value:,.2f}".replace("$-", "\N{MINUS SIGN}$")


@register.filter
def written(value: Value, shape: str) -> str:
    """The value of a cell of a table, written as its shape has it."""
    return "" if value is None else str(_WRITE.get(shape, str)(value))


_WRITE: dict[str, Callable[[Any], str]] = {
    "day": in_table,
    "figure": tenths,
    "month": lambda value: f"{value:%B %Y}",
    "moment": moment_in_table,
    "number": number,
    "money": money,
}
