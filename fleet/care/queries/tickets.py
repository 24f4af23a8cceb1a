"""Tickets of visits, and to whom they were emailed."""

import datetime as dt
from collections.abc import Iterator

from fleet import models
from fleet.care.pages import tickets as pages
from fleet.care.pages.write_ups import OfUnit
from fleet.care.queries import write_ups
from fleet.elements.named import address, local_moment
from fleet.facts.care import care_sheet


def ticket(pk: int, *, on: dt.date) -> pages.Ticket | None:
    """The ticket of a write-up; None if there is none, or it was taken back."""
    page = write_ups.page(pk, on=on)
    if page is None or page.taken_back is not None:
        return None
    row = models.WriteUp.objects.select_related("site").defer("content").get(pk=pk)
    return pages.Ticket(
        pk=pk,
        customer=page.customer,
        site=page.name,
        address=address(row.site),
        on=page.on,
        technician=page.technician,
        units=tuple(pages.OfUnit(unit.name, _what(unit), tuple(_facts(unit))) for unit in page.units),
        failures=tuple(
            f"{one.words}: {'repaired on this visit' if one.repaired else 'not repaired yet'}"
            for one in page.failures
            if not one.voided
        ),
        refrigerant=page.refrigerant,
        signed=page.signed,
        signed_at=page.captured_at or local_moment(row.at),
        cautions=_cautions(row.site_id),
    )


def _what(unit: OfUnit) -> str:
    serial = f", serial {unit.unit.serial}" if unit.unit.serial else ""
    return f"{unit.unit.what} {unit.unit.model}".strip() + serial


def _facts(unit: OfUnit) -> Iterator[tuple[str, str]]:
    """What was written of a unit; its notes are ours, and stay with us."""
    for name, texts in (
        ("Done", [f"{one.title}{f' ({one.following})' if one.following else ''}" for one in unit.done]),
        ("Not done", unit.skipped),
        ("Dirt seen", [", ".join(unit.dirt)] if unit.dirt else []),
        ("Measured", unit.readings),
        ("To watch", unit.warnings),
    ):
        if texts:
            yield name, "\n".join(texts)


def _cautions(site: int) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What the customer is to beware of at what they do themselves here."""
    sheet = care_sheet()
    if sheet is None:
        return ()
    codes = set(models.DueRow.objects.filter(site=site, by="owner").values_list("task", flat=True))
    return tuple((task.title, task.cautions) for task in sheet.tasks if task.code in codes and task.cautions)


def emailed(write_up: int) -> tuple[str, ...]:
    """To whom its ticket was emailed and when, in words, newest first."""
    rows = models.Change.objects.filter(table="writeup", object_id=write_up, field="ticket").order_by("-pk")
    return tuple(f"{row.after}, {local_moment(row.at)}" for row in rows)
