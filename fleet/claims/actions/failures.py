"""Recording a failure and its repair, putting it right, voiding it, and saying where the old part is.

What is told is text, read as a file's cells are (`failure_facts`); what is wrong in a row of readings stands at `measured-0-value`,
in one of the refrigerant at `weighed-0-ounces`. Beside the failure stays what the rules said of it when
it was recorded, corrected or voided.
"""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from fleet import models
from fleet.claims.actions import claims as claiming
from fleet.claims.actions import failure_rows
from fleet.derived import failure_answers, refresh
from fleet.elements.edits import Edit
from fleet.loading import failure_facts
from fleet.log import Log
from fleet.refusals import Refused, check
from fleet.registry.actions import correct as correcting
from fleet.registry.actions import lives
from fleet.rules.claims import OVER, State
from fleet.rules.which_component import NOT_KNOWN_YET
from fleet.rules.wording.claim_steps import STATES
from fleet.sheets.columns import ParseError

Told = Mapping[str, str]
EXCHANGE = ("new_serial", "new_model", "under_warranty", "still_matched")
_REQUIRED = {
    "component": "wanted: what failed, or that it is not known yet",
    "failed_on": "wanted: the day on which it was found",
}


# ------------------------------------------------------------------------------------------------- recording


def record(
    unit: int,
    told: Told,
    *,
    measured: Sequence[Told] = (),
    weighed: Sequence[Told] = (),
    key: UUID | None = None,
    write_up: models.WriteUp | None = None,
    by: models.User | None,
    on: dt.date,
) -> models.Failure:
    """Record a failure with all that is known of it; sent twice under one key, it is recorded once."""
    try:
        with transaction.atomic():
            row = models.Unit.objects.select_for_update().get(pk=unit)
            return _of_key(key) or _record(
                models.Failure(unit=row, key=key, write_up=write_up, by=by),
                told,
                measured=measured,
                weighed=weighed,
                by=by,
                on=on,
            )
    except IntegrityError:
        # Sent twice at the same moment, of which the other was first.
        if (known := _of_key(key)) is None:
            raise
        return known


def _of_key(key: UUID | None) -> models.Failure | None:
    return None if key is None else models.Failure.objects.filter(key=key).first()


def _record(
    failure: models.Failure,
    told: Told,
    *,
    measured: Sequence[Told],
    weighed: Sequence[Told],
    by: models.User | None,
    on: dt.date,
) -> models.Failure:
    values, faults = _read(told, on=on)
    faults |= {name: words for name, words in _REQUIRED.items() if name not in values and name not in faults}
    for name, value in values.items():
        setattr(failure, name, value)
    if not faults:
        faults |= failure_facts.faults(failure)
    rows, wrong = failure_rows.read(failure, measured, weighed, by=by, on=on)
    faults |= wrong
    exchange = _exchange(failure, told)
    faults |= {} if faults else _not_exchanged_yet(failure, exchange)
    if faults:
        raise Refused(faults)
    check(failure)
    failure.save()
    failure_rows.add(failure, rows)
    _exchanged(failure, exchange, by=by, on=on)
    facts = refresh.refresh_failed(failure.unit_id, on=on)
    failure_answers.keep(failure, by=by, on=on, told=facts)
    return failure


def _read(told: Told, *, on: dt.date) -> tuple[dict[str, Any], dict[str, str]]:
    """Read what was told of the failure itself, each text by its column; blanks are left out."""
    values: dict[str, Any] = {}
    faults: dict[str, str] = {}
    for name, column in failure_facts.columns_on(on).items():
        if text := told.get(name, "").strip():
            try:
                values[name] = column.value(column.plain(text))
            except ParseError as wanted:
                faults[name] = f"wanted: {wanted}"
    return values, faults


# ------------------------------------------------------------------------------------------------- the whole unit


def _exchange(failure: models.Failure, told: Told) -> dict[str, str]:
    """The facts of a whole unit that came in exchange for this one; empty where no unit did."""
    given = {name: told.get(name, "").strip() for name in EXCHANGE}
    if not given["new_serial"] and not given["under_warranty"]:
        return {}
    given["new_model"] = given["new_model"] or failure.unit.model
    return given


def _not_exchanged_yet(failure: models.Failure, exchange: Told) -> dict[str, str]:
    if not exchange:
        return {}
    if failure.new_serial:
        return {"new_serial": f"{failure.new_serial} came for it already; it is corrected on that unit's own page"}
    if failure.repaired_on is None:
        return {"repaired_on": "wanted: the day on which the whole unit was exchanged"}
    return {}


def _exchanged(failure: models.Failure, exchange: Told, *, by: models.User | None, on: dt.date) -> None:
    """Let the new unit take the old one's place, as any exchange is told."""
    if not exchange:
        return
    assert failure.repaired_on is not None
    told = {**exchange, "cause": failure.cause}
    try:
        lives.tell(failure.unit_id, kind="exchanged", day=failure.repaired_on.isoformat(), told=told, by=by, on=on)
    except Refused as refused:
        raise Refused(
            {("repaired_on" if name == "day" else name): text for name, text in refused.faults.items()}
        ) from (refused)
    failure.new_serial = exchange["new_serial"]
    failure.save(update_fields=["new_serial"])


# ------------------------------------------------------------------------------------------------- correcting


def correct(
    pk: int,
    edits: Mapping[str, Edit],
    *,
    exchange: Told | None = None,
    measured: Sequence[Told] = (),
    weighed: Sequence[Told] = (),
    readings_off: Collection[int] = (),
    entries_off: Collection[int] = (),
    by: models.User | None,
    on: dt.date,
    why: str = "",
) -> models.Failure:
    """Put a failure right, or add its repair; readings and refrigerant are added, or taken off where they were wrong."""
    with transaction.atomic():
        failure = _held(pk)
        if "component" in edits and not edits["component"].now.strip():
            raise Refused({"component": _REQUIRED["component"]})
        before = failure_answers.not_kept_yet(failure, on=on)
        changed = _facts(failure, edits, by=by, on=on, why=why)
        rows, faults = failure_rows.read(failure, measured, weighed, by=by, on=on)
        told = _exchange(failure, exchange or {})
        faults |= {} if faults else _not_exchanged_yet(failure, told)
        if faults:
            raise Refused(faults)
        changed |= failure_rows.add(failure, rows)
        changed |= failure_rows.take_off(failure, readings_off, entries_off, by=by, why=why)
        _exchanged(failure, told, by=by, on=on)
        if changed or told:
            if before is not None:
                before.save()
            facts = refresh.refresh_failed(failure.unit_id, on=on)
            failure_answers.keep(failure, by=by, on=on, told=facts)
        return failure


def say_component(pk: int, edit: Edit, *, by: models.User | None, on: dt.date) -> models.Failure:
    """Say which component failed, once somebody has looked; or that it is not known after all, where nothing hangs on it yet."""
    undone = bool(edit.was) and edit.now == NOT_KNOWN_YET
    return correct(pk, {"component": edit}, by=by, on=on, why="undone: not known yet" if undone else "")


def old_part(pk: int, edit: Edit, *, by: models.User | None, on: dt.date) -> None:
    """Record where the old part is now; no answer depends on it."""
    with transaction.atomic():
        _facts(_held(pk), {"old_part_at": edit}, by=by, on=on, why="")


def _held(pk: int) -> models.Failure:
    """A failure that still counts, locked so that nobody else changes it meanwhile."""
    # The unit first, as whoever opens a claim holds it.
    models.Unit.objects.select_for_update().get(failures=pk)
    failure = models.Failure.objects.select_for_update().get(pk=pk)
    if failure.voided_on is not None:
        raise Refused({"": f"This failure was voided: {failure.void_reason}."})
    return failure


def _facts(
    failure: models.Failure, edits: Mapping[str, Edit], *, by: models.User | None, on: dt.date, why: str
) -> bool:
    columns = failure_facts.columns_on(on)
    return correcting.facts(failure, edits, columns, by=by, why=why, together=lambda: _together(failure))


def _together(failure: models.Failure) -> dict[str, str]:
    if not failure.failed_on:
        return {"failed_on": _REQUIRED["failed_on"]}
    if not failure.component and (claim := failure.claims.first()) is not None:
        return {"component": f"wanted: what failed, since there is a claim on it with {claim.payer_name}"}
    return failure_facts.faults(failure)


# ------------------------------------------------------------------------------------------------- voiding


def void(pk: int, *, reason: str, by: models.User | None, on: dt.date) -> None:
    """Take a failure out of every count; it stays readable with the reason. A claim that was filed stands in the way."""
    with transaction.atomic():
        failure = _held(pk)
        if not reason.strip():
            raise Refused({"reason": "Say why you are voiding it."})
        failure_answers.keep(failure, by=by, on=on)
        _end_claims(failure, reason.strip(), by=by, on=on)
        log = Log(by=by)
        log.note(None, failure, "voided_on", None, on, why=reason.strip()[:300])
        log.write()
        failure.voided_on, failure.void_reason = on, reason.strip()
        check(failure)
        failure.save(update_fields=["voided_on", "void_reason"])
        refresh.refresh_failed(failure.unit_id, on=on)


def _end_claims(failure: models.Failure, reason: str, *, by: models.User | None, on: dt.date) -> None:
    """Withdraw what nobody filed yet; refuse where a payer was asked, and has not answered for good."""
    claims = list(failure.claims.order_by("pk"))
    asked = [claim for claim in claims if claim.state not in (State.GATHERING, *OVER)]
    if asked:
        named = "; ".join(f"the claim with {claim.payer_name} is {STATES[State(claim.state)]}" for claim in asked)
        raise Refused({"": f"There is a claim on it: {named}. Finish or withdraw that first."})
    if failure.bills.exists():
        raise Refused({"": "The customer was billed for it: undo that bill first."})
    for claim in claims:
        if claim.state == State.GATHERING:
            why = f"The failure was voided: {reason}"
            claiming.step(claim.pk, version=claim.version, to=State.WITHDRAWN, day=on, reason=why, by=by, on=on)
