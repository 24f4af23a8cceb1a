"""What somebody on site said of a unit and the office completes or decides."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.settled import Settled, settled_whole
from fleet.models.units import Unit
from fleet.models.words import choices, one_of

# A unit that was not on file and now is, with what could be read of it; a unit on file that was not there.
REPORT_KINDS = ("found", "not there")


class UnitReportQuerySet(models.QuerySet["UnitReport"]):
    """What was reported of units."""

    def open(self) -> "UnitReportQuerySet":
        """What nobody has settled yet."""
        return self.filter(settled_on=None)


class UnitReport(Settled):
    """What somebody on site said of a unit: that it stands there and was not on file, or that it is not there.

    `said` is what was written, and of a unit that was found what nobody knew on site. No rule asks for it: the unit's own facts
    say what is known. The office settles it and says how.
    """

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="reports")
    kind = models.CharField(max_length=12, choices=choices(REPORT_KINDS))
    said = models.CharField(max_length=600, blank=True)
    on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField(db_default=Now())

    objects = UnitReportQuerySet.as_manager()

    class Meta:
        ordering = ["on", "pk"]
        verbose_name = "report from a site"
        indexes = [models.Index(fields=["on"], condition=Q(settled_on__isnull=True), name="unitreport_open")]
        constraints = [
            one_of("kind", REPORT_KINDS),
            settled_whole(),
        ]

    def __str__(self) -> str:
        return f"{self.kind} on {self.on}"
