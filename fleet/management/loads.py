"""What the commands that load a file have in common: their arguments, and how they say what became of it."""

import sys
from typing import Any

from django.core.management.base import CommandError, CommandParser

from fleet import clock
from fleet.loading.loading import Hooks, Loader, Report
from fleet.loading.whose import Whose
from fleet.management.here import HereCommand
from fleet.sheets import BadFile

JOINED_SHOWN, LONGEST_NAME = 10, 120


class LoadCommand(HereCommand):
    """Load a file through its loader; `things` is what the report calls what was added."""

    loader: Loader
    things: str
    # Whether a file of this kind may bring another customer of a name that is on file.
    brings_customers = False
    # Whether its rows are work that somebody did.
    brings_work = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE")
        parser.add_argument("--check", action="store_true", help="show what would happen, and change nothing")
        parser.add_argument(
            "--correct", action="store_true", help="change what is on file where the file says otherwise"
        )

        if self.brings_work:
            parser.add_argument(
                "--done-by",
                metavar="NAME",
                help="another company, which did the work of the rows that name nobody; otherwise it is ours",
            )
        if self.brings_customers:
            parser.add_argument(
                "--apart",
                action="store_true",
                help="a customer whose name is on file, at a street that is none of theirs, is another customer of that name;"
                " so are two of a new name that have a site of one name at different streets",
            )

    def handle(self, *args: object, **options: Any) -> None:
        hooks = Hooks()
        hooks.done_by = (options.get("done_by") or "").strip()
        if len(hooks.done_by) > LONGEST_NAME:
            raise CommandError(f"--done-by: at most {LONGEST_NAME} characters")
        hooks.whose = Whose(apart=options.get("apart", False))
        try:
            report = self.loader.load(
                options["file"],
                by=None,
                on=clock.today(),
                correct=options["correct"],
                check=options["check"],
                hooks=hooks,
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
        self._say_joined(report)

    def _say_joined(self, report: Report) -> None:
        """Name the sites that came to customers on file by the name alone, so that nobody is made one with another unseen."""
        count = len(report.joined)
        if count:
            those = "; ".join(report.joined[:JOINED_SHOWN]) + (
                f"; and {count - JOINED_SHOWN} more" if count > JOINED_SHOWN else ""
            )
            self.stdout.write(
                f"{count:,} site{'s' if count > 1 else ''} went to a customer on file by the name alone: {those}."
                " With --apart these are other customers of that name; --check shows it first."
            )
