"""The terms on file, as the rules read them."""

import datetime as dt
import json
import re
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import Any

from fleet import models
from fleet.rules import terms as rules
from fleet.rules import terms_table, words

_DAY = re.compile(r"@(\d{4}-\d\d-\d\d)")


def to_document(table: dict[str, Any]) -> str:
    """Write a terms table as one text that always reads back the same; a day is written @2026-08-01."""
    return json.dumps(table, default=lambda day: f"@{day.isoformat()}", sort_keys=True, ensure_ascii=False)


def from_document(document: str) -> dict[str, Any]:
    """Read a terms table back from its text."""
    found: dict[str, Any] = _with_days(json.loads(document))
    return found


def _with_days(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _with_days(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_with_days(inner) for inner in value]
    if isinstance(value, str) and (found := _DAY.fullmatch(value)):
        return dt.date.fromisoformat(found[1])
    return value


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
