"""Numbers, money and the values of cells as every page writes them."""

import datetime as dt
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from fleet.elements.pieces import moment_in_table
from fleet.rules.dates import in_table
from fleet.rules.wording.year import tenths

Value = str | int | Decimal | dt.date | dt.datetime | None


def number(value: int | None) -> str:
    """Write a number with commas, and a true minus sign."""
    return "" if value is None else f"{value:,}".replace("-", "\N{MINUS SIGN}")


def money(value: Decimal | None) -> str:
    """Write an amount in dollars and cents."""
    return "" if value is None else f"${value:,.2f}".replace("$-", "\N{MINUS SIGN}$")


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
