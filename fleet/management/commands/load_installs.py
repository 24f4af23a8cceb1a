"""load_installs FILE [--check] [--correct]: take the customers, sites, systems and units of a spreadsheet."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from fleet.loading import installs
from fleet.management import loads


class Command(BaseCommand):
    """Take an installs file, whole or not at all."""

    help = "Take an installs file (.csv or .xlsx), whole or not at all."

    def add_arguments(self, parser: CommandParser) -> None:
        loads.add_arguments(parser)

    def handle(self, *args: object, **options: Any) -> None:
        loads.run(self, installs.load, "units", options)
