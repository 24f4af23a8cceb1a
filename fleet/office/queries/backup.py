"""A backup: every table and every photo and paper, as they were at one moment, in one file."""

import datetime as dt
import os
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import chain
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import connection, transaction

from fleet import models
from fleet.office.facts import archive
from fleet.office.facts.archive import Contents
from fleet.refusals import Refused


def write(path: Path, *, made_at: dt.datetime) -> Contents:
    """Write a backup, readable by its owner alone; a file that is there already is refused, and a torn one leaves none behind."""
    if path.exists():
        raise Refused(f"{path} is there already; give another name.")
    if archive.migration_of_rows() != archive.migration_of_code():
        raise Refused("The database is not of this version of the program; migrate it first.")
    part = path.with_name(f"{path.name}.part")
    try:
        with os.fdopen(os.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600), "w+b") as file:
            contents = _write(archive.Writer(file), made_at)
            file.flush()
            os.fsync(file.fileno())
        _reserve(path)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return contents


def _reserve(path: Path) -> None:
    """Take a name, so that no file that came meanwhile is replaced; a link would do so too, but not on every disk."""
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError as there:
        raise Refused(f"{path} is there already; give another name.") from there


def _write(out: archive.Writer, made_at: dt.datetime) -> Contents:
    # The rows first: a file is written before the row that names it, and never changed, so none can be missing afterward.
    with _one_moment():
        for table in archive.tables(apps):
            out.add(f"{archive.TABLES}{table._meta.db_table}", archive.rows_out(table), counted=True)
    for path in media():
        out.add(f"{archive.MEDIA}{path.relative_to(settings.MEDIA_ROOT).as_posix()}", _chunks(path))
    return out.close(migration=archive.migration_of_code(), made_at=made_at.isoformat(timespec="seconds"))


def media() -> list[Path]:
    """List the photos and papers on the disk; what is still being written, or restored, is none yet."""
    root = Path(settings.MEDIA_ROOT)
    return sorted(
        path
        for path in root.rglob("*")
        if path.is_file() and path.suffix != ".part" and not path.relative_to(root).parts[0].startswith(".")
    )


def missing() -> int:
    """Count the photos and papers that a row names and the disk has not."""
    root = Path(settings.MEDIA_ROOT)
    named = models.Document.objects.values_list("stored", flat=True)
    logos = models.Company.objects.exclude(logo="").values_list("logo", flat=True)
    return sum(not (root / stored).is_file() for stored in chain(named.iterator(), logos))


def _chunks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while chunk := file.read(archive.CHUNK):
            yield chunk


@contextmanager
def _one_moment() -> Iterator[None]:
    """See the rows as they are now, whatever others write meanwhile, and keep nobody from writing."""
    if connection.vendor == "sqlite":
        # Writers take their lock at the start; this only reads.
        connection.ensure_connection()
        usual = connection.transaction_mode  # type: ignore[attr-defined]
        connection.transaction_mode = "DEFERRED"  # type: ignore[attr-defined]
        try:
            with transaction.atomic():
                yield
        finally:
            connection.transaction_mode = usual  # type: ignore[attr-defined]
        return
    with transaction.atomic():
        if not connection.savepoint_ids:
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        yield
