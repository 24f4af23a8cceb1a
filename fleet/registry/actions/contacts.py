"""People to reach about a site: put on file, put right, dropped; each with what it was, on the site."""

from collections.abc import Mapping

from django.db import transaction

from fleet import models
from fleet.derived import lookup
from fleet.log import Log
from fleet.refusals import check

FIELDS = ("name", "role", "phone", "email", "reach")


def add(*, site: int, told: Mapping[str, str], by: models.User | None) -> models.Contact:
    """Put somebody on file for a site."""
    with transaction.atomic():
        made = models.Contact(site=models.Site.objects.get(pk=site))
        _write(made, told)
        _log(made.site, "", _words(made), by=by)
        lookup.lines([made.site])
    return made


def change(*, pk: int, told: Mapping[str, str], by: models.User | None) -> bool:
    """Put a contact right; return whether anything was different."""
    with transaction.atomic():
        found = models.Contact.objects.select_for_update().select_related("site").get(pk=pk)
        before = _words(found)
        _write(found, told)
        after = _words(found)
        if before != after:
            _log(found.site, before, after, by=by)
            lookup.lines([found.site])
    return before != after


def drop(*, pk: int, by: models.User | None) -> None:
    """Take a contact off a site."""
    with transaction.atomic():
        found = models.Contact.objects.select_for_update().select_related("site").get(pk=pk)
        _log(found.site, _words(found), "", by=by)
        found.delete()
        lookup.lines([found.site])


def _write(contact: models.Contact, told: Mapping[str, str]) -> None:
    for field in FIELDS:
        setattr(contact, field, told.get(field, "").strip())
    check(contact)
    contact.save()


def _words(contact: models.Contact) -> str:
    return ", ".join(filter(None, (contact.name, contact.role, contact.phone, contact.email, contact.reach)))


def _log(site: models.Site, before: str, after: str, *, by: models.User | None) -> None:
    log = Log(by=by)
    log.note(None, site, "contact", before, after)
    log.write()
