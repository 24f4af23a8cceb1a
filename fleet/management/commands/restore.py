"""restore FILE: take a backup back, whole or not at all."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet.office.actions import restore
from fleet.refusals import Refused


class Command(BaseCommand):
    """Put a backup in the place of all that is on file."""

    help = "Replace everything on file with a backup, all of it or nothing. Stop the server first."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--replace", action="store_true", help="even if customers are on file here")

    def handle(self, *args: object, **options: Any) -> None:
        try:
            found = restore.take(options["file"], replace=options["replace"])
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        rows = sum(part.rows or 0 for part in found.parts)
        self.stdout.write(f"{rows:,} rows and {len(found.media):,} files of photos and papers, as of {found.made_at}.")
