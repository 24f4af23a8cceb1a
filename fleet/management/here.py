"""What every command that asks what day it is begins with: the company's own time zone."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from fleet.facts import company


class HereCommand(BaseCommand):
    """A command in the company's own time zone."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run it in that zone."""
        with timezone.override(company.zone()):
            return super().execute(*args, **options)
