"""What waits, runs, failed and was done in the background."""

import datetime as dt
from collections.abc import Iterable, Iterator

from django.db.models import Count, QuerySet
from django.utils import timezone

from fleet import models
from fleet.elements.lists import PER_PAGE, Cell, Link, Listing, Row, Sort, sort_of, within
from fleet.elements.pieces import moment
from fleet.office.pages import jobs as pages

CHUNK = 500
# How many of each kind of open work are shown one by one; the rest is counted.
SHOWN = 50
# The first of each is what is sorted by; the key keeps equal ones in one order.
_ORDER = {"asked": ("asked_at", "pk"), "ended": ("ended_at", "pk"), "outcome": ("state", "ended_at", "pk")}


def page(asked: pages.Asked, *, sort: str, number: int) -> pages.JobsPage:
    """Show what is open, and one page of what has ended."""
    found = _ended(asked)
    chosen, count = _sort(sort), found.count()
    number = within(number, count)
    first = (number - 1) * PER_PAGE
    rows = tuple(_rows(_ordered(found, chosen)[first : first + PER_PAGE]))
    return pages.JobsPage(asked, open_work(), Listing(pages.COLUMNS, rows, count, chosen, number))


def open_work() -> pages.Open:
    """Show what failed, runs and waits; what failed last and what was asked for first stand first."""
    counts = models.Job.objects.filter(state__in=("failed", "running", "waiting"))
    counted = dict(counts.order_by("state").values_list("state").annotate(count=Count("pk")))
    return pages.Open(
        failed=_first("failed", "-ended_at"),
        running=_first("running", "pk"),
        waiting=_first("waiting", "pk"),
        failed_count=counted.get("failed", 0),
        running_count=counted.get("running", 0),
        waiting_count=counted.get("waiting", 0),
    )


def one(pk: int) -> pages.JobPage | None:
    """Show one piece of work, with what people did about it."""
    job = models.Job.objects.select_related("by").filter(pk=pk).first()
    if job is None:
        return None
    changes = models.Change.objects.filter(table="job", object_id=pk).select_related("by").order_by("pk")
    steps = (pages.Step(_moment(row.at), str(row.by or ""), row.before, row.after) for row in changes)
    return pages.JobPage(_work(job), tuple(steps))


def rows(asked: pages.Asked, *, sort: str) -> Iterator[Row]:
    """Give every row of the list, a few hundred at a time in memory."""
    yield from _rows(_ordered(_ended(asked), _sort(sort)).iterator(chunk_size=CHUNK))


def _sort(text: str) -> Sort:
    return sort_of(text, pages.COLUMNS, otherwise="-ended")


def _first(state: str, order: str) -> tuple[pages.Work, ...]:
    return tuple(map(_work, models.Job.objects.filter(state=state).select_related("by").order_by(order)[:SHOWN]))


def _ended(asked: pages.Asked) -> QuerySet[models.Job]:
    return models.Job.objects.filter(state__in=[asked.outcome] if asked.outcome else pages.STATES)


def _ordered(found: QuerySet[models.Job], sort: Sort) -> QuerySet[models.Job]:
    falling = "-" if sort.falling else ""
    return found.select_related("by").order_by(*(f"{falling}{name}" for name in _ORDER[sort.name]))


def _rows(found: Iterable[models.Job]) -> Iterator[Row]:
    for job in found:
        work = _work(job)
        yield (
            Cell(work.title, Link("job", work.pk)),
            Cell(work.about),
            Cell(work.asked_by),
            Cell(work.asked),
            Cell(work.ended),
            Cell(work.tries),
            Cell(work.state),
            Cell(work.why),
        )


def _work(job: models.Job) -> pages.Work:
    return pages.Work(
        pk=job.pk,
        title=pages.title(job.name),
        about=job.about,
        asked_by=str(job.by or ""),
        state=job.state,
        asked=_moment(job.asked_at),
        not_before=_moment(job.not_before),
        began=_moment(job.started_at),
        ended=_moment(job.ended_at),
        tries=job.tries,
        parts_done=job.parts_done,
        parts=job.parts,
        stop_asked=job.stop_asked,
        why=job.why,
    )


def _moment(at: dt.datetime | None) -> str:
    return moment(at and at.astimezone(timezone.get_default_timezone()))
