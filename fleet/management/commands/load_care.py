"""load_care FILE: put a care sheet in force."""

from typing import Any

from django.core.management.base import CommandError, CommandParser

from fleet import clock
from fleet.care.actions import care_sheets
from fleet.management.here import HereCommand
from fleet.rules.tables import BadTable


class Command(HereCommand):
    """Take a care sheet (.toml), whole or not at all."""

    help = "Put a care sheet (.toml) in force, and work out all maintenance again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE")

    def handle(self, *args: object, **options: Any) -> None:
        try:
            taken = care_sheets.load_file(options["file"], by=None, on=clock.today())
        except BadTable as refused:
            raise CommandError("\n".join(map(str, refused.faults))) from refused
        self.stdout.write(f"{taken.code} is in force{'.' if taken.changed else ' already.'}")
