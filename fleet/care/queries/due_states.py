"""Where a due stands, as it is asked of the database."""

import datetime as dt

from django.db.models import Q

from fleet.rules import care
from fleet.rules.caresheet import CareSheet


def in_state(state: care.State, sheet: CareSheet, *, on: dt.date, whose: str = "both") -> Q:
    """Choose the rows in a state, in the order that `care.state_of` asks in; a test holds the two together."""
    waiting = Q(not_before__gt=on)
    if state is care.State.WAITING:
        return waiting
    known = Q(not_before=None) | Q(not_before__lte=on)
    owners = [task for task in sheet.tasks if task.by == "owner"]
    never = Q(by="owner", last_done=None)
    for task in owners:
        never |= Q(by="owner", task=task.code, last_done__lte=care.long_ago(task, on=on))
    if state is care.State.NO_RECORD:
        return known & never
    mine = by_its_days(state, on=on)
    return mine if whose == "technician" else mine & (Q(by="technician") | ~never)


def by_its_days(state: care.State, *, on: dt.date) -> Q:
    """Choose the rows whose days alone put them in a state, as they do all of ours."""
    known = Q(not_before=None) | Q(not_before__lte=on)
    match state:
        case care.State.AHEAD:
            return known & Q(opens_on__gt=on)
        case care.State.DUE:
            return known & Q(opens_on__lte=on, late_after__gte=on)
        case _:
            # No window opens after its last day.
            return known & Q(late_after__lt=on)
