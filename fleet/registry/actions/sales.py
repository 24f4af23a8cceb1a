"""A house that was sold: the site goes to its new owner, and payers are told of it."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from fleet import models
from fleet.derived import lookup, refresh
from fleet.log import Log
from fleet.refusals import Conflict, Refused
from fleet.registry.actions.undoing import drop, forget, is_free, reason
from fleet.rules.dates import in_words


@dataclass(frozen=True, slots=True)
class Buyer:
    """Who bought. `whose` says which customer that is, where the name is on file: one of them by key, or `NEW` for another."""

    name: str
    phone: str = ""
    email: str = ""
    whose: int | None = None


def sell(
    site: int, *, sold_on: dt.date, buyer: Buyer, called: str = "", by: models.User | None, on: dt.date
) -> models.Sale:
    """Record that the house was sold, and give the site with all that stands there to the new owner.

    `called` is its name from then on, where they have another site of the one that it has.
    """
    with transaction.atomic():
        row = models.Site.objects.select_for_update().select_related("customer").get(pk=site)
        seller = row.customer
        _check(row, sold_on=sold_on, buyer=buyer, on=on)
        log = Log(by=by)
        owner = _owner(buyer, seller)
        name = called or row.name
        if owner.sites.filter(name=name).exists():
            raise Refused({"called": f"{owner} already has a site named {name}. Enter another name for this one."})
        # A file may have told of the day alone.
        sale, _ = models.Sale.objects.get_or_create(site=row, sold_on=sold_on)
        sale.seller, sale.buyer = seller, owner
        sale.save(update_fields=["seller", "buyer"])
        log.note(None, row, "customer", seller, owner, why=f"sold on {sold_on}")
        if name != row.name:
            log.note(None, row, "name", row.name, name, why=f"sold on {sold_on}")
        log.write()
        row.customer, row.name = owner, name
        row.save(update_fields=["customer", "name"])
        lookup.index(sites=[row])
        _work_out(row, on=on)
    return sale


def _owner(buyer: Buyer, seller: models.Customer) -> models.Customer:
    """The customer who bought: the one on file that was said, or a new one."""
    named = models.Customer.objects.filter(name=buyer.name)
    if buyer.whose is None and named.exists():
        raise Refused({"whose": f"{buyer.name} is on file already. Choose who bought the house."})
    if buyer.whose:
        owner = named.filter(pk=buyer.whose).first()
        if owner is None:
            raise Refused({"whose": f"That customer is no longer on file as {buyer.name}. Choose again."})
        if owner == seller:
            raise Refused({"whose": f"{owner} owns this site already."})
        return owner
    owner = models.Customer.objects.create(name=buyer.name, phone=buyer.phone, email=buyer.email)
    lookup.index(customers=[owner])
    return owner


def _check(row: models.Site, *, sold_on: dt.date, buyer: Buyer, on: dt.date) -> None:
    faults = {}
    if not buyer.name:
        faults["buyer"] = "Enter the new owner's name."
    if sold_on > on:
        faults["sold_on"] = f"Enter a sale once it has closed, on {in_words(on)} or earlier."
    elif row.closed_on is not None and sold_on <= row.closed_on:
        faults["sold_on"] = f"The new house closed on {in_words(row.closed_on)}; a later sale is on a day after that."
    elif later := row.sales.filter(sold_on__gt=sold_on).first():
        faults["sold_on"] = f"A later sale is on file, on {in_words(later.sold_on)}. Undo that one first."
    elif row.sales.filter(sold_on=sold_on, buyer__isnull=False).exists():
        faults["sold_on"] = f"The sale on {in_words(sold_on)} is already on file, with its buyer."
    if faults:
        raise Refused(faults)


def told(
    site: int, *, terms: int, told_on: dt.date, number: str, by: models.User | None, on: dt.date
) -> list[models.Notice]:
    """Record that a payer was told of the last sale: for every unit of the site that holds its terms."""
    with transaction.atomic():
        row = models.Site.objects.select_for_update().get(pk=site)
        sale = row.sales.order_by("-sold_on").first()
        if sale is None:
            raise Refused({"": "No sale of this house is on file."})
        if not sale.sold_on <= told_on <= on:
            raise Refused({"told_on": f"Choose a day from the sale on {in_words(sale.sold_on)} to today."})
        there = models.Unit.objects.filter(system__site=row, removed_on=None, holdings__terms=terms).order_by("pk")
        notices = [
            models.Notice(unit=unit, terms_id=terms, notified_on=told_on, number=number)
            for unit in there.exclude(notices__terms=terms, notices__notified_on=told_on)
        ]
        if not notices:
            raise Refused({"": "Nothing to record: no unit here has these terms, or the notice is already on file."})
        models.Notice.objects.bulk_create(notices)
        log = Log(by=by)
        code = models.Terms.objects.get(pk=terms).title
        log.note(None, row, "payer told", "", f"{code}, {told_on}")
        log.write()
        refresh.refresh([notice.unit_id for notice in notices], on=on)
    return notices


def undo(
    site: int, *, sold_on: dt.date, why: str, called: str = "", by: models.User | None, on: dt.date
) -> models.Customer:
    """Undo the last sale of a house, recorded by mistake, with its notices to payers; return whose the house is now.

    `called` is its name from then on, where the seller has another site of the one that it had.
    """
    with transaction.atomic():
        row = models.Site.objects.select_for_update().select_related("customer").get(pk=site)
        why = reason(why)
        sale = row.sales.select_related("seller", "buyer").order_by("sold_on").last()
        if sale is None or sale.sold_on != sold_on:
            raise Conflict("Somebody undid this sale meanwhile, or recorded another. Nothing of yours was saved.")
        log = Log(by=by)
        log.note(None, row, "sale", f"{sale.sold_on}, {sale.seller or 'nobody named'} to {sale.buyer or 'nobody named'}", "", why=why)  # fmt: skip
        if sale.seller is not None:
            _to_the_seller(row, sale, called, log)
        told = models.Notice.objects.filter(unit__system__site=row, notified_on__gte=sold_on)
        for notice in told.select_related("terms", "unit"):
            whose = notice.terms.title if notice.terms else "every manufacturer's terms"
            log.note(None, row, "payer told", f"{whose}, {notice.notified_on}, for {notice.unit}", "")
        rows = models.HistoryRow.objects
        forget(rows.filter(table="notice", object_id__in=told.values("pk")))
        forget(rows.filter(table="sale", object_id=sale.pk))
        told.delete()
        sale.delete()
        log.write()
        _work_out(row, on=on)
    return row.customer


def _to_the_seller(row: models.Site, sale: models.Sale, called: str, log: Log) -> None:
    """Return the site to its seller, under the name it had; a buyer of whom nothing else is on file is deleted."""
    buyer, seller = row.customer, sale.seller
    assert seller is not None
    named = models.Change.objects.filter(table="site", object_id=row.pk, field="name", why=f"sold on {sale.sold_on}")
    before = named.order_by("pk").last()
    name = called or (before.before if before is not None and before.after == row.name else row.name)
    if seller.sites.filter(name=name).exists():
        raise Refused({"called": f"{seller} now has another site named {name}. Enter another name for this one."})
    log.note(None, row, "customer", buyer, seller, why="sale undone")
    if name != row.name:
        log.note(None, row, "name", row.name, name, why="sale undone")
    row.customer, row.name = seller, name
    row.save(update_fields=["customer", "name"])
    lookup.index(sites=[row])
    sale.buyer = None
    sale.save(update_fields=["buyer"])
    if is_free(buyer):
        drop(buyer)


def _work_out(row: models.Site, *, on: dt.date) -> None:
    there = models.Place.objects.filter(system__site=row).order_by("unit_id")
    refresh.refresh(list(there.values_list("unit_id", flat=True).distinct()), on=on)
