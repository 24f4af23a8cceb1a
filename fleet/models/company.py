"""Who we are, as papers say it, and our account numbers with payers."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from fleet.models.words import choices, one_of
from fleet.rules.company import COUNTRIES


class Company(models.Model):
    """The one row of who we are; a blank name or time zone means that of the server's own settings.

    `address` has its lines; `logo` is the stored picture's place among the photos, or blank. `steps_skipped` has the codes of
    the first steps that somebody wants to hear no more of, and `steps_over_on` the day on which all of them were put away.
    """

    name = models.CharField(max_length=120, blank=True)
    address = models.TextField(max_length=300, blank=True)
    phone = models.CharField(max_length=60, blank=True)
    license_number = models.CharField(max_length=80, blank=True)
    country = models.CharField(max_length=2, default="US", choices=choices(COUNTRIES))
    time_zone = models.CharField(max_length=60, blank=True)
    logo = models.CharField(max_length=100, blank=True)
    steps_skipped = models.JSONField(default=list, blank=True)
    steps_over_on = models.DateField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="company_is_one"),
            one_of("country", COUNTRIES),
        ]

    def __str__(self) -> str:
        return self.name or "our company"


class PayerAccount(models.Model):
    """Our account number with one payer, called as its claims call it: the maker, or the title of other terms."""

    payer = models.CharField(max_length=500)
    account = models.CharField(max_length=80)

    class Meta:
        ordering = ["payer"]
        constraints = [
            models.CheckConstraint(condition=~Q(payer="") & ~Q(account=""), name="payeraccount_says_both"),
            models.UniqueConstraint(Lower("payer"), name="payeraccount_one_for_each_payer"),
        ]

    def __str__(self) -> str:
        return f"{self.payer}: {self.account}"
