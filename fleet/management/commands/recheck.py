"""recheck: work everything out from the facts and report each kept row that differs."""

import sys

from django.core.management.base import CommandParser

from fleet import clock
from fleet.derived import recheck, refresh
from fleet.management.here import HereCommand


class Command(HereCommand):
    """Hold every kept row against the facts; exit 1 where one differs, unless it is asked to mend them."""

    help = "Work everything out again from the facts, and report each stored row that differs (exit 1)."

    def add_arguments(self, parser: CommandParser) -> None:
        """One option: to mend what differs."""
        parser.add_argument(
            "--mend", action="store_true", help="write each row that differs as it should be, and exit 0"
        )

    def handle(self, *args: object, **options: object) -> None:
        today = clock.today()
        # Rows whose day has come are worked out before anybody reads them; this is such a reading.
        refresh.catch_up(on=today)
        count = 0
        for difference in recheck.differences(on=today):
            count += 1
            self.stdout.write(str(difference))
        if count and options["mend"]:
            refresh.refresh_all(on=today)
            self.stderr.write(f"{count} rows differed. Everything was worked out again.")
        elif count:
            self.stderr.write(f"{count} rows differ.")
            sys.exit(1)
