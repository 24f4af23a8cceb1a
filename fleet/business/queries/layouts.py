"""Layouts compared by the care sheet in force."""

from fleet.business.pages import layouts as pages
from fleet.facts.care import care_sheet
from fleet.rules.layouts import Comparison


def compared(comparison: Comparison) -> pages.Compared | None:
    """Compare layouts; None while no care sheet is in force."""
    sheet = care_sheet()
    return None if sheet is None else pages.compared(comparison, sheet)
