"""Who changed what: loads of files, and every change of a fact with before and after."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Now


class Load(models.Model):
    """One file (or one set of rows) that was taken; rows that it brought point here, so nobody asks where they came from."""

    kind = models.CharField(max_length=20)
    name = models.CharField(max_length=255, blank=True)
    digest = models.CharField(max_length=64, blank=True)
    row_count = models.PositiveIntegerField(default=0)
    correcting = models.BooleanField(default=False)
    done_by = models.CharField(
        max_length=120, blank=True, help_text="another company, whose work it is where a row names nobody; blank: ours"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    def __str__(self) -> str:
        return f"{self.kind} {self.name}".strip()


class Change(models.Model):
    """One fact that changed after it was first told: which, from what, to what, by whom, when and why.

    `by` is empty only for a change made on the command line.
    """

    table = models.CharField(max_length=40)
    object_id = models.BigIntegerField()
    field = models.CharField(max_length=60)
    before = models.TextField(blank=True)
    after = models.TextField(blank=True)
    why = models.CharField(max_length=300, blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="changes")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        indexes = [models.Index(fields=["table", "object_id", "-at"])]

    def __str__(self) -> str:
        return f"{self.table} {self.object_id} {self.field}: {self.before!r} to {self.after!r}"
