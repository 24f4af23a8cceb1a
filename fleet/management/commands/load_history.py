"""load_history FILE [--check] [--correct]: take what failed, what was done, and what became of units and sites."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from fleet.loading import history
from fleet.management import loads


class Command(BaseCommand):
    """Take a history file, whole or not at all."""

    help = "Take a history file (.csv or .xlsx), whole or not at all."

    def add_arguments(self, parser: CommandParser) -> None:
        loads.add_arguments(parser)

    def handle(self, *args: object, **options: Any) -> None:
        loads.run(self, history.load, "rows", options)
