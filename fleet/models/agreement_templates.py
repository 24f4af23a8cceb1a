"""Terms of agreements by name, from which a new agreement starts; an agreement that was made goes its own way."""

from decimal import Decimal

from django.db import models
from django.db.models import Q

from fleet.models.words import choices, one_of
from fleet.rules import agreements


class AgreementTemplate(models.Model):
    """What the company usually agrees, by name; money in dollars."""

    name = models.CharField(max_length=80, unique=True)
    months = models.PositiveIntegerField()
    visits_per_year = models.PositiveIntegerField()
    first_head = models.DecimalField(max_digits=10, decimal_places=2)
    further_head = models.DecimalField(max_digits=10, decimal_places=2)
    discount_percent = models.DecimalField(max_digits=7, decimal_places=4, default=Decimal(0))
    billing = models.CharField(max_length=12, choices=choices(agreements.BILLING), default="upfront")
    renews = models.CharField(max_length=12, choices=choices(agreements.RENEWS), default="by itself")
    rise_percent = models.DecimalField(max_digits=7, decimal_places=4, default=Decimal(0))

    class Meta:
        ordering = ["name"]
        constraints = [
            one_of("billing", agreements.BILLING),
            one_of("renews", agreements.RENEWS),
            models.CheckConstraint(condition=~Q(name=""), name="agreementtemplate_has_a_name"),
            models.CheckConstraint(
                condition=Q(months__gte=1) & Q(visits_per_year__gte=1), name="agreementtemplate_lasts_and_visits"
            ),
            models.CheckConstraint(
                condition=Q(first_head__gte=0)
                & Q(further_head__gte=0)
                & Q(rise_percent__gt=-100)
                & Q(discount_percent__gte=0)
                & Q(discount_percent__lte=100),
                name="agreementtemplate_prices_in_range",
            ),
        ]

    def __str__(self) -> str:
        return self.name
