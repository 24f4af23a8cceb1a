"""What a worker or the draining thread calls: the jobs by name, and the loop that takes them one after another.

To add a job:

1. Write a function here under `@job`. Its name is the job's name; its arguments are the run and, by keyword, the payload.
   It has three lines: fetch or work out with a query or an action, then store inside `run.finishing()`.

       @job
       def read_photo(run: Run, *, photo: int) -> None:
           text = plates.text_of(photo)                  # slow: outside the transaction
           with run.finishing():                         # the effect and the end of the job: both or neither
               units.note_plate(photo=photo, text=text, on=clock.today())

2. Have the action that wants it say `later("read_photo", key=f"read_photo {photo.pk}", photo=photo.pk)` in its
   transaction (see fleet.later), and give the job its words in TITLES of fleet.office.pages.jobs (a test asks for both).

A job may run again after a worker died, so all that must happen once goes inside `run.finishing()`, and what stands outside
must be harmless twice. Work in many steps calls `run.progress(done, parts)` between them, at least every other minute; pass
the method to an action as a plain callable. An exception means another try later; `Refused(why)` means none.
`@job(daily=True)` wants no `later()`: the sweep writes one for each day. Nothing is decided here.
"""

import datetime as dt
import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, overload

from celery import shared_task
from django.db import connection
from django.utils import timezone

from fleet import clock
from fleet.business.actions import outlook
from fleet.care.actions import tickets as ticket_actions
from fleet.care.papers import ticket as ticket_paper
from fleet.care.queries import tickets
from fleet.derived import refresh
from fleet.facts import company
from fleet.later import nudge, nudged
from fleet.office.actions import import_course, import_take, import_undo, imports, jobs, people
from fleet.refusals import Refused

# A task of the queue hands over to the next after this long, so that a worker that is asked to end soon does.
SPELL = dt.timedelta(seconds=30)

# How often the table is looked through though nobody said that work waits.
SWEEP = dt.timedelta(minutes=1)
# For whoever works until nothing is left.
NEVER = threading.Event()

_log = logging.getLogger(__name__)


class Ending(Exception):
    """The program that works is about to end."""


class Run:
    """One try at one job, in the hands of the function that does it."""

    def __init__(self, claimed: jobs.Claimed, stopping: threading.Event) -> None:
        self.claimed = claimed
        self.finished = False
        self._stopping = stopping

    def progress(self, done: int, parts: int | None = None) -> None:
        """Record how far the work is; raises where it should not go on."""
        self.heed()
        jobs.progress(self.claimed, done=done, parts=parts, at=clock.now())

    def heed(self) -> None:
        """Raise where the program is about to end; for steps inside the last transaction, where progress cannot be told."""
        if self._stopping.is_set():
            raise Ending

    @contextmanager
    def finishing(self) -> Iterator[None]:
        """Hold the one transaction of the effect and the end of the job."""
        with jobs.finishing(self.claimed, at=clock.now()):
            yield
        self.finished = True


Function = Callable[..., None]
JOBS: dict[str, Function] = {}
DAILY: list[str] = []


@overload
def job(function: Function) -> Function: ...
@overload
def job(*, daily: bool = False) -> Callable[[Function], Function]: ...
def job(function: Function | None = None, *, daily: bool = False) -> Any:
    """Make a function known by its name as a job that `later()` may ask for."""

    def known(function: Function) -> Function:
        JOBS[function.__name__] = function
        if daily:
            DAILY.append(function.__name__)
        return function

    return known if function is None else known(function)


# -- the jobs


@job(daily=True)
def catch_up(run: Run) -> None:
    """Work out again the kept rows whose day has come, so that no page of the day has to."""
    # Outside the last transaction: each of its own is whole, and to work a row out twice gives the same row.
    refresh.catch_up(on=clock.today())


@job
def mail_link(run: Run, *, person: int, root: str) -> None:
    """Mail somebody the link by which they set a new password; twice the same mail harms nobody."""
    people.mail_link(person=person, root=root)


@job
def mail_ticket(run: Run, *, write_up: int, to: str, whose: int) -> None:
    """Email a customer the ticket of a visit; after a break it is the same mail again, which harms nobody."""
    ticket = tickets.ticket(write_up, on=clock.today())
    if ticket is None:
        raise Refused("The write-up was taken back, so it has no ticket.")
    ours = company.company()
    ticket_actions.send(ticket, ticket_paper.pdf(ticket, company=ours), to=to, company=ours)
    with run.finishing():
        ticket_actions.note_sent(write_up, to=to, whose=whose)


@job
def read_import(run: Run, *, imported: int) -> None:
    """Read what the columns of a file are that somebody brought."""
    import_course.read(imported=imported, on=clock.today(), tell=run.progress, finishing=run.finishing)


@job
def take_import(run: Run, *, imported: int) -> None:
    """Check or take a file that somebody brought."""
    watch = import_take.Watch(run.progress, run.heed, run.finishing)
    imports.take(imported=imported, on=clock.today(), watch=watch)


@job
def undo_import(run: Run, *, imported: int, why: str, whose: int) -> None:
    """Undo an import; on SQLite nobody else can write meanwhile."""
    import_undo.undo(imported=imported, why=why, whose=whose, on=clock.today(), finishing=run.finishing)


@job(daily=True)
def drop_old_imports(run: Run) -> None:
    """Remove the files that nobody came back for; twice does no harm."""
    imports.drop_old(at=clock.now())


@job(daily=True)
def look_ahead(run: Run) -> None:
    """Work the year ahead out, so that no page has to wait for the plan of every site."""
    found = outlook.work_out(on=clock.today())
    with run.finishing():
        outlook.keep(found, at=clock.now())


# -- what works on them


@shared_task
def run_due_jobs() -> None:
    """Do the work that waits: what a nudge asks of a worker."""
    if not drain(at_most=SPELL):
        nudge()


@shared_task
def sweep() -> None:
    """Write down the day's work, then do what waits: what beat asks of a worker each minute."""
    write_daily()
    run_due_jobs()


def write_daily() -> None:
    """Write down the work that every day wants."""
    timezone.activate(company.zone())
    jobs.write_daily(tuple(DAILY), on=clock.today())


def work(*, stopping: threading.Event) -> None:
    """Look for work each minute, and when nudged, until told to end: what does a worker's job where no queue is."""
    while not stopping.is_set():
        try:
            write_daily()
            drain(stopping=stopping)
        except Exception:
            # The database may be away or busy for a while; the next look tries again.
            _log.exception("The work that waits could not be looked through.")
        finally:
            connection.close()
        nudged.wait(SWEEP.total_seconds())
        nudged.clear()


class Worker(threading.Thread):
    """The thread that works where no queue is; it dies with its program, and a lease brings back what it had in hand."""

    def __init__(self) -> None:
        super().__init__(name="jobs", daemon=True)
        self.stopping = threading.Event()

    def run(self) -> None:
        """Work until told to end."""
        work(stopping=self.stopping)

    def stop(self, *, within: float) -> bool:
        """Ask it to end after the step in hand, and wait at most so many seconds; return whether it has ended."""
        self.stopping.set()
        nudged.set()
        self.join(within)
        return not self.is_alive()


def drain(*, stopping: threading.Event = NEVER, at_most: dt.timedelta | None = None) -> bool:
    """Do what waits, one job after another; False if it had to end before everything was done."""
    until = clock.now() + at_most if at_most else None
    while not stopping.is_set() and (until is None or clock.now() < until):
        claimed = jobs.claim(at=clock.now())
        if claimed is None:
            return True
        _work(claimed, stopping)
    return False


def _work(claimed: jobs.Claimed, stopping: threading.Event) -> None:
    """Try one job, in the company's time zone, and record how the try ended."""
    run = Run(claimed, stopping)
    try:
        timezone.activate(company.zone())
        _function(claimed.name)(run, **claimed.payload)
        if not run.finished:
            with run.finishing():
                pass
    except jobs.LeaseLost:
        _log.warning("%s %s was taken over by another worker; nothing of this try is kept.", claimed.name, claimed.pk)
    except jobs.StopAsked:
        jobs.stopped(claimed, at=clock.now())
    except Ending:
        jobs.hand_back(claimed, at=clock.now())
    except Refused as why:
        jobs.fail(claimed, why=str(why), at=clock.now(), again=False)
    except Exception as failure:
        _log.exception("%s %s failed.", claimed.name, claimed.pk)
        jobs.fail(claimed, why=f"{type(failure).__name__}: {failure}", at=clock.now(), again=True)
    except BaseException:
        jobs.hand_back(claimed, at=clock.now())
        raise


def _function(name: str) -> Function:
    if name not in JOBS:
        raise LookupError(f"this version of the program knows no work called {name}")
    return JOBS[name]
