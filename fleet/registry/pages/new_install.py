"""A new install as values: what is told of it, what is on file that bears on it, and what follows from it."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from fleet.elements.pieces import UnitLink
from fleet.registry.pages.editing import PlacePage

Cells = Mapping[str, str]

# The most units that one form takes at once: a larger job is a file.
MOST_UNITS = 100
FIRST_SITE = "Home"
FIRST_SYSTEM = "System 1"
# What tells one unit from its like; all else a row takes over from the one above.
TOLD_APART = ("room", "serial")


@dataclass(frozen=True, slots=True)
class Told:
    """What somebody wrote of a new install: what holds for all of it, and each unit by its place on the form.

    `owner` is the key of the customer, where the name is on file: one of them, or 0 for another of that name; None: nobody has it.
    """

    system: Cells
    units: Mapping[int, Cells]
    owner: int | None = None

    def rows(self) -> Iterator[dict[str, str]]:
        """The rows that a file of installs would have."""
        for cells in self.units.values():
            yield {**self.system, **cells}


def copied(above: Cells) -> dict[str, str]:
    """What a new row copies from the one above; below anything but a head, a head of that maker is meant.

    >>> copied({"role": "outdoor", "maker": "Halvik", "model": "HW36"})
    {'role': 'head', 'maker': 'Halvik', 'model': ''}
    """
    taken = {name: cell for name, cell in above.items() if name not in TOLD_APART}
    if taken["role"] == "head":
        return taken
    return {**dict.fromkeys(taken, ""), "role": "head", "maker": taken.get("maker", "")}


# ------------------------------------------------------------------------------------------------- what is on file


@dataclass(frozen=True, slots=True)
class Model:
    """A model on file, and what it was when it was put in."""

    maker: str
    model: str
    role: str
    style: str


@dataclass(frozen=True, slots=True)
class Suggestions:
    """What a new install probably has: makers, models and regions on file, labor plans that can be bought with it."""

    makers: tuple[str, ...]
    models: tuple[Model, ...]
    regions: tuple[str, ...]
    plans: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Place:
    """A site on file (or a customer without one), with what a form is filled with once it is chosen."""

    customer: str
    site: str
    line: str
    fills: tuple[tuple[str, str], ...]

    def initial(self) -> dict[str, str]:
        """The values that a form begins with."""
        return {"customer": self.customer, **dict(self.fills)}


@dataclass(frozen=True, slots=True)
class Known:
    """A unit on file whose serial was written, or one that reads like it: what and where it is."""

    pk: int
    serial: str
    what: str
    where: str
    gone: str
    same: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something on file that whoever writes should see before anything is saved.

    `unit` is the row on the form (None: what holds for all); `tick` says what else may be meant, blank where nothing may,
    and `value` what is sent when it is ticked, so that a tick does not outlive what it was set for.
    """

    unit: int | None
    field: str
    text: str
    tick: str = ""
    value: str = ""
    known: tuple[Known, ...] = ()


# ------------------------------------------------------------------------------------------------- what follows


@dataclass(frozen=True, slots=True)
class SavedInstall:
    """One save of this form that put units in: how many, when and by whom; as a whole it can be taken back."""

    load: int
    system: str
    units: int
    words: str


@dataclass(frozen=True, slots=True)
class Promise:
    """Terms that some units of the system hold alike: since when, where registration stands, and by when."""

    pk: int
    title: str
    payer: str
    count: int
    units: str
    start: dt.date | None
    start_words: str
    assumed: bool
    registration: str
    state: str
    deadline: dt.date | None

    @property
    def by(self) -> dt.date | None:
        """The last day to register, where that is still to be done."""
        return self.deadline if self.state == "to do" else None


@dataclass(frozen=True, slots=True)
class InstallPage:
    """A system as it was just put in: its units and the promises that they hold."""

    pk: int
    system: str
    site_pk: int
    site: str
    customer_pk: int
    customer: str
    sentences: tuple[str, ...]
    promises: tuple[Promise, ...]
    units: tuple[UnitLink, ...]
    saved: tuple[SavedInstall, ...] = ()
    places: tuple[PlacePage, ...] = ()

    @property
    def to_register(self) -> bool:
        """Whether any of them is still to be registered."""
        return any(one.state in ("to do", "waiting for a date") for one in self.promises)
