"""The money of one agreement: its bills, heads that were added, what an early end gives back, and what is to be decided."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.db.models import Q

from fleet import models
from fleet.business.facts import bills as facts
from fleet.business.pages import agreements as pages
from fleet.care.facts import visits
from fleet.elements.named import address
from fleet.facts import agreements as gathered
from fleet.facts import house
from fleet.facts.care import care_sheet
from fleet.rules import billing, decisions, planner, revenue
from fleet.rules.agreements import Agreement, AgreementYear
from fleet.rules.billing import Account, Entry
from fleet.rules.care import CareUnit
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY, Span, add_months, in_words
from fleet.rules.refunds import Added, Charge, Refund
from fleet.rules.wording import agreements as wording


@dataclass(frozen=True, slots=True)
class Trips:
    """A site's visits from the first day of an agreement year until the end of the year after it."""

    until: dt.date
    made: tuple[dt.date, ...]
    booked: tuple[dt.date, ...]
    planned: tuple[revenue.Trip, ...]

    @classmethod
    def of(cls, row: models.Agreement, year: AgreementYear, sheet: CareSheet, *, on: dt.date) -> "Trips":
        """Gather what was made and booked; plan the rest for this site alone, so that no other has to be read."""
        first, until = year.first, add_months(year.last + DAY, 12) - DAY
        made = visits.made([row.site_id], since=first, before=on + DAY).get(row.site_id, ())
        booked = models.Booking.objects.filter(site=row.site_id, state="booked", on__range=(on, until))
        works = visits.works(sheet, on=on, today=on, only=[row.site_id], booked=True)
        free = replace(house.working(hours_a_day=Decimal(0)), minutes_by_month=())
        plan = planner.plan(works, sheet, free, first=on, until=until)
        return cls(
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
class Gathered:
    """An agreement with all that its money hangs on: what is on file of it, its heads and its visits."""

    row: models.Agreement
    rules: Agreement
    account: Account
    heads: Sequence[CareUnit]
    sheet: CareSheet
    year: AgreementYear
    trips: Trips
    on: dt.date

    @property
    def days(self) -> set[dt.date]:
        """The days of all visits."""
        return {trip.on for trip in self.trips.all()}

    @property
    def span(self) -> Span:
        """The days whose planned bills are shown: those of the year, and of the next."""
        return Span(self.year.first, self.trips.until)

    def entries(self) -> tuple[Entry, ...]:
        """The bills of the year and the next, with every other one sent."""
        return billing.standing(
            self.rules, self.account, self.heads, self.sheet, span=self.span, today=self.on, visits=self.days
        )

    def proposals(self) -> tuple[Added, ...]:
        """The bills proposed for added heads that nobody has decided about."""
        return billing.proposals(self.rules, self.account, self.heads, self.sheet, span=self.span, today=self.on)

    def refund(self) -> Refund | None:
        """What ending it early gives back; None where it was not ended."""
        if self.rules.ended_on is None:
            return None
        planned = [*self.trips.booked, *(trip.on for trip in self.trips.planned)]
        return billing.refund(
            self.rules,
            self.account,
            self.heads,
            self.sheet,
            today=self.on,
            made=self.trips.made,
            planned=planned,
        )


def gather(pk: int, *, on: dt.date) -> Gathered | None:
    """An agreement and its money, as of today or, where it ended, of its last year; None if there is no such agreement."""
    row = models.Agreement.objects.select_related("site__customer").filter(pk=pk).first()
    if row is None:
        return None
    rules, sheet = gathered.agreement_of(row), care_sheet() or CareSheet("", ())
    ended_on = rules.ended_on
    year = rules.year_at(on if ended_on is None else max(rules.start_on, min(on, ended_on - DAY)))
    return Gathered(
        row,
        rules,
        facts.accounts(Q(agreement=pk)).get(pk, Account()),
        gathered.heads_of([row.site_id]).get(row.site_id, ()),
        sheet,
        year,
        Trips.of(row, year, sheet, on=on),
        on,
    )


@dataclass(frozen=True, slots=True)
class Money:
    """What a page says of an agreement's money."""

    decisions: tuple[str, ...]
    bills: tuple[pages.BillLine, ...]
    proposals: tuple[pages.Proposal, ...]
    decided: tuple[pages.Decided, ...]
    refund: pages.RefundPart | None


def part(of: Gathered) -> Money:
    """The bills of a year and the next with every other one sent, and all else that is said of an agreement's money."""
    entries, account = of.entries(), of.account
    settled = models.AgreementRefund.objects.filter(agreement=of.row).first()
    return Money(
        tuple(_decisions(of, entries, settled=settled is not None)),
        tuple(map(_line, entries)),
        tuple(pages.Proposal(one.days.first, len(one.units), _last(one.days), one.amount) for one in of.proposals()),
        tuple(pages.Decided(day, day in account.taken) for day in sorted(account.taken | account.left)),
        _refund(of, settled),
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


def _decisions(of: Gathered, entries: Sequence[Entry], *, settled: bool) -> Iterator[str]:
    charges: Sequence[Charge] = [entry.charge for entry in entries]
    if of.rules.ended_on is not None:
        charges = billing.of_last_year(of.rules, of.account, of.heads, of.sheet, today=of.on, visits=of.days)
    notice = house.house().renewal_notice_days or 0
    for one in decisions.to_decide(of.rules, charges, today=of.on, settled=settled, notice_days=notice):
        yield f"{in_words(one.on)}: {wording.DECISIONS[one.what][0]}."


def _refund(of: Gathered, settled: models.AgreementRefund | None) -> pages.RefundPart | None:
    refund, ended_on = of.refund(), of.rules.ended_on
    if refund is None or ended_on is None:
        return None
    by_days, by_visits = refund.by_days, refund.by_visits
    year = of.rules.year_at(ended_on)
    made = len({day for day in of.trips.made if year.first <= day < ended_on})
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
    of = gather(pk, on=on)
    refund = None if of is None else of.refund()
    if refund is None:
        return {}
    found = {"by days": refund.by_days.give_back}
    return found if refund.by_visits is None else found | {"by visits": refund.by_visits.give_back}


def planned(pk: int, *, kind: str, first: dt.date, on: dt.date) -> tuple[models.Agreement, Entry] | None:
    """A planned bill of an agreement, by its kind and first day; None if there is none such that was not sent."""
    of = gather(pk, on=on)
    if of is None:
        return None
    there = (one for one in of.entries() if one.sent is None and (one.kind, one.days.first) == (kind, first))
    entry = next(there, None)
    return None if entry is None else (of.row, entry)


def proposed(pk: int, *, put_in: dt.date, on: dt.date) -> bool:
    """Whether a bill is proposed for heads put in on a day."""
    of = gather(pk, on=on)
    return of is not None and any(one.days.first == put_in for one in of.proposals())


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
