"""Promises of our own: all of them, those of a site, one of them, and what the standing ones could cost."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.db.models import Q, QuerySet

from fleet import models
from fleet.business.pages import own_promises as pages
from fleet.business.queries.changes import changes
from fleet.elements import named
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List, Listing, text_in
from fleet.elements.named import address
from fleet.facts import house
from fleet.rules import own_promises as rules
from fleet.rules.company import Company
from fleet.rules.dates import in_words
from fleet.rules.wording import own_promises as wording

FIELDS = ("system_id", "words", "conditions", "made_by", "made_on", "until", "cost_at_most")


def promise_of(row: models.OwnPromise) -> rules.OwnPromise:
    """A promise as the rules see it."""
    return rules.OwnPromise(row.until, row.cost_at_most, row.called_on, row.released_on)


def _stands(row: models.OwnPromise, *, on: dt.date) -> str:
    return wording.stands(promise_of(row).state(on), row.until, row.called_on, row.released_on)


def shown(pk: int) -> dict[str, object] | None:
    """What was promised, as its form shows it; None if there is no such promise."""
    return models.OwnPromise.objects.filter(pk=pk).values(*FIELDS).first()


def systems(site: int) -> list[tuple[int, str]] | None:
    """The systems of a site by key and name; None if there is no such site."""
    if not models.Site.objects.filter(pk=site).exists():
        return None
    return list(models.System.objects.filter(site=site).order_by("name").values_list("pk", "name"))


def site(pk: int) -> models.Site | None:
    """The site that a promise is to be made for."""
    return models.Site.objects.select_related("customer").filter(pk=pk).first()


def promise(pk: int, *, on: dt.date) -> pages.PromisePage | None:
    """The page of a promise; None if there is none."""
    row = models.OwnPromise.objects.select_related("site", "customer", "system").filter(pk=pk).first()
    if row is None:
        return None
    place = row.site
    return pages.PromisePage(
        pk=row.pk,
        site_pk=place.pk,
        site=f"{place.name}, {where}" if (where := address(place)) else place.name,
        customer=row.customer.name,
        phone=row.customer.phone,
        system=row.system.name if row.system else "",
        words=row.words,
        conditions=row.conditions,
        made_by=row.made_by,
        made_on=row.made_on,
        until=row.until,
        cost_at_most=row.cost_at_most,
        stands=_stands(row, on=on),
        called_what=row.called_what,
        called_cost=row.called_cost,
        released_why=row.released_why,
        is_open=row.called_on is None and row.released_on is None,
        changes=tuple(changes(row, wording.FIELDS)),
    )


def rows_of_site(pk: int) -> list[models.OwnPromise]:
    """Whatever was promised at a site."""
    return list(models.OwnPromise.objects.filter(site=pk).select_related("customer", "system", "site"))


def lines(rows: Iterable[models.OwnPromise], *, on: dt.date) -> tuple[pages.Line, ...]:
    """Promises as a site's page shows them, those that stand first."""
    ordered = sorted(rows, key=lambda row: (promise_of(row).state(on) != rules.STANDING, row.until, row.pk))
    return tuple(_line(row, on=on) for row in ordered)


def _line(row: models.OwnPromise, *, on: dt.date) -> pages.Line:
    system = f"{row.system.name}: " if row.system else ""
    # The house may have another owner by now.
    whom = "" if row.customer_id == row.site.customer_id else row.customer.name
    return pages.Line(row.pk, f"{system}{row.words}", row.conditions, _stands(row, on=on), whom)


def paper(pk: int, *, company: Company, on: dt.date) -> pages.Paper | None:
    """A promise as the customer gets it; None if there is none."""
    row = models.OwnPromise.objects.select_related("site", "customer", "system").filter(pk=pk).first()
    if row is None:
        return None
    return pages.Paper(
        customer=row.customer.name,
        where=address(row.site) or row.site.name,
        system=row.system.name if row.system else "",
        words=row.words,
        conditions=row.conditions,
        made_by=row.made_by,
        made_on=in_words(row.made_on),
        until=in_words(row.until),
        written_on=in_words(on),
        sender=company,
    )


def reserve(*, on: dt.date) -> pages.Reserve:
    """What the standing promises could cost at most, by the month in which they lapse, against the owner's reserve."""
    rows = models.OwnPromise.objects.filter(until__gte=on, called_on=None, released_on=None)
    ahead = rules.exposure(map(promise_of, rows), on=on)
    return pages.Reserve(
        wording.against_reserve(ahead, house.house().promise_reserve),
        tuple(pages.Ahead(one.month, one.promises, one.cost, one.without_cost) for one in ahead),
    )


# ----------------------------------------------------------------------------------------------------------------- the list


def _rows(filters: Any, on: dt.date) -> QuerySet[models.OwnPromise]:
    rows = models.OwnPromise.objects.select_related("site", "customer", "system")
    return rows.filter(_in_state(filters.state, on=on)) if filters.state else rows


def _in_state(state: str, *, on: dt.date) -> Q:
    called, released = Q(called_on__lte=on), Q(released_on__lte=on)
    open_ = Q(called_on=None) & Q(released_on=None)
    return {
        rules.CALLED: called,
        rules.RELEASED: released,
        rules.LAPSED: open_ & Q(until__lt=on),
        rules.STANDING: open_ & Q(until__gte=on),
    }[state]


def _complete(rows: list[Any], on: dt.date) -> list[Any]:
    for row in rows:
        row.stands = _stands(row, on=on)
    return rows


def _lead(listing: Listing) -> dict[str, Any]:
    return {
        "sentence": reserve(on=listing.on).sentence or wording.in_all(0),
        "nothing_on_file": not listing.count and not models.OwnPromise.objects.exists(),
    }


PROMISES = List(
    file="our-promises",
    caption="Promises of our own, by their last day",
    rows=_rows,
    complete=_complete,
    lead=_lead,
    usual="until",
    tie=("pk",),
    columns=(
        named.customer("customer", with_phone=True),
        named.site("site"),
        Column("phone", "Phone", value="customer.phone", shown=False),
        Column("system", "System", value=lambda row: row.system.name if row.system else ""),
        Column("words", "Promise", value=lambda row: Cell(row.words, Link("own_promise", row.pk))),
        Column("conditions", "Conditions", shown=False),
        Column("made_by", "Made by", shown=False),
        Column("made_on", "Made on", "day", order=("made_on",)),
        Column("until", "Last day", "day", order=("until",)),
        Column("state", "State", value="stands"),
        Column("cost_at_most", "Cost at most", "money", order=("cost_at_most",)),
        Column("called_what", "What was done", shown=False),
        Column("called_cost", "What it cost", "money", shown=False),
    ),
    filters=(
        Filter("state", "State", list(rules.STATES)),
        Filter("text", "Customer, site or promise has", where=text_in("customer__name", "site__name", "words")),
    ),
)
