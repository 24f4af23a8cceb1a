"""The year ahead as it was worked out last: planning every site is heavy, so what came of it is kept."""

from django.db import models
from django.db.models import Q

from fleet.models.sites import Site


class Outlook(models.Model):
    """The one outlook: for which day and when it was worked out, from what (`mark`), and what the months ahead carry."""

    on = models.DateField()
    at = models.DateTimeField()
    mark = models.CharField(max_length=120, help_text="what was on file when it was worked out")
    content = models.JSONField(default=dict)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(pk=1), name="outlook_is_one")]

    def __str__(self) -> str:
        return f"outlook of {self.on}"


class Offer(models.Model):
    """What the coming year asks for at one site that no agreement covers, at list price; rewritten with the outlook."""

    site = models.OneToOneField(Site, models.CASCADE, related_name="offer")
    heads = models.PositiveIntegerField()
    tasks = models.PositiveIntegerField()
    visits = models.PositiveIntegerField()
    late = models.PositiveIntegerField(help_text="of the tasks, those that are late on the day it was worked out")
    first_on = models.DateField()
    minutes = models.PositiveIntegerField()
    price = models.DecimalField(max_digits=10, decimal_places=2)

    class Meta:
        indexes = [
            models.Index(fields=["-price", "site"]),
            models.Index(fields=["first_on", "site"]),
            models.Index(fields=["-late", "site"]),
        ]

    def __str__(self) -> str:
        return f"{self.tasks} tasks, {self.price}"
