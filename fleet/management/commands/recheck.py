"""recheck: work everything out from the facts and report each kept row that differs."""

import sys

from fleet import clock
from fleet.derived import recheck, refresh
from fleet.management.here import HereCommand


class Command(HereCommand):
    """Hold every kept row against the facts; exit 1 where one differs."""

    help = "Work everything out from the facts and report each kept row that differs (exit 1)."

    def handle(self, *args: object, **options: object) -> None:
        today = clock.today()
        # Rows whose day has come are worked out before anybody reads them; this is such a reading.
        refresh.catch_up(on=today)
        count = 0
        for difference in recheck.differences(on=today):
            count += 1
            self.stdout.write(str(difference))
        if count:
            self.stderr.write(f"{count} rows differ.")
            sys.exit(1)
