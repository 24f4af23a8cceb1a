"""Putting terms on file: never edited once units hold them; new code and `replaces` instead."""

import datetime as dt
import hashlib
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import transaction

from fleet import models
from fleet.derived import refresh
from fleet.facts.terms import to_document
from fleet.rules import terms as rules
from fleet.rules import terms_table
from fleet.rules.tables import BadTable, Fault

# A statement of a few pages is some kilobytes; more than this is not one.
LARGEST_FILE = 1_000_000


@dataclass(frozen=True, slots=True)
class Taken:
    """The codes that were added, and those that were on file already just as they are."""

    added: tuple[str, ...]
    unchanged: tuple[str, ...]


def load_files(paths: Sequence[Path | str], *, by: models.User | None, on: dt.date) -> Taken:
    """Take terms files, all or none; raises BadTable naming file and key."""
    faults: list[Fault] = []
    tables: list[tuple[str, dict[str, Any]]] = []
    for path in map(Path, paths):
        try:
            if path.stat().st_size > LARGEST_FILE:
                raise ValueError(f"at most {LARGEST_FILE:,} bytes are wanted")
            tables.append((path.name, in_file(path.read_bytes())))
        except (OSError, ValueError, RecursionError) as wrong:
            faults.append(Fault(path.name, getattr(wrong, "strerror", None) or str(wrong)))
    if faults:
        raise BadTable(faults)
    return _take(tables, by=by, on=on)


def in_file(content: bytes) -> dict[str, Any]:
    """The table in a file; raises ValueError (or RecursionError) where it is no TOML."""
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise ValueError("a TOML file in UTF-8 is wanted") from None


def load_tables(tables: Iterable[dict[str, Any]], *, by: models.User | None = None, on: dt.date) -> Taken:
    """Take terms given as tables, all or none; raises BadTable naming code and key."""
    return _take([(str(table.get("code", "")), table) for table in tables], by=by, on=on)


def put_in_force(table: dict[str, Any], *, by: models.User, on: dt.date) -> models.Terms:
    """Take terms that were written on screen, as a file of the same would be taken; raises BadTable naming each key."""
    _take([("", table)], by=by, on=on)
    return models.Terms.objects.get(code=table["code"])


def faults_of(table: dict[str, Any], *, on: dt.date) -> tuple[Fault, ...]:
    """Everything for which terms would be refused today, each naming its key."""
    faults: list[Fault] = []
    _new(_read([("", table)], faults, on=on), faults)
    return tuple(faults)


@dataclass(frozen=True, slots=True)
class _Read:
    """Terms read from one table, with the name that faults are told under."""

    name: str
    terms: rules.Terms
    document: str
    digest: str


def _take(tables: list[tuple[str, dict[str, Any]]], *, by: models.User | None, on: dt.date) -> Taken:
    faults: list[Fault] = []
    read = _read(tables, faults, on=on)
    with transaction.atomic():
        new = _new(read, faults)
        if faults:
            raise BadTable(faults)
        _write(new, by=by, on=on)
    added = tuple(one.terms.code for one in new)
    return Taken(added, tuple(code for code in read if code not in added))


def _new(read: dict[str, _Read], faults: list[Fault]) -> list[_Read]:
    """Those that are not on file as they are, noting what the terms on file forbid."""
    stored = {row.code: row for row in models.Terms.objects.only("pk", "code", "digest")}
    held = set(models.HoldingRow.objects.values_list("terms__code", flat=True).distinct())
    new = [one for one in read.values() if one.terms.code not in stored or stored[one.terms.code].digest != one.digest]
    for one in read.values():
        replaces = one.terms.replaces
        if replaces and replaces not in stored and replaces not in read:
            faults.append(Fault(_at(one.name, "replaces"), f"no terms with the code {replaces} are on file"))
    for one in new:
        if one.terms.code in held:
            needed = f"{one.terms.code} is on file with other words and units hold it; give a new code and replaces"
            faults.append(Fault(_at(one.name, "code"), needed))
    return new


def _at(name: str, where: str) -> str:
    return f"{name}: {where}" if name else where


def _read(tables: list[tuple[str, dict[str, Any]]], faults: list[Fault], *, on: dt.date) -> dict[str, _Read]:
    """Read each table, noting what is wrong with it; by code."""
    by_code: dict[str, _Read] = {}
    for name, table in tables:
        try:
            terms = terms_table.read(table)
        except BadTable as refused:
            faults.extend(Fault(_at(name, fault.where), fault.wanted) for fault in refused.faults)
            continue
        if terms.checked_on > on:
            faults.append(Fault(_at(name, "checked_on"), f"{terms.checked_on} is later than today, {on}"))
        if terms.code in by_code:
            faults.append(Fault(_at(name, "code"), f"{terms.code} stands in {by_code[terms.code].name} already"))
        document = to_document(table)
        by_code[terms.code] = _Read(name, terms, document, hashlib.sha256(document.encode()).hexdigest())
    return by_code


def _write(new: list[_Read], *, by: models.User | None, on: dt.date) -> None:
    if not new:
        return
    name = ", ".join(one.terms.code for one in new)[:255]
    load = models.Load.objects.create(kind="terms", name=name, row_count=len(new), by=by)
    for one in new:
        terms = one.terms
        row, _ = models.Terms.objects.update_or_create(
            code=terms.code,
            defaults={
                "payer": terms.payer,
                "maker": terms.maker,
                "title": terms.title,
                "installed_from": terms.installed_from,
                "installed_to": terms.installed_to,
                "replaces": terms.replaces,
                "document": one.document,
                "digest": one.digest,
                "load": load,
            },
        )
        models.TermsCheck.objects.create(terms=row, checked_on=terms.checked_on, by=by, note="as its file says")
    refresh.refresh_all(on=on)
