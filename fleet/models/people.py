"""People who log in, and the wrong passwords that were tried under a name."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower


class Role(models.TextChoices):
    """What somebody is here to do; it decides what they see."""

    OFFICE = "office"
    TECHNICIAN = "technician"
    OWNER = "owner"


class User(AbstractUser):
    """Somebody who works for the company; without a role they see nothing. Switched off, never deleted."""

    role = models.CharField(max_length=12, choices=Role.choices, blank=True)
    times_off = models.PositiveIntegerField(default=0, help_text="how often they were switched off")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(role__in=[*Role.values, ""]), name="user_role_known"),
            models.UniqueConstraint(
                Lower("username"),
                name="user_logs_in_under_a_name_of_their_own",
                violation_error_message="Somebody else logs in under that name already.",
            ),
            # A link for a new password goes to one person.
            models.UniqueConstraint(
                Lower("email"),
                condition=~Q(email=""),
                name="user_has_an_email_of_their_own",
                violation_error_message="Somebody else has that e-mail address already.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    def get_session_auth_hash(self) -> str:
        """What a session is held against: it ends with the password, and for good with switching off."""
        return f"{super().get_session_auth_hash()}{self.times_off}"


class LoginTries(models.Model):
    """Wrong passwords in a row under one name, the last of them when.

    A name that nobody has is counted like any other, so that a stranger cannot learn which names there are.
    """

    name = models.CharField(max_length=150, unique=True, help_text="as folded by rules.logins")
    wrong = models.PositiveSmallIntegerField()
    last_at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.name}: {self.wrong}"
