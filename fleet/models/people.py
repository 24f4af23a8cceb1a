"""People who log in."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    """What somebody is here to do; it decides what they see."""

    OFFICE = "office"
    TECHNICIAN = "technician"
    OWNER = "owner"


class User(AbstractUser):
    """Somebody who works for the company; without a role they see nothing."""

    role = models.CharField(max_length=12, choices=Role.choices, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=[*Role.values, ""]), name="user_role_known"),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username
