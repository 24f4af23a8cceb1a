"""What happened to a unit last, and what is recorded of it: what can be undone, in words."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from fleet import models
from fleet.facts.care import care_sheet
from fleet.rules.caresheet import title_of
from fleet.rules.dates import in_words

_WORDS = {
    "moved": "moved", "exchanged": "exchanged", "removed": "taken out", "idle": "out of use", "back in use": "back in use",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to a unit, and its day; `kind` as a history file calls it."""

    kind: str
    day: dt.date

    @property
    def words(self) -> str:
        """What it was, as a part of a sentence."""
        return f"{_WORDS[self.kind]} on {in_words(self.day)}"


def last_event(unit: models.Unit) -> Event | None:
    """What happened to a unit last; None where it is where it was installed, or only replaced another.

    Nothing earlier can be undone before it: what came later was recorded of the unit as it was then.
    """
    if unit.removed_on is not None:
        return Event(unit.removal_reason, unit.removed_on)
    moves = unit.places.exclude(joined_on=unit.replaced_on).exclude(joined_on=None)
    found = [Event("moved", place.joined_on) for place in moves if place.joined_on is not None]
    found += [Event("back in use", idle.back_on) for idle in unit.idles.all() if idle.back_on is not None]
    found += [Event("idle", idle.idle_on) for idle in unit.idles.all() if idle.back_on is None]
    # Within a day a unit is first moved, then idle, as in a history file.
    return max(found, key=lambda one: (one.day, one.kind != "moved"), default=None)


def record_words(row: Any) -> str:
    """What a record of upkeep, a promise or a notice says, as a part of a sentence."""
    match row:
        case models.MaintenanceRecord():
            title = title_of(row.task, care_sheet()) or "maintenance"
            what = f"{title} {'skipped' if row.skipped else 'done'}"
            return f"{what} on {in_words(row.done_on)}{f' by {row.technician}' if row.technician else ''}"
        case models.Attachment():
            day = f" on {in_words(row.attached_on)}" if row.attached_on else ""
            return f"{row.terms.title} bought or promised{day}{f', number {row.number}' if row.number else ''}"
        case _:
            whose = row.terms.title if row.terms else "every manufacturer's terms"
            return f"payer notified of the sale on {in_words(row.notified_on)}: {whose}"
