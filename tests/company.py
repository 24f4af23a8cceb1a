"""A small company in the database for the tests of pages: people, terms, sites with units, all worked out."""

import datetime as dt
from typing import Any

import time_machine
from django.test import Client

from fleet import models
from fleet.coverage.actions import terms
from fleet.derived import lookup, refresh
from fleet.models.people import Role
from tests import rows
from tests.rows import day

# The day on which these tests are asked.
TODAY = dt.date(2026, 3, 2)
NOON = "2026-03-02T12:00:00-05:00"

MAKER: dict[str, Any] = {
    "code": "northrill-1",
    "payer": "maker",
    "maker": "Northrill",
    "title": "Ductless statement",
    "models": ["*"],
    "installed_from": dt.date(2000, 1, 1),
    "checked_on": dt.date(2025, 6, 1),
    "source": {"title": "Statement 4-B", "page": "2"},
    "starts": [{"from": "started_on"}],
    "registration": {"within_days": 60, "counted_from": "installed_on"},
    "coverage": [
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["registered", "licensed installer"]}],
        },
        {"pays_for": ["parts"], "components": ["compressor"], "tiers": [{"months": 84}]},
    ],
}
OURS: dict[str, Any] = {
    "code": "ours-1",
    "payer": "installer",
    "maker": "*",
    "title": "Our workmanship",
    "models": ["*"],
    "installed_from": dt.date(2000, 1, 1),
    "checked_on": dt.date(2025, 9, 1),
    "source": {"title": "Our proposal"},
    "starts": [{"from": "started_on"}],
    "coverage": [{"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 24}]}],
}


def person(role: str, **named: Any) -> models.User:
    """Somebody with this role; blank: nobody gave them one."""
    return models.User.objects.create_user(role or "stranger", password="quiet-ledger-9", role=role, **named)


def as_role(role: str) -> Client:
    """A browser in which somebody of this role has logged in."""
    found = models.User.objects.filter(username=role).first() or person(role, first_name="Wynn", last_name=role.title())
    client = Client()
    client.force_login(found)
    return client


def everybody() -> list[str]:
    return [role.value for role in Role]


def on_day(day: str | dt.date) -> time_machine.travel:
    """Let it be noon of another day."""
    return time_machine.travel(f"{day}T12:00:00-05:00", tick=True)


def on_file(*tables: dict[str, Any]) -> list[models.Terms]:
    """Put terms on file: the maker's and ours where nothing else is said."""
    tables = tables or (MAKER, OURS)
    terms.load_tables(tables, on=TODAY)
    return [models.Terms.objects.get(code=table["code"]) for table in tables]


def unit(serial: str, *, customer: str = "Odile Marsh", site: str = "Home", **named: Any) -> models.Unit:
    """One unit at a customer's site; days are written as text. `worked_out()` keeps what the rules say of it."""
    number, numbered = named.pop("registered_on", None), named.pop("registration_number", "")
    values = {"role": "head", "style": "wall", "maker": "Northrill", "model": "NH-9", "room": "", **named}
    payer, new_payer = models.Customer.objects.get_or_create(name=customer, defaults={"phone": "555-0100"})
    place, new_place = models.Site.objects.get_or_create(customer=payer, name=site, defaults={"street": "7 Tar Lane"})
    system, _ = models.System.objects.get_or_create(site=place, name="Whole house")
    made = rows.unit(serial, within=system, **values)
    if number:
        models.Registration.objects.create(unit=made, registered_on=day(number), number=numbered, with_install=True)
    lookup.index(customers=[payer] * new_payer, sites=[place] * new_place, units=[made])
    return made


def worked_out(on: dt.date = TODAY) -> None:
    """Keep what the rules say of every unit."""
    refresh.refresh_all(on=on)
