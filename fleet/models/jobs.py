"""Work to be done outside a request: this table is the truth of it, and a queue only says when to look.

Each job was written in the transaction of the change that wants it. Whoever works on it holds a lease; the lease is also
the fence: its words must still stand in the row when the work is finished, or nothing of that work is kept.
"""

import datetime as dt
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.words import choices, one_of

JOB_STATES = ("waiting", "running", "done", "failed", "stopped")
ENDED = ("done", "failed", "stopped")


class JobQuerySet(models.QuerySet["Job"]):
    """Jobs by what may be done with them."""

    def claimable(self, *, at: dt.datetime) -> Self:
        """Jobs that somebody may take: waiting with their time come, or in the hands of a worker that went silent."""
        waiting = Q(state="waiting") & (Q(not_before__isnull=True) | Q(not_before__lte=at))
        return self.filter(waiting | Q(state="running", leased_until__lte=at))


class Job(models.Model):
    """One piece of work: its name in fleet.tasks, what it is about, where it stands and why.

    `key` stands for the work for good: the same key is the same work, done once, however often it is asked for.
    """

    key = models.CharField(max_length=200, unique=True)
    name = models.CharField(max_length=60)
    payload = models.JSONField(default=dict, help_text="ids and plain values, by name")
    about = models.CharField(max_length=200, blank=True, help_text="what a person would call it")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    asked_at = models.DateTimeField(db_default=Now())
    not_before = models.DateTimeField(null=True)
    state = models.CharField(max_length=12, choices=choices(JOB_STATES), default="waiting")
    tries = models.PositiveSmallIntegerField(default=0)
    lease = models.CharField(max_length=32, blank=True)
    leased_until = models.DateTimeField(null=True)
    stop_asked = models.BooleanField(default=False)
    parts_done = models.PositiveIntegerField(default=0)
    parts = models.PositiveIntegerField(null=True)
    why = models.TextField(blank=True, help_text="why the last try failed")
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("state", JOB_STATES),
            models.CheckConstraint(
                condition=Q(state="running", leased_until__isnull=False) & ~Q(lease="")
                | ~Q(state="running") & Q(lease="", leased_until__isnull=True),
                name="job_leased_while_running",
            ),
            models.CheckConstraint(
                condition=Q(state__in=ENDED, ended_at__isnull=False) | ~Q(state__in=ENDED) & Q(ended_at__isnull=True),
                name="job_ended_at_with_its_end",
            ),
            models.CheckConstraint(condition=~Q(state="failed") | ~Q(why=""), name="job_failed_says_why"),
            models.CheckConstraint(condition=~Q(key="") & ~Q(name=""), name="job_has_key_and_name"),
            models.CheckConstraint(
                condition=Q(parts__isnull=True) | Q(parts_done__lte=models.F("parts")), name="job_parts_done_of_all"
            ),
        ]
        # What may be taken, and each part of the page: few jobs are open, however many are done.
        indexes = [models.Index(fields=["state", "id"], name="job_by_state")]

    def __str__(self) -> str:
        return f"{self.name} {self.key}: {self.state}"
