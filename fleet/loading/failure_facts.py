"""The facts of a failure: how each is read and which days can be, for a screen and for a file alike."""

import datetime as dt
from collections.abc import Collection, Iterator, Mapping

from fleet import models
from fleet.loading.presence import possible_days
from fleet.models.history import OLD_PART_PLACES
from fleet.rules import words
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.sheets import columns
from fleet.sheets.columns import Column

# The days of a repair, none of which can be before the failure.
DAYS = ("repaired_on", "part_taken_on")
# What nobody can have done to a part of which it is not known what it is.
_OF_A_KNOWN_PART = ("repaired_on", "part_taken_on", "new_part_number")
SAY_WHAT = "wanted: what failed, since a repair or a new part is on file; other, if nobody knows"
REPAIR = (
    "repaired_on", "technician", "labor_minutes", "part_number", "part_serial", "new_part_number", "new_part_serial", "part_taken_on",
    "parts_cost", "supplier", "purchase_order", "invoice", "refrigerant_cost", "freight_cost", "old_part_at",
)  # fmt: skip
FINDING = ("component", "failed_on", "cause", "leak_at", "fault_code", "found_by", "notes")


def _blank_if_not_known(word: str) -> str:
    return "" if word == NOT_KNOWN_YET else word


# A person says that it is not known yet; a file leaves the cell blank, and so does the row.
COMPONENT = Column(columns.choice((*words.COMPONENTS, NOT_KNOWN_YET)).plain, _blank_if_not_known)


def columns_on(on: dt.date) -> dict[str, Column]:
    """How each fact of a failure is read, by its field; facts are never later than that day."""
    day, name, money = columns.day(last=on), columns.text(120), columns.decimal(8, 2)
    return {
        "component": COMPONENT,
        "failed_on": day,
        "cause": columns.choice(words.CAUSES),
        "leak_at": columns.text(80),
        "fault_code": columns.text(60),
        "found_by": name,
        "notes": columns.text(5_000, lines=True),
        "repaired_on": day,
        "technician": name,
        "labor_minutes": columns.whole(100_000),
        "part_number": name,
        "part_serial": name,
        "new_part_number": name,
        "new_part_serial": name,
        "part_taken_on": day,
        "parts_cost": money,
        "supplier": Column(columns.text(200).plain, _supplier),
        "purchase_order": columns.text(60),
        "invoice": name,
        "refrigerant_cost": money,
        "freight_cost": money,
        "old_part_at": columns.choice(OLD_PART_PLACES),
    }


def _supplier(name: str) -> models.Supplier:
    """The supplier of a name, new where none has it; capitals do not make another one."""
    stored = models.Supplier.objects.filter(name__iexact=name).first()
    return stored or models.Supplier.objects.create(name=name)


def of_a_known_part(given: Collection[str]) -> bool:
    """Whether any of these facts can only be of a component that is known."""
    return any(name in given for name in _OF_A_KNOWN_PART)


def before(failed_on: dt.date, days: Mapping[str, dt.date | None]) -> Iterator[str]:
    """The names of the days that are before the failure's own."""
    for name, day in days.items():
        if day is not None and day < failed_on:
            yield name


def faults(failure: models.Failure) -> dict[str, str]:
    """What of a failure cannot be, by field: on that day the unit was not there, or a repair comes before it."""
    failed_on = failure.failed_on
    days = {name: getattr(failure, name) for name in DAYS}
    wrong = dict.fromkeys(before(failed_on, days), f"wanted: a day no earlier than {failed_on}, when it failed")
    if expected := possible_days(failure.unit, "failure", failed_on):
        wrong["failed_on"] = f"wanted: {expected}"
    if not failure.component and of_a_known_part([name for name in _OF_A_KNOWN_PART if getattr(failure, name)]):
        wrong["component"] = SAY_WHAT
    return wrong
