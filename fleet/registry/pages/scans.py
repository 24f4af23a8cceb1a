"""What was read in a photo, as a person is shown it."""

from dataclasses import dataclass

from fleet.elements.pieces import UnitLink


@dataclass(frozen=True, slots=True)
class Match:
    """A unit on file that a code may mean, and whose it is."""

    unit: UnitLink
    site: int
    whose: str


@dataclass(frozen=True, slots=True)
class Read:
    """One code of a photo: its number there, kind and text; the serial that it most likely says, and the units of that serial.

    `label`: it is the code of a label of ours; `blank`: one that is on no unit.
    """

    number: int
    kind: str
    text: str
    serial: str
    matches: tuple[Match, ...] = ()
    label: int | None = None
    blank: bool = False
