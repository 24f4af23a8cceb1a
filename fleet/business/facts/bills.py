"""What is on file of the money of agreements, as the rules of billing see it."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db.models import Case, DecimalField, Q, QuerySet, Sum, Value, When

from fleet import models
from fleet.rules.billing import Account, Sent
from fleet.rules.dates import Span

_CENT = Decimal("0.01")
# What was decided of added heads, in the place of the kind of a bill.
_TAKEN, _LEFT = "taken", "left"


def with_paid(bills: QuerySet[models.AgreementBill]) -> QuerySet[models.AgreementBill]:
    """Bills with what was paid of each (None: nothing)."""
    return bills.annotate(paid=Sum("payments__amount"))


def accounts(which: Q) -> Mapping[int, Account]:
    """The account of each agreement that has bills or decided heads, by its key: one question for both.

    `which` chooses them, as a condition on rows that are of an `agreement`.
    """
    bills: QuerySet[Any] = with_paid(models.AgreementBill.objects.filter(which)).order_by()
    nothing = Value(Decimal(0), DecimalField(max_digits=10, decimal_places=2))
    decided = models.AddedHeads.objects.filter(which).order_by()
    as_bills = decided.values_list(
        "agreement", "pk", Case(When(taken=True, then=Value(_TAKEN)), default=Value(_LEFT)), "on", "on",
        nothing, "decided_on", Value(""), nothing,
    )  # fmt: skip
    rows = bills.values_list(
        "agreement", "pk", "kind", "first_on", "last_on", "amount", "billed_on", "number", "paid"
    ).union(as_bills, all=True)
    sent: dict[int, list[Sent]] = defaultdict(list)
    days: dict[tuple[int, str], set[dt.date]] = defaultdict(set)
    for agreement, pk, kind, first, last, amount, billed_on, number, paid in sorted(
        rows, key=lambda row: (row[3], row[1])
    ):
        if kind in (_TAKEN, _LEFT):
            days[agreement, kind].add(first)
        else:
            sent[agreement].append(Sent(pk, kind, Span(first, last), amount, billed_on, number, _to_the_cent(paid)))
    return {
        pk: Account(tuple(sent[pk]), frozenset(days[pk, _TAKEN]), frozenset(days[pk, _LEFT]))
        for pk in {*sent, *(pk for pk, _ in days)}
    }


def sent_of(row: models.AgreementBill) -> Sent:
    """A bill on file, read `with_paid`."""
    return Sent(row.pk, row.kind, Span(row.first_on, row.last_on), row.amount, row.billed_on, row.number, paid_of(row))


def paid_of(row: models.AgreementBill) -> Decimal:
    """What was paid of a bill that was read `with_paid`, to the cent: some databases sum without cents."""
    return _to_the_cent(getattr(row, "paid", None))


def _to_the_cent(paid: Decimal | None) -> Decimal:
    return (paid or Decimal(0)).quantize(_CENT)
