"""The terms on file, as the rules read them."""

import datetime as dt
import json
import re
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from django.db.models import QuerySet

from fleet import models
from fleet.models.prepared import prepared
from fleet.rules import payers, words
from fleet.rules import terms as rules

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
def _read(digest: str) -> rules.Terms:
    """Read one document, once per process: a document never changes under its digest."""
    return rules.read(from_document(models.Terms.objects.values_list("document", flat=True).get(digest=digest)))


@dataclass(frozen=True)
class TermsBook:
    """All terms on file, found by code and by maker; `withdrawn` are those that others replace."""

    all: tuple[rules.Terms, ...]
    pks: dict[str, int]
    withdrawn: frozenset[str]
    codes: dict[int, str]
    by_code: dict[str, rules.Terms] = field(default_factory=dict)
    _by_maker: dict[str, tuple[rules.Terms, ...]] = field(default_factory=dict)
    _fitting: dict[tuple[str, str], tuple[rules.Terms, ...]] = field(default_factory=dict)

    def that_fit(self, maker: str, model: str) -> tuple[rules.Terms, ...]:
        """List the terms not withdrawn that are written for a maker and model (labor plans never are), by code."""
        key = (words.key(maker), words.key(model))
        found = self._fitting.get(key)
        if found is None:
            named = (*self._by_maker.get(key[0], ()), *self._by_maker.get("*", ()))
            found = tuple(terms for terms in named if terms.fits_model(key[1]))
            self._fitting[key] = found
        return found


def terms_on_file() -> TermsBook:
    """Read every terms on file in one query (and one more for each not read before by this process)."""
    return _book(tuple(_on_file()))


@prepared
def _on_file() -> QuerySet[models.Terms, tuple[int, str, str, str]]:
    return models.Terms.objects.order_by("code").values_list("pk", "code", "digest", "replaces")


@lru_cache(maxsize=4)
def _book(rows: tuple[tuple[int, str, str, str], ...]) -> TermsBook:
    """Bind one book for as long as the same terms are on file, with what was asked of it already."""
    found = tuple(_read(digest) for _, _, digest, _ in rows)
    withdrawn = frozenset(replaces for *_, replaces in rows if replaces)
    by_maker: dict[str, tuple[rules.Terms, ...]] = {}
    for terms in found:
        if not payers.BY_CODE[terms.payer].bought and terms.code not in withdrawn:
            key = words.key(terms.maker)
            by_maker[key] = (*by_maker.get(key, ()), terms)
    return TermsBook(
        all=found,
        pks={code: pk for pk, code, _, _ in rows},
        withdrawn=withdrawn,
        codes={pk: code for pk, code, _, _ in rows},
        by_code={terms.code: terms for terms in found},
        _by_maker=by_maker,
    )
