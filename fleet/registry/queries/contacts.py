"""Whom to reach about a site, which payers must be told of a sale, and which new houses were not closed yet."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from django.db.models import Count, Min, Q, QuerySet

from fleet import models
from fleet.derived.rows import unpack
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, text_in
from fleet.elements.named import address
from fleet.registry.pages import contacts as pages
from fleet.rules.findings import Code, Reason

# What a promise says of a sale, what is still to do first.
_STATES = {
    Code.NOTIFY_BY: "to tell",
    Code.TRANSFER_MISSED: "missed",
    Code.TRANSFER_IN_TIME: "told in time",
    Code.TRANSFER_AUTOMATIC: "goes over by itself",
    Code.SOLD: "ends with the sale",
}


def page(pk: int) -> pages.ContactsPage | None:
    """The page of whom to reach about a site; None if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    return pages.ContactsPage(site.pk, site.name, site.customer.name, site.gate_code, of_site(site))


def of_site(site: models.Site) -> tuple[pages.Contact, ...]:
    """Whom to reach about a site."""
    return tuple(map(_contact, site.contacts.all()))


def contact(pk: int) -> tuple[pages.Contact, int] | None:
    """One contact and the key of its site; None if there is none."""
    row = models.Contact.objects.filter(pk=pk).first()
    return None if row is None else (_contact(row), row.site_id)


def _contact(row: models.Contact) -> pages.Contact:
    return pages.Contact(row.pk, row.name, row.role, row.phone, row.email, row.reach)


# ------------------------------------------------------------------------------------------------- sold


def sold_page(pk: int) -> pages.SoldPage | None:
    """The last sale of a house, and what each payer's promises there say of it; None if there is no such site."""
    site = models.Site.objects.select_related("customer").filter(pk=pk).first()
    if site is None:
        return None
    sale = site.sales.select_related("seller", "buyer").order_by("-sold_on").first()
    return pages.SoldPage(
        pk=site.pk,
        site=site.name,
        customer=site.customer.name,
        customer_pk=site.customer_id,
        sold_on=sale.sold_on if sale else None,
        seller=str(sale.seller or "") if sale else "",
        buyer=str(sale.buyer or "") if sale else "",
        payers=_payers(sale) if sale else (),
    )


def _payers(sale: models.Sale) -> tuple[pages.ToTell, ...]:
    there = models.CoverageRow.objects.filter(unit__system__site=sale.site_id, unit__removed_on=None)
    told: defaultdict[int, dict[int, Reason]] = defaultdict(dict)
    for terms, unit, *lists in there.values_list("terms_id", "unit_id", "reasons", "needs", "hangs_on"):
        for reason in (one for packed in lists for one in unpack(packed)):
            if reason.code in _STATES and reason.day == sale.sold_on:
                before = told[terms].get(unit)
                if before is None or _rank(reason) < _rank(before):
                    told[terms][unit] = reason
    notices: dict[int | None, Any] = dict(
        models.Notice.objects.filter(unit__system__site=sale.site_id, notified_on__gte=sale.sold_on)
        .values("terms_id")
        .annotate(first=Min("notified_on"))
        .values_list("terms_id", "first")
    )
    # A promise that goes on because its payer was told has nothing more to say of the sale: the notice itself says so.
    for terms, unit, day in _notices(sale):
        told[terms].setdefault(unit, Reason(Code.TRANSFER_IN_TIME, day=sale.sold_on, until=day))
    titles = {row.pk: row for row in models.Terms.objects.filter(pk__in=told)}
    found = [_to_tell(titles[terms], list(units.values()), notices) for terms, units in told.items()]
    states = list(_STATES.values())
    return tuple(sorted(found, key=lambda one: (states.index(one.state), str(one.until), one.title)))


def _notices(sale: models.Sale) -> Iterator[tuple[int, int, Any]]:
    """List the notices given of a sale, by the terms and the unit they are for; one without terms is for every maker's."""
    given = models.Notice.objects.filter(
        unit__system__site=sale.site_id, unit__removed_on=None, notified_on__gte=sale.sold_on
    ).order_by("notified_on", "pk")
    all_makers = models.HoldingRow.objects.filter(unit__system__site=sale.site_id, terms__payer="maker")
    by_unit: defaultdict[int, list[int]] = defaultdict(list)
    for unit, terms in all_makers.values_list("unit_id", "terms_id"):
        by_unit[unit].append(terms)
    for unit, terms, day in given.values_list("unit_id", "terms_id", "notified_on"):
        for one in [terms] if terms is not None else by_unit[unit]:
            yield one, unit, day


def _rank(reason: Reason) -> int:
    return list(_STATES).index(reason.code)


def _to_tell(terms: models.Terms, reasons: list[Reason], notices: dict[int | None, Any]) -> pages.ToTell:
    worst = min(reasons, key=_rank)
    return pages.ToTell(
        terms=terms.pk,
        title=terms.title,
        payer=terms.payer,
        until=min((one.until for one in reasons if one.code is worst.code and one.until), default=None),
        units=len(reasons),
        state=_STATES[worst.code],
        told_on=notices.get(terms.pk) or notices.get(None),
    )


# ------------------------------------------------------------------------------------------------- new houses


def _unsold(filters: Any, on: dt.date) -> QuerySet[models.Site]:
    here = Q(systems__units__removed_on=None)
    return (
        models.Site.objects.filter(new_construction=True, closed_on=None)
        .select_related("customer")
        .annotate(units=Count("systems__units", filter=here), first_on=Min("systems__units__installed_on", filter=here))
    )


UNSOLD = List(
    file="new-houses",
    caption="New houses without a closing day",
    rows=_unsold,
    usual="customer",
    tie=("customer__name", "name", "pk"),
    columns=(
        named.customer("customer"),
        Column("site", "Site", value=lambda row: Cell(row.name, Link("site", row.pk)), order=("name",)),
        Column("address", "Address", value=address),
        Column("units", "Units", "number", order=("units",)),
        Column("installed_on", "First installed", "day", value="first_on", order=("first_on",), blanks_last=True),
    ),
    filters=(Filter("text", "Customer, site or street has", where=text_in("name", "customer__name", "street")),),
)
