"""What every source of deadlines gives: its rows in the one order, and what a list, a calendar and a page say of each."""

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

from django.db.models import BigIntegerField, QuerySet

from fleet import models
from fleet.elements.cells import Link
from fleet.facts import TermsBook
from fleet.rules.deadlines import Deadline
from fleet.rules.wording import deadlines as wording

# The one order of all sources: the rank and last day of `rules.rank`, then the kind and what tells two rows of a kind apart.
ORDER = ("rank", "last", "what", "first_key", "second_key")
BIG = BigIntegerField()
# Asked for where a page has no row of a source, so that every page asks as many questions.
NONE = [0]


# A query set, or rows that are all at hand: few, and worked out by the rules.
Rows = QuerySet[Any, Any] | list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Source:
    """Where deadlines of some kinds come from.

    `rows` are all of them that the filters let through, with the values of `ORDER`, in that order; the two keys name the row to
    `complete`, which gives one `SimpleNamespace` for each: what `row` makes of a deadline.
    """

    kinds: tuple[str, ...]
    rows: Callable[[Any, dt.date], Rows]
    complete: Callable[[Sequence[Any], TermsBook, dt.date], Iterable[SimpleNamespace]]


def row(
    deadline: Deadline,
    *,
    payer: str,
    payer_name: str,
    to_do: str,
    worth: str,
    link: Link,
    unit: models.Unit | None,
    site: models.Site,
    mark: str,
    note: str = "",
) -> SimpleNamespace:
    """A deadline with all that a list, a calendar and a page say of it."""
    return SimpleNamespace(
        deadline=deadline,
        kind=deadline.kind,
        last=deadline.last,
        payer=payer,
        payer_name=payer_name,
        to_do=to_do,
        worth=worth,
        who=wording.WHO[deadline.who],
        link=link,
        unit=unit,
        site=site,
        mark=mark,
        note=note,
    )
