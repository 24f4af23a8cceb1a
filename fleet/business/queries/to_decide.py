"""What agreements wait for somebody to decide, as a list to call down; and the bills that were sent, as a list."""

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from fleet import models
from fleet.business.facts import bills as facts
from fleet.business.queries.agreements import WHOSE, has
from fleet.care.facts import visits
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing, text_in
from fleet.facts import agreements as gathered
from fleet.facts.care import sheet_to_read
from fleet.rules import billing, decisions, revenue
from fleet.rules.agreements import Agreement
from fleet.rules.billing import Account
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, in_words
from fleet.rules.refunds import Charge
from fleet.rules.wording import agreements as wording


@dataclass(slots=True)
class Waiting:
    """One thing to decide of an agreement, with the price of the year and of the next, and what of a bill is not paid (None: nothing)."""

    row: models.Agreement
    rules: Agreement
    what: str
    on: dt.date
    price: Decimal | None = None
    next_price: Decimal | None = None
    open: Decimal | None = None

    @property
    def words(self) -> str:
        """What is to be done."""
        return wording.DECISIONS[self.what][0]


def waiting(
    *, on: dt.date, site: int | None = None, priced: bool = True, sheet: CareSheet | None = None
) -> list[Waiting]:
    """Everything that agreements wait for, of all or of one site, by its day.

    `priced`: with what the year costs now and next. `sheet` is the care sheet in force where that was read already.
    """
    there = models.Agreement.objects.all() if site is None else models.Agreement.objects.filter(site=site)
    known = there.annotate(
        notice=Subquery(models.House.objects.values("renewal_notice_days")[:1]),
    )
    rows: list[Any] = list(known.select_related("site__customer", "refund").order_by("pk"))
    if not rows:
        return []
    accounts = facts.accounts(Q() if site is None else Q(agreement__site=site))
    every = [(row, gathered.agreement_of(row)) for row in rows]
    ended = [(row, rules) for row, rules in every if rules.ended_on is not None and not _settled(row)]
    open_ends = {row.pk for row, _ in ended}
    found = [
        one
        for row, rules in every
        if row.pk not in open_ends
        for one in _of(row, rules, [one.charge for one in accounts.get(row.pk, Account()).sent], on=on)
    ]
    sites = {row.site_id for row, _ in ended} | ({one.row.site_id for one in found} if priced else set())
    if priced or sites:
        sheet, heads = sheet or sheet_to_read() or CareSheet("", ()), gathered.heads_of(sites or {0})
        charges = _charges(ended, accounts, sheet, heads, on=on)
        found += [one for row, rules in ended for one in _of(row, rules, charges[row.pk], on=on)]
        for one in found if priced else ():
            one.price, one.next_price = prices(one.rules, heads.get(one.row.site_id, ()), sheet, on=on)
    return sorted(found, key=lambda one: (one.on, one.row.pk))


def _of(row: Any, rules: Agreement, charges: Sequence[Charge], *, on: dt.date) -> Iterator[Waiting]:
    """What one agreement waits for."""
    for one in decisions.to_decide(rules, charges, today=on, settled=_settled(row), notice_days=row.notice or 0):
        yield Waiting(row, rules, one.what, one.on, open=_open_of(one, charges))


def _open_of(decision: decisions.Decision, sent: Sequence[Charge]) -> Decimal | None:
    """What is not paid of the bills that were sent on the day of a decision, where it is about that."""
    if decision.what != "unpaid":
        return None
    return sum((one.amount - one.paid for one in sent if one.billed_on == decision.on), Decimal(0))


def _settled(row: Any) -> bool:
    return hasattr(row, "refund")


def _charges(
    ended: Sequence[tuple[Any, Agreement]],
    accounts: Mapping[int, Account],
    sheet: CareSheet,
    heads: Mapping[int, Sequence[CareUnit]],
    *,
    on: dt.date,
) -> dict[int, tuple[Charge, ...]]:
    """The bills of those that ended and that nobody settled: of their last year the planned ones too."""
    if not ended:
        return {}
    first = min(rules.year_at(rules.ended_on).first for _, rules in ended if rules.ended_on is not None)
    # Only where bills follow visits do those that were made decide what was planned.
    per_visit = {row.site_id for row, rules in ended if rules.billing == "per visit"}
    made = visits.made(per_visit, since=first, before=on + DAY, sheet=sheet) if per_visit else {}
    return {
        row.pk: billing.of_last_year(
            rules,
            accounts.get(row.pk, Account()),
            heads.get(row.site_id, ()),
            sheet,
            today=on,
            visits=made.get(row.site_id, ()),
        )
        for row, rules in ended
    }


def _rows(filters: Any, on: dt.date) -> list[Waiting]:
    return [
        one for one in waiting(on=on) if (not filters.what or one.what == filters.what) and has(one.row, filters.text)
    ]


def prices(
    rules: Agreement, heads: Sequence[CareUnit], sheet: CareSheet, *, on: dt.date
) -> tuple[Decimal | None, Decimal | None]:
    """The price of the agreement year that a day lies in, and of the one that would follow if it goes on."""
    if rules.ended_on is not None:
        return None, None
    styles = revenue.styles_on(heads, on, today=on)
    over_on = rules.renewal_on(on)
    year = rules.year_at(min(max(on, rules.start_on), over_on - DAY))
    following = rules.year_at(year.last + DAY)
    price = revenue.price_of_year(rules, styles, sheet, year)
    goes_on = rules.renews != "no" or following.first < over_on
    return price, revenue.price_of_year(rules, styles, sheet, following) if goes_on else None


def _lead(listing: Listing) -> dict[str, Any]:
    counts = Counter(one.what for one in listing.selected)
    return {"sentence": wording.to_decide(counts), "nothing_on_file": not models.Agreement.objects.exists()}


TO_DECIDE = List(
    file="agreements-to-decide",
    caption="Agreements to decide, by day",
    rows=_rows,
    lead=_lead,
    usual="day",
    columns=(
        *WHOSE,
        Column("what", "To decide", value="words", order=("what",)),
        Column("day", "Day", "day", value="on", order=("on",)),
        Column("price", "Price now", "money"),
        Column("next_price", "Price next year", "money"),
    ),
    filters=(
        Filter("what", "What", [(what, words[0]) for what, words in wording.DECISIONS.items()], blank="anything"),
        Filter("text", "Customer, site, town or reference has"),
    ),
)


# ---------------------------------------------------------------------------------------------------------- bills that were sent


def _bills(filters: Any, on: dt.date) -> QuerySet[models.AgreementBill]:
    del filters, on
    rows = models.AgreementBill.objects.select_related("agreement__site__customer")
    paid = facts.with_paid(rows).alias(came=Coalesce(F("paid"), Decimal(0)))
    return paid.annotate(open=F("amount") - F("came"))


def _open(state: str) -> Q:
    return Q(open__gt=0) if state == "open" else Q(open__lte=0)


BILLS = List(
    file="agreement-bills",
    caption="Bills of agreements, by the day they were sent",
    rows=_bills,
    usual="-billed_on",
    tie=("pk",),
    columns=(
        named.customer("agreement__site__customer", with_phone=True),
        named.site("agreement__site"),
        Column("phone", "Phone", value="agreement.site.customer.phone", shown=False),
        Column("reference", "Agreement", value="agreement.reference"),
        Column(
            "number",
            "Bill",
            value=lambda row: Cell(row.number or "no number", Link("agreement_bill", row.pk)),
            order=("number",),
        ),
        Column("billed_on", "Sent on", "day", order=("billed_on",)),
        Column("days", "For", value=lambda row: f"{in_words(row.first_on)} to {in_words(row.last_on)}"),
        Column("kind", "Kind", value="kind", shown=False),
        Column("amount", "Amount", "money", order=("amount",)),
        Column("paid", "Paid", "money", value=facts.paid_of),
        Column("open", "Still open", "money", value=lambda row: row.amount - facts.paid_of(row), order=("open",)),
    ),
    filters=(
        Filter("state", "Which", [("open", "not fully paid"), ("paid", "paid")], blank="all", where=_open),
        Filter(
            "text",
            "Customer, site, town or number has",
            where=text_in(
                "agreement__site__name", "agreement__site__city", "agreement__site__customer__name", "number"
            ),
        ),
    ),
)
