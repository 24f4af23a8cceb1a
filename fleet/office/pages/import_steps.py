"""What somebody is asked of a file before it is taken, a step at a time: its sheet, its columns, what cannot be read, what to see."""

from dataclasses import dataclass

from fleet.rules.spreadsheets import places
from fleet.rules.spreadsheets.filling import Way

LINES_BELOW = 3
STEPS = (
    ("sheet", "Sheet", "import_sheet"),
    ("columns", "Columns", "import_columns"),
    ("values", "Values", "import_values"),
    ("confirm", "Look over", "import_confirm"),
    ("ready", "Import", "import"),
)
WAYS = {
    Way.SITE_HOME: "“Home”, or the street where a customer has several",
    Way.SITE_STREET: "the street",
    Way.SYSTEM_DAY: "units installed at one site on the same day are one system",
    Way.SYSTEM_OUTDOOR: "one system for each outdoor unit and the units below it",
    Way.MAKER_MODEL: "worked out from the model, by the terms on file",
}
_WORDS = {"owner home": "owner-occupied home", "business": "non-residential", "us": "us (we installed it)"}


def shown(column: str, value: str) -> str:
    """A value of ours as people say it.

    >>> shown("region", "US-ME"), shown("use", "business"), shown("role", "wall head")
    ('Maine', 'non-residential', 'wall head')
    """
    return places.region_name(value) if column == "region" else _WORDS.get(value, value)


def rows_in_words(rows: tuple[int, ...], count: int) -> str:
    """Where something stands in the file.

    >>> rows_in_words((4,), 1), rows_in_words((4, 9), 2), rows_in_words((4, 9), 30)
    ('row 4', 'rows 4, 9', 'rows 4, 9 and 28 more')
    """
    more = f" and {count - len(rows):,} more" if count > len(rows) else ""
    return f"row{'s' if count > 1 else ''} {', '.join(f'{row:,}' for row in rows)}{more}"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way: its words, its address, and whether it is this one or can be gone to."""

    title: str
    address: str
    is_now: bool
    can_go: bool


@dataclass(frozen=True, slots=True)
class Head:
    """What stands above each step: which file, what it brings, and the steps."""

    pk: int
    name: str
    kind: str
    rows: int
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class TopLine:
    """One of the first lines of a sheet, which may be the one that names its columns."""

    choice: str
    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Top:
    """How a sheet begins."""

    name: str
    is_visible: bool
    lines: tuple[TopLine, ...]
    no_headings: str
    # The row that most likely names its columns; whether it is the sheet that most likely has the units.
    heading_row: int
    is_likely: bool

    @property
    def seen(self) -> tuple[TopLine, ...]:
        """The lines that are seen at once: down to the most likely row, and a few below it."""
        return tuple(line for line in self.lines if line.number <= self.heading_row + LINES_BELOW)

    @property
    def rest(self) -> tuple[TopLine, ...]:
        """The lines further down."""
        return tuple(line for line in self.lines if line.number > self.heading_row + LINES_BELOW)


@dataclass(frozen=True, slots=True)
class SheetPage:
    """The sheets of a file, and the row of one that names its columns."""

    head: Head
    sheets: tuple[Top, ...]
    chosen: str


@dataclass(frozen=True, slots=True)
class Theirs:
    """One of their columns: its heading, samples, how many cells are filled, and ours that it is or most likely means."""

    heading: str
    samples: tuple[str, ...]
    filled: int
    is_hidden: bool
    name: str


@dataclass(frozen=True, slots=True)
class Ours:
    """One of our columns: its words, whether each row needs it, and how it can be worked out."""

    name: str
    title: str
    required: bool
    ways: tuple[tuple[Way, str], ...]


@dataclass(frozen=True, slots=True)
class ColumnsPage:
    """The columns of one file beside ours, and what is given for all of its rows or worked out."""

    head: Head
    columns: tuple[Theirs, ...]
    ours: tuple[Ours, ...]
    given: dict[str, str]
    ways: dict[str, str]
    merged: int


@dataclass(frozen=True, slots=True)
class Unread:
    """A text that cannot be read: where and how often it stands, and what it is said or most likely to mean."""

    column: str
    title: str
    text: str
    count: int
    where: str
    is_known: bool
    act: str
    value: str
    choices: tuple[str, ...]
    can_be_blank: bool
    is_of_house: bool


@dataclass(frozen=True, slots=True)
class Reading:
    """What the sample of a column of days is if one of its parts comes first."""

    order: str
    words: str


@dataclass(frozen=True, slots=True)
class DaysAsked:
    """A column whose days in numbers could be several: samples, and what others of its days say."""

    column: str
    heading: str
    where: str
    readings: tuple[Reading, ...]
    evidence: str
    chosen: str


@dataclass(frozen=True, slots=True)
class Others:
    """How many more texts of a column cannot be read."""

    column: str
    title: str
    count: int
    act: str


@dataclass(frozen=True, slots=True)
class ReadAs:
    """A text that is read as a word of ours."""

    title: str
    text: str
    value: str
    count: int


@dataclass(frozen=True, slots=True)
class ValuesPage:
    """What cannot be read in a file, and what was read as something else."""

    head: Head
    unread: tuple[Unread, ...]
    known: tuple[Unread, ...]
    days: tuple[DaysAsked, ...]
    others: tuple[Others, ...]
    read_as: tuple[ReadAs, ...]
    empty: int
    empty_rows: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class AddressAsked:
    """An address of one cell, taken apart."""

    text: str
    count: int
    street: str
    city: str
    region: str
    postcode: str

    @property
    def state(self) -> str:
        """Its state by its name."""
        return shown("region", self.region)


@dataclass(frozen=True, slots=True)
class Value:
    """One of several values that rows have, with how many do and the first of them."""

    value: str
    words: str
    count: int
    row: int


@dataclass(frozen=True, slots=True)
class Several:
    """Names of what may be one customer, or values of one fact: which of them is to hold."""

    key: str
    title: str
    values: tuple[Value, ...]
    answer: str


@dataclass(frozen=True, slots=True)
class Whose:
    """Who is meant by a name at a street that is none of theirs, or by a new name at several streets."""

    key: str
    title: str
    choices: tuple[tuple[str, str], ...]
    answer: str


@dataclass(frozen=True, slots=True)
class Beside:
    """One of several units side by side: its row of the file (none: it is on file), its serial cut where others differ."""

    row: int
    unit: int
    where: str
    what: str
    serial: str
    differs: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True)
class Twins:
    """Units whose serials are the same, or read alike."""

    key: str
    must_differ: bool
    units: tuple[Beside, ...]
    choices: tuple[tuple[str, str], ...]
    answer: str
    serials: dict[int, str]


@dataclass(frozen=True, slots=True)
class ConfirmPage:
    """What somebody has to see before a file is taken."""

    head: Head
    addresses_key: str
    unsure: tuple[AddressAsked, ...]
    sure: tuple[AddressAsked, ...]
    beyond: int
    names: tuple[Several, ...]
    whose: tuple[Whose, ...]
    facts: tuple[Several, ...]
    twins: tuple[Twins, ...]
