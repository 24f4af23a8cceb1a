"""Who we are, where our clocks stand, and our account numbers with payers."""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.conf import settings

from fleet import models
from fleet.rules import company as rules

# What the owner tells of the company.
FIELDS = ("name", "address", "phone", "license_number", "country", "time_zone")


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


# What a new company does first, in this order.
STEPS = ("company", "terms", "care sheet", "hours", "people", "import")


@dataclass(frozen=True, slots=True)
class Steps:
    """What of the first steps is done, by their codes, what was left out, and whether the list was put away."""

    done: Mapping[str, bool]
    skipped: frozenset[str]
    is_over: bool

    @property
    def is_open(self) -> bool:
        """Whether some step is neither done nor left out, and the list was not put away."""
        return not self.is_over and any(not done and code not in self.skipped for code, done in self.done.items())


def steps() -> Steps:
    """How far a new company has come: each step is done once its facts are on file, whichever way they came."""
    found = row()
    done = {
        "company": bool(found.name),
        "terms": models.Terms.objects.exists(),
        "care sheet": models.CareSheet.objects.filter(in_force=True).exists(),
        "hours": models.MonthHours.objects.exists() or models.Change.objects.filter(table="house").exists(),
        "people": models.User.objects.count() > 1,
        "import": models.Unit.objects.exists(),
    }
    return Steps(done, frozenset(found.steps_skipped), found.steps_over_on is not None)


def account_with(payer: str) -> str:
    """Our account number with a payer, called as its claims call it; blank where none is on file."""
    found = models.PayerAccount.objects.filter(payer__iexact=payer).values_list("account", flat=True).first()
    return found or ""
