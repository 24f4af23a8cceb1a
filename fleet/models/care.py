"""The care sheet in force, what is kept of the dues it gives, and the agreements that customers have."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from fleet.models.log import Load
from fleet.models.sites import Site
from fleet.models.units import System, Unit
from fleet.models.words import choices, one_of
from fleet.rules import agreements, caresheet


class CareSheet(models.Model):
    """Our rules for maintenance as a file gave them: `document` is the whole table. One is in force at a time.

    `upkeep_on_file_from` is the day since which our upkeep is on file: the file's own, or that of the sheet before it.
    """

    code = models.CharField(max_length=80, unique=True)
    document = models.TextField()
    digest = models.CharField(max_length=64)
    in_force = models.BooleanField(default=True)
    upkeep_on_file_from = models.DateField(null=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["in_force"], condition=Q(in_force=True), name="caresheet_one_in_force")
        ]

    def __str__(self) -> str:
        return self.code


class CareDraft(models.Model):
    """The one care sheet that is being written on the screen and is not in force yet.

    `typed` has what stands in the form's fields, as texts, whether or not it can be read; `begun_from` is the digest of the
    sheet in force when it was begun; `version` counts the savings, so that of two people at once one hears of the other.
    """

    typed = models.JSONField(default=dict)
    begun_from = models.CharField(max_length=64, blank=True)
    version = models.PositiveIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="caredraft_is_one")]

    def __str__(self) -> str:
        return "care sheet being written"


class DueRow(models.Model):
    """The day that one task should happen next for one thing, kept under the unit that it stands under.

    Never ahead, due or late: that is asked of the day. `units` has the keys of every unit in service that the thing is made
    of; `anchor`, `times` and `assumed_on` are what it was counted from, what shortened it, and the last day on which it is
    assumed to have been done, where no record is later.
    """

    system = models.ForeignKey(System, models.CASCADE, related_name="dues")
    site = models.ForeignKey(Site, models.CASCADE, related_name="dues", db_index=False)
    unit = models.ForeignKey(Unit, models.CASCADE, related_name="dues")
    task = models.CharField(max_length=120)
    by = models.CharField(max_length=12, choices=choices(caresheet.BY))
    last_done = models.DateField(null=True)
    due_on = models.DateField()
    opens_on = models.DateField()
    late_after = models.DateField()
    graded = models.BooleanField(default=False)
    not_before = models.DateField(null=True)
    price = models.DecimalField(max_digits=10, decimal_places=2)
    minutes = models.PositiveIntegerField()
    units = models.JSONField(default=list)
    anchor = models.DateField(null=True)
    times = models.CharField(max_length=20, blank=True, help_text="an exact decimal")
    assumed_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["unit", "task"], name="duerow_once"),
            one_of("by", caresheet.BY),
        ]
        indexes = [
            # Narrow, so that counting whose work there is reads little.
            models.Index(fields=["by", "due_on", "site"], name="due_by_day"),
            # With what decides where a due stands, so that counting what is late in a large fleet reads the index alone.
            models.Index(fields=["by", "late_after", "opens_on", "not_before"], name="due_by_lateness"),
            # With whose it is, so that each site of a large fleet is asked for its first due, and for what closes there, by the
            # index alone.
            models.Index(fields=["site", "by", "due_on"], name="due_by_site"),
            models.Index(fields=["site", "by", "late_after", "opens_on", "not_before"], name="due_closing"),
            models.Index(fields=["task", "due_on"], name="due_by_task"),
        ]

    def __str__(self) -> str:
        return f"{self.task} {self.due_on}"


class Agreement(models.Model):
    """A customer's paid maintenance arrangement for one site; money in dollars. Known by its site and reference."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="agreements")
    reference = models.CharField(max_length=120, blank=True)
    start_on = models.DateField()
    months = models.PositiveIntegerField()
    visits_per_year = models.PositiveIntegerField()
    first_head = models.DecimalField(max_digits=10, decimal_places=2)
    further_head = models.DecimalField(max_digits=10, decimal_places=2)
    discount_percent = models.DecimalField(max_digits=7, decimal_places=4, default=Decimal(0))
    billing = models.CharField(max_length=12, choices=choices(agreements.BILLING), default="upfront")
    renews = models.CharField(max_length=12, choices=choices(agreements.RENEWS), default="by itself")
    rise_percent = models.DecimalField(max_digits=7, decimal_places=4, default=Decimal(0))
    terms_agreed = models.PositiveIntegerField(default=1)
    ended_on = models.DateField(null=True)
    ended_why = models.CharField(max_length=300, blank=True)
    notes = models.TextField(blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["start_on", "pk"]
        indexes = [models.Index(fields=["site", "start_on"])]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "reference"], condition=~Q(reference=""), name="agreement_known_by_reference"
            ),
            models.UniqueConstraint(
                fields=["site", "start_on"], condition=Q(reference=""), name="agreement_known_by_start"
            ),
            one_of("billing", agreements.BILLING),
            one_of("renews", agreements.RENEWS),
            models.CheckConstraint(
                condition=Q(months__gte=1) & Q(visits_per_year__gte=1) & Q(terms_agreed__gte=1),
                name="agreement_lasts_and_visits",
                violation_error_message="An agreement has at least a month, a visit a year and one term.",
            ),
            models.CheckConstraint(
                condition=Q(first_head__gte=0) & Q(further_head__gte=0) & Q(rise_percent__gt=-100),
                name="agreement_prices_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(discount_percent__gte=0) & Q(discount_percent__lte=100),
                name="agreement_discount_is_a_share",
            ),
            models.CheckConstraint(
                condition=Q(ended_on__isnull=True, ended_why="")
                | (Q(ended_on__isnull=False, ended_on__gte=F("start_on")) & ~Q(ended_why="")),
                name="agreement_ended_on_with_why",
                violation_error_message="An agreement that ended has a day, not before it began, and a reason.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference or f"from {self.start_on}"
