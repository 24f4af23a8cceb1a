"""Files brought to be imported: what each brings, where it stands and what came of it."""

from collections.abc import Mapping
from dataclasses import dataclass

from fleet.office.pages.import_steps import Step
from fleet.rules.spreadsheets.filling import Way

# Where an import stands, as a list says it.
STANDINGS = {
    "reading": "being read",
    "asking": "questions to answer",
    "ready": "ready to import",
    "waiting": "waiting its turn",
    "running": "running",
    "stopped": "stopped, nothing imported",
    "failed": "failed, nothing imported",
    "checked": "checked, not imported yet",
    "taken": "imported",
    "undone": "imported and undone",
    "undoing": "being undone",
    "refused": "not imported: corrections needed",
    "gone": "never imported, file deleted",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of file: what it is called and brings, what a column of theirs may be, those that each row needs, how one that is
    missing can be worked out, and the words of closed lists."""

    title: str
    things: str
    targets: tuple[str, ...]
    required: tuple[str, ...]
    ways: tuple[tuple[str, Way], ...]
    choices: Mapping[str, tuple[str, ...]]


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
    same: str
    made: tuple[tuple[str, int], ...]
    joined: tuple[str, ...]
    changes: tuple[Corrected, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """That our record of maintenance may begin with this file; how many tasks would else be overdue, and where (0: not counted)."""

    tasks: int
    sites: int


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
    is_ready: bool
    can_undo: bool
    in_the_way: str
    undone: str
    steps: tuple[Step, ...]
    pairs: tuple[Pair, ...]
    filled: tuple[Pair, ...]
    left_out: tuple[str, ...]
    messages: tuple[str, ...]
    other_sheets: tuple[str, ...]
    faults: tuple[Fault, ...]
    fault_count: int
    has_file_with_faults: bool
    outcome: Outcome | None
    record: Record | None
    asks_who_did_it: bool
    done_by: str

    @property
    def is_moving(self) -> bool:
        """Whether this will soon look different."""
        return self.standing in ("reading", "waiting", "running", "undoing")

    @property
    def is_taking(self) -> bool:
        """Whether all rows are checked and are being taken."""
        return self.standing == "running" and bool(self.rows) and self.done == self.rows

    @property
    def can_begin(self) -> bool:
        """Whether it can be checked or taken now."""
        return self.is_ready and self.standing in ("ready", "checked", "refused", "stopped", "failed")

    @property
    def can_be_dropped(self) -> bool:
        """Whether somebody may forget it."""
        return not self.is_moving and self.standing not in ("taken", "undone")
