"""The customer's share of a failure: what was billed, what was paid of it, and both taken back where they were entered by mistake."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.log import Log
from fleet.refusals import Refused
from fleet.rules.dates import in_words
from fleet.rules.shares import Bill, bill_faults, payment_faults
from fleet.rules.wording.money import dollars


def bill(
    failure: int, *, billed_on: dt.date, amount: Decimal, number: str = "", by: models.User | None, on: dt.date
) -> models.FailureBill:
    """Record what the customer was billed for a failure, without sales tax."""
    with transaction.atomic():
        row = _failure(failure)
        _check(bill_faults(Bill(billed_on, amount), failed_on=row.failed_on, today=on))
        made = models.FailureBill.objects.create(
            failure=row, billed_on=billed_on, number=number.strip()[:60], amount=amount, by=by
        )
        log = Log(by=by)
        log.note(None, row, "bill", "", _bill_words(made))
        log.write()
        refresh.refresh_claims_of(row.unit_id, on=on)
    return made


def pay(bill: int, *, paid_on: dt.date, amount: Decimal, by: models.User | None, on: dt.date) -> models.FailurePayment:
    """Record what the customer paid of a bill."""
    with transaction.atomic():
        row = _bill(bill)
        paid = sum((one.amount for one in row.payments.all()), Decimal(0))
        _check(payment_faults(Bill(row.billed_on, row.amount, paid), paid_on, amount, today=on))
        made = models.FailurePayment.objects.create(bill=row, paid_on=paid_on, amount=amount, by=by)
        log = Log(by=by)
        log.note(None, row.failure, "payment", "", _payment_words(made))
        log.write()
        refresh.refresh_claims_of(row.failure.unit_id, on=on)
    return made


def undo_bill(pk: int, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Take back a bill that was entered by mistake; what it said stays in the log. One that was paid of is kept."""
    with transaction.atomic():
        row = _bill(pk)
        if row.payments.exists():
            raise Refused("Something was paid of this bill: undo the payments first.", "why")
        _undo(row.failure, "bill", _bill_words(row), row, why, by=by, on=on)


def undo_payment(pk: int, *, why: str, by: models.User | None, on: dt.date) -> None:
    """Take back a payment that was entered by mistake; what it said stays in the log."""
    with transaction.atomic():
        bill_of = models.FailurePayment.objects.filter(pk=pk).values_list("bill", flat=True).first()
        if bill_of is None:
            raise Refused("This payment is no longer on file.", "why")
        failure = _bill(bill_of).failure
        row = models.FailurePayment.objects.filter(pk=pk).select_related("bill").first()
        if row is None:
            raise Refused("This payment is no longer on file.", "why")
        _undo(failure, "payment", _payment_words(row), row, why, by=by, on=on)


def _undo(
    failure: models.Failure, what: str, said: str, row: Any, why: str, *, by: models.User | None, on: dt.date
) -> None:
    if not why.strip():
        raise Refused(f"Say why you are undoing this {what}.", "why")
    log = Log(by=by)
    log.note(None, failure, what, said, "", why=why.strip()[:300])
    row.delete()
    log.write()
    refresh.refresh_claims_of(failure.unit_id, on=on)


def _failure(pk: int) -> models.Failure:
    """A failure that counts, with its unit locked, so that what is kept of it is written by one at a time."""
    unit = models.Failure.objects.values_list("unit_id", flat=True).filter(pk=pk).first()
    if unit is None:
        raise Refused("This failure is no longer on file.", "billed_on")
    models.Unit.objects.select_for_update().get(pk=unit)
    row = models.Failure.objects.get(pk=pk)
    if row.voided_on is not None:
        raise Refused(f"This failure was voided: {row.void_reason}.", "billed_on")
    return row


def _bill(pk: int) -> models.FailureBill:
    """A bill, with the unit of its failure locked."""
    failure = models.FailureBill.objects.values_list("failure", flat=True).filter(pk=pk).first()
    if failure is None:
        raise Refused("This bill is no longer on file.", "why")
    _failure(failure)
    row = models.FailureBill.objects.select_related("failure").prefetch_related("payments").filter(pk=pk).first()
    if row is None:
        raise Refused("This bill is no longer on file.", "why")
    return row


def _check(faults: dict[str, str]) -> None:
    if faults:
        raise Refused(faults)


def _bill_words(row: models.FailureBill) -> str:
    number = f"number {row.number}, " if row.number else ""
    return f"{number}{dollars(row.amount)} on {in_words(row.billed_on)}"


def _payment_words(row: models.FailurePayment) -> str:
    return f"{dollars(row.amount)} on {in_words(row.paid_on)}"
