"""How a cell of each fact is read, by files and by the screens that tell the same."""

import datetime as dt

from django.db import models as fields
from django.db.models import Model

from fleet.loading.loading import Columns
from fleet.models.facts import Fact, facts_of
from fleet.sheets import columns
from fleet.sheets.columns import Column

MOST_LETTERS = 5_000  # of a text without a limit of its own
MOST_MINUTES = 1_440  # of a drive: a whole day


def columns_of(table: type[Model], *, last: dt.date) -> Columns:
    """How the facts of a table are read, by the names of their fields; none of them is later than that day."""
    return {name: _column(fact, last) for name, fact in facts_of(table).items()}


def _column(fact: Fact, last: dt.date) -> Column:
    match fact.field:
        case _ if fact.any_of:
            return columns.several(fact.any_of)
        case _ if fact.field.name == "region":
            return columns.region()
        case fields.DateField():
            return columns.day(last=last)
        case fields.BooleanField():
            return columns.yes_no()
        case fields.DecimalField(max_digits=digits, decimal_places=places):
            return columns.decimal(digits - places, places)
        case fields.PositiveIntegerField():
            return columns.whole(MOST_MINUTES)
        case _ if fact.field.choices:
            return columns.choice(word for word, _ in fact.field.flatchoices)
        case _:
            return columns.text(fact.field.max_length or MOST_LETTERS, lines=isinstance(fact.field, fields.TextField))
