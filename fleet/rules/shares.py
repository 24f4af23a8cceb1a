"""The customer's share of a failure: which bills and payments may be recorded, each fault by the fact that it is about."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from fleet.rules.claims import CENT, ZERO
from fleet.rules.dates import in_words
from fleet.rules.wording.money import AMOUNT_WANTED, dollars

_LARGEST = Decimal("99999999.99")


@dataclass(frozen=True, slots=True)
class Bill:
    """What was billed on a day, and what was paid of it so far, without sales tax."""

    billed_on: dt.date
    amount: Decimal
    paid: Decimal = ZERO

    @property
    def owed(self) -> Decimal:
        """What is still to be paid."""
        return max(self.amount - self.paid, ZERO)


def bill_faults(bill: Bill, *, failed_on: dt.date, today: dt.date) -> dict[str, str]:
    """What stands against a bill; empty where it may be recorded: from the day of the failure to today, for more than nothing."""
    found = _amount_faults(bill.amount)
    if bill.billed_on > today:
        found["billed_on"] = f"{in_words(bill.billed_on)} is later than today."
    elif bill.billed_on < failed_on:
        found["billed_on"] = f"{in_words(bill.billed_on)} is before the failure on {in_words(failed_on)}."
    return found


def payment_faults(bill: Bill, paid_on: dt.date, amount: Decimal, *, today: dt.date) -> dict[str, str]:
    """What stands against a payment; empty where it may be recorded: from the day of the bill to today, at most what is owed."""
    found = _amount_faults(amount)
    if not found and amount > bill.owed:
        found["amount"] = f"{dollars(amount)} is more than the {dollars(bill.owed)} still owed on this bill."
    if paid_on > today:
        found["paid_on"] = f"{in_words(paid_on)} is later than today."
    elif paid_on < bill.billed_on:
        found["paid_on"] = f"{in_words(paid_on)} is before the bill of {in_words(bill.billed_on)}."
    return found


def _amount_faults(amount: Decimal) -> dict[str, str]:
    right = amount.is_finite() and 0 < amount <= _LARGEST and amount == amount.quantize(CENT)
    return {} if right else {"amount": AMOUNT_WANTED}
