"""The open clocks as days of a calendar, whose link it is that asks for them, and one person's links."""

import datetime as dt
from collections.abc import Callable

from django.db.models import QuerySet
from django.utils import timezone

from fleet import models
from fleet.claims.facts.calendar_links import digest_of
from fleet.claims.facts.clock_rows import LONG_AGO, clock_of, counting
from fleet.claims.pages import calendars as pages
from fleet.derived.claim_rows import payer_name
from fleet.elements.pieces import moment
from fleet.facts import TermsBook, terms_on_file
from fleet.models.people import Role
from fleet.rules.clocks import ClockState
from fleet.rules.wording.claims import clock as clock_words
from fleet.rules.wording.claims import clock_line
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
        _open(on=on).count(),
    )


def calendar(*, on: dt.date, mark: Callable[[str], str], address: Callable[[str, int], str]) -> pages.Calendar:
    """The calendar of every open clock that has a day.

    `mark` makes a name that is this installation's alone out of ours; `address` gives where a claim or a failure is shown.
    """
    book = terms_on_file()
    rows = (
        _open(on=on)
        .select_related("failure__unit__system__site", "claim")
        .order_by("last_on", "failure_id", "terms_id", "kind")
    )
    return pages.Calendar("Claim clocks", on, tuple(_day(row, book, on, mark, address) for row in rows))


def _open(*, on: dt.date) -> QuerySet[models.ClockRow]:
    return counting(since=on - LONG_AGO).filter(last_on__isnull=False)


def _day(
    row: models.ClockRow,
    book: TermsBook,
    on: dt.date,
    mark: Callable[[str], str],
    address: Callable[[str, int], str],
) -> pages.Day:
    assert row.last_on is not None
    failure, unit, claim = row.failure, row.failure.unit, row.claim
    payer = claim.payer_name if claim else payer_name(book.by_code[book.codes[row.terms_id]])
    found = clock_of(row, asked=on)
    missed = "Missed: " if found.state is ClockState.MISSED else ""
    return pages.Day(
        mark=mark(f"{row.failure_id}/{row.terms_id}/{row.kind}"),
        on=row.last_on,
        title=f"{missed}{clock_line(found)}: {failure.component}, {payer}",
        lines=(
            clock_words(found, asked=on),
            f"{upper(failure.component)} of {unit.maker} {unit.model}"
            + (f", serial {unit.serial}" if unit.serial else ""),
            f"Site: {unit.system.site.name}",
            f"Claim {claim.pk} on {payer}, {claim.state}." if claim else f"No claim on {payer} is opened yet.",
        ),
        address=address("claim", claim.pk) if claim else address("failure", failure.pk),
    )


def _line(row: models.CalendarLink) -> pages.CalendarLine:
    def written(at: dt.datetime | None) -> str:
        return "" if at is None else moment(at.astimezone(timezone.get_current_timezone()))

    return pages.CalendarLine(row.pk, row.name, written(row.made_at), written(row.read_at), written(row.revoked_at))
