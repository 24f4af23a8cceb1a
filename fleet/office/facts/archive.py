"""All that is on file as one file: each table and each photo or paper is a part of it, and a list of the parts has their digests.

A ZIP file, so that anybody can look into it. The rows of a table are lines of JSON, the names of its columns first; that is
the same whichever database wrote it.
"""

import datetime as dt
import hashlib
import json
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from decimal import Decimal
from pathlib import PurePosixPath
from typing import IO, Any
from uuid import UUID

from django.apps.registry import Apps
from django.core.exceptions import ValidationError
from django.db import connection, models
from django.db.migrations.loader import MigrationLoader

from fleet.refusals import Refused
from fleet.sheets.foreign import from_json

# 1 and 2 were before the tables began anew (0001_tables): nothing reads them any more.
FORMAT = 3
CHUNK = 1 << 20
LOT = 500
LIST = "parts.json"
TABLES, MEDIA = "tables/", "media/"


@dataclass(frozen=True, slots=True)
class Part:
    """One part: its name in the file, its digest, how many bytes it has, and of a table how many rows."""

    name: str
    digest: str
    size: int
    rows: int | None = None


@dataclass(frozen=True, slots=True)
class Contents:
    """What a backup says of itself: its form, the last migration of the database it was made of, when, and its parts."""

    format: int
    migration: str
    made_at: str
    parts: tuple[Part, ...]

    def table(self, name: str) -> Part | None:
        """Find the part of a table."""
        return next((part for part in self.parts if part.name == f"{TABLES}{name}"), None)

    @property
    def media(self) -> tuple[Part, ...]:
        """The photos and papers."""
        return tuple(part for part in self.parts if part.name.startswith(MEDIA))


# ------------------------------------------------------------------------------------------------- tables


def tables(apps: Any) -> list[type[models.Model]]:
    """List the tables that are ours, links between people and groups among them.

    Who may do what follows from roles, so the framework's own permissions are left out; nobody's login outlives a restore.
    """
    ours = [*apps.get_app_config("fleet").get_models(include_auto_created=True), apps.get_model("auth", "group")]
    return [table for table in ours if table._meta.managed and not table._meta.db_table.endswith("_permissions")]


def columns(table: type[models.Model]) -> "list[models.Field[Any, Any]]":
    """List a table's columns."""
    return list(table._meta.concrete_fields)


def rows_out(table: type[models.Model]) -> Iterator[bytes]:
    """A table's rows as lines, the names of its columns first."""
    fields = columns(table)
    yield _line([field.column for field in fields])
    found = table._base_manager.order_by("pk").values_list(*(field.attname for field in fields))
    for row in found.iterator(chunk_size=2_000):
        yield _line(row)


def _line(values: Any) -> bytes:
    return json.dumps(values, default=_plain, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _plain(value: Any) -> str:
    if isinstance(value, dt.date):
        return value.isoformat()
    assert isinstance(value, Decimal | UUID), type(value)
    return str(value)


def rows_in(table: type[models.Model], lines: IO[bytes]) -> Iterator[models.Model]:
    """Read rows back; raises Refused where the columns are others."""
    fields = {str(field.column): field for field in columns(table)}
    names = from_json(lines.readline() or b"[]")
    if not isinstance(names, list) or sorted(map(str, names)) != sorted(fields):
        raise Refused(f"{table._meta.db_table}: the columns of the backup are others than those of the database.")
    # In the order of the file: tables that grew have their columns in another one than new ones.
    readers = [(fields[name].attname, _reader(fields[name])) for name in names]
    for number, line in enumerate(lines, 1):
        values = from_json(line)
        if not isinstance(values, list) or len(values) != len(readers):
            raise ValueError(f"{table._meta.db_table}, row {number}: other columns than it names")
        try:
            row = {
                name: None if value is None else read(value)
                for (name, read), value in zip(readers, values, strict=True)
            }
        except (TypeError, ValueError, ArithmeticError) as wrong:
            raise ValueError(f"{table._meta.db_table}, row {number}: {wrong}") from wrong
        yield table(**row)


# How each kind of column stands in a line of JSON; a moment is a kind of day, and what is of no kind here is any JSON.
_WRITTEN: tuple[tuple[type["models.Field[Any, Any]"], type], ...] = (
    (models.BooleanField, bool),
    (models.IntegerField, int),
    (models.CharField, str),
    (models.TextField, str),
    (models.DateField, str),
    (models.DecimalField, str),
    (models.UUIDField, str),
)


def _reader(field: "models.Field[Any, Any]") -> Callable[[Any], Any]:
    """How a value of a column is read; what is read raises ValueError where a column holds no such thing."""
    target = field.target_field if isinstance(field, models.ForeignKey) else field
    written = next((kind for column, kind in _WRITTEN if isinstance(target, column)), object)
    converts = isinstance(target, models.DateField | models.DecimalField | models.UUIDField)
    longest = target.max_length if isinstance(target, models.CharField) else None

    def read(value: Any) -> Any:
        if not isinstance(value, written) or (written is int and isinstance(value, bool)):
            raise TypeError(f"{field.column} holds {type(value).__name__}, not {written.__name__}")
        if isinstance(value, str) and longest is not None and len(value) > longest:
            raise ValueError(f"{field.column} is longer than {longest}")
        if isinstance(value, int) and not -(2**63) <= value < 2**63:
            raise ValueError(f"{field.column} is no number that a row can have")
        try:
            return target.to_python(value) if converts else value
        except ValidationError as wrong:
            raise ValueError(f"{field.column}: {' '.join(wrong.messages)}") from wrong

    return read


# ------------------------------------------------------------------------------------------------- versions


def migration_of_code() -> str:
    """The name of the last migration in this program's code."""
    ((_, name),) = _loader().graph.leaf_nodes("fleet")
    return str(name)


def migration_of_rows() -> str:
    """The name of the last migration that the database has been through; blank where it matches none."""
    loader = _loader()
    applied = {name for app, name in loader.applied_migrations if app == "fleet"}
    for app, name in loader.graph.nodes:
        if app == "fleet" and applied == _line_to(loader, name):
            return str(name)
    return ""


def knows(migration: str) -> bool:
    """Whether this program knows a migration."""
    return ("fleet", migration) in _loader().graph.nodes


def apps_at(migration: str) -> Apps:
    """The tables as they were at a migration."""
    found: Apps = _loader().project_state(("fleet", migration)).apps
    return found


def _line_to(loader: MigrationLoader, name: str) -> set[str]:
    return {one for app, one in loader.graph.forwards_plan(("fleet", name)) if app == "fleet"}


def _loader() -> MigrationLoader:
    return MigrationLoader(connection)


# ------------------------------------------------------------------------------------------------- the file


class Writer:
    """Writes parts into a file, and their list last."""

    def __init__(self, file: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=3)
        self._parts: list[Part] = []

    def add(self, name: str, chunks: Iterator[bytes], *, counted: bool = False) -> None:
        """Write one part; `counted` are the lines of a table."""
        digest, size, count = hashlib.sha256(), 0, 0
        with self._zip.open(name, "w", force_zip64=True) as out:
            for chunk in chunks:
                out.write(chunk)
                digest.update(chunk)
                size += len(chunk)
                count += 1
        self._parts.append(Part(name, digest.hexdigest(), size, count - 1 if counted else None))

    def close(self, *, migration: str, made_at: str) -> Contents:
        """Write the list."""
        found = Contents(FORMAT, migration, made_at, tuple(self._parts))
        self._zip.writestr(LIST, json.dumps(asdict(found), indent=1))
        self._zip.close()
        return found


class Reader:
    """Reads a file that was held against its list of parts; raises Refused for one that is damaged or from a later version."""

    def __init__(self, file: IO[bytes]) -> None:
        try:
            self._zip = zipfile.ZipFile(file)
            self.contents = _contents(from_json(self._zip.read(LIST)))
            self._check()
        except Refused:
            raise
        except (zipfile.BadZipFile, KeyError, TypeError, ValueError, EOFError, OSError, NotImplementedError) as wrong:
            raise Refused(f"The file is damaged or no backup: {wrong}.") from wrong
        except Exception as wrong:
            if type(wrong).__module__ != "zlib":
                raise
            raise Refused(f"The file is damaged: {wrong}.") from wrong

    def _check(self) -> None:
        listed = sorted([LIST, *(part.name for part in self.contents.parts)])
        if sorted(self._zip.namelist()) != listed:
            raise ValueError("its parts are not those of its list")
        for part in self.contents.parts:
            where = PurePosixPath(part.name)
            if where.is_absolute() or ".." in where.parts or "\\" in part.name:
                raise ValueError(f"{part.name} names no place of its own")
            digest, size = hashlib.sha256(), 0
            with self._zip.open(part.name) as file:
                while chunk := file.read(CHUNK):
                    digest.update(chunk)
                    size += len(chunk)
            if (digest.hexdigest(), size) != (part.digest, part.size):
                raise ValueError(f"{part.name} is not what it was")

    def open(self, part: Part) -> IO[bytes]:
        """Open one part."""
        return self._zip.open(part.name)


def _contents(found: dict[str, Any]) -> Contents:
    if found["format"] < FORMAT:
        raise Refused("The backup is too old: it was made by a version of the program that this one cannot read.")
    if found["format"] > FORMAT:
        raise Refused("The backup is of a later version of the program than this one.")
    parts = tuple(Part(**part) for part in found["parts"])
    return Contents(FORMAT, str(found["migration"]), str(found["made_at"]), parts)
