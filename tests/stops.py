"""An eight-head house for the tests of visits, stops and write-ups: put in on February 1, 2025, asked about on March 2, 2026."""

import datetime as dt
from typing import Any

from fleet import models
from fleet.care.actions import care_sheets
from tests import company
from tests.caring import entry

TODAY = company.TODAY
CHECKED = {"checked_on": dt.date(2026, 1, 1)}
# Due on February 1, 2026, from January 2, late after March 3; a Tuesday.
SHEET: dict[str, Any] = {
    "code": "ours-1",
    "setup_minutes": 20,
    "access_minutes": {"high": 15},
    "task": [
        entry("coil", title="Clean the coil", dirt="coil", price="60.00", further_price="40.00",
              cautions=["Power off and locked out before the cover is opened."], **CHECKED),
        entry("drain", title="Clear the drain line", per="drain line", minutes=15, **CHECKED),
        entry("check", title="Check the volts", per="outdoor", minutes=10, **CHECKED),
        entry("wash", title="Wash the filter", by="owner", every_months=1, early_days=7, late_days=14, price="0.00", **CHECKED),
    ],
}  # fmt: skip


def house(heads: int = 8, *, began: str = "2025-02-01", on: dt.date = TODAY, **named: Any) -> list[models.Unit]:
    """Outdoor unit and heads of one site with everything worked out; the heads first, by room."""
    company.on_file()
    care_sheets.load_table(SHEET, on=on)
    made = [
        company.unit(f"SB-{number}", room=f"Room {number}", started_on=began, installed_on=began, **named)
        for number in range(1, heads + 1)
    ]
    made.append(company.unit("OD-1", role="outdoor", style="", model="NX-36", started_on=began, installed_on=began))
    models.Site.objects.filter(pk=made[0].system.site_id).update(drive_minutes=40)
    company.worked_out(on)
    return made


def agreed(site: models.Site) -> models.Agreement:
    """Two visits a year from June 2025 on, for a year."""
    return models.Agreement.objects.create(
        site=site,
        reference="M-1",
        start_on=company.day("2025-06-01"),
        months=12,
        visits_per_year=2,
        first_head=90,
        further_head=40,
    )


def due(unit: models.Unit, task: str = "coil") -> models.DueRow:
    return models.DueRow.objects.get(unit=unit, task=task)
