"""The money of one agreement: its bills, heads that were added, what an early end gives back, and what is to be decided."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from fleet import models
from fleet.business.facts import bills as facts
from fleet.business.pages import agreements as pages
from fleet.care.facts import visits
from fleet.elements.named import address
from fleet.facts import agreements as gathered
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import billing, decisions, planner, revenue
from fleet.rules.agreements import Agreement
from fleet.rules.billing import Account, Entry
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months, in_words
from fleet.rules.wording import agreements as wording


@dataclass(frozen=True, slots=True)
class Trips:
    """A site's visits from the first day of an agreement year until two years on."""

    year: Span
    until: dt.date
    made: tuple[dt.date, ...]
    booked: tuple[dt.date, ...]
    planned: tuple[revenue.Trip, ...]

    @classmethod
    def of(cls, row: models.Agreement, rules: Agreement, sheet: CareSheet, *, day: dt.date, on: dt.date) -> "Trips":
        """The year that a day lies in. Gather what was made and booked; plan the rest for this site alone, so that no other has to be read."""
        year = rules.year_at(day)
        first, until = year.first, add_months(year.last + DAY, 12) - DAY
        made = visits.made([row.site_id], since=first, before=on + DAY).get(row.site_id, ())
        booked = models.Booking.objects.filter(site=row.site_id, state="booked", on__range=(on, until))
        works = visits.works(sheet, on=on, today=on, only=[row.site_id], booked=True)
        free = replace(house.working(hours_a_day=Decimal(0)), minutes_by_month=())
        plan = planner.plan(works, sheet, free, first=on, until=until)
        return cls(
            year.days,
            until,
            tuple(made),
            tuple(booked.order_by("on").values_list("on", flat=True)),
            tuple(revenue.Trip(visit.on, visit.price) for visit in plan),
        )

    def all(self) -> list[revenue.Trip]:
        """Every visit; those made and booked carry no price, since somebody has decided them already."""
        nothing = Decimal(0)
        return [*(revenue.Trip(day, nothing) for day in (*self.made, *self.booked)), *self.planned]


@dataclass(frozen=True, slots=True)
class Money:
    """What a page says of an agreement's money."""

    decisions: tuple[str, ...]
    bills: tuple[pages.BillLine, ...]
    proposals: tuple[pages.Proposal, ...]
    decided: tuple[pages.Decided, ...]
    refund: pages.RefundPart | None


def part(
    row: models.Agreement,
    rules: Agreement,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    trips: Trips,
    *,
    on: dt.date,
) -> Money:
    """The bills of a year and the next with every other one sent, and all else that is said of an agreement's money."""
    account = facts.accounts([row.pk]).get(row.pk, Account())
    span = Span(trips.year.first, trips.until)
    days = {trip.on for trip in trips.all()}
    entries = billing.standing(rules, account, heads, sheet, span=span, today=on, visits=days)
    proposals = billing.proposals(rules, account, heads, sheet, span=span, today=on)
    settled = models.AgreementRefund.objects.filter(agreement=row).first()
    return Money(
        tuple(_decisions(rules, account, heads, sheet, trips, entries, settled=settled is not None, on=on)),
        tuple(map(_line, entries)),
        tuple(pages.Proposal(one.days.first, len(one.units), _last(one.days), one.amount) for one in proposals),
        tuple(pages.Decided(day, day in account.taken) for day in sorted(account.taken | account.left)),
        None if rules.ended_on is None else _refund(rules, account, heads, sheet, trips, settled, on=on),
    )


def _last(days: Span) -> dt.date:
    assert days.last is not None
    return days.last


def _line(entry: Entry) -> pages.BillLine:
    sent = entry.sent
    words = wording.bill_state(
        entry.state,
        entry.renewals,
        entry.paid,
        entry.amount,
        None if sent is None else sent.billed_on,
        "" if sent is None else sent.number,
    )
    return pages.BillLine(
        entry.kind, entry.days.first, _last(entry.days), entry.amount, words, 0 if sent is None else sent.key
    )


def _decisions(
    rules: Agreement,
    account: Account,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    trips: Trips,
    entries: Sequence[Entry],
    *,
    settled: bool,
    on: dt.date,
) -> Iterator[str]:
    charges = [entry.charge for entry in entries]
    if rules.ended_on is not None:
        charges = list(
            billing.of_last_year(rules, account, heads, sheet, today=on, visits={trip.on for trip in trips.all()})
        )
    notice = house.house().renewal_notice_days or 0
    for one in decisions.to_decide(rules, charges, today=on, settled=settled, notice_days=notice):
        yield f"{in_words(one.on)}: {wording.DECISIONS[one.what][0]}."


def _refund(
    rules: Agreement,
    account: Account,
    heads: Sequence[CareUnit],
    sheet: CareSheet,
    trips: Trips,
    settled: models.AgreementRefund | None,
    *,
    on: dt.date,
) -> pages.RefundPart:
    planned = [*trips.booked, *(trip.on for trip in trips.planned)]
    refund = billing.refund(rules, account, heads, sheet, today=on, made=trips.made, planned=planned)
    by_days, by_visits = refund.by_days, refund.by_visits
    assert rules.ended_on is not None
    year = rules.year_at(rules.ended_on)
    made = len({day for day in trips.made if year.first <= day < rules.ended_on})
    ways = [("by days", f"By days: {wording.give_back(by_days.give_back)}")]
    if by_visits is not None:
        ways.append(("by visits", f"By visits: {wording.give_back(by_visits.give_back)}"))
    return pages.RefundPart(
        refund.paid,
        by_days.used,
        wording.give_back(by_days.give_back),
        None if by_visits is None else by_visits.used,
        "" if by_visits is None else wording.give_back(by_visits.give_back),
        wording.visits(year.visits, made, 0),
        "" if settled is None else f"{wording.give_back(settled.amount)}, {wording.WAYS[settled.way]}",
        "" if settled is None else settled.why,
        (*ways, ("another", "Another amount")),
    )


def amounts(pk: int, *, on: dt.date) -> dict[str, Decimal]:
    """What ending an agreement early gives back by each way; empty where it was not ended."""
    page = _gathered(pk, on=on)
    if page is None or page[1].ended_on is None:
        return {}
    _, rules, heads, sheet, trips = page
    account = facts.accounts([pk]).get(pk, Account())
    planned = [*trips.booked, *(trip.on for trip in trips.planned)]
    refund = billing.refund(rules, account, heads, sheet, today=on, made=trips.made, planned=planned)
    found = {"by days": refund.by_days.give_back}
    return found if refund.by_visits is None else found | {"by visits": refund.by_visits.give_back}


def planned(pk: int, *, kind: str, first: dt.date, on: dt.date) -> tuple[models.Agreement, Entry] | None:
    """A planned bill of an agreement, by its kind and first day; None if there is none such that was not sent."""
    page = _gathered(pk, on=on)
    if page is None:
        return None
    row, rules, heads, sheet, trips = page
    account = facts.accounts([pk]).get(pk, Account())
    entries = billing.standing(
        rules,
        account,
        heads,
        sheet,
        span=Span(trips.year.first, trips.until),
        today=on,
        visits={trip.on for trip in trips.all()},
    )
    there = (one for one in entries if one.sent is None and (one.kind, one.days.first) == (kind, first))
    entry = next(there, None)
    return None if entry is None else (row, entry)


def proposed(pk: int, *, put_in: dt.date, on: dt.date) -> bool:
    """Whether a bill is proposed for heads put in on a day."""
    page = _gathered(pk, on=on)
    if page is None:
        return False
    _, rules, heads, sheet, trips = page
    account = facts.accounts([pk]).get(pk, Account())
    span = Span(trips.year.first, trips.until)
    every = billing.proposals(rules, account, heads, sheet, span=span, today=on)
    return any(one.days.first == put_in for one in every)


def _gathered(
    pk: int, *, on: dt.date
) -> tuple[models.Agreement, Agreement, Sequence[CareUnit], CareSheet, Trips] | None:
    row = models.Agreement.objects.select_related("site__customer").filter(pk=pk).first()
    if row is None:
        return None
    rules, sheet = gathered.agreement_of(row), care_sheet() or CareSheet("", ())
    heads = gathered.heads_of([row.site_id]).get(row.site_id, ())
    return row, rules, heads, sheet, Trips.of(row, rules, sheet, day=shown_day(rules, on=on), on=on)


def shown_day(rules: Agreement, *, on: dt.date) -> dt.date:
    """The day whose agreement year a page shows: today, or the last day of one that ended."""
    return on if rules.ended_on is None else max(rules.start_on, min(on, rules.ended_on - DAY))


def sent(pk: int) -> pages.BillPage | None:
    """A bill that was sent, with its payments; None if there is none such."""
    rows = models.AgreementBill.objects.select_related("agreement__site__customer")
    row = facts.with_paid(rows).filter(pk=pk).first()
    if row is None:
        return None
    bill = facts.sent_of(row)
    entry = Entry(bill.kind, bill.days, bill.amount, sent=bill)
    line, site = _line(entry), row.agreement.site
    payments = tuple(pages.Payment(one.pk, one.paid_on, one.amount, one.note) for one in row.payments.all())
    return pages.BillPage(
        pk=row.pk,
        agreement_pk=row.agreement_id,
        agreement=f"Agreement {row.agreement.reference}".strip(),
        customer=site.customer.name,
        site=f"{site.name}, {where}" if (where := address(site)) else site.name,
        phone=site.customer.phone,
        kind=row.kind,
        first=row.first_on,
        last=row.last_on,
        amount=row.amount,
        words=line.words,
        open=entry.open,
        payments=payments,
    )
