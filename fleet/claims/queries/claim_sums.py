"""Sums in the database, exact to the cent; what is out is what `money_parts.OnePayer` says of one claim.

Amounts are added up as whole cents: SQLite keeps a decimal as a float, and a sum of floats is not exact.
"""

from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Case, F, Sum, Value, When
from django.db.models.functions import Cast, Coalesce, Greatest, Round

from fleet.rules.claims import APPROVED, ASKED_FOR, CENT


def cents(name: str) -> Cast:
    """A column of dollars as whole cents."""
    return Cast(Round(F(name) * 100), BigIntegerField())


def total(of: Any) -> Coalesce:
    """Add up cents; nothing is none."""
    return Coalesce(Sum(of), 0)


def dollars(found: int) -> Decimal:
    """Read a sum of cents back.

    >>> dollars(37700)
    Decimal('377.00')
    """
    return found * CENT


def _left(name: str) -> Greatest:
    return Greatest(cents(name) - cents("credited"), Value(0), output_field=BigIntegerField())


OUT = Case(
    When(state__in=APPROVED, then=_left("approved")),
    When(state__in=ASKED_FOR, then=_left("asked")),
    default=Value(0),
    output_field=BigIntegerField(),
)
