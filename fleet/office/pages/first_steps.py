"""The first steps of a new company: what each is for, where it is done, and how far it has come."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its code, its words, what it is for, the address where it is done, and where it stands."""

    code: str
    title: str
    what_for: str
    address: str
    is_done: bool
    is_skipped: bool

    @property
    def stands(self) -> str:
        """Where it stands, in words."""
        return "Done" if self.is_done else "Left out" if self.is_skipped else "To do"

    @property
    def is_open(self) -> bool:
        """Whether it waits for somebody."""
        return not (self.is_done or self.is_skipped)


# Code, title, what for, and the name of the address where it is done.
WORDS = (
    ("company", "Your company", "Its name, address, phone and license stand on every letter and claim.", "company"),
    (
        "terms",
        "Terms",
        "What manufacturers, labor plans and you yourselves promise: who pays for what, until when, follows from them.",
        "terms_list",
    ),
    ("care sheet", "Care sheet", "Your maintenance tasks: how often each comes due, and at what price.", "care_sheet"),
    ("hours", "Hours and rates", "The days you work and the hours you have for visits.", "house"),
    ("people", "People", "A login for everybody in the office and on the road.", "people"),
    (
        "import",
        "Your customers and units",
        "Import the spreadsheet that you have, or enter the first install.",
        "imports",
    ),
)


@dataclass(frozen=True, slots=True)
class StepsPage:
    """All steps in order, and whether the list was put away."""

    steps: tuple[Step, ...]
    is_over: bool

    @property
    def next(self) -> Step | None:
        """The first one that waits."""
        return next((step for step in self.steps if step.is_open), None)

    @property
    def done(self) -> int:
        """How many are done or left out."""
        return sum(not step.is_open for step in self.steps)
