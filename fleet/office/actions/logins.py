"""Counting wrong passwords under a name, so that `rules.logins` can say how long the next one waits."""

import datetime as dt

from django.db import transaction

from fleet import models
from fleet.rules import logins as rules


def begin(*, name: str, at: dt.datetime) -> rules.Wait | None:
    """Count a try as wrong before its password is looked at; or give the wait, if none is looked at now.

    Counted afterwards, many tries sent at the same moment would pass as one.
    """
    with transaction.atomic():
        tries, added = models.LoginTries.objects.select_for_update().get_or_create(
            name=rules.folded(name), defaults={"wrong": 0, "last_at": at}
        )
        if added:
            # Names that nobody has must not fill the table for good.
            models.LoginTries.objects.filter(last_at__lte=at - rules.FORGOTTEN).delete()
        wait = rules.wait(wrong=tries.wrong, last_at=tries.last_at, at=at)
        if wait is None:
            tries.wrong = 1 + rules.in_a_row(wrong=tries.wrong, last_at=tries.last_at, at=at)
            tries.last_at = at
            tries.save()
    return wait


def forget(*, name: str) -> int:
    """Forget the wrong passwords under a name; return how many there were."""
    with transaction.atomic():
        tries = models.LoginTries.objects.select_for_update().filter(name=rules.folded(name)).first()
        if tries is None:
            return 0
        wrong = tries.wrong
        tries.delete()
        return wrong
