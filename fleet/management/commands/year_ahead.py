"""year_ahead: the coming months in their three bands of money, and the hours that they ask for."""

import datetime as dt
import json
from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandError, CommandParser

from fleet import clock
from fleet.business.queries import year_json
from fleet.facts.care import care_sheet
from fleet.management.here import HereCommand

# Further ahead nobody's plan holds.
MOST_MONTHS = 120


class Command(HereCommand):
    """Print what the months ahead carry; the bands are never added together."""

    help = "The months ahead: contracted, renewals and work to sell; hours due and on hand."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--from", dest="first", type=dt.date.fromisoformat, required=True, metavar="DAY")
        parser.add_argument("--months", type=int, required=True, metavar="N")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        months = options["months"]
        if not 1 <= months <= MOST_MONTHS:
            raise CommandError(f"--months must be a number from 1 to {MOST_MONTHS}.", returncode=2)
        if care_sheet() is None:
            self.stderr.write("No care sheet is in force; load one with load_care.")
        found = year_json.months_ahead(first=options["first"], months=months, today=clock.today())
        if options["json"]:
            self.stdout.write(json.dumps(found, ensure_ascii=False, indent=1))
        else:
            self._as_text(found)

    def _as_text(self, found: Mapping[str, Any]) -> None:
        self.stdout.write(
            f"{'month':<9}{'contracted':>14}{'renewals':>14}{'work to sell':>14}{'hours due':>12}{'on hand':>12}"
        )
        for month in found["months"]:
            on_hand = "not entered" if month["hours_on_hand"] is None else f"{month['hours_on_hand']:.2f}"
            self.stdout.write(
                f"{month['month']:<9}{month['contracted']:>14}{month['renewals']:>14}{month['on_offer']:>14}"
                f"{month['hours_due']:>12.2f}{on_hand:>12}"
            )
        claims, registration = found["claims"], found["registration"]
        self.stdout.write(f"{sum(one['coverages'] for one in found['ending']):,} coverages end in these months.")
        self.stdout.write(f"{claims['claims_out']} claims still to be paid: {claims['out']}.")
        self.stdout.write(f"{registration['to do']} registrations are to do.")
