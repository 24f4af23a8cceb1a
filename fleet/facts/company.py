"""Who we are, where our clocks stand, and our account numbers with payers."""

from contextlib import suppress
from zoneinfo import ZoneInfo

from django.conf import settings

from fleet import models
from fleet.rules import company as rules


def row() -> models.Company:
    """The row of our company, or one with everything as it is before anybody entered it (not saved)."""
    return models.Company.objects.filter(pk=1).first() or models.Company(pk=1)


def company() -> rules.Company:
    """Who we are, as papers say it; before a name is entered, what the server's own setting says."""
    found = row()
    return rules.Company(
        name=found.name or settings.COMPANY,
        address=tuple(line.strip() for line in found.address.splitlines() if line.strip()),
        phone=found.phone,
        license_number=found.license_number,
        logo=picture(found.logo),
    )


def picture(stored: str) -> bytes:
    """The stored logo; nothing where there is none, or where the disk has it no more."""
    if stored:
        with suppress(OSError):
            return (settings.MEDIA_ROOT / stored).read_bytes()
    return b""


def zone() -> ZoneInfo:
    """The time zone that our days are counted in: the one chosen on the company's page, else the server's own."""
    chosen = models.Company.objects.filter(pk=1).values_list("time_zone", flat=True).first()
    # A backup may come from a computer that knows more zones than this one.
    with suppress(KeyError, ValueError, OSError):
        return ZoneInfo(chosen or settings.TIME_ZONE)
    return ZoneInfo(settings.TIME_ZONE)


def account_with(payer: str) -> str:
    """Our account number with a payer, called as its claims call it; blank where none is on file."""
    found = models.PayerAccount.objects.filter(payer__iexact=payer).values_list("account", flat=True).first()
    return found or ""
