"""The house of a caller who is not on file: put on file with the call, without a unit, and taken off again."""

import datetime as dt
from collections.abc import Mapping

from django.db import transaction

from fleet import models
from fleet.calls.facts.houses import PUT_ON_FILE, came_with_a_call
from fleet.derived import lookup
from fleet.loading.fact_columns import columns_of
from fleet.log import Log
from fleet.refusals import Conflict, Refused, check
from fleet.registry.actions.undoing import called, drop, is_free, rows_on
from fleet.registry.pages.namesakes import NEW
from fleet.registry.pages.new_install import FIRST_SITE
from fleet.rules import words
from fleet.rules.spreadsheets.places import postcode
from fleet.sheets.columns import ParseError

# What is told of a house, besides whose it is.
FIELDS = ("customer", "phone", "street", "city", "region", "postcode")
_PLACE = ("street", "city", "region", "postcode")


def put(told: Mapping[str, str], *, owner: int | None, by: models.User | None, on: dt.date) -> models.Site:
    """The site of a house at an address, new where its customer has none there; `owner` is the customer's key, `NEW` for another one.

    Call it in the transaction of the call that it is for.
    """
    values = _read(told, on=on)
    customer = models.Customer.objects.select_for_update().filter(pk=owner).first() if owner else None
    if owner and customer is None:
        raise Refused("This customer is no longer on file. Choose again.", "whose")
    if customer is None:
        customer = models.Customer(name=told["customer"].strip(), phone=told.get("phone", "").strip())
        if not customer.name:
            raise Refused("Write whose house it is.", "customer")
        if owner != NEW and models.Customer.objects.filter(name=customer.name).exists():
            raise Refused(f"{customer.name} is on file already. Choose which customer this is.", "whose")
        check(customer)
        customer.save()
        made = [customer]
    else:
        made = []
        for known in customer.sites.all():
            if words.key(known.street) == words.key(values["street"]):
                return known
    site = models.Site(customer=customer, name=_name(customer, values["street"]), **values)
    check(site)
    site.save()
    log = Log(by=by)
    for row in (*made, site):
        log.note(None, row, PUT_ON_FILE, "", values["street"], why="with a call")
    log.write()
    lookup.index(customers=made, sites=[site])
    return site


def _read(told: Mapping[str, str], *, on: dt.date) -> dict[str, str]:
    columns, values, faults = columns_of(models.Site, last=on), {}, {}
    for name in _PLACE:
        text = told.get(name, "").strip()
        try:
            values[name] = columns[name].plain(text) if text else ""
        except ParseError as wanted:
            faults[name] = f"Enter {wanted}."
    if "region" in faults:
        faults["region"] = "Enter a state by its name or its letters, such as Maine or ME."
    if not values.get("street") and "street" not in faults:
        faults["street"] = "Enter the street. A visit is booked for it, and it tells two customers of one name apart."
    if faults:
        raise Refused(faults)
    values["postcode"] = postcode(values["postcode"], values["region"]) or values["postcode"]
    return values


def _name(customer: models.Customer, street: str) -> str:
    """A name that no other site of the customer has: the usual one, else the street, else both with a number."""
    taken = set(customer.sites.values_list("name", flat=True)) if customer.pk else set()
    names = [FIRST_SITE, street[:200], *(f"{FIRST_SITE} {number}" for number in range(2, len(taken) + 3))]
    return next(name for name in names if name not in taken)


# ------------------------------------------------------------------------------------------------------ taken off again


def _hanging(site: models.Site) -> list[str]:
    """What hangs on a site besides its calls, in words."""
    rows = ((found, found.count()) for _, found in rows_on(models.Site, [site.pk]) if found.model is not models.Call)
    return [called(found, number) for found, number in rows if number]


def take_off(call: int, *, by: models.User | None, on: dt.date) -> None:
    """Take the house that was put on file with a call off again, its customer too if nothing else hangs on them; the calls stay."""
    with transaction.atomic():
        row = models.Call.objects.select_for_update(of=("self",)).select_related("site__customer").get(pk=call)
        site = row.site
        if site is None or not came_with_a_call(site):
            raise Conflict("The house that came with this call is already off file.")
        if hanging := _hanging(site):
            raise Refused(f"There is more on file for this house: {', '.join(hanging)}. It stays on file.")
        log = Log(by=by)
        for one in models.Call.objects.select_for_update().filter(site=site).order_by("pk"):
            log.set(one, {"site": None}, why="house taken off file")
            one.save(update_fields=["site"])
        customer = site.customer
        drop(site)
        if came_with_a_call(customer) and is_free(customer):
            drop(customer)
        log.write()
