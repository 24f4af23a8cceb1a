"""Visits that were booked, and what a technician wrote up on site."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.settled import Settled, settled_whole
from fleet.models.sites import Site
from fleet.models.units import Unit
from fleet.models.words import choices, one_of
from fleet.rules.signatures import UNSIGNED

BOOKING_STATES = ("booked", "made", "called off")
# What may have changed between the phone and the desk.
CHECK_KINDS = ("unit", "task", "call", "visit")


class Booking(models.Model):
    """One visit to one site that was given a day, and a technician; `key` tells the same booking sent twice.

    `minutes` and `price` are what the plan said when it was booked, `why` what somebody said who went outside its windows.
    """

    site = models.ForeignKey(Site, models.PROTECT, related_name="bookings")
    on = models.DateField()
    technician = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="bookings")
    state = models.CharField(max_length=12, choices=choices(BOOKING_STATES), default="booked")
    minutes = models.PositiveIntegerField()
    price = models.DecimalField(max_digits=10, decimal_places=2)
    why = models.CharField(max_length=300, blank=True)
    note = models.CharField(max_length=300, blank=True)
    arrive_from = models.TimeField(null=True, help_text="the arrival window, for people to read; no rule asks for it")
    arrive_to = models.TimeField(null=True)
    key = models.UUIDField(null=True, unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["on", "pk"]
        indexes = [models.Index(fields=["on", "technician"]), models.Index(fields=["site", "on"])]
        constraints = [
            one_of("state", BOOKING_STATES),
            models.UniqueConstraint(
                fields=["site", "on"], condition=~Q(state="called off"), name="booking_one_a_day_at_a_site"
            ),
            models.CheckConstraint(
                condition=Q(arrive_to__isnull=True)
                | Q(arrive_from__isnull=False, arrive_to__gt=models.F("arrive_from")),
                name="booking_arrival_window",
                violation_error_message="The arrival window ends after it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.on} {self.state}"


class BookedTask(models.Model):
    """One due that a booked visit is meant to serve: a task of the care sheet, and the unit it stands under."""

    booking = models.ForeignKey(Booking, models.CASCADE, related_name="tasks")
    unit = models.ForeignKey(Unit, models.CASCADE, related_name="booked_tasks")
    task = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["booking", "unit", "task"], name="bookedtask_once")]

    def __str__(self) -> str:
        return f"{self.task} on {self.unit_id}"


class WriteUpQuerySet(models.QuerySet["WriteUp"]):
    """Write-ups."""

    def standing(self) -> "WriteUpQuerySet":
        """Leave out those that were taken back: no visit was made by them."""
        return self.filter(taken_back_on=None)


class WriteUp(models.Model):
    """What a technician recorded on site, of a booked visit or an unplanned stop.

    `key` is made in the phone, so that sending it twice records it once; `content` is what was sent, as it was sent. One that was
    taken back stays readable and counts for nothing; its visit may be written up again. `captured_at` is when it was written, by
    the phone's clock set right by what that was measured to be ahead (`clock_ahead`, in seconds); no rule asks for either.
    """

    key = models.UUIDField(unique=True)
    site = models.ForeignKey(Site, models.PROTECT, related_name="write_ups")
    booking = models.ForeignKey(Booking, models.PROTECT, null=True, related_name="write_ups")
    on = models.DateField()
    technician = models.CharField(max_length=120)
    minutes = models.PositiveIntegerField(null=True)
    notes = models.TextField(blank=True)
    content = models.JSONField(default=dict)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())
    captured_at = models.DateTimeField(null=True)
    clock_ahead = models.IntegerField(null=True)
    taken_back_on = models.DateField(null=True)
    taken_back_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    taken_back_why = models.CharField(max_length=300, blank=True)

    objects = WriteUpQuerySet.as_manager()

    class Meta:
        ordering = ["-on", "-pk"]
        indexes = [models.Index(fields=["site", "-on"])]
        constraints = [
            models.UniqueConstraint(
                fields=["booking"], condition=Q(taken_back_on__isnull=True), name="writeup_one_that_counts_of_a_visit"
            ),
            models.CheckConstraint(
                condition=Q(taken_back_on__isnull=True, taken_back_by__isnull=True, taken_back_why="")
                | (Q(taken_back_on__isnull=False, taken_back_by__isnull=False) & ~Q(taken_back_why="")),
                name="writeup_taken_back_by_somebody_with_reason",
                violation_error_message="Taking a write-up back says who did and why.",
            ),
        ]

    def __str__(self) -> str:
        return f"write-up {self.on}"


class Signature(models.Model):
    """Who signed a write-up, with the strokes as they were drawn (`rules.signatures`), or why nobody did."""

    write_up = models.OneToOneField(WriteUp, models.CASCADE, related_name="signature")
    name = models.CharField(max_length=120, blank=True)
    strokes = models.TextField(blank=True)
    unsigned = models.CharField(max_length=12, blank=True, choices=choices(UNSIGNED))

    class Meta:
        constraints = [
            one_of("unsigned", UNSIGNED, blank=True),
            models.CheckConstraint(
                condition=(~Q(name="") & ~Q(strokes="") & Q(unsigned="")) | (Q(name="", strokes="") & ~Q(unsigned="")),
                name="signature_of_somebody_or_why_not",
                violation_error_message="A signature has a name and its strokes, or the reason why nobody signed.",
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"not signed: {self.unsigned}"


class WriteUpCheckQuerySet(models.QuerySet["WriteUpCheck"]):
    """What write-ups said that could not be recorded."""

    def open(self) -> "WriteUpCheckQuerySet":
        """What nobody has settled yet, of write-ups that count."""
        return self.filter(settled_on=None, write_up__taken_back_on=None)


class WriteUpCheck(Settled):
    """Something that a write-up said and that was not recorded, because of what changed meanwhile; the office settles it.

    `said` is what was written, in words, and `why` what had changed.
    """

    write_up = models.ForeignKey(WriteUp, models.CASCADE, related_name="checks")
    kind = models.CharField(max_length=8, choices=choices(CHECK_KINDS))
    unit = models.ForeignKey(Unit, models.SET_NULL, null=True, related_name="write_up_checks")
    call = models.ForeignKey("fleet.Call", models.SET_NULL, null=True, related_name="write_up_checks")
    why = models.CharField(max_length=400)
    said = models.TextField(blank=True)

    objects = WriteUpCheckQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["write_up"], condition=Q(settled_on__isnull=True), name="writeupcheck_open")]
        constraints = [
            one_of("kind", CHECK_KINDS),
            settled_whole(),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.why}"
