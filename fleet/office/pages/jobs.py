"""Work in the background as a page shows it: what failed and why, what runs, what waits, what was done."""

from dataclasses import dataclass

# What people call each job of fleet.tasks.
TITLES = {
    "catch_up": "Bring coverage up to the day",
    "drop_old_imports": "Remove old import files",
    "look_ahead": "Work out the year ahead",
    "mail_link": "Email a link for a new password",
    "mail_ticket": "Email a visit’s ticket to the customer",
    "read_import": "Read a file to import",
    "take_import": "Import a file",
    "undo_import": "Undo an import",
}

STATES = ("done", "stopped", "failed")


def title(name: str) -> str:
    """A job's name for people; one that this version does not know keeps its own name."""
    return TITLES.get(name) or name.replace("_", " ").capitalize()


@dataclass(frozen=True, slots=True)
class Work:
    """One piece of work; moments are written out, and blank where there is none."""

    pk: int
    title: str
    about: str
    asked_by: str
    state: str
    asked: str
    not_before: str
    began: str
    ended: str
    tries: int
    parts_done: int
    parts: int | None
    stop_asked: bool
    why: str


@dataclass(frozen=True, slots=True)
class Open:
    """What is not over: the first of each kind, and how many there are."""

    failed: tuple[Work, ...]
    running: tuple[Work, ...]
    waiting: tuple[Work, ...]
    failed_count: int
    running_count: int
    waiting_count: int

    @property
    def moving(self) -> bool:
        """Whether this will soon look different."""
        return bool(self.running_count or self.waiting_count)


@dataclass(frozen=True, slots=True)
class Step:
    """That somebody stopped the work or had it tried again."""

    at: str
    by: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class JobPage:
    """One piece of work, and what people did about it."""

    work: Work
    steps: tuple[Step, ...]
