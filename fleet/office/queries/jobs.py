"""What waits, runs, failed and was done in the background."""

import datetime as dt
from typing import Any

from django.db.models import Count, QuerySet

from fleet import models
from fleet.elements.cells import Cell, Column, Link
from fleet.elements.listing import Filter, List
from fleet.elements.named import local
from fleet.elements.pieces import moment
from fleet.office.pages import jobs as pages

# How many of each kind of open work are shown one by one; the rest is counted.
SHOWN = 50


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


def _first(state: str, order: str) -> tuple[pages.Work, ...]:
    return tuple(map(_work, models.Job.objects.filter(state=state).select_related("by").order_by(order)[:SHOWN]))


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
    return moment(local(at))


def _rows(filters: Any, on: dt.date) -> QuerySet[models.Job]:
    ended = [filters.outcome] if filters.outcome else pages.STATES
    return models.Job.objects.filter(state__in=ended).select_related("by")


JOBS = List(
    file="background-work",
    caption="Work that has ended",
    rows=_rows,
    lead=lambda listing: {"open": open_work()},
    usual="-ended",
    columns=(
        Column("work", "Work", value=lambda row: Cell(pages.title(row.name), Link("job", row.pk))),
        Column("about", "About"),
        Column("asked_by", "Started by", value=lambda row: str(row.by or "")),
        Column("asked", "Started", "moment", value=lambda row: local(row.asked_at), order=("asked_at", "pk")),
        Column("ended", "Ended", "moment", value=lambda row: local(row.ended_at), order=("ended_at", "pk")),
        Column("tries", "Tries", "number"),
        Column("outcome", "Outcome", value="state", order=("state", "ended_at", "pk")),
        Column("why", "Why"),
    ),
    filters=(Filter("outcome", choices=pages.STATES),),
)
