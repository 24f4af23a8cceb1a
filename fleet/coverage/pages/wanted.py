"""What facts are wanted for, how each is asked for, and what filling one in opened."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.wanted import DAYS, YES_NO, Opened

TITLES: Mapping[str, str] = {
    "started_on": "Day it was started",
    "installed_on": "Day it was installed",
    "purchased_on": "Day it was purchased",
    "manufactured_on": "Day it was manufactured",
    "attached_on": "Day these terms were bought",
    "region": "Region of the site",
    "use": "What the site is used for",
    "new_construction": "New construction or not",
    "closed_on": "Closing day of the house",
    "recognized_installer": "Put in by a recognized installer",
    "licensed_installer": "Put in by a licensed installer",
    "matched_system": "Part of a matched system",
    "original_site": "At its original site",
    "maintenance": "Proof of maintenance",
    "serial": "Serial",
    "style": "Style of the head",
}

# What a fact is wanted for where it opens no days.
WANTED_FOR: Mapping[str, str] = {
    "serial": "every claim needs it",
    "style": "upkeep hangs on it",
    "installed_on": "upkeep is counted from it",
}
WANTED_AS_PROOF = "a payer may ask for proof of it"


@dataclass(frozen=True, slots=True)
class Ask:
    """One fact wanted, as the form in its row asks for it."""

    fact: str
    unit: int
    site: int | None

    @property
    def title(self) -> str:
        """What is wanted."""
        return TITLES[self.fact]

    @property
    def choices(self) -> tuple[str, ...]:
        """What may be chosen; nothing where a text or a day is wanted."""
        if self.fact in YES_NO:
            return ("yes", "no")
        return {"use": words.USES, "style": words.STYLES}.get(self.fact, ())

    @property
    def is_day(self) -> bool:
        """Whether a day is wanted."""
        return self.fact in (*DAYS, "maintenance")


@dataclass(frozen=True, slots=True)
class Undo:
    """What this person filled in just now and may leave blank again."""

    change: int
    title: str
    value: str


def kinds(fact: str, days: tuple[int, ...]) -> str:
    """The days of coverage that a fact may open, by kind of cost; where none, what the fact is needed for.

    >>> kinds("region", (1825, 0, 30, 0)), kinds("serial", (0, 0, 0, 0))
    ('parts 1,825 days, refrigerant 30 days', 'every claim needs it')
    """
    told = (f"{kind} {number:,} days" for kind, number in zip(words.KINDS, days, strict=True) if number)
    return ", ".join(told) or WANTED_FOR.get(fact, WANTED_AS_PROOF)


def opened(found: Opened) -> str:
    """What filling in a fact changed, in sentences.

    >>> opened(Opened(0, (), 0))
    'Recorded. No coverage changed.'
    """
    told = []
    if found.units:
        lasts = ", ".join(
            f"{kind} {'for the life of the unit' if last is None else f'to {in_words(last)}'}"
            for kind, last in found.lasts
        )
        told.append(f"Coverage of {_units(found.units)} opened: {lasts}.")
    if found.lost:
        told.append(f"Some coverage of {_units(found.lost)} ends sooner than was thought.")
    return " ".join(told) or "Recorded. No coverage changed."


def _units(number: int) -> str:
    return "1 unit" if number == 1 else f"{number:,} units"
