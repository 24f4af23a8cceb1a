"""What was found broken, what was done for upkeep, and the rows of history files that told so."""

from django.db import models
from django.db.models import F, Q

from fleet.models.log import Load
from fleet.models.units import Unit
from fleet.models.words import choices, one_of
from fleet.rules import words


class Failure(models.Model):
    """Something found broken on a day, with what is on file of its repair. Costs in dollars, labor in minutes."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="failures")
    component = models.CharField(max_length=40, choices=choices(words.COMPONENTS))
    failed_on = models.DateField()
    cause = models.CharField(max_length=30, blank=True, choices=choices(words.CAUSES))
    repaired_on = models.DateField(null=True)
    part_taken_on = models.DateField(null=True)
    part_number = models.CharField(max_length=120, blank=True)
    new_part_number = models.CharField(max_length=120, blank=True)
    parts_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    labor_minutes = models.PositiveIntegerField(null=True)
    technician = models.CharField(max_length=120, blank=True)
    notes = models.TextField(blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["failed_on", "pk"]
        indexes = [models.Index(fields=["unit", "failed_on"])]
        constraints = [
            one_of("component", words.COMPONENTS),
            one_of("cause", words.CAUSES, blank=True),
            models.CheckConstraint(
                condition=Q(repaired_on__isnull=True) | Q(repaired_on__gte=F("failed_on")),
                name="failure_repaired_after_it_failed",
                violation_error_message="A repair cannot be earlier than the failure.",
            ),
            models.CheckConstraint(
                condition=Q(parts_cost__isnull=True) | Q(parts_cost__gte=0), name="failure_cost_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.component} {self.failed_on}"


class MaintenanceRecord(models.Model):
    """One task done or skipped on a unit, with the dirt that was seen (0 clean to 3 blocked)."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="records")
    done_on = models.DateField()
    skipped = models.BooleanField(default=False)
    task = models.CharField(max_length=120, blank=True)
    dirt_wheel = models.PositiveSmallIntegerField(null=True)
    dirt_coil = models.PositiveSmallIntegerField(null=True)
    not_before = models.DateField(null=True)
    technician = models.CharField(max_length=120, blank=True)
    labor_minutes = models.PositiveIntegerField(null=True)
    notes = models.TextField(blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["done_on", "pk"]
        indexes = [models.Index(fields=["unit", "done_on"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(dirt_wheel__isnull=True) | Q(dirt_wheel__lte=3),
                name="maintenancerecord_wheel_graded_0_to_3",
            ),
            models.CheckConstraint(
                condition=Q(dirt_coil__isnull=True) | Q(dirt_coil__lte=3), name="maintenancerecord_coil_graded_0_to_3"
            ),
            models.CheckConstraint(
                condition=Q(not_before__isnull=True) | Q(skipped=True),
                name="maintenancerecord_not_before_only_when_skipped",
                violation_error_message="Only a skipped task waits until a later day.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.task} {self.done_on}"


class HistoryRow(models.Model):
    """One row of a history file as it was told, so that the same row (or the same reference) is never taken twice.

    `digest` folds the whole row where there is no reference, else the reference alone; `content` is the row.
    """

    digest = models.CharField(max_length=64, unique=True)
    reference = models.CharField(max_length=120, blank=True)
    content = models.JSONField()
    unit = models.ForeignKey(Unit, models.CASCADE, related_name="told")
    table = models.CharField(max_length=40)
    object_id = models.BigIntegerField(null=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return self.reference or self.digest[:12]
