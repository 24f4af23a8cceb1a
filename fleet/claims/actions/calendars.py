"""Private links by which somebody's calendar reads the clocks: made, revoked, and when they were last read."""

import datetime as dt
import secrets

from django.db import transaction
from django.db.models import Q

from fleet import models
from fleet.claims.facts.calendar_links import digest_of
from fleet.log import Log

# As many bits as the digest has; nobody guesses it, so it needs no login beside it.
_BYTES = 32
# That a link is read is noted so often at most: calendars ask all day long.
_NOTED_EVERY = dt.timedelta(hours=1)


def make(*, name: str, by: models.User) -> str:
    """Make a link of one's own and give its secret, which is shown once and kept nowhere."""
    token = secrets.token_urlsafe(_BYTES)
    with transaction.atomic():
        row = models.CalendarLink.objects.create(person=by, name=name.strip(), digest=digest_of(token))
        _note(row, "", row.name or "made", by=by)
    return token


def revoke(*, link: models.CalendarLink, by: models.User, at: dt.datetime) -> bool:
    """Let a link open nothing any more, for good; False if it opened nothing already."""
    with transaction.atomic():
        done = models.CalendarLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=at)
        if done:
            _note(link, link.name or "made", "", by=by)
    return bool(done)


def note_read(*, link: models.CalendarLink, at: dt.datetime) -> None:
    """Keep when a link was last read, so that one nobody reads any more can be told from one in use."""
    stale = Q(read_at=None) | Q(read_at__lt=at - _NOTED_EVERY)
    models.CalendarLink.objects.filter(stale, pk=link.pk).update(read_at=at)


def _note(row: models.CalendarLink, before: str, after: str, *, by: models.User) -> None:
    log = Log(by=by)
    log.note(None, row.person, "calendar link", before, after)
    log.write()
