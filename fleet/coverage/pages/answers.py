"""The answer for a failure as a page shows it: what was asked, who pays, what is needed."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fleet.rules import words
from fleet.rules.findings import Result

# What can fail inside a unit of each role, what is asked about most often first; every other component can be asked about too.
USUAL_COMPONENTS: dict[str, tuple[str, ...]] = {
    "outdoor": (
        "compressor", "outdoor coil", "outdoor fan motor", "control board", "capacitor", "contactor", "sensor",
        "expansion valve", "reversing valve", "panel", "line set", "flare joint", "wiring", "refrigerant", "other",
    ),
    "head": (
        "indoor coil", "indoor fan motor", "blower wheel", "control board", "capacitor", "sensor", "expansion valve",
        "drain pump", "drain pan", "drain line", "louver", "remote control", "wired controller", "panel", "filter",
        "line set", "flare joint", "wiring", "refrigerant", "other",
    ),
    "branch box": (
        "branch box", "control board", "sensor", "expansion valve", "line set", "flare joint", "wiring", "refrigerant",
        "other",
    ),
    "air handler": (
        "indoor coil", "indoor fan motor", "blower wheel", "control board", "capacitor", "contactor", "sensor",
        "expansion valve", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "line set",
        "flare joint", "wiring", "refrigerant", "other",
    ),
    "furnace": (
        "heat exchanger", "igniter", "gas valve", "indoor fan motor", "blower wheel", "control board", "capacitor",
        "contactor", "sensor", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "wiring",
        "other",
    ),
    "dehumidifier": (
        "dehumidifier sealed system", "compressor", "indoor coil", "indoor fan motor", "humidistat", "control board",
        "capacitor", "sensor", "drain pump", "drain pan", "drain line", "wired controller", "panel", "filter", "wiring",
        "refrigerant", "other",
    ),
    "pump": ("drain pump", "sensor", "drain line", "wiring", "other"),
    "other": words.COMPONENTS,
}  # fmt: skip


RESULT_WORDS = {
    Result.COVERED: "Covered",
    Result.COVERED_IF: "May be covered",
    Result.NOT_COVERED: "Not covered",
    Result.CANNOT_SAY: "Not clear",
}


def first_asked(role: str) -> str:
    """The component that is asked about first for a role.

    >>> first_asked("outdoor"), first_asked("head")
    ('compressor', 'indoor coil')
    """
    return "other" if role == "other" else USUAL_COMPONENTS[role][0]


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked: which component failed on which day and why (blank: not said), asked on which day."""

    component: str
    on: dt.date
    asked: dt.date
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Pays:
    """Who pays one kind of cost, in words; `state` is the result that it rests on."""

    kind: str
    pays: str
    state: Result
    words: str


@dataclass(frozen=True, slots=True)
class Need:
    """What must be done or found so that the answer gets certain, and by when."""

    words: str
    until: dt.date | None


@dataclass(frozen=True, slots=True)
class Shown:
    """One answer: what one payer's terms say of one kind of cost, and why."""

    terms: str
    terms_pk: int
    title: str
    payer: str
    kind: str
    result: Result
    words: str
    first: dt.date | None
    last: dt.date | None
    lifetime: bool
    possible_last: dt.date | None
    possible_lifetime: bool
    days_left: int | None
    reasons: tuple[str, ...]
    needs: tuple[Need, ...]
    file_by: dt.date | None
    part_back_by: dt.date | None

    @property
    def result_words(self) -> str:
        """The result as a word."""
        return RESULT_WORDS[self.result]

    @property
    def headed(self) -> bool:
        """Whether its one sentence says more than its reasons do; a no with a single reason says the same twice."""
        return self.result in (Result.COVERED, Result.COVERED_IF) or len(self.reasons) > 1


@dataclass(frozen=True, slots=True)
class Paper:
    """One payer's terms with what they say: kinds of cost that get the very same stand together."""

    first: Shown
    said: tuple[tuple[tuple[str, ...], Shown], ...]


@dataclass(frozen=True, slots=True)
class AnswerPart:
    """The answer for one failure: who pays first, then each payer's terms with their reasons.

    `before` is what must be done before anyone goes out, in sentences.
    """

    question: Question
    heading: str
    pays: tuple[Pays, ...]
    answers: tuple[Shown, ...]
    notes: tuple[str, ...]
    before: tuple[str, ...] = ()

    @property
    def papers(self) -> tuple[Paper, ...]:
        """The answers by terms, in their order."""
        by_terms: dict[str, list[Shown]] = {}
        for shown in self.answers:
            by_terms.setdefault(shown.terms, []).append(shown)
        return tuple(Paper(these[0], _together(these)) for these in by_terms.values())


def _together(answers: Sequence[Shown]) -> tuple[tuple[tuple[str, ...], Shown], ...]:
    found: dict[Shown, list[str]] = {}
    for shown in answers:
        found.setdefault(replace(shown, kind=""), []).append(shown.kind)
    return tuple((tuple(kinds), shown) for shown, kinds in found.items())


@dataclass(frozen=True, slots=True)
class MayFail:
    """Components that may be what failed and fare alike, and who would pay each kind of cost, in words."""

    components: tuple[str, ...]
    pays: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class NotKnown:
    """The answer for a failure of which nobody knows yet what failed: each component keeps its own.

    `before` is what must be done before anyone goes out, `say_by` by when somebody should say what failed; both in sentences.
    """

    rows: tuple[MayFail, ...]
    before: tuple[str, ...]
    say_by: str = ""


@dataclass(frozen=True, slots=True)
class Choices:
    """What can be asked: the components usual for the unit's role, all others, and the causes."""

    usual: tuple[str, ...]
    others: tuple[str, ...]
    causes: tuple[str, ...]


def usual(role: str) -> tuple[str, ...]:
    """List the components that a unit of a role has."""
    return USUAL_COMPONENTS[role]
