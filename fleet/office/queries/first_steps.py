"""How far a new company has come."""

from fleet.facts import company
from fleet.office.pages import first_steps as pages


def page() -> pages.StepsPage:
    """The first steps as they stand."""
    found = company.steps()
    steps = tuple(
        pages.Step(code, title, what_for, address, found.done[code], code in found.skipped)
        for code, title, what_for, address in pages.WORDS
    )
    return pages.StepsPage(steps, found.is_over)
