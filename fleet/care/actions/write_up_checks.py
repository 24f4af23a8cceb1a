"""Settling what a write-up said and what could not be recorded, and letting it stand open again."""

import datetime as dt

from fleet import models
from fleet.registry.actions import settling


def settle(pk: int, *, how: str, by: models.User, on: dt.date) -> models.WriteUpCheck:
    """Record how it was settled; said twice, the first stands."""
    row: models.WriteUpCheck = settling.settle(models.WriteUpCheck, pk, how=how, by=by, on=on)
    return row


def reopen(pk: int, *, by: models.User) -> models.WriteUpCheck:
    """Let it stand on our desk again."""
    row: models.WriteUpCheck = settling.reopen(models.WriteUpCheck, pk, by=by)
    return row
