"""Agreements: the list with what comes up, and one of them with how its price comes about."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from fleet import models
from fleet.business.pages import agreements as pages
from fleet.business.queries import agreement_bills
from fleet.business.queries.changes import changes
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing
from fleet.elements.named import address
from fleet.facts import agreements as gathered
from fleet.facts.care import care_sheet
from fleet.rules import revenue
from fleet.rules.agreements import Agreement, AgreementYear
from fleet.rules.caresheet import CareSheet
from fleet.rules.dates import DAY
from fleet.rules.wording import agreements as wording

_CENT, _HUNDRED = Decimal("0.01"), Decimal(100)
FIELDS = (
    "reference", "start_on", "months", "visits_per_year", "first_head", "further_head", "discount_percent", "billing",
    "renews", "rise_percent", "notes",
)  # fmt: skip


@dataclass(slots=True)
class _Standing:
    """An agreement with what the rules say of it today; `heads` and `price` are worked out of those alone that are shown."""

    row: models.Agreement
    rules: Agreement
    state: str
    over_on: dt.date
    comes_up: bool
    heads: int = 0
    price: Decimal | None = None

    def is_like(self, state: str) -> bool:
        """Whether it is in a state of the list."""
        return self.state == state or (state == "to renew" and self.comes_up)

    @property
    def live(self) -> bool:
        """Whether its term is one that anybody waits for."""
        return self.state in ("in force", "to begin", "undecided")

    @property
    def waits_for(self) -> dt.date | None:
        """The day on which its term is over, if anybody waits for that."""
        return self.over_on if self.live else None

    @property
    def says(self) -> Cell:
        """Where it stands, and why it ended."""
        return Cell(pages.STATE_WORDS["to renew" if self.comes_up else self.state], note=self.row.ended_why)


def _standing(row: models.Agreement, *, on: dt.date) -> _Standing:
    """Read one; somebody should ask for its renewal now where it comes up."""
    rules = gathered.agreement_of(row)
    state, over_on = rules.state(on), rules.renewal_on(on)
    asked_for = state == "in force" and rules.renews == "by asking" and rules.ended_on is None
    return _Standing(row, rules, state, over_on, comes_up=asked_for and over_on <= on + pages.SOON * DAY)


def _everything(*, on: dt.date) -> list[_Standing]:
    rows = models.Agreement.objects.select_related("site__customer").order_by("pk")
    return [_standing(row, on=on) for row in rows]


def _rows(filters: Any, on: dt.date) -> list[_Standing]:
    return [
        one
        for one in _everything(on=on)
        if (not filters.state or one.is_like(filters.state)) and has(one.row, filters.text)
    ]


def has(row: models.Agreement, text: str) -> bool:
    """Whether a text, blank or not, stands in the names that an agreement is looked for by."""
    names = (row.site.customer.name, row.site.name, row.site.city, row.reference)
    return any(text.casefold() in name.casefold() for name in names)


# Whose an agreement is, for each list whose rows have one at `row`.
WHOSE = (
    named.customer("row__site__customer", with_phone=True),
    named.site("row__site"),
    Column("phone", "Phone", value="row.site.customer.phone", shown=False),
    Column(
        "reference",
        "Agreement",
        value=lambda one: Cell(one.row.reference or "no reference", Link("agreement", one.row.pk)),
        order=("row.reference",),
    ),
)


def _complete(rows: list[_Standing], on: dt.date) -> list[_Standing]:
    sheet = care_sheet() or CareSheet("", ())
    heads = gathered.heads_of({one.row.site_id for one in rows})
    for one in rows:
        styles = revenue.styles_on(heads.get(one.row.site_id, ()), on, today=on)
        price = revenue.price_of_year(one.rules, styles, sheet, one.rules.year_at(on))
        one.heads, one.price = len(styles), price if one.live else None
    return rows


def _lead(listing: Listing) -> dict[str, Any]:
    everything = _everything(on=listing.on)
    soon = [one.over_on for one in everything if one.comes_up]
    sentences = (
        wording.in_all(sum(one.state == "in force" for one in everything)),
        wording.undecided(sum(one.state == "undecided" for one in everything)),
        wording.renewals_due(len(soon), min(soon, default=None), pages.SOON),
    )
    return {"sentences": [one for one in sentences if one], "nothing_on_file": not everything}


AGREEMENTS = List(
    file="agreements",
    caption="Agreements by their renewal date",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="term_over_on",
    columns=(
        *WHOSE,
        Column("state", "State", value="says"),
        Column(
            "term_over_on",
            "Renewal date",
            "day",
            value=lambda one: one.waits_for if one.row.ended_on is None else None,
            order=("waits_for",),
        ),
        Column("renews", "Renews", value="row.renews"),
        Column("visits", "Visits a year", "number", value="row.visits_per_year"),
        Column("heads", "Heads", "number"),
        Column("year_price", "Price this year", "money", value="price"),
        Column("billing", "Billed", value="row.billing"),
        Column("start_on", "Since", "day", value="row.start_on", order=("row.start_on",)),
        Column("ended_on", "Ended on", "day", value="row.ended_on", order=("row.ended_on",), shown=False),
        Column("why", "Why", value="row.ended_why", shown=False),
    ),
    filters=(
        Filter("state", "State", [(name, pages.STATE_WORDS[name]) for name in pages.STATES]),
        Filter("text", "Customer, site, town or reference has"),
    ),
)


# ------------------------------------------------------------------------------------------------------------------ one


def shown(pk: int) -> dict[str, object] | None:
    """What was agreed, as its form shows it; None if there is no such agreement."""
    return models.Agreement.objects.filter(pk=pk).values(*FIELDS).first()


def for_site(pk: int, *, on: dt.date) -> pages.ForSite | None:
    """The site that an agreement is to be made for; None if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    styles = revenue.styles_on(gathered.heads_of([pk]).get(pk, ()), on, today=on)
    return pages.ForSite(pk, site.name, site.customer.name, wording.heads(styles))


def agreement(pk: int, *, on: dt.date) -> pages.AgreementPage | None:
    """The page of an agreement; None if there is none."""
    of = agreement_bills.gather(pk, on=on)
    if of is None:
        return None
    row, rules, year, trips, site = of.row, of.rules, of.year, of.trips, of.row.site
    standing, money = _standing(row, on=on), agreement_bills.part(of)
    agreed = rules.agreed_terms(on)
    return pages.AgreementPage(
        pk=row.pk,
        name=f"Agreement {row.reference}".strip(),
        site_pk=site.pk,
        site=site.name,
        customer_pk=site.customer_id,
        customer=site.customer.name,
        phone=site.customer.phone,
        where=address(site),
        stands=wording.stands(
            standing.state, row.start_on, standing.over_on, row.renews, row.ended_on, row.ended_why, year=year.index
        ),
        terms=wording.terms(row.months, row.visits_per_year, row.billing, agreed),
        sums=tuple(_sums(rules, revenue.styles_on(of.heads, on, today=on), of.sheet, year)),
        decisions=money.decisions,
        bills=money.bills,
        proposals=money.proposals,
        decided=money.decided,
        refund=money.refund,
        visits=wording.visits(
            year.visits,
            sum(day in year.days for day in trips.made),
            sum(day in year.days for day in trips.booked),
        )
        if standing.state == "in force"
        else "",
        made=tuple(day for day in trips.made if day in year.days),
        planned=tuple(trip.on for trip in trips.planned if trip.on in year.days),
        beyond=tuple(pages.Beyond(trip.on, trip.price) for trip in revenue.beyond(rules, trips.all()) if trip.on >= on),
        notes=row.notes,
        changes=tuple(changes(row, wording.FIELDS)),
        agreed=agreed,
        may_renew=standing.state in ("in force", "undecided") and row.renews != "no" and row.ended_on is None,
        renewal_on=standing.over_on,
        may_unrenew=rules.may_unrenew(on) and row.ended_on is None,
        terms_agreed=row.terms_agreed,
        may_end=row.ended_on is None,
    )


def _sums(rules: Agreement, styles: Sequence[str], sheet: CareSheet, year: AgreementYear) -> Iterator[pages.Sum]:
    """The lines that add up to a year's price; only the last is rounded, once."""
    lines = revenue.price_lines(rules, styles, sheet)
    for line in lines:
        words = wording.line(first=line.first, style=line.style, count=line.count, price=line.price, factor=line.factor)
        yield pages.Sum(words, _shown(line.amount))
    amount = sum((line.amount for line in lines), Decimal(0))
    if rules.visits_per_year > 1:
        amount *= rules.visits_per_year
        yield pages.Sum(f"{rules.visits_per_year} visits a year", _shown(amount))
    if rules.discount_percent:
        less = amount * rules.discount_percent / _HUNDRED
        amount -= less
        yield pages.Sum(f"Discount of {wording.percent(rules.discount_percent)}", -_shown(less))
    whole = revenue.price_of_year(rules, styles, sheet, replace(year, months=12))
    if rules.rise_percent and year.index:
        times = "once" if year.index == 1 else f"{year.index} times"
        yield pages.Sum(f"Price rise of {wording.percent(rules.rise_percent)}, {times}", whole - _shown(amount))
    yield pages.Sum(f"Price of the {wording.ordinal(year.index + 1)} year", whole)
    if year.months < 12:
        share = revenue.price_of_year(rules, styles, sheet, year)
        yield pages.Sum(f"For the {year.months} months left in the term", share)


def _shown(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)
