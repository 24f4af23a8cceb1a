"""Missing information: what it is needed for, how each fact is asked for, and what filling one in changed."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.rules import words
from fleet.rules.dates import in_words
from fleet.rules.missing_facts import DAYS, YES_NO, Opened
from fleet.rules.wording.names import listed, span

TITLES: Mapping[str, str] = {
    "started_on": "Startup day",
    "installed_on": "Install day",
    "purchased_on": "Purchase day",
    "manufactured_on": "Manufacture day",
    "attached_on": "Day the plan was bought",
    "region": "State of the site",
    "use": "What the site is used for",
    "new_construction": "Newly built house or not",
    "closed_on": "Closing day of the new house",
    "recognized_installer": "Installed by a recognized installer",
    "licensed_installer": "Installed by a licensed installer",
    "matched_system": "Part of a matched system",
    "original_site": "Still at its first address",
    "maintenance": "Proof of maintenance",
    "serial": "Serial",
    "style": "Style of the head",
}

# What a fact is needed for where it extends no coverage.
NEEDED_FOR: Mapping[str, str] = {
    "serial": "every claim needs it",
    "style": "maintenance depends on it",
    "installed_on": "maintenance is counted from it",
}
NEEDED_AS_PROOF = "the payer may ask for proof of it"


@dataclass(frozen=True, slots=True)
class Ask:
    """One missing fact, as the form in its row asks for it."""

    fact: str
    unit: int
    site: int | None

    @property
    def title(self) -> str:
        """What is missing."""
        return TITLES[self.fact]

    @property
    def choices(self) -> tuple[str, ...]:
        """What may be chosen; nothing where a text or a day is entered."""
        if self.fact in YES_NO:
            return ("yes", "no")
        return {"use": words.USES, "style": words.STYLES}.get(self.fact, ())

    @property
    def is_day(self) -> bool:
        """Whether it is a day."""
        return self.fact in (*DAYS, "maintenance")


@dataclass(frozen=True, slots=True)
class Undo:
    """What this person filled in just now and may leave blank again."""

    change: int
    title: str
    value: str


def kinds(fact: str, days: tuple[int, ...], units: int = 1) -> str:
    """The most coverage that a fact may add to one unit, by kind of cost; where none, what the fact is needed for.

    `days` is what it may add to the unit that gains most, and `units` how many gain.

    >>> kinds("region", (1826, 0, 30, 0), 4), kinds("serial", (0, 0, 0, 0))
    ('up to 5 more years of parts and 30 more days of refrigerant on 4 units', 'every claim needs it')
    """
    gains = [f"{span(number, 'more')} of {kind}" for kind, number in zip(words.KINDS, days, strict=True) if number]
    if not gains:
        return NEEDED_FOR.get(fact, NEEDED_AS_PROOF)
    return f"up to {listed(gains)}{f' on {units:,} units' if units > 1 else ''}"


def opened(change: Opened) -> str:
    """What filling in a fact changed, in sentences.

    >>> opened(Opened(0, (), 0))
    'Recorded. No coverage changes.'
    """
    sentences = []
    if change.units:
        lasts = ", ".join(
            f"{kind} {'for the life of the unit' if last is None else f'until {in_words(last)}'}"
            for kind, last in change.lasts
        )
        sentences.append(f"Recorded. Coverage of {_units(change.units)} runs longer: {lasts}.")
    if change.lost:
        sentences.append(f"Some coverage of {_units(change.lost)} ends sooner than we thought.")
    return " ".join(sentences) or "Recorded. No coverage changes."


def _units(number: int) -> str:
    return "1 unit" if number == 1 else f"{number:,} units"
