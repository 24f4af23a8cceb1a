"""Suppliers, who may have clocks and a fee of their own for claims that go through them."""

from django.db import models
from django.db.models import Q

from fleet.models.words import choices, one_of
from fleet.rules import terms


class Supplier(models.Model):
    """Whom a part was bought from. None, or blank: it has no rule of its own, and the paper's holds."""

    name = models.CharField(max_length=200, unique=True)
    phone = models.CharField(max_length=60, blank=True)
    email = models.EmailField(blank=True)
    form_before_part = models.BooleanField(null=True)
    file_within_days = models.PositiveIntegerField(null=True)
    file_counted_from = models.CharField(max_length=20, default="failed_on", choices=choices(terms.FILE_FROM))
    part_back_within_days = models.PositiveIntegerField(null=True)
    part_back_counted_from = models.CharField(max_length=20, default="failed_on", choices=choices(terms.PART_BACK_FROM))
    old_part = models.CharField(max_length=30, blank=True, choices=choices(terms.OLD_PART))
    fee = models.DecimalField(max_digits=8, decimal_places=2, null=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="supplier_has_a_name"),
            one_of("file_counted_from", terms.FILE_FROM),
            one_of("part_back_counted_from", terms.PART_BACK_FROM),
            one_of("old_part", terms.OLD_PART, blank=True),
            models.CheckConstraint(condition=Q(fee__isnull=True) | Q(fee__gte=0), name="supplier_fee_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name
