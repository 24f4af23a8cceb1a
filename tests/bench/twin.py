"""A second, empty database beside the first, for floors that write the same rows."""

import copy
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import django
from django.conf import settings
from django.db import connections
from django.db.models import Model

TWIN = "twin"


def setup() -> None:
    """Start Django with the twin as a second alias, and both databases at their last migration.

    The twin is migrated in a process of its own, where it is the default: a migration that writes rows writes them there.
    """
    django.setup()
    from django.core.management import call_command

    folder = settings.DATA_DIR / TWIN
    shutil.rmtree(folder, ignore_errors=True)
    migrate = [sys.executable, "-m", "django", "migrate", "--verbosity", "0"]
    subprocess.run(migrate, env=os.environ | {"DATA_DIR": str(folder)}, check=True)
    database: dict[str, Any] = copy.deepcopy(settings.DATABASES["default"])
    database["NAME"] = folder / "db.sqlite3"
    connections.settings[TWIN] = connections.configure_settings(
        {"default": settings.DATABASES["default"], TWIN: database}
    )[TWIN]
    call_command("migrate", verbosity=0)
    with connections[TWIN].cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys = OFF")


def in_batches(model: type[Model], size: int = 2000) -> Iterator[list[Model]]:
    """Read all rows of a table, some at a time, in the order of their keys."""
    last = 0
    while rows := list(model._default_manager.filter(pk__gt=last).order_by("pk")[:size]):
        last = rows[-1].pk
        yield rows


def write(rows: list[Model], timed: Callable[[Callable[[], object]], None]) -> None:
    """Write rows into the twin with nothing but the database's work counted."""
    model = type(rows[0])
    timed(lambda: model._default_manager.using(TWIN).bulk_create(rows, batch_size=500))
