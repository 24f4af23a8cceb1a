"""Is it covered, who pays, until when, and why: one question or a file of them, in the shape that outside programs rely on."""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice

from fleet import models
from fleet.derived import answers as pages
from fleet.derived.answers import Json, Plate, Question
from fleet.facts import Told, fleet_facts, terms_on_file
from fleet.rules import words
from fleet.rules.dates import written

CHUNK = 500
COLUMNS = ("maker", "model", "serial", "component", "on", "asked", "cause")


@dataclass(frozen=True, slots=True)
class Unasked:
    """A row that cannot be asked: code unit_unknown, unit_ambiguous or bad_row, and why."""

    serial: str
    code: str
    text: str

    def as_json(self) -> Json:
        """The row that stands in the answer's place."""
        return {"serial": self.serial, "error": {"code": self.code, "text": self.text}}


def question(row: Mapping[str, str], *, today: dt.date) -> Question | Unasked:
    """Read one row of a file of questions; a blank day of asking is today."""
    serial = (row.get("serial") or "").strip()
    component, cause = (row.get("component") or "").strip(), (row.get("cause") or "").strip()
    days: dict[str, dt.date] = {}
    for name in ("on", "asked"):
        text = (row.get(name) or "").strip()
        if not text and name == "asked":
            days[name] = today
            continue
        day = written(text)
        if day is None:
            return Unasked(serial, "bad_row", f"column {name}: a day written 2026-08-01 is wanted, not {text!r}")
        days[name] = day
    if not words.key(serial):
        return Unasked(serial, "bad_row", "column serial: a serial is wanted")
    if component not in words.COMPONENTS:
        return Unasked(
            serial, "bad_row", f"column component: {component!r} is not one of {', '.join(words.COMPONENTS)}"
        )
    if cause and cause not in words.CAUSES:
        return Unasked(serial, "bad_row", f"column cause: {cause!r} is not one of {', '.join(words.CAUSES)}")
    maker, model = (row.get("maker") or "").strip(), (row.get("model") or "").strip()
    return Question(serial, component, days["on"], days["asked"], maker, model, cause)


def ask(
    *, serial: str, component: str, on: dt.date, asked: dt.date, maker: str = "", model: str = "", cause: str = ""
) -> Json:
    """Answer one question."""
    row = {"serial": serial, "maker": maker, "model": model, "component": component, "cause": cause}
    row |= {"on": on.isoformat(), "asked": asked.isoformat()}
    return next(ask_all([question(row, today=asked)]))


def ask_all(questions: Iterable[Question | Unasked]) -> Iterator[Json]:
    """Answer questions in their order, a fixed number of queries for each few hundred of them."""
    waiting = iter(questions)
    book = terms_on_file()
    while chunk := list(islice(waiting, CHUNK)):
        keys = {words.key(asked.serial) for asked in chunk if isinstance(asked, Question)}
        rows = list(models.Unit.objects.filter(serial_key__in=keys).exclude(serial_key="").order_by("pk"))
        told = fleet_facts(rows, book)
        by_key: dict[str, list[models.Unit]] = {}
        for row in rows:
            by_key.setdefault(row.serial_key, []).append(row)
        for asked in chunk:
            found = asked if isinstance(asked, Unasked) else _one(asked, by_key.get(words.key(asked.serial), []))
            yield found.as_json() if isinstance(found, Unasked) else answer(asked, told[found.pk])


def _one(asked: Question, rows: list[models.Unit]) -> models.Unit | Unasked:
    fit = [
        row
        for row in rows
        if (not asked.maker or row.maker_key == words.key(asked.maker))
        and (not asked.model or row.model_key == words.key(asked.model))
    ]
    if not fit:
        named = " ".join(filter(None, (asked.maker, asked.model, asked.serial)))
        return Unasked(asked.serial, "unit_unknown", f"no unit on file is {named}")
    if len(fit) > 1:
        choices = "; ".join(f"{row.maker} {row.model}" for row in fit)
        return Unasked(
            asked.serial, "unit_ambiguous", f"several units have this serial: {choices}; give maker and model"
        )
    return fit[0]


def answer(asked: Question | Unasked, told: Told) -> Json:
    """Write what the rules say in the promised shape."""
    assert isinstance(asked, Question)
    plate = Plate(told.row.maker, told.row.model, told.row.serial)
    return pages.answer(asked, plate, told.unit, told.holdings)
