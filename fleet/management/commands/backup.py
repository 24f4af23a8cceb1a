"""backup FILE: all that is on file, rows and photos, in one file."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from fleet import clock
from fleet.office.queries import backup
from fleet.refusals import Refused


class Command(BaseCommand):
    """Write the file, and say what is in it."""

    help = "Write everything on file, photos and papers included, to one file with a checksum of each part."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)

    def handle(self, *args: object, **options: Any) -> None:
        try:
            found = backup.write(options["file"], made_at=clock.now())
        except Refused as refused:
            raise CommandError(str(refused)) from refused
        except OSError as wrong:
            raise CommandError(f"{wrong.filename or options['file']}: {wrong.strerror}") from wrong
        rows = sum(part.rows or 0 for part in found.parts)
        size = options["file"].stat().st_size
        self.stdout.write(f"{rows:,} rows and {len(found.media):,} files of photos and papers: {size:,} bytes.")
        self.stdout.write(
            "It has customers' names and addresses and password hashes: keep it where nobody else can read it."
        )
        if gone := backup.missing():
            self.stderr.write(f"{gone:,} photos or papers that are on file are not on the disk, so they are not in it.")
