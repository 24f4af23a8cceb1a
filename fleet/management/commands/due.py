"""due: what should happen next, on which units, and when."""

import datetime as dt
from collections.abc import Iterable
from typing import Any

from django.core.management.base import CommandParser

from fleet import clock
from fleet.care.queries import due_report
from fleet.facts.care import care_sheet
from fleet.management.here import HereCommand
from fleet.management.telling import end_if_unknown, json_list
from fleet.rules.dates import in_words


class Command(HereCommand):
    """List what is due, of everybody or of one customer or site."""

    help = "List the maintenance each unit is due, and its status on a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--on", type=dt.date.fromisoformat, metavar="DAY", help="default: today")
        parser.add_argument("--customer", default="", metavar="C")
        parser.add_argument("--site", default="", metavar="S")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        today = clock.today()
        on, customer, site = options["on"] or today, options["customer"], options["site"]
        if care_sheet() is None:
            self.stderr.write("No care sheet is in force; load one with load_care.")
        found = due_report.report(on=on, today=today, customer=customer, site=site)
        if options["json"]:
            json_list(self.stdout, found)
        else:
            self._as_text(found)
        end_if_unknown(self.stderr, customer=customer, site=site)

    def _as_text(self, found: Iterable[dict[str, Any]]) -> None:
        count = 0
        for due in found:
            count += 1
            when = in_words(dt.date.fromisoformat(due["due_on"]))
            unit = f"{due['maker']} {due['model']} {due['serial']}".strip()
            self.stdout.write(
                f"{when}: {due['task']}, {unit}, {due['customer']}, {due['site']} ({due['by']}; {due['state']})"
            )
        self.stdout.write(f"{count:,} maintenance tasks.")
