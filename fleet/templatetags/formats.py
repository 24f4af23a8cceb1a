"""Days, money and numbers as every page and file writes them."""

import datetime as dt
from decimal import Decimal

from django import template

from fleet.rules.dates import in_words

register = template.Library()


@register.filter
def day(value: dt.date | None) -> str:
    """Write a day so that nobody can misread it; a day that is not known is left blank."""
    return "" if value is None else in_words(value)


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
