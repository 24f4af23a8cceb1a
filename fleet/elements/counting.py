"""Counting a list as far as anybody reads a number: beyond that, only that there are more."""

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet

from fleet.elements import lists
from fleet.rules.wording.counted import Counted

__all__ = ["Counted", "as_far_as", "cut", "reach", "up_to"]


def up_to(most: int, found: QuerySet[Any, Any]) -> Counted:
    """Count rows, but no further than so many: what it costs then does not grow with the fleet."""
    return cut(most, found.order_by()[: most + 1].count())


def as_far_as(most: int, count: Callable[..., int], *values: Any) -> Counted:
    """Count by a prepared question that is asked for no more rows than `most`, here one more than is told."""
    return cut(most, count(*values, most=most + 1))


def reach(most: int, number: int) -> int:
    """Give how far a list is counted whose page of that number is asked for: as far as that page, and a good deal further.

    >>> reach(10_000, 1), reach(10_000, 201)
    (10000, 20000)
    """
    while most < number * lists.PER_PAGE:
        most *= 2
    return most


def cut(most: int, number: int) -> Counted:
    """Say what counting at most one row more than so many came to.

    >>> print(cut(10_000, 10_000), "and", cut(10_000, 10_001))
    10,000 and more than 10,000
    """
    return Counted(min(number, most), number > most)
