"""The money of agreements on somebody's word: a bill sent, a payment, added heads billed or not, what an early end gives back.

Whatever is written is noted in the log under its agreement, so that what was taken back later is still read there.
"""

import datetime as dt
from decimal import Decimal

from django.db import IntegrityError, transaction

from fleet import models
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.rules.dates import in_words
from fleet.rules.wording.money import dollars


def send(
    agreement: int,
    *,
    kind: str,
    first: dt.date,
    last: dt.date,
    amount: Decimal,
    billed_on: dt.date,
    number: str,
    by: models.User | None,
    on: dt.date,
) -> models.AgreementBill:
    """Record that a bill was sent: from then on its amount stays. A second one for the same days is refused."""
    _past("billed_on", billed_on, on)
    with transaction.atomic():
        row = _locked(agreement)
        if row.bills.filter(kind=kind, first_on=first).exists():
            raise Conflict(f"Somebody recorded the bill for the days from {in_words(first)} meanwhile.")
        bill = models.AgreementBill(
            agreement=row,
            kind=kind,
            first_on=first,
            last_on=last,
            amount=amount,
            billed_on=billed_on,
            number=number.strip(),
        )
        check(bill)
        bill.save()
        _note(row, "bill", "", _bill_words(bill), by=by)
    return bill


def unsend(bill: int, *, by: models.User | None, on: dt.date) -> models.Agreement:
    """Take back that a bill was sent: it is planned again. Payments are to be taken back first."""
    del on
    with transaction.atomic():
        row, sent = _of_bill(bill)
        if sent.payments.exists():
            raise Refused("Money came in for this bill. Undo its payments first.")
        before = _bill_words(sent)
        sent.delete()
        _note(row, "bill", before, "", by=by)
    return row


def pay(
    bill: int, *, paid_on: dt.date, amount: Decimal, note: str, by: models.User | None, on: dt.date
) -> models.BillPayment:
    """Record money that came in for a bill, no more than is still open."""
    _past("paid_on", paid_on, on)
    with transaction.atomic():
        row, sent = _of_bill(bill)
        still = sent.amount - sum((one.amount for one in sent.payments.all()), Decimal(0))
        if amount > still:
            raise Refused(f"Enter no more than is still open, {dollars(still)}.", "amount")
        payment = models.BillPayment(bill=sent, paid_on=paid_on, amount=amount, note=note.strip())
        check(payment)
        payment.save()
        _note(row, "payment", "", _payment_words(payment), by=by)
    return payment


def unpay(payment: int, *, by: models.User | None, on: dt.date) -> models.AgreementBill:
    """Take back a payment that was entered by mistake."""
    del on
    with transaction.atomic():
        bill = models.BillPayment.objects.get(pk=payment).bill_id
        row, sent = _of_bill(bill)
        paid = sent.payments.get(pk=payment)
        before = _payment_words(paid)
        paid.delete()
        _note(row, "payment", before, "", by=by)
    return sent


def decide_heads(agreement: int, *, put_in: dt.date, taken: bool, by: models.User | None, on: dt.date) -> None:
    """Bill heads put in on a day in mid-term for the days left, or leave them without a bill."""
    with transaction.atomic():
        row = _locked(agreement)
        if row.added_heads.filter(on=put_in).exists():
            raise Conflict("Somebody decided this meanwhile. Look at it again below.")
        row.added_heads.create(on=put_in, taken=taken, decided_on=on)
        _note(row, "heads added", "", _heads_words(put_in, taken=taken), by=by)


def undecide_heads(agreement: int, *, put_in: dt.date, by: models.User | None, on: dt.date) -> None:
    """Take back what was decided about heads put in on a day, while no bill for them was sent."""
    del on
    with transaction.atomic():
        row = _locked(agreement)
        decided = row.added_heads.filter(on=put_in).first()
        if decided is None:
            raise Conflict("Somebody undid this meanwhile. Look at it again below.")
        if row.bills.filter(kind="added heads", first_on=put_in).exists():
            raise Refused("The bill for these heads was sent. Undo that bill first.")
        decided.delete()
        _note(row, "heads added", _heads_words(put_in, taken=decided.taken), "", by=by)


def decide_refund(
    agreement: int, *, way: str, amount: Decimal, why: str, by: models.User | None, on: dt.date
) -> models.AgreementRefund:
    """Settle what an agreement that ended early gives back."""
    with transaction.atomic():
        row = _locked(agreement)
        if row.ended_on is None:
            raise Refused("It was not ended, so there is nothing to give back.")
        if models.AgreementRefund.objects.filter(agreement=row).exists():
            raise Conflict("Somebody decided this meanwhile. Look at it again below.")
        if way == "another" and not why.strip():
            raise Refused("Enter a reason for another amount.", "why")
        refund = models.AgreementRefund(agreement=row, way=way, amount=amount, why=why.strip(), decided_on=on)
        check(refund)
        try:
            with transaction.atomic():
                refund.save()
        except IntegrityError as wrong:
            raise Conflict("Somebody decided this meanwhile. Look at it again below.") from wrong
        _note(row, "refund", "", _refund_words(refund), by=by, why=refund.why)
    return refund


def undecide_refund(agreement: int, *, by: models.User | None, on: dt.date) -> None:
    """Take back what was decided about giving back."""
    del on
    with transaction.atomic():
        row = _locked(agreement)
        refund = models.AgreementRefund.objects.filter(agreement=row).first()
        if refund is None:
            raise Conflict("Somebody undid this meanwhile. Look at it again below.")
        before = _refund_words(refund)
        refund.delete()
        _note(row, "refund", before, "", by=by)


def _locked(agreement: int) -> models.Agreement:
    return models.Agreement.objects.select_for_update().get(pk=agreement)


def _of_bill(bill: int) -> tuple[models.Agreement, models.AgreementBill]:
    """A bill and its agreement, locked, so that two who write about one bill come one after the other."""
    row = _locked(models.AgreementBill.objects.get(pk=bill).agreement_id)
    return row, row.bills.get(pk=bill)


def _past(field: str, day: dt.date, on: dt.date) -> None:
    if day > on:
        raise Refused("Enter a day no later than today.", field)


def _note(row: models.Agreement, field: str, before: str, after: str, *, by: models.User | None, why: str = "") -> None:
    log = Log(by=by)
    log.note(None, row, field, before, after, why=why)
    log.write()


def _bill_words(bill: models.AgreementBill) -> str:
    number = f" no. {bill.number}" if bill.number else ""
    heads = " for added heads" if bill.kind == "added heads" else ""
    return (
        f"{dollars(bill.amount)}{number}{heads}, sent {in_words(bill.billed_on)},"
        f" for {in_words(bill.first_on)} to {in_words(bill.last_on)}"
    )


def _payment_words(payment: models.BillPayment) -> str:
    note = f" ({payment.note})" if payment.note else ""
    return f"{dollars(payment.amount)} on {in_words(payment.paid_on)}{note}"


def _heads_words(put_in: dt.date, *, taken: bool) -> str:
    return f"{in_words(put_in)}: {'billed for the days left' if taken else 'not billed'}"


def _refund_words(refund: models.AgreementRefund) -> str:
    return f"{dollars(refund.amount)} ({refund.way})"
