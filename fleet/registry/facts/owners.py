"""Who owns a house, as a payer asks for it: the contact who is the owner, else the customer."""

from typing import Any

from django.db.models import F, OuterRef, Subquery
from django.db.models.functions import Coalesce

from fleet import models


def owner_of(site: models.Site) -> tuple[str, str, str]:
    """The owner's name, phone and e-mail."""
    contact = models.Contact.objects.filter(site=site, role="owner").first()
    payer = site.customer
    if contact is None:
        return payer.name, payer.phone, payer.email
    return contact.name, contact.phone or payer.phone, contact.email or payer.email


def name_at(site: str) -> Any:
    """The owner's name in a query, by the way to the site from a row."""
    contact = models.Contact.objects.filter(site=OuterRef(f"{site}_id"), role="owner").order_by("name", "pk")
    return Coalesce(Subquery(contact.values("name")[:1]), F(f"{site}__customer__name"))
