"""What is on file of the money of agreements, as the rules of billing see it."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal

from django.db.models import QuerySet, Sum

from fleet import models
from fleet.rules.billing import Account, Sent
from fleet.rules.dates import Span

_CENT = Decimal("0.01")


def with_paid(bills: QuerySet[models.AgreementBill]) -> QuerySet[models.AgreementBill]:
    """Bills with what was paid of each (None: nothing)."""
    return bills.annotate(paid=Sum("payments__amount"))


def sent_by_agreement(bills: QuerySet[models.AgreementBill]) -> dict[int, list[Sent]]:
    """The bills that were sent, by the key of the agreement of each, in order of days."""
    sent: dict[int, list[Sent]] = defaultdict(list)
    for row in with_paid(bills).order_by("first_on", "pk"):
        sent[row.agreement_id].append(sent_of(row))
    return sent


def accounts(agreements: Collection[int] | None = None) -> Mapping[int, Account]:
    """The account of each agreement that has one (of all, or of some), by its key."""
    bills, heads = models.AgreementBill.objects.all(), models.AddedHeads.objects.all()
    if agreements is not None:
        bills, heads = bills.filter(agreement__in=agreements), heads.filter(agreement__in=agreements)
    return accounts_of(sent_by_agreement(bills), heads)


def accounts_of(sent: Mapping[int, Sequence[Sent]], heads: QuerySet[models.AddedHeads]) -> Mapping[int, Account]:
    """The account of each agreement that has bills, which were read already, or decided heads, by its key."""
    decided: dict[tuple[int, bool], set[dt.date]] = defaultdict(set)
    for pk, on, taken in heads.values_list("agreement", "on", "taken"):
        decided[pk, taken].add(on)
    return {
        pk: Account(tuple(sent.get(pk, ())), frozenset(decided[pk, True]), frozenset(decided[pk, False]))
        for pk in {*sent, *(pk for pk, _ in decided)}
    }


def sent_of(row: models.AgreementBill) -> Sent:
    """A bill on file, read `with_paid`."""
    return Sent(row.pk, row.kind, Span(row.first_on, row.last_on), row.amount, row.billed_on, row.number, paid_of(row))


def paid_of(row: models.AgreementBill) -> Decimal:
    """What was paid of a bill that was read `with_paid`, to the cent: some databases sum without cents."""
    return (getattr(row, "paid", None) or Decimal(0)).quantize(_CENT)
