"""What cannot be read in a file, once per different text with how often and where, and what is proposed for it."""

import datetime as dt
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from fleet import models
from fleet.facts.terms import terms_on_file
from fleet.loading.loading import every
from fleet.office.actions import import_rows
from fleet.office.actions.import_kinds import KINDS
from fleet.rules.spreadsheets import cells, days, filling
from fleet.rules.spreadsheets.days import Order
from fleet.rules.spreadsheets.plan import Plan, Row, as_json
from fleet.rules.terms import Terms

LOT = 2_000
# Of each text, so many of its rows are named; of each column, so many texts are asked about, and of the others all at once.
ROWS_SHOWN, TEXTS_SHOWN, LONGEST_TEXT = 6, 60, 200
# Of all columns together: a form has room for so many.
MOST_TEXTS = 250
EMPTY_SHOWN, SAMPLES = 20, 3
# Texts that are read as one of a few words are shown with it: "ODU" as outdoor.
_READ_AS = ("customer", "model", "serial", "role", "style", "use", "region", "access", "installed_by", *cells.YES_NO)

Text = tuple[str, str]


@dataclass(slots=True)
class _Times:
    """How often something stands in a file, and its first rows."""

    count: int = 0
    rows: list[int] = field(default_factory=list)

    def see(self, row: int) -> None:
        self.count += 1
        if len(self.rows) < ROWS_SHOWN:
            self.rows.append(row)


@dataclass(slots=True)
class _Days:
    """What the cells of one column say of how its days are written in numbers."""

    ambiguous: _Times = field(default_factory=_Times)
    samples: list[str] = field(default_factory=list)
    orders: Counter[Order] = field(default_factory=Counter)

    def see(self, row: int, text: str, *, is_open: bool) -> None:
        if order := days.tells_order(text):
            self.orders[order] += 1
        elif is_open:
            if len(self.samples) < SAMPLES and text not in self.samples:
                self.samples.append(text)
            self.ambiguous.see(row)


class Survey:
    """Goes through the rows of a file and gathers what there is to ask."""

    def __init__(self, row: models.Import, plan: Plan, *, on: dt.date) -> None:
        self._kind = KINDS[row.kind]
        self._ours = self._kind.ours(on)
        self._plan = plan
        self._terms: tuple[Terms, ...] = terms_on_file().all if "maker" in plan.ways else ()
        # What was said of such texts: in other files, and of this one.
        self._known = {
            (memory.column, memory.text): cells.Meaning(cells.Act(memory.act), memory.value)
            for memory in models.ValueMemory.objects.filter(kind=row.kind)
        } | {(column, text): meaning for column, many in plan.meanings.items() for text, meaning in many.items()}
        self.unread: dict[Text, _Times] = {}
        self._texts_of: Counter[str] = Counter()
        self.others: Counter[str] = Counter()
        self.days: dict[str, _Days] = {}
        self.read_as: dict[tuple[str, str, str], _Times] = {}
        self.empty = _Times()
        self.empty_texts: list[str] = []
        self.left_out = 0
        self.has_short_years = False

    def see(self, number: int, one: Row | None, theirs: dict[str, str]) -> None:
        """Take one row into account."""
        if one is None:
            self.left_out += 1
            return
        if one.is_empty:
            self.empty.count += 1
            if len(self.empty_texts) < EMPTY_SHOWN:
                self.empty.rows.append(number)
                self.empty_texts.append(", ".join(filter(None, theirs.values()))[:LONGEST_TEXT])
            return
        for column, text in one.unread:
            self._see_unread(number, column, text)
        open_now = set(one.ambiguous)
        for column in self._ours.days & one.texts.keys():
            if text := one.texts[column]:
                self.days.setdefault(column, _Days()).see(number, text, is_open=(column, text) in open_now)
                self.has_short_years = self.has_short_years or days.has_short_year(text)
        self._see_read(number, one)
        model = one.cells.get("model", "") if self._terms and not one.cells.get("maker") else ""
        if model and not filling.maker(model, self._terms):
            self._see_unread(number, "maker", model)

    def _see_unread(self, number: int, column: str, text: str) -> None:
        if (column, text) not in self.unread:
            known = (column, text) in self._known
            if not known and (self._is_enough(column) or len(text) > LONGEST_TEXT):
                self.others[column] += 1
                return
            self._texts_of[column] += not known
            self.unread[column, text] = _Times()
        self.unread[column, text].see(number)

    def _is_enough(self, column: str) -> bool:
        return self._texts_of[column] >= TEXTS_SHOWN or self._texts_of.total() >= MOST_TEXTS

    def _see_read(self, number: int, one: Row) -> None:
        for column in _READ_AS:
            text, value = one.texts.get(column, ""), one.cells.get(column, "")
            if column == "role" and one.cells.get("style") and "style" not in one.texts:
                value = f"{one.cells['style']} {value}"
            if not text or not value or value in (text, text.casefold()) or (column, text) in one.unread:
                continue
            if (column, text, value) in self.read_as or len(self.read_as) < TEXTS_SHOWN:
                self.read_as.setdefault((column, text, value), _Times()).see(number)

    @property
    def known(self) -> dict[Text, cells.Meaning]:
        """What is said already of texts that stand in the file."""
        return {text: self._known[text] for text in self.unread if text in self._known}

    def findings(self) -> dict[str, Any]:
        """All of it in plain values."""
        return {
            "unread": [
                self._question(text, times) for text, times in sorted(self.unread.items(), key=_by_column_and_count)
            ],
            "others": [{"column": column, "count": count} for column, count in sorted(self.others.items())],
            "days": [
                {
                    "column": column,
                    "count": seen.ambiguous.count,
                    "rows": seen.ambiguous.rows,
                    "samples": seen.samples,
                    "orders": {order.value: count for order, count in seen.orders.items()},
                }
                for column, seen in sorted(self.days.items())
                if seen.ambiguous.count
            ],
            "read_as": [
                {"column": column, "text": text, "value": value, "count": times.count}
                for (column, text, value), times in sorted(self.read_as.items())
            ],
            "empty": {"count": self.empty.count, "rows": self.empty.rows, "texts": self.empty_texts},
            "left_out": self.left_out,
            "has_short_years": self.has_short_years,
        }

    def _question(self, text: Text, times: _Times) -> dict[str, Any]:
        column, said = text
        meaning = self._known.get(text) or self._proposed(column, said)
        return {
            "column": column,
            "text": said,
            "count": times.count,
            "rows": times.rows,
            "known": text in self._known,
            "act": meaning.act.value if meaning else "",
            "value": meaning.value if meaning else "",
        }

    def _proposed(self, column: str, text: str) -> cells.Meaning | None:
        if column == "maker" and self._terms:
            return None  # the text is a model, whose manufacturer is asked for
        return cells.propose(column, text, is_required=column in self._ours.required, is_day=column in self._ours.days)


def _by_column_and_count(one: tuple[Text, _Times]) -> tuple[str, int, str]:
    (column, text), times = one
    return column, -times.count, text


def survey(row: models.Import, *, on: dt.date, tell: Callable[[int], None]) -> bool:
    """Go through the file for what cannot be read, and whether there is any to ask; the row is not saved.

    What was said of a text before holds again. All of it is set down, also what is answered, so that answers can be changed.
    """
    plan = import_rows.plan_of(row)
    seen = Survey(row, plan, on=on)
    bare = replace(plan, meanings={}, rest={}, orders={})
    for number, one, theirs in every(LOT, import_rows.read(row, bare, on=on), tell):
        seen.see(number, one, theirs)
    row.findings |= {"values": seen.findings()}
    meanings: dict[str, dict[str, cells.Meaning]] = {}
    for (column, text), meaning in seen.known.items():
        meanings.setdefault(column, {})[text] = meaning
    row.plan |= {"meanings": as_json(Plan(row.columns, meanings=meanings))["meanings"]}
    return is_open(row)


def is_open(row: models.Import) -> bool:
    """Whether something that cannot be read has no answer."""
    said, questions = import_rows.plan_of(row), row.findings["values"]
    return (
        not all(one["known"] for one in questions["unread"])
        or any(one["column"] not in said.rest for one in questions["others"])
        or any(one["column"] not in said.orders for one in questions["days"])
    )
