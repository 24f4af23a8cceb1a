"""The deadlines as days of a calendar, whose link it is that asks for them, and one person's links."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from fleet import models
from fleet.claims.facts.calendar_links import digest_of
from fleet.claims.pages import calendars as pages
from fleet.elements.named import local_moment
from fleet.front.queries import deadlines
from fleet.models.people import Role
from fleet.rules.dates import in_words
from fleet.rules.wording import deadlines as wording
from fleet.rules.wording.names import upper


def link_of(token: str, *, roles: frozenset[Role]) -> models.CalendarLink | None:
    """Find the link that a secret opens: not revoked, of somebody who is let in and whose role may see claims."""
    return models.CalendarLink.objects.filter(
        digest=digest_of(token), revoked_at=None, person__is_active=True, person__role__in=roles
    ).first()  # fmt: skip


def page(person: models.User, *, on: dt.date) -> pages.CalendarsPage:
    """Show somebody's own links, newest first."""
    lines = [_line(row) for row in models.CalendarLink.objects.filter(person=person).order_by("-pk")]
    return pages.CalendarsPage(
        tuple(line for line in lines if not line.revoked),
        tuple(line for line in lines if line.revoked),
        len(deadlines.dated(on=on)),
    )


def calendar(*, on: dt.date, mark: Callable[[str], str], address: Callable[[str, int], str]) -> pages.Calendar:
    """The calendar of every deadline that has a day.

    `mark` makes a name that is this installation's alone out of ours; `address` gives where a claim, a failure, a system or a
    site is shown.
    """
    return pages.Calendar("Deadlines", on, tuple(_day(row, on, mark, address) for row in deadlines.every(on=on)))


def _day(row: Any, on: dt.date, mark: Callable[[str], str], address: Callable[[str, int], str]) -> pages.Day:
    overdue = "Overdue: " if row.last < on else ""
    left = wording.days_left((row.last - on).days, ahead=False)
    unit = (
        f"{row.unit.maker} {row.unit.model}" + (f", serial {row.unit.serial}" if row.unit.serial else "")
        if row.unit
        else ""
    )
    return pages.Day(
        mark=mark(row.mark),
        on=row.last,
        title=f"{overdue}{row.to_do}",
        lines=tuple(
            filter(
                None,
                (
                    f"By {in_words(row.last)}: {left}.",
                    row.worth and f"Worth {row.worth}.",
                    unit,
                    f"Site: {row.site.name}",
                    row.note and f"{upper(row.note)}.",
                ),
            )
        ),
        address=address(row.link.name, row.link.pk),
    )


def _line(row: models.CalendarLink) -> pages.CalendarLine:
    def written(at: dt.datetime | None) -> str:
        return "" if at is None else local_moment(at)

    return pages.CalendarLine(row.pk, row.name, written(row.made_at), written(row.read_at), written(row.revoked_at))
