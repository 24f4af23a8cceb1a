"""failures: what fails and when, component by component."""

import datetime as dt
import json
from typing import Any

from django.core.management.base import CommandParser

from fleet import clock
from fleet.business.pages.what_fails import Scope
from fleet.business.queries import what_fails
from fleet.derived import refresh
from fleet.management.here import HereCommand
from fleet.rules import words


class Command(HereCommand):
    """Print of each component how often it failed, how many are left at which age, and what to expect."""

    help = "Show for each component its unit-years, failures, rate, survival curve, Weibull fit and expected failures."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--component", choices=words.COMPONENTS, default="", metavar="C")
        parser.add_argument("--on", type=dt.date.fromisoformat, metavar="DAY", help="default: today")
        parser.add_argument("--every-cause", action="store_true", help="count failures of every cause")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        today = clock.today()
        refresh.catch_up(on=today)
        scope = Scope(component=options["component"], every_cause=options["every_cause"])
        figures = what_fails.figures(scope, on=options["on"] or today)
        if options["json"]:
            self.stdout.write(json.dumps([what_fails.as_json(one) for one in figures], ensure_ascii=False))
            return
        for one in figures:
            expected = "" if one.expected is None else f" Expected in the next 12 months: {one.expected:,.1f}"
            outside = "" if one.outside is None else f"; for {one.outside:,.1f} of them, no payer covers the part."
            self.stdout.write(f"{one.component}: {one.sentence or 'Nothing was watched.'} {one.fit}{expected}{outside}")
