"""Calls: what a customer rang about, each step until it was put right, and the parts that it waits for."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.sites import Site
from fleet.models.stops import Booking, WriteUp
from fleet.models.units import Unit
from fleet.models.words import choices, one_of
from fleet.rules import words
from fleet.rules.calls import State, Trouble

CALL_BACK = ("yes", "no")


class Call(models.Model):
    """What a customer rang about. Money in dollars; `key` is the form's own, so that sent twice it is noted once.

    `component` and `answer` are what was asked about and what was read out, where the call began with an answer.
    `state` is that of the last step that stands. `call_back` is what somebody decided (blank: nobody yet), about our work
    that `work`, `work_on` and `work_technician` name; `work_key` tells it from others of that day.
    """

    key = models.UUIDField(unique=True)
    came_on = models.DateField()
    came_at = models.TimeField(null=True, blank=True)
    caller = models.CharField(max_length=120)
    phone = models.CharField(max_length=60, blank=True)
    site = models.ForeignKey(Site, models.PROTECT, null=True, related_name="calls")
    unit = models.ForeignKey(Unit, models.PROTECT, null=True, related_name="calls")
    said = models.TextField(blank=True, help_text="what is wrong, in the caller’s words")
    trouble = models.CharField(max_length=16, choices=choices(Trouble))
    component = models.CharField(max_length=40, blank=True, choices=choices(words.COMPONENTS))
    answer = models.TextField(blank=True)
    cost_from = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    cost_to = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    promised_on = models.DateField(null=True)
    first_why = models.CharField(max_length=300, blank=True, help_text="why somebody put it first")
    state = models.CharField(max_length=20, choices=choices(State), default=State.OPEN)
    call_back = models.CharField(max_length=3, choices=choices(CALL_BACK), blank=True)
    work = models.CharField(max_length=120, blank=True)
    work_on = models.DateField(null=True)
    work_technician = models.CharField(max_length=120, blank=True)
    work_key = models.CharField(max_length=40, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["came_on", "pk"]
        indexes = [models.Index(fields=["state", "came_on"]), models.Index(fields=["site", "-came_on"])]
        constraints = [
            one_of("trouble", Trouble),
            one_of("state", State),
            models.CheckConstraint(
                condition=Q(cost_from__isnull=True) | Q(cost_from__gte=0), name="call_cost_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(cost_to__isnull=True) | Q(cost_from__isnull=False, cost_to__gte=models.F("cost_from")),
                name="call_cost_from_to",
                violation_error_message="The higher cost comes after the lower one.",
            ),
            models.CheckConstraint(
                condition=Q(unit__isnull=True) | Q(site__isnull=False),
                name="call_unit_at_site",
                violation_error_message="A unit stands at a site.",
            ),
            models.CheckConstraint(
                condition=Q(call_back="") | (Q(call_back__in=CALL_BACK, work_on__isnull=False) & ~Q(work="")),
                name="call_back_names_work",
            ),
        ]

    def __str__(self) -> str:
        return f"call of {self.came_on}"


class CallStep(models.Model):
    """One step of a call, and what it rests on: a visit, a write-up. One that was undone stays to be read and counts for nothing."""

    call = models.ForeignKey(Call, models.CASCADE, related_name="steps")
    to = models.CharField(max_length=20, choices=choices(State))
    on = models.DateField()
    why = models.CharField(max_length=300, blank=True)
    booking = models.ForeignKey(Booking, models.PROTECT, null=True, related_name="call_steps")
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="call_steps")
    undone_on = models.DateField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["pk"]
        constraints = [one_of("to", State)]

    def __str__(self) -> str:
        return f"{self.on} {self.to}"


class CallVisit(models.Model):
    """One call that a booked visit is to serve; a visit may serve several, and a call may take several."""

    call = models.ForeignKey(Call, models.CASCADE, related_name="visits")
    booking = models.ForeignKey(Booking, models.CASCADE, related_name="calls")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["call", "booking"], name="callvisit_once")]

    def __str__(self) -> str:
        return f"{self.call_id} on {self.booking_id}"


class CallPart(models.Model):
    """A part that a call waits for."""

    call = models.ForeignKey(Call, models.CASCADE, related_name="parts")
    what = models.CharField(max_length=200)
    supplier = models.CharField(max_length=200, blank=True)
    ordered_on = models.DateField(null=True)
    expected_on = models.DateField(null=True)
    arrived_on = models.DateField(null=True)
    write_up = models.ForeignKey(WriteUp, models.PROTECT, null=True, related_name="call_parts")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ordered_on__isnull=True)
                | (
                    (Q(expected_on__isnull=True) | Q(expected_on__gte=models.F("ordered_on")))
                    & (Q(arrived_on__isnull=True) | Q(arrived_on__gte=models.F("ordered_on")))
                ),
                name="callpart_days_in_order",
                violation_error_message="A part is expected and arrives after it was ordered.",
            )
        ]

    def __str__(self) -> str:
        return self.what
