"""What the rules said of a failure, kept beside it so that it stays readable whatever becomes of the failure later."""

import datetime as dt

from fleet import models
from fleet.derived import answers
from fleet.facts import Told, fleet_facts
from fleet.facts import failures as gathered


def keep(failure: models.Failure, *, by: models.User | None, on: dt.date, told: Told | None = None) -> None:
    """Keep what the rules say of a failure on this day, once it is known which component failed; `told` are the facts of its unit, where they were gathered already."""
    if failure.component:
        _row(failure, told, by=by, on=on).save()


def not_kept_yet(failure: models.Failure, *, on: dt.date) -> models.FailureAnswer | None:
    """Work out, before a failure is changed, what would be lost: one from a file has no answer kept. None if one is,
    or if nobody could be answered before it is known which component failed.
    """
    return None if not failure.component or failure.answers.exists() else _row(failure, None, by=None, on=on)


def _row(failure: models.Failure, told: Told | None, *, by: models.User | None, on: dt.date) -> models.FailureAnswer:
    told = told or fleet_facts(models.Unit.objects.filter(pk=failure.unit_id))[failure.unit_id]
    row = told.row
    asked = answers.Question(row.serial, failure.component, failure.failed_on, on, cause=failure.cause)
    plate = answers.Plate(row.maker, row.model, row.serial)
    content = answers.answer(asked, plate, gathered.as_it_failed(told.unit, failure), told.holdings)
    return models.FailureAnswer(failure=failure, asked_on=on, content=content, by=by)
