"""The terms on file, as the rules read them."""

import datetime as dt
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

from fleet import models
from fleet.rules import terms as rules
from fleet.rules import terms_table, words
from fleet.rules.dates import written

_DAY = "@"


def to_document(table: dict[str, Any]) -> str:
    """Write a terms table as one text that always reads back the same; a day is written @2026-08-01, and an @ before a text is doubled."""
    return json.dumps(_each(table, _plain), sort_keys=True, ensure_ascii=False)


def from_document(document: str) -> dict[str, Any]:
    """Read a terms table back from its text."""
    found: dict[str, Any] = _each(json.loads(document), _read_back)
    return found


def _each(value: Any, told: Callable[[Any], Any]) -> Any:
    """The same table with something else in place of each of its values."""
    if isinstance(value, dict):
        return {key: _each(inner, told) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_each(inner, told) for inner in value]
    return told(value)


def _plain(value: Any) -> Any:
    if isinstance(value, dt.date):
        return f"{_DAY}{value.isoformat()}"
    return f"{_DAY}{value}" if isinstance(value, str) and value.startswith(_DAY) else value


def _read_back(value: Any) -> Any:
    if not isinstance(value, str) or not value.startswith(_DAY):
        return value
    return value[1:] if value.startswith(_DAY * 2) else written(value[1:]) or value


@lru_cache(maxsize=2048)
def _read(document: str) -> rules.Terms:
    """Read one document, once per process: a load of many files asks for the terms of each row."""
    return terms_table.read(from_document(document))


@dataclass(frozen=True)
class TermsBook:
    """All terms on file, by code; `pks` are their keys, `withdrawn` those that others replace."""

    all: tuple[rules.Terms, ...]
    pks: dict[str, int]
    withdrawn: frozenset[str]
    _fitting: dict[tuple[str, str], tuple[rules.Terms, ...]] = field(default_factory=dict)

    @cached_property
    def by_code(self) -> dict[str, rules.Terms]:
        """The terms by their code."""
        return {terms.code: terms for terms in self.all}

    @cached_property
    def codes(self) -> dict[int, str]:
        """The code of each terms' key."""
        return {pk: code for code, pk in self.pks.items()}

    def that_fit(self, maker: str, model: str) -> tuple[rules.Terms, ...]:
        """The terms that are written for a maker and model, by code."""
        key = (words.key(maker), words.key(model))
        # Asked for each unit of a fleet, which has few models.
        if key not in self._fitting:
            self._fitting[key] = tuple(terms for terms in self.all if terms.fits(maker=maker, model=model))
        return self._fitting[key]


def terms_on_file() -> TermsBook:
    """All terms on file, in one query."""
    rows = list(models.Terms.objects.order_by("code"))
    return TermsBook(
        all=tuple(_read(row.document) for row in rows),
        pks={row.code: row.pk for row in rows},
        withdrawn=frozenset(row.replaces for row in rows if row.replaces),
    )
