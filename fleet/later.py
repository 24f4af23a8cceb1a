"""Work to be done, written in the same transaction as the change that wants it.

An action says `later("read_photo", key=f"read_photo {photo.pk}", photo=photo.pk)`: by name, so that no action imports a task.
The row is the promise. The nudge that follows the commit only saves somebody from waiting for the next sweep: when it is
lost, or the queue is down, nothing is lost but a minute.
"""

import datetime as dt
import logging
import threading
import time

from celery import current_app
from django.conf import settings
from django.db import transaction

from fleet import models

Plain = str | int | bool | None

# What the web process's own thread waits for where no queue is.
nudged = threading.Event()

# After a queue did not answer, how long it is left alone: a request with many jobs must not wait for each of them.
QUIET_SECONDS = 30
# How long somebody's request may wait for a queue that hangs.
ANSWER_SECONDS = 2
# A nudge that nobody took by then says nothing that the sweep has not said since.
NUDGE_EXPIRES_SECONDS = 60

_log = logging.getLogger(__name__)
_quiet_until = 0.0


def later(
    name: str,
    *,
    key: str,
    about: str = "",
    by: models.User | None = None,
    not_before: dt.datetime | None = None,
    **payload: Plain,
) -> models.Job:
    """Write down that `name` in fleet.tasks is to be called with this payload, once for all time per key.

    A key that is on file already is the same work: nothing is added, whatever became of it. Work that may be wanted again
    carries in its key what makes it another (a day, a version). A payload holds ids and plain values; whatever is larger
    stands in rows of its own, which the job reads when it runs.
    """
    for word, value in payload.items():
        if not isinstance(value, Plain):
            raise TypeError(f"{word} is {type(value).__name__}; a job is told ids and plain values")
    for word, text, longest in (("key", key, 200), ("name", name, 60)):
        if not 0 < len(text) <= longest:
            raise ValueError(f"{word} is {text!r}; 1 to {longest} characters are wanted")
    job, added = models.Job.objects.get_or_create(
        key=key,
        defaults={"name": name, "payload": payload, "about": about[:200], "by": by, "not_before": not_before},
    )
    if added and not_before is None:
        transaction.on_commit(nudge, robust=True)
    return job


def has_queue() -> bool:
    """Whether a queue was named; without one, the web process works in a thread of its own."""
    return bool(getattr(settings, "CELERY_BROKER_URL", ""))


def nudge() -> None:
    """Wake whoever does the work that waits; whatever goes wrong with that is for the log, since the sweep finds the row."""
    global _quiet_until
    if not has_queue():
        nudged.set()
        return
    if time.monotonic() < _quiet_until:
        return
    try:
        # A connection of its own, which no restart of the queue can have broken, and no long wait for one that is down.
        with current_app.connection_for_write(
            settings.CELERY_BROKER_URL, transport_options={"socket_timeout": ANSWER_SECONDS}
        ) as connection:
            connection.ensure_connection(max_retries=1, interval_start=0)
            current_app.send_task("fleet.tasks.run_due_jobs", connection=connection, expires=NUDGE_EXPIRES_SECONDS)
    except Exception as unreachable:
        _quiet_until = time.monotonic() + QUIET_SECONDS
        _log.warning("The queue does not answer (%s); the next sweep finds the work.", unreachable)
