"""Promises of our own, made to one customer beside all terms; they change no answer about coverage."""

from django.db import models
from django.db.models import F, Q

from fleet.models.sites import Customer, Site
from fleet.models.units import System


class OwnPromise(models.Model):
    """What we promised a customer for a site or one system there, until a day: called on, released, or held to its last day."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="own_promises")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="own_promises", help_text="whom it was made to")
    system = models.ForeignKey(System, models.PROTECT, null=True, related_name="own_promises")
    words = models.TextField(help_text="as it was promised")
    conditions = models.TextField(blank=True)
    made_by = models.CharField(max_length=120)
    made_on = models.DateField()
    until = models.DateField(help_text="its last day")
    cost_at_most = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    called_on = models.DateField(null=True)
    called_what = models.CharField(max_length=500, blank=True)
    called_cost = models.DecimalField(max_digits=10, decimal_places=2, null=True)
    released_on = models.DateField(null=True)
    released_why = models.CharField(max_length=300, blank=True)

    class Meta:
        verbose_name = "promise of our own"
        ordering = ["until", "pk"]
        indexes = [models.Index(fields=["until"])]
        # That a day is there is said beside what it must be: of a day that is missing, a comparison says neither yes nor no.
        constraints = [
            models.CheckConstraint(condition=~Q(words=""), name="ownpromise_says_something"),
            models.CheckConstraint(
                condition=Q(until__gte=F("made_on")),
                name="ownpromise_days_in_order",
                violation_error_message="A promise ends no earlier than the day it was made.",
            ),
            models.CheckConstraint(
                condition=Q(called_on__isnull=True, called_what="", called_cost__isnull=True)
                | (Q(called_on__isnull=False, called_on__gte=F("made_on")) & ~Q(called_what="")),
                name="ownpromise_called_with_what",
                violation_error_message="A promise that was called on has a day, not before it was made, and what was done.",
            ),
            models.CheckConstraint(
                condition=Q(released_on__isnull=True, released_why="")
                | (Q(released_on__isnull=False, released_on__gte=F("made_on")) & ~Q(released_why="")),
                name="ownpromise_released_with_why",
                violation_error_message="A promise that was released has a day, not before it was made, and a reason.",
            ),
            models.CheckConstraint(
                condition=Q(called_on__isnull=True) | Q(released_on__isnull=True), name="ownpromise_ends_once"
            ),
            models.CheckConstraint(
                condition=(Q(cost_at_most__isnull=True) | Q(cost_at_most__gte=0))
                & (Q(called_cost__isnull=True) | Q(called_cost__gte=0)),
                name="ownpromise_costs_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.words[:60]
