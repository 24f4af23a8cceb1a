"""That an owner was asked to register, where the payer takes it from nobody else."""

from django.conf import settings
from django.db import models

from fleet.models.promises import Terms
from fleet.models.units import System
from fleet.models.words import choices, one_of

REMINDER_WAYS = ("letter", "phone", "e-mail", "in person")


class Reminder(models.Model):
    """One time the owner of a system was asked to register its units under some terms."""

    system = models.ForeignKey(System, models.CASCADE, related_name="reminders")
    terms = models.ForeignKey(Terms, models.PROTECT, related_name="reminders")
    reminded_on = models.DateField()
    way = models.CharField(max_length=12, choices=choices(REMINDER_WAYS))
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-reminded_on", "-pk"]
        constraints = [
            one_of("way", REMINDER_WAYS),
            models.UniqueConstraint(fields=["system", "terms", "reminded_on", "way"], name="reminder_once_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.way} {self.reminded_on}"
