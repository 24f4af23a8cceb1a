"""What the commands that load a file have in common: their arguments, and how they say what became of it."""

import sys
from typing import Any

from django.core.management.base import CommandParser

from fleet import clock
from fleet.loading.loading import Loader
from fleet.management.here import HereCommand
from fleet.sheets import BadFile


class LoadCommand(HereCommand):
    """Load a file through its loader; `things` is what the report calls what was added."""

    loader: Loader
    things: str

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE")
        parser.add_argument("--check", action="store_true", help="show what would happen, and change nothing")
        parser.add_argument(
            "--correct", action="store_true", help="change what is on file where the file says otherwise"
        )

    def handle(self, *args: object, **options: Any) -> None:
        try:
            report = self.loader.load(
                options["file"], by=None, on=clock.today(), correct=options["correct"], check=options["check"]
            )
        except BadFile as refused:
            for line in refused.lines():
                self.stderr.write(line)
            sys.exit(1)
        self.stdout.write(
            f"{report.rows:,} rows read: {report.added:,} {self.things} added, {report.filled:,} blanks filled in,"
            f" {report.corrected:,} facts changed, {report.unchanged:,} rows already on file."
            + (" Nothing was changed: this was a check." if options["check"] else "")
        )
