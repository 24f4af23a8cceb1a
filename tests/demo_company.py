"""The demo company, which takes long to load: loaded once for each day in a run of tests, and put back as rows after that."""

import contextlib
import fcntl
import io
import pickle
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, transaction

from fleet import clock, models
from fleet.office.facts import archive


class DemoCompany:
    """What loads it: the processes of a run share the folder, so that each finds what another has loaded."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def load(self) -> None:
        """Put the company of today on file, where nothing is yet."""
        kept = self._folder / f"demo-{clock.today()}-{connection.vendor}"
        with _alone(self._folder / "demo-lock"):
            if not kept.exists():
                call_command("load_demo", stdout=io.StringIO())
                kept.write_bytes(pickle.dumps([list(table._base_manager.all()) for table in archive.tables(apps)]))
                return
        with transaction.atomic():
            rows_of = pickle.loads(kept.read_bytes())
            for table, rows in zip(archive.tables(apps), rows_of, strict=True):
                assert table is not models.Customer or not table.objects.exists()
                table._base_manager.all()._raw_delete(connection.alias)  # what migrations wrote
                table._base_manager.bulk_create(rows)
            with connection.cursor() as cursor:
                for statement in connection.ops.sequence_reset_sql(no_style(), list(archive.tables(apps))):
                    cursor.execute(statement)


@contextlib.contextmanager
def _alone(lock: Path) -> Iterator[None]:
    with lock.open("w") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
