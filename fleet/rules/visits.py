"""Visits: what one site has to be planned for, what a trip takes and costs, and what moving it does to windows and load."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from fleet.rules.agreements import Agreement
from fleet.rules.care import Due
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import Span
from fleet.rules.hours import House


@dataclass(frozen=True, slots=True)
class SiteWork:
    """One site to plan visits for: its dues as worked out on the first day asked for, its agreements, the drive there and back.

    `visited` are the days of visits that were made, or are booked: what an agreement promises around one of them is met. `key`
    is the site's, since two customers of one name may each have a site of one name.
    """

    customer: str
    site: str
    dues: tuple[Due, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    drive_minutes: int = 0
    visited: tuple[dt.date, ...] = ()
    key: int = 0


@dataclass(frozen=True, slots=True)
class Met:
    """A window that a visit meets: of a due, or (without one) of a visit that an agreement promises."""

    due: Due | None
    span: Span


@dataclass(frozen=True, slots=True)
class Visit:
    """One trip to one site: the day, what is done in which order of serials, how long it takes and its list price."""

    customer: str
    site: str
    on: dt.date
    minutes: int
    price: Decimal
    agreement: bool
    met: tuple[Met, ...]
    key: int = 0

    @property
    def dues(self) -> tuple[Due, ...]:
        """The dues it meets, by serial and task."""
        dues = [one.due for one in self.met if one.due is not None]
        return tuple(sorted(dues, key=lambda due: (due.serial, due.task.code, due.unit)))


# ------------------------------------------------------------------------------------------------------- visits made


class Work(NamedTuple):
    """One maintenance record of a site: its day, the task's code (blank where none is named), who did it, and whether it was skipped."""

    on: dt.date
    task: str
    technician: str
    skipped: bool = False


def is_ours(work: Work, sheet: CareSheet | None) -> bool:
    """Whether a record says that a technician's task was done.

    A task that the care sheet does not know, as an earlier one did, is a technician's where one is named.
    """
    if work.skipped:
        return False
    task = None if sheet is None else sheet.task(work.task)
    return bool(work.technician) if task is None else task.by == "technician"


def made(works: Iterable[Work], sheet: CareSheet | None, others: Collection[str] = ()) -> tuple[dt.date, ...]:
    """The days on which we made a visit to a site, by its records: each once, where at least one technician's task was done.

    A skip, a repair or nobody home alone makes no visit, nor does the work of other companies, which `others` names. Plans, bills
    and refunds go by this one count.
    """
    return tuple(sorted({work.on for work in works if is_ours(work, sheet) and work.technician not in others}))


# ------------------------------------------------------------------------------------------------- minutes and prices


def minutes(dues: Iterable[Due], sheet: CareSheet, *, drive_minutes: int = 0) -> int:
    """A visit's minutes: setup, each due, each unit's access once, and the drive."""
    dues = tuple(dues)
    access = {due.unit: due.access for due in dues}
    extra = sum(sheet.extra_minutes(word) for word in access.values() if word)
    return sheet.setup_minutes + drive_minutes + extra + sum(due.minutes for due in dues)


def price(dues: Iterable[Due]) -> Decimal:
    """A visit's list price: of one task's dues in one system the first at its price, the others at the further price."""
    counted = Counter((due.system, due.task) for due in dues)
    return sum((task.price_of(count) for (_, task), count in counted.items()), Decimal(0))


def pays_for_drive(price: Decimal, *, drive_minutes: int, an_hour: Decimal) -> bool:
    """Whether what a visit brings pays at least for the time on the road, at what an hour there costs.

    >>> pays_for_drive(Decimal("55.00"), drive_minutes=60, an_hour=Decimal("55.00"))
    True
    >>> pays_for_drive(Decimal("55.00"), drive_minutes=61, an_hour=Decimal("55.00"))
    False
    """
    return price * 60 >= an_hour * drive_minutes


# -------------------------------------------------------------------------------------------------- the load, and moving


def load(visits: Iterable[Visit]) -> dict[dt.date, int]:
    """Sum the minutes of visits by month; each month goes by its first day."""
    minutes_of: dict[dt.date, int] = defaultdict(int)
    for visit in visits:
        minutes_of[visit.on.replace(day=1)] += visit.minutes
    return dict(minutes_of)


@dataclass(frozen=True, slots=True)
class Move:
    """What moving a visit by hand does: the windows it breaks, and the minutes of the months it leaves and comes into."""

    on: dt.date
    to: dt.date
    breaks: tuple[Met, ...]
    worked: bool
    leaves: tuple[int, int]
    comes_into: tuple[int, int]


def move(visit: Visit, to: dt.date, house: House, *, by_month: Mapping[dt.date, int]) -> Move:
    """What moving a visit to another day does to its windows and to the months' load (minutes before and after)."""
    old, new = by_month.get(visit.on.replace(day=1), 0), by_month.get(to.replace(day=1), 0)
    stays = visit.on.replace(day=1) == to.replace(day=1)
    return Move(
        visit.on,
        to,
        breaks=tuple(one for one in visit.met if to not in one.span),
        worked=to in house,
        leaves=(old, old if stays else old - visit.minutes),
        comes_into=(new, new if stays else new + visit.minutes),
    )
