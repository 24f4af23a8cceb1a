"""The two messy spreadsheets, and what is on file of them beside what a careful person would have entered."""

import csv
from collections.abc import Iterator
from pathlib import Path

from fleet import models
from fleet.sheets.columns import in_plain
from tests.paths import FIXTURES

FOLDER = FIXTURES / "spreadsheets"
TERMS = ("tarvane-ductless-2018-draft.toml", "tarvane-ductless-2018.toml", "kolmeri-2019.toml")


def terms() -> list[Path]:
    """The terms of the manufacturers whose units stand in the spreadsheets."""
    return [FIXTURES / "terms" / name for name in TERMS]


def entered(name: str) -> list[dict[str, str]]:
    """What a careful person would have entered."""
    with (FOLDER / f"{name}-entered.csv").open(encoding="utf-8", newline="") as file:
        return sorted(csv.DictReader(file), key=_order)


def on_file(columns: list[str]) -> list[dict[str, str]]:
    """What is on file, in the same columns."""
    return sorted(({name: row[name] for name in columns} for row in _rows()), key=_order)


def _order(row: dict[str, str]) -> tuple[str, ...]:
    return row["customer"], row["system"], row["model"], row["serial"], row["room"]


def _rows() -> Iterator[dict[str, str]]:
    units = models.Unit.objects.select_related("system__site__customer").prefetch_related(
        "registrations", "system__site__uses"
    )
    for unit in units:
        site = unit.system.site
        registration = next(iter(unit.registrations.all()), None)
        use = next(iter(site.uses.all()), None)
        yield {
            **{name: in_plain(getattr(unit, name)) for name in ("role", "style", "room", "maker", "model", "serial", "installed_on", "notes")},
            **{name: getattr(site, name) for name in ("street", "city", "region", "postcode")},
            "customer": site.customer.name,
            "phone": site.customer.phone,
            "email": site.customer.email,
            "site": site.name,
            "system": unit.system.name,
            "use": use.use if use else "",
            "registered_on": in_plain(registration.registered_on) if registration else "",
            "registration_number": registration.number if registration else "",
        }  # fmt: skip


def differences(name: str) -> list[str]:
    """Row by row, what is on file otherwise than a careful person would have entered it."""
    expected = entered(name)
    found = on_file(list(expected[0]))
    said = []
    for want, have in zip(expected, found, strict=False):
        said += [f"{want['customer']} {want['serial'] or want['room']}: {column} is {have[column]!r}, not {want[column]!r}"
                 for column in want if want[column] != have[column]]  # fmt: skip
    if len(found) != len(expected):
        said.append(f"{len(found)} units on file, not {len(expected)}")
    return said
