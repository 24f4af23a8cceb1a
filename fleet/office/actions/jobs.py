"""Taking, finishing, retrying and stopping jobs, so that every effect happens once however workers die.

1. A worker claims a job: one conditional update that only one of several can win. It now holds a lease for a while.
2. While it works it says how far it is, which makes the lease longer and tells it when somebody asked to stop.
3. It finishes: the effect and the end of the job are one transaction, and the first statement of it is the fence, which
   touches no row if the lease is no longer this worker's. Then nothing of its work is kept.
4. It fails: the job waits, longer each time, and after the last try it has failed, saying why.
5. It dies: the lease runs out, and the next worker claims the job as in 1.

No row is locked to be read, so the same statements serve SQLite and PostgreSQL.
"""

import datetime as dt
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import F

from fleet import later, models
from fleet.models.jobs import JobQuerySet

# How long a worker may be silent before its job is given to another; each word of progress starts it anew.
LEASE = dt.timedelta(minutes=5)
# How long a job waits after its first, second, ... failed try; the try after the last wait is the last.
WAITS = (dt.timedelta(seconds=30), dt.timedelta(minutes=2), dt.timedelta(minutes=10), dt.timedelta(hours=1))
TRIES = len(WAITS) + 1
# How many candidates one look at the table brings, so that workers who race for the first find another soon.
CANDIDATES = 20
LONGEST_WHY = 2000

WENT_SILENT = "Each time it was tried, the program that worked on it ended before the work did."


class LeaseLost(Exception):
    """Another worker has the job by now, or somebody ended it: whatever this one did must not be kept."""


class StopAsked(Exception):
    """Somebody asked for this work to be stopped."""


@dataclass(frozen=True, slots=True)
class Claimed:
    """A job in the hands of one worker, as it was when it was claimed."""

    pk: int
    name: str
    payload: dict[str, Any]
    tries: int
    lease: str


def claim(*, at: dt.datetime) -> Claimed | None:
    """Take the job that has waited longest; none if there is nothing to do."""
    while candidates := list(models.Job.objects.claimable(at=at).order_by("pk")[:CANDIDATES]):
        for job in candidates:
            if job.state == "running" and (job.stop_asked or job.tries >= TRIES):
                _bury(job, at=at)
            elif claimed := _try_to_claim(job, at=at):
                return claimed
    return None


def progress(claimed: Claimed, *, done: int, parts: int | None, at: dt.datetime) -> None:
    """Record how far the work is, which also renews the lease; raises StopAsked or LeaseLost.

    Not inside the finishing transaction: nobody would see it before the end.
    """
    leased = _leased(claimed)
    if leased.filter(stop_asked=False).update(parts_done=done, parts=parts, leased_until=at + LEASE):
        return
    raise StopAsked(claimed.name) if leased.exists() else LeaseLost(claimed.name)


@contextmanager
def finishing(claimed: Claimed, *, at: dt.datetime) -> Iterator[None]:
    """Hold the transaction in which the effect is written and the job is done, both or neither; raises LeaseLost."""
    with transaction.atomic():
        # First, not last: from here to the end the row is this worker's, however long the effect takes.
        done = _leased(claimed).update(state="done", lease="", leased_until=None, ended_at=at, stop_asked=False, why="")
        if not done:
            raise LeaseLost(claimed.name)
        yield


def fail(claimed: Claimed, *, why: str, at: dt.datetime, again: bool) -> None:
    """Record that a try failed: the job waits for the next one, or has failed for good."""
    why = why.strip()[:LONGEST_WHY] or "No reason was given."
    leased = _leased(claimed)
    if again and claimed.tries < TRIES:
        wait = WAITS[claimed.tries - 1]
        # A person who asked to stop does not want the next try either.
        if leased.filter(stop_asked=False).update(
            state="waiting", lease="", leased_until=None, not_before=at + wait, why=why
        ):
            return
    if not leased.filter(stop_asked=True).update(state="stopped", lease="", leased_until=None, ended_at=at, why=why):
        leased.update(state="failed", lease="", leased_until=None, ended_at=at, why=why)


def stopped(claimed: Claimed, *, at: dt.datetime) -> None:
    """Record that the work was stopped as asked."""
    _leased(claimed).update(state="stopped", lease="", leased_until=None, ended_at=at)


def hand_back(claimed: Claimed, *, at: dt.datetime) -> None:
    """Return a job to the queue, this try uncounted, since the program that works on it is about to end."""
    leased = _leased(claimed)
    if not leased.filter(stop_asked=False).update(
        state="waiting", lease="", leased_until=None, not_before=None, tries=F("tries") - 1
    ):
        stopped(claimed, at=at)


def ask_to_stop(*, job: models.Job, by: models.User | None, at: dt.datetime) -> str:
    """Stop work that waits or that failed; ask running work to stop at its next word of progress.

    Return the state it is in now, or nothing where there is nothing left to stop.
    """
    rows = models.Job.objects.filter(pk=job.pk)
    with transaction.atomic():
        if rows.filter(state="running", stop_asked=False).update(stop_asked=True):
            _log(job.pk, "stop_asked", "no", "yes", by=by)
            return "running"
        for was in ("waiting", "failed"):
            if rows.filter(state=was).update(state="stopped", ended_at=at):
                _log(job.pk, "state", was, "stopped", by=by)
                return "stopped"
    return ""


def try_again(*, job: models.Job, by: models.User | None) -> bool:
    """Put work that failed or was stopped back in line, with all its tries. False: it is neither."""
    with transaction.atomic():
        before = models.Job.objects.filter(pk=job.pk, state__in=("failed", "stopped")).values_list("state", flat=True)
        was = before.first()
        if was is None:
            return False
        models.Job.objects.filter(pk=job.pk, state=was).update(
            state="waiting", tries=0, not_before=None, stop_asked=False, ended_at=None, parts_done=0, parts=None
        )
        _log(job.pk, "state", was, "waiting", by=by)
        transaction.on_commit(later.nudge, robust=True)
    return True


def write_daily(names: tuple[str, ...], *, on: dt.date) -> None:
    """Write down the work that every day wants, once a day however often this is called."""
    keys = {f"{name} {on.isoformat()}": name for name in names}
    there = set(models.Job.objects.filter(key__in=keys).values_list("key", flat=True))
    for key, name in keys.items():
        if key not in there:
            later.later(name, key=key)


def _leased(claimed: Claimed) -> JobQuerySet:
    return models.Job.objects.filter(pk=claimed.pk, state="running", lease=claimed.lease)


def _try_to_claim(job: models.Job, *, at: dt.datetime) -> Claimed | None:
    lease = uuid.uuid4().hex
    # Claimable is asked again in the statement that ends it: of two workers, one changes no row.
    won = (
        models.Job.objects.claimable(at=at)
        .filter(pk=job.pk)
        .update(
            state="running",
            lease=lease,
            leased_until=at + LEASE,
            tries=F("tries") + 1,
            started_at=at,
            parts_done=0,
            parts=None,
        )
    )
    return Claimed(job.pk, job.name, job.payload, job.tries + 1, lease) if won else None


def _bury(job: models.Job, *, at: dt.datetime) -> None:
    """End a job whose worker went silent and which nobody should take again."""
    state, why = ("stopped", job.why) if job.stop_asked else ("failed", WENT_SILENT)
    models.Job.objects.claimable(at=at).filter(pk=job.pk, lease=job.lease).update(
        state=state, lease="", leased_until=None, ended_at=at, why=why
    )


def _log(pk: int, field: str, before: str, after: str, *, by: models.User | None) -> None:
    models.Change.objects.create(table="job", object_id=pk, field=field, before=before, after=after, by=by)
