"""What was found broken, what was done for upkeep, and the rows of history files that told so."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from fleet.models.log import Load
from fleet.models.stops import WriteUp
from fleet.models.suppliers import Supplier
from fleet.models.units import System, Unit
from fleet.models.words import choices, one_of
from fleet.rules import readings, words
from fleet.rules.wording.names import failed

OLD_PART_PLACES = ("truck", "shelf", "sent")
SKIP_REASONS = ("no time", "no access", "unsafe", "part needed", "customer declined", "other")


class FailureQuerySet(models.QuerySet["Failure"]):
    """Prefetches over failures."""

    def with_claims(self) -> Self:
        """Bring the claims on failures, with what their clocks and money follow from."""
        return self.select_related("supplier").prefetch_related(
            "claims__supplier", "claims__clock_notes", "refrigerant_entries", "bills__payments"
        )


class Failure(models.Model):
    """Something found broken on a day, with what is on file of its repair. Costs in dollars, labor in minutes.

    `component` is blank until somebody has looked: it fails the unit, and no component of it. `key` was made where it was written
    down, so that sending it twice records it once. One that was voided stays readable and counts for nothing.
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="failures")
    component = models.CharField(max_length=40, blank=True, choices=choices(words.COMPONENTS))
    failed_on = models.DateField()
    cause = models.CharField(max_length=30, blank=True, choices=choices(words.CAUSES))
    repaired_on = models.DateField(null=True)
    part_taken_on = models.DateField(null=True)
    part_number = models.CharField(max_length=120, blank=True)
    part_serial = models.CharField(max_length=120, blank=True, help_text="of the failed part, where it has one")
    new_part_number = models.CharField(max_length=120, blank=True)
    new_part_serial = models.CharField(max_length=120, blank=True)
    parts_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    labor_minutes = models.PositiveIntegerField(null=True)
    technician = models.CharField(max_length=120, blank=True)
    notes = models.TextField(blank=True)
    found_by = models.CharField(max_length=120, blank=True)
    leak_at = models.CharField(max_length=80, blank=True, help_text="where a leak was")
    fault_code = models.CharField(max_length=60, blank=True)
    new_serial = models.CharField(max_length=120, blank=True, help_text="of a whole unit that came for this one")
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, related_name="failures")
    purchase_order = models.CharField(max_length=60, blank=True, help_text="ours, for the part")
    invoice = models.CharField(max_length=120, blank=True, help_text="the supplier's, for the part")
    refrigerant_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    freight_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    old_part_at = models.CharField(max_length=12, blank=True, choices=choices(OLD_PART_PLACES))
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="failures")
    key = models.UUIDField(null=True, unique=True)
    voided_on = models.DateField(null=True)
    void_reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    objects = FailureQuerySet.as_manager()

    class Meta:
        ordering = ["failed_on", "pk"]
        indexes = [
            models.Index(fields=["unit", "failed_on"]),
            # The list of failures is counted and put in order by this alone.
            models.Index(
                fields=["failed_on", "id", "repaired_on"], condition=Q(voided_on__isnull=True), name="failure_by_day"
            ),
        ]
        constraints = [
            one_of("component", words.COMPONENTS, blank=True),
            models.CheckConstraint(
                condition=~Q(component="")
                | Q(repaired_on__isnull=True, part_taken_on__isnull=True, new_part_number="", new_serial=""),
                name="failure_repaired_once_component_known",
                violation_error_message="Say what failed: it cannot be repaired before that is known.",
            ),
            one_of("cause", words.CAUSES, blank=True),
            models.CheckConstraint(
                condition=Q(repaired_on__isnull=True) | Q(repaired_on__gte=F("failed_on")),
                name="failure_repaired_after_it_failed",
                violation_error_message="A repair cannot be earlier than the failure.",
            ),
            models.CheckConstraint(
                condition=Q(parts_cost__isnull=True) | Q(parts_cost__gte=0), name="failure_cost_not_negative"
            ),
            models.CheckConstraint(
                condition=(Q(refrigerant_cost__isnull=True) | Q(refrigerant_cost__gte=0))
                & (Q(freight_cost__isnull=True) | Q(freight_cost__gte=0)),
                name="failure_other_costs_not_negative",
            ),
            one_of("old_part_at", OLD_PART_PLACES, blank=True),
            models.CheckConstraint(
                condition=Q(voided_on__isnull=True, void_reason="") | (Q(voided_on__isnull=False) & ~Q(void_reason="")),
                name="failure_voided_on_with_reason",
                violation_error_message="Voiding a failure says why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{failed(self.component)} {self.failed_on}"


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
    skip_reason = models.CharField(max_length=20, blank=True, choices=choices(SKIP_REASONS))
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="records")
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
            one_of("skip_reason", SKIP_REASONS, blank=True),
            models.CheckConstraint(
                condition=Q(skip_reason="") | Q(skipped=True), name="maintenancerecord_reason_only_when_skipped"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.task} {self.done_on}"


class FailureAnswer(models.Model):
    """What the rules said of a failure when it was recorded, corrected or voided, asked on that day: it stays readable.

    `content` is what `covered --json` gives for it.
    """

    failure = models.ForeignKey(Failure, models.CASCADE, related_name="answers")
    asked_on = models.DateField()
    content = models.JSONField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"answer of {self.asked_on} for failure {self.failure_id}"


class Reading(models.Model):
    """One thing measured on a unit, with what has to be known to read it: mode, fan, how long it had run, unit of measure."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="readings")
    failure = models.ForeignKey(Failure, models.CASCADE, null=True, related_name="readings")
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="readings")
    on = models.DateField()
    start_up = models.BooleanField(default=False)
    reading = models.CharField(max_length=40)
    value = models.DecimalField(max_digits=10, decimal_places=3)
    measure = models.CharField(max_length=12)
    mode = models.CharField(max_length=20, blank=True)
    fan = models.CharField(max_length=20, blank=True)
    minutes_running = models.PositiveIntegerField(null=True)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["unit", "on"])]
        constraints = [one_of("reading", readings.READINGS)]

    def __str__(self) -> str:
        return f"{self.reading} {self.value} {self.measure}"


class RefrigerantEntry(models.Model):
    """One row of a system's refrigerant ledger: what was put in or taken out, by weight in ounces, by whom, from which cylinder."""

    system = models.ForeignKey(System, models.CASCADE, related_name="refrigerant_entries")
    failure = models.ForeignKey(Failure, models.CASCADE, null=True, related_name="refrigerant_entries")
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="refrigerant_entries")
    on = models.DateField()
    move = models.CharField(max_length=12, choices=choices(readings.Move))
    refrigerant = models.CharField(max_length=30)
    ounces = models.DecimalField(max_digits=9, decimal_places=2)
    cylinder = models.CharField(max_length=60, blank=True)
    who = models.CharField(max_length=120)
    certificate = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["system", "on"])]
        constraints = [
            one_of("move", readings.Move),
            models.CheckConstraint(condition=Q(ounces__gt=0), name="refrigerantentry_weighs_something"),
        ]

    def __str__(self) -> str:
        return f"{self.move} {self.ounces} oz {self.refrigerant}"


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
