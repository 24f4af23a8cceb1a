"""Labels that are stuck on units: a code that says nothing to a stranger, and the unit that it stands for."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.units import Unit
from fleet.rules import label_codes


class Label(models.Model):
    """One printed label by its random code; without a unit it is blank, and whoever scans it is asked whose it is.

    A unit may have several. Where an entry of a unit is undone, its labels are blank again. `batch` tells the same order of blank
    labels sent twice.
    """

    code = models.CharField(max_length=label_codes.LENGTH, unique=True)
    unit = models.ForeignKey(Unit, models.SET_NULL, null=True, related_name="labels")
    batch = models.UUIDField(null=True, db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [models.CheckConstraint(condition=~Q(code=""), name="label_has_a_code")]

    def __str__(self) -> str:
        return label_codes.grouped(self.code)
