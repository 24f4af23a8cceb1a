"""Who pays, and the places of theirs where equipment is."""

from typing import Self

from django.db import models
from django.db.models import Q

from fleet.models.facts import fact
from fleet.models.log import Load
from fleet.models.words import choices, one_of
from fleet.rules import words


class Customer(models.Model):
    """Who pays; known by name. Two of one name are told apart by a street of theirs, which `apart` keeps (`derived/apart.py`)."""

    name = fact(models.CharField(max_length=200, db_index=True), "Name")
    phone = fact(models.CharField(max_length=60, blank=True), "Phone")
    email = fact(models.CharField(max_length=254, blank=True), "E-mail")
    apart = models.CharField(max_length=200, blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(name=""), name="customer_has_a_name")]

    def __str__(self) -> str:
        return self.name


class SiteQuerySet(models.QuerySet["Site"]):
    """Filters and prefetches over sites."""

    def with_facts(self) -> Self:
        """Bring what `fleet.facts` reads."""
        return self.prefetch_related("uses", "sales")


class Site(models.Model):
    """One place of a customer's where equipment is; known by customer and name. Region is ISO 3166-2."""

    customer = models.ForeignKey(Customer, models.PROTECT, related_name="sites")
    # fmt: off
    name = fact(models.CharField(max_length=200), "Name")
    street = fact(models.CharField(max_length=200, blank=True), "Street")
    city = fact(models.CharField(max_length=120, blank=True), "City")
    region = fact(models.CharField(max_length=12, blank=True), "State")
    postcode = fact(models.CharField(max_length=20, blank=True), "ZIP code")
    new_construction = fact(models.BooleanField(null=True), "New construction")
    closed_on = fact(models.DateField(null=True), "Closing day of the new house")
    drive_minutes = fact(models.PositiveIntegerField(null=True), "Drive there and back, in minutes")
    gate_code = fact(models.CharField(max_length=60, blank=True), "Gate code", in_files=False)
    # fmt: on
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+")

    objects = SiteQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["customer", "name"], name="site_known_by_customer_and_name"),
            models.CheckConstraint(condition=~Q(name=""), name="site_has_a_name"),
            models.CheckConstraint(
                condition=Q(drive_minutes__isnull=True) | Q(drive_minutes__lte=1440), name="site_drive_within_a_day"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SiteUse(models.Model):
    """What a site is used for from a day on (no day: ever since)."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="uses")
    use = models.CharField(max_length=12, choices=choices(words.USES))
    from_on = models.DateField(null=True)

    class Meta:
        ordering = [models.F("from_on").asc(nulls_first=True)]
        constraints = [
            one_of("use", words.USES),
            models.UniqueConstraint(fields=["site", "from_on"], name="siteuse_one_from_each_day"),
            models.UniqueConstraint(fields=["site"], condition=Q(from_on__isnull=True), name="siteuse_one_ever_since"),
        ]

    def __str__(self) -> str:
        return self.use


class Sale(models.Model):
    """A day on which the house was sold, and from whom to whom, where that is known."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="sales")
    sold_on = models.DateField()
    seller = models.ForeignKey(Customer, models.PROTECT, null=True, related_name="sold")
    buyer = models.ForeignKey(Customer, models.PROTECT, null=True, related_name="bought")

    class Meta:
        ordering = ["sold_on"]
        constraints = [models.UniqueConstraint(fields=["site", "sold_on"], name="sale_once_a_day")]

    def __str__(self) -> str:
        return f"sold {self.sold_on}"
