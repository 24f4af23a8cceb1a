"""Whether a unit was there on a day to have something happen to it."""

import datetime as dt

from fleet import models

# What the papers of a unit say may come after it is gone; a failure or a cleaning may be of its last day.
_AFTERWARD = {"registered", "accepted late", "attached", "notified", "sold"}
_LAST_DAY_TOO = {"failure", "maintenance", "skipped", "back in use"}
_NOT_BEFORE_INSTALLED = {"moved", "exchanged", "removed", "idle"}


def possible_days(unit: models.Unit, kind: str, day: dt.date) -> str:
    """Which days would do, where a unit was not there on this day to have a thing of this kind happen; blank where it was."""
    if kind in _AFTERWARD:
        return ""
    first_on = unit.replaced_on or (unit.installed_on if kind in _NOT_BEFORE_INSTALLED else None)
    if first_on is not None and day < first_on:
        return f"a day on or after {first_on}, when it came"
    last = None if unit.removed_on is None else unit.removed_on - dt.timedelta(days=kind not in _LAST_DAY_TOO)
    if last is not None and day > last:
        return f"a day before {unit.removed_on}, when it was {unit.removal_reason}"
    return ""
