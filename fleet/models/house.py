"""What the company has settled for itself: its rates, its hours, and since when its record is whole."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

WEEKDAYS = "01234"


class House(models.Model):
    """The one row of house settings; money in dollars, hours of technicians' work a day, weekdays with Monday as 0."""

    hourly_rate = models.DecimalField(max_digits=7, decimal_places=2, default=Decimal("0.00"))
    weekdays = models.CharField(max_length=7, default=WEEKDAYS)
    hours_a_day = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(6), help_text="0: no limit")
    drive_price = models.DecimalField(
        max_digits=7, decimal_places=2, default=Decimal("0.00"), help_text="what an hour on the road costs us"
    )
    renewal_percent = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(80))
    record_complete_from = models.DateField(null=True)
    call_back_days = models.PositiveSmallIntegerField(
        default=30, help_text="a call so many days after our work may be a call-back"
    )
    renewal_notice_days = models.PositiveSmallIntegerField(
        null=True, help_text="notice of a renewal is given so many days before it; none: no notice is given"
    )
    promise_reserve = models.DecimalField(
        max_digits=10, decimal_places=2, default=Decimal("0.00"), help_text="put aside for promises of our own"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="house_is_one"),
            models.CheckConstraint(condition=~Q(weekdays=""), name="house_works_some_day"),
            models.CheckConstraint(
                condition=Q(hours_a_day__gte=0) & Q(hourly_rate__gte=0) & Q(drive_price__gte=0),
                name="house_rates_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(call_back_days__gte=1)
                & (Q(renewal_notice_days__isnull=True) | Q(renewal_notice_days__gte=1))
                & Q(promise_reserve__gte=0),
                name="house_days_and_reserve",
            ),
            models.CheckConstraint(
                condition=Q(renewal_percent__gte=0) & Q(renewal_percent__lte=100), name="house_renewal_is_a_share"
            ),
        ]

    def __str__(self) -> str:
        return "house settings"


class ClosedDay(models.Model):
    """A day on which nobody works."""

    on = models.DateField(unique=True)
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["on"]

    def __str__(self) -> str:
        return self.on.isoformat()


class MonthHours(models.Model):
    """Technician hours on hand in a month, as somebody entered them; `month` is its first day."""

    month = models.DateField(unique=True)
    hours = models.DecimalField(max_digits=7, decimal_places=2)

    class Meta:
        ordering = ["month"]
        constraints = [
            models.CheckConstraint(condition=Q(month__day=1), name="monthhours_first_of_the_month"),
            models.CheckConstraint(condition=Q(hours__gte=0), name="monthhours_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%Y-%m}"
