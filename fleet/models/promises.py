"""Terms on file, who checked them when, and what was told of a unit's registration, notices and bought promises."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.log import Load
from fleet.models.units import Unit
from fleet.models.words import choices, one_of
from fleet.rules import words


class Terms(models.Model):
    """What one payer promises, as its file says; `document` is the whole table, never edited once units hold it.

    The columns beside it are for lists and look-ups; the rules read the document alone.
    """

    code = models.CharField(max_length=80, unique=True)
    payer = models.CharField(max_length=12, choices=choices(words.PAYERS))
    maker = models.CharField(max_length=120)
    title = models.CharField(max_length=500)
    installed_from = models.DateField()
    installed_to = models.DateField(null=True)
    replaces = models.CharField(max_length=80, blank=True, db_index=True)
    document = models.TextField()
    digest = models.CharField(max_length=64)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [one_of("payer", words.PAYERS)]

    def __str__(self) -> str:
        return self.code


class TermsCheck(models.Model):
    """That somebody held terms against the payer's paper again, on a day."""

    terms = models.ForeignKey(Terms, models.CASCADE, related_name="checks")
    checked_on = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-checked_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.terms_id} checked {self.checked_on}"


class Registration(models.Model):
    """One thing told about registering a unit: the day, the payer's number, or that it was accepted late in writing.

    Without terms it holds for every maker's terms that the unit holds. `with_install` marks what came in the unit's own
    row of an installs file, so that loading that row again finds it. `in_name` and `serial` are what the payer was told, blank
    where nobody kept it; `fine_name` and `fine_serial_key` are ours when somebody said that a difference is as it should be.
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="registrations")
    terms = models.ForeignKey(Terms, models.PROTECT, null=True, related_name="registrations")
    registered_on = models.DateField(null=True)
    number = models.CharField(max_length=120, blank=True)
    accepted_late = models.BooleanField(null=True)
    accepted_late_on = models.DateField(null=True)
    told_by = models.CharField(max_length=200, blank=True, help_text="who at the payer said so")
    in_name = models.CharField(max_length=200, blank=True, help_text="in whose name it was made")
    serial = models.CharField(max_length=120, blank=True, help_text="with which serial it was made")
    serial_key = models.CharField(max_length=120, blank=True)
    fine_name = models.CharField(max_length=200, blank=True)
    fine_serial_key = models.CharField(max_length=120, blank=True)
    with_install = models.BooleanField(default=False)
    proof = models.ForeignKey(
        "Document", models.SET_NULL, null=True, related_name="proves", help_text="the payer's paper; one may prove many"
    )
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["unit"], condition=Q(with_install=True), name="registration_one_with_the_install"
            ),
            models.CheckConstraint(
                condition=Q(accepted_late_on__isnull=True) | Q(accepted_late=True),
                name="registration_late_day_only_if_accepted",
            ),
        ]

    def __str__(self) -> str:
        return f"registered {self.registered_on} {self.number}".strip()


class Notice(models.Model):
    """That a payer was told of a sale, on a day; without terms: every maker whose terms the unit holds."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="notices")
    terms = models.ForeignKey(Terms, models.PROTECT, null=True, related_name="notices")
    notified_on = models.DateField()
    number = models.CharField(max_length=120, blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"told {self.notified_on}"


class Attachment(models.Model):
    """Terms bought or promised for one unit; without a day: when it was started, else installed, else purchased."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="attachments")
    terms = models.ForeignKey(Terms, models.PROTECT, related_name="attachments")
    attached_on = models.DateField(null=True)
    number = models.CharField(max_length=120, blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["unit", "terms"], name="attachment_once")]

    def __str__(self) -> str:
        return f"{self.terms_id} for {self.unit_id}"
