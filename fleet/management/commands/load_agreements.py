"""load_agreements FILE: bring what customers have bought of maintenance."""

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from fleet.business.actions import agreement_files
from fleet.management import loads


class Command(BaseCommand):
    """Take a file of agreements (.csv or .xlsx), whole or not at all."""

    help = "Take a file of agreements (.csv or .xlsx), whole or not at all."

    def add_arguments(self, parser: CommandParser) -> None:
        loads.add_arguments(parser)

    def handle(self, *args: object, **options: Any) -> None:
        loads.run(self, agreement_files.load, "agreements", options)
