"""Rows in the database for tests, in one line each: days are written as text, and only what matters is named."""

import datetime as dt
import hashlib
import itertools
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.db import connection, transaction

from fleet import models
from fleet.loading import installs
from fleet.rules import words

# The day on which these tests are asked.
TODAY = dt.date(2026, 11, 24)

INSTALL = {
    "customer": "Ada Quill",
    "site": "Home",
    "system": "Main",
    "role": "head",
    "room": "Den",
    "maker": "Osmarik",
    "model": "OC-9",
}
# A row with something in every column.
FULL = {
    "customer": "Ada Quill", "phone": "555-0101", "email": "ada@example.com", "site": "Home", "street": "4 Alder Road",
    "city": "Brackwater", "region": "US-KY", "postcode": "04791", "use": "owner home", "new_construction": "no",
    "closed_on": "2014-02-03", "drive_minutes": "35", "system": "Main", "role": "head", "style": "wall", "room": "Den",
    "maker": "Osmarik", "model": "OC-9", "serial": "A 1-1", "purchased_on": "2019-05-01", "installed_on": "2019-05-03",
    "started_on": "2019-05-04", "manufactured_on": "2018-11-30", "installed_by": "us", "installer": "Robin Vale",
    "registered_on": "2019-06-01", "registration_number": "K-77", "registration_accepted_late": "no",
    "recognized_installer": "yes", "licensed_installer": "yes", "matched_system": "no", "original_site": "yes",
    "drain": "gravity", "surroundings": "all year; pets", "access": "high", "refrigerant": "R-410A",
    "plate_charge_oz": "38.5", "plate_amps": "7.1", "filter_size": "16 x 25 x 1", "attached": "plan-1", "notes": "Label is faint",
}  # fmt: skip
_numbers = itertools.count(1)

TERMS: dict[str, Any] = {
    "code": "osmarik-1",
    "payer": "maker",
    "maker": "Osmarik",
    "title": "Statement",
    "models": ["*"],
    "installed_from": dt.date(2000, 1, 1),
    "checked_on": dt.date(2020, 1, 1),
    "source": {"title": "Statement"},
    "starts": [{"from": "installed_on"}],
    "coverage": [{"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60}]}],
}
PLAN: dict[str, Any] = TERMS | {"code": "plan-1", "payer": "labor plan", "maker": "*"}


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def days(named: Mapping[str, Any]) -> dict[str, Any]:
    """Facts of a row whose days are written as text, or None."""
    return {name: day(value) if value and name.endswith("_on") else value for name, value in named.items()}


def customer(name: str = "", **named: Any) -> models.Customer:
    return models.Customer.objects.create(name=name or f"Customer {next(_numbers)}", **named)


def site(of: models.Customer | None = None, name: str = "Home", **named: Any) -> models.Site:
    use = named.pop("use", "")
    made = models.Site.objects.create(customer=of or customer(), name=name, **days(named))
    if use:
        made.uses.create(use=use)
    return made


def system(at: models.Site | None = None, name: str = "Main") -> models.System:
    return models.System.objects.create(site=at or site(), name=name)


def unit(serial: str = "", *, within: models.System | None = None, **named: Any) -> models.Unit:
    """A unit in a system, which it has stood in since it was put in; without a serial it needs a room."""
    told = {"role": "head", "maker": "Osmarik", "model": "OC-9"} | days(named)
    keys = {
        "maker_key": words.key(told["maker"]),
        "model_key": words.key(told["model"]),
        "serial_key": words.key(serial),
    }
    made = models.Unit.objects.create(system=within or system(), serial=serial, **keys, **told)
    made.places.create(system=made.system, joined_on=made.replaced_on)
    return made


def installed(*told: Mapping[str, str], **how: Any) -> installs.Report:
    """Load rows of an installs file; what a row leaves out is filled in the same way everywhere."""
    return installs.load_rows([INSTALL | row for row in told], **{"on": TODAY} | how)


# What no comparison looks at: keys, and what differs between any two loads.
_PASSING = {"load", "load_id", "at"}


def everything() -> str:
    """Fold all that is on file, so that two moments can be compared."""
    tables = [
        models.Customer, models.Site, models.SiteUse, models.Sale, models.System, models.Unit, models.Place, models.Idle,
        models.Registration, models.Notice, models.Attachment, models.Failure, models.MaintenanceRecord, models.HistoryRow,
        models.HoldingRow, models.CoverageRow, models.LookupEntry, models.Change, models.Load, models.Terms,
    ]  # fmt: skip
    folded = hashlib.sha256()
    for table in tables:
        for row in table.objects.order_by("pk").values_list():
            folded.update(repr((table.__name__, row)).encode())
    return folded.hexdigest()


def said() -> list[tuple[Any, ...]]:
    """List what is on file of customers, sites, systems and units, by their names and not by their keys."""
    found: list[tuple[Any, ...]] = []
    for row in models.Unit.objects.select_related("system__site__customer", "took_over_from").all():
        place = row.system.site
        line = {
            name: value
            for name, value in vars(row).items()
            if name not in _PASSING and not name.endswith("id") and name[0] != "_"
        }
        where = {
            name: getattr(place, name) for name in ("name", "street", "city", "region", "closed_on", "new_construction")
        }
        told = sorted(row.registrations.values_list("registered_on", "number", "accepted_late").all(), key=str)
        terms = sorted(row.attachments.values_list("terms__code", "attached_on"), key=str)
        uses = sorted(place.uses.values_list("use", "from_on"), key=str)
        names = (place.customer.name, place.customer.phone, row.system.name)
        found.append((*names, str(where), str(line), str(told), str(terms), str(uses)))
    return sorted(found)


@contextmanager
def undone() -> Iterator[None]:
    """Undo whatever the block writes, so that one test can try many things."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@contextmanager
def asked() -> Iterator[list[str]]:
    """List the queries that the block makes."""
    found: list[str] = []

    def note(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        found.append(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(note):
        yield found
