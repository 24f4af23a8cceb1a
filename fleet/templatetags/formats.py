"""Days, money and numbers as every page and file writes them."""

import datetime as dt

from django import template

from fleet.elements import formats
from fleet.rules.dates import in_table, in_words
from fleet.rules.payers import BY_CODE

register = template.Library()
register.filter(formats.number)
register.filter(formats.money)


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
