"""A backup taken back: every row and every photo and paper, whole or not at all."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from django.db import models as django_models

from fleet import models
from fleet.office.facts import archive
from fleet.office.facts.archive import Contents, Reader
from fleet.refusals import Refused


def take(path: Path, *, replace: bool = False) -> Contents:
    """Put a backup in the place of all that is on file; raises Refused, and changes nothing then."""
    with ExitStack() as stack:
        try:
            file = stack.enter_context(path.open("rb"))
        except OSError as wrong:
            raise Refused(f"{path}: {wrong.strerror}.") from wrong
        backup = Reader(file)
        _check_version(backup.contents)
        if not replace and models.Customer.objects.exists():
            raise Refused("There are customers on file here. With --replace the backup takes the place of everything.")
        staged = stack.enter_context(_staged(backup))
        try:
            _taken(backup, staged)
        except Refused:
            raise
        except (DatabaseError, ValidationError, ValueError) as wrong:
            raise Refused(f"The rows of the backup do not hold together: {wrong}.") from wrong
    _remove_others(backup.contents)
    return backup.contents


def _taken(backup: Reader, staged: Path) -> None:
    with ExitStack() as unless_taken:
        with transaction.atomic():
            _rows(backup)
            # The last thing that can fail but for the commit itself.
            connection.check_constraints()
            unless_taken.callback(_remove, _moved(staged, backup.contents))
        unless_taken.pop_all()


def _check_version(contents: Contents) -> None:
    if not archive.knows(contents.migration):
        raise Refused("The backup is of a later version of the program than this one.")
    here = archive.migration_of_rows()
    if here == contents.migration:
        return
    if here == archive.migration_of_code():
        raise Refused(
            f"The backup is of an earlier version. Into an empty database: migrate fleet {contents.migration}, restore, migrate."
        )
    raise Refused("The database is not of the version of the backup; migrate it first.")


# ------------------------------------------------------------------------------------------------- rows


def _rows(backup: Reader) -> None:
    tables = archive.tables(archive.apps_at(backup.contents.migration))
    # Whoever is logged in is so as somebody of before.
    Session.objects.all().delete()
    for table in tables:
        everything = table._base_manager.all()
        everything._raw_delete(everything.db)
    for table in tables:
        _table(table, backup)
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            cursor.execute(statement)


def _table(table: type[django_models.Model], backup: Reader) -> None:
    part = backup.contents.table(table._meta.db_table)
    if part is None:
        raise Refused(f"{table._meta.db_table}: the backup has no such table.")
    count = 0
    with backup.open(part) as lines:
        rows: Iterator[Any] = archive.rows_in(table, lines)
        while lot := list(islice(rows, archive.LOT)):
            table._base_manager.bulk_create(lot)
            count += len(lot)
    if count != part.rows:
        raise Refused(f"{table._meta.db_table}: the backup has {count:,} rows and tells of {part.rows:,}.")


# ------------------------------------------------------------------------------------------------- photos and papers


@contextmanager
def _staged(backup: Reader) -> Iterator[Path]:
    """Write the photos and papers beside those that are there, on the same disk, so that moving them cannot fail halfway."""
    root = Path(settings.MEDIA_ROOT)
    root.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp(prefix=".restoring-", dir=root))
    try:
        for part in backup.contents.media:
            path = folder / part.name.removeprefix(archive.MEDIA)
            path.parent.mkdir(parents=True, exist_ok=True)
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "wb") as out, backup.open(part) as source:
                shutil.copyfileobj(source, out, archive.CHUNK)
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _moved(staged: Path, contents: Contents) -> list[Path]:
    """Move the files to their places; return the new ones. Names are random, so one name has one content."""
    added = []
    for part in contents.media:
        name = part.name.removeprefix(archive.MEDIA)
        path = Path(settings.MEDIA_ROOT) / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            added.append(path)
        (staged / name).replace(path)
    return added


def _remove(paths: list[Path]) -> None:
    for path in paths:
        path.unlink(missing_ok=True)


def _remove_others(contents: Contents) -> None:
    """Remove the files that no row names any more."""
    root = Path(settings.MEDIA_ROOT)
    named = {root / part.name.removeprefix(archive.MEDIA) for part in contents.media}
    _remove([path for path in root.rglob("*") if path.is_file() and path not in named])
