"""Files brought to be imported: how one's columns are matched, where it stands and what came of it."""

from dataclasses import dataclass

# Where an import stands, as a list says it.
STANDINGS = {
    "reading": "being read",
    "to match": "columns to be matched",
    "ready": "matched, not taken yet",
    "waiting": "waiting for its turn",
    "running": "running",
    "stopped": "stopped, nothing taken",
    "failed": "failed, nothing taken",
    "checked": "checked, not taken yet",
    "taken": "taken",
    "refused": "not taken: something is wrong in it",
    "gone": "never taken, file removed",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: what it is called and brings, its columns, those that hold days and those that each row needs."""

    title: str
    things: str
    names: tuple[str, ...]
    days: frozenset[str]
    required: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Theirs:
    """One of their columns: its heading, samples of what stands in it, and ours that it is or most likely means (blank: none)."""

    heading: str
    samples: tuple[str, ...]
    filled: int
    name: str


@dataclass(frozen=True, slots=True)
class Ours:
    """One of our columns in words, and whether each row needs it."""

    name: str
    title: str
    required: bool


@dataclass(frozen=True, slots=True)
class ColumnsPage:
    """The columns of one file beside ours."""

    pk: int
    name: str
    kind: str
    rows: int
    columns: tuple[Theirs, ...]
    ours: tuple[Ours, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayStyle:
    """One way in which a column's days can be read, with what a cell of it would then mean."""

    style: str
    cell: str
    means: str


@dataclass(frozen=True, slots=True)
class DayColumn:
    """A column of days: how it can be read. Where `mixed` says so, or nothing in it is a day, in no way."""

    name: str
    title: str
    heading: str
    styles: tuple[DayStyle, ...]
    chosen: str
    days: int
    mixed: str

    @property
    def is_asked(self) -> bool:
        """Whether somebody has to say how its days are written."""
        return len(self.styles) > 1


@dataclass(frozen=True, slots=True)
class Pair:
    """One of their columns and ours that it is."""

    heading: str
    title: str


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in the file; row 0 is the file as a whole."""

    row: int
    heading: str
    wanted: str


@dataclass(frozen=True, slots=True)
class Corrected:
    """One fact that the file corrects."""

    what: str
    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a file that was checked or taken."""

    rows: int
    added: int
    filled: int
    corrected: int
    unchanged: int
    changes: tuple[Corrected, ...]


@dataclass(frozen=True, slots=True)
class ImportPage:
    """One file: where it stands, how it is read, and what came of it."""

    pk: int
    name: str
    kind: Kind
    by: str
    at: str
    standing: str
    rows: int | None
    done: int
    worked_out: int
    to_work_out: int
    stop_asked: bool
    checking: bool
    correcting: bool
    why: str
    pairs: tuple[Pair, ...]
    left_out: tuple[str, ...]
    days: tuple[DayColumn, ...]
    faults: tuple[Fault, ...]
    fault_count: int
    has_file_with_faults: bool
    outcome: Outcome | None

    @property
    def is_moving(self) -> bool:
        """Whether this will soon look different."""
        return self.standing in ("reading", "waiting", "running")

    @property
    def is_taking(self) -> bool:
        """Whether all rows are checked and are being taken."""
        return self.standing == "running" and bool(self.rows) and self.done == self.rows

    @property
    def can_begin(self) -> bool:
        """Whether it can be checked or taken now."""
        return bool(self.pairs) and self.standing in ("ready", "checked", "refused", "stopped", "failed")

    @property
    def can_be_dropped(self) -> bool:
        """Whether somebody may forget it."""
        return not self.is_moving and self.standing != "taken"

    @property
    def is_mixed(self) -> bool:
        """Whether a column of days mixes ways of writing them, so that nothing of the file can be taken."""
        return any(column.mixed for column in self.days)
