"""What stands on our desk until somebody settles it."""

from django.conf import settings
from django.db import models
from django.db.models import Q


class Settled(models.Model):
    """A row that somebody settles: when, how and who, all three or none."""

    settled_on = models.DateField(null=True)
    settled_how = models.CharField(max_length=300, blank=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        abstract = True


def settled_whole() -> models.CheckConstraint:
    """Hold a row to saying who settled it and how, once it says when; name it `<class>_settled_by_somebody_with_how`."""
    return models.CheckConstraint(
        condition=Q(settled_on__isnull=True, settled_by__isnull=True, settled_how="")
        | (Q(settled_on__isnull=False, settled_by__isnull=False) & ~Q(settled_how="")),
        name="%(class)s_settled_by_somebody_with_how",
        violation_error_message="Settling it says who did and how.",
    )
