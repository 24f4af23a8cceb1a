"""The order of a list's rows, the same on every database: nothing comes before something, and after it when falling."""

from collections.abc import Collection, Iterable

from django.db.models import F
from django.db.models.expressions import OrderBy


def order_of(names: Iterable[str], *, falling: bool, may_be_none: Collection[str] = ()) -> list[OrderBy]:
    """Give what to order by; only columns that may hold nothing say where nothing stands, so that indexes still serve."""
    return [_one(F(name), falling=falling, place_nothing=name in may_be_none) for name in names]


def _one(column: F, *, falling: bool, place_nothing: bool) -> OrderBy:
    if falling:
        return column.desc(nulls_last=True) if place_nothing else column.desc()
    return column.asc(nulls_first=True) if place_nothing else column.asc()
