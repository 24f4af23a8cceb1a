"""visits: the fewest trips that meet every due, planned day by day within the hours on hand."""

import datetime as dt
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.management.base import CommandError, CommandParser

from fleet import clock
from fleet.care.queries import visit_report
from fleet.facts.care import care_sheet
from fleet.management.here import HereCommand
from fleet.management.telling import end_if_unknown, json_list
from fleet.rules.dates import in_words


def hours(text: str) -> Decimal:
    """Read hours a day; 0 stands for no limit.

    >>> hours("7.5"), hours("0")
    (Decimal('7.5'), Decimal('0'))
    """
    try:
        found = Decimal(text)
    except InvalidOperation as wrong:
        raise ValueError(text) from wrong
    if not found.is_finite() or found < 0:
        raise ValueError(text)
    return found


class Command(HereCommand):
    """List the visits planned for everybody, or of them those to one customer or site."""

    help = "Plan the fewest visits for all maintenance that is due, within the hours on hand each day."

    def add_arguments(self, parser: CommandParser) -> None:
        day = dt.date.fromisoformat
        parser.add_argument("--from", dest="first", type=day, required=True, metavar="DAY")
        parser.add_argument("--until", type=day, required=True, metavar="DAY")
        parser.add_argument("--customer", default="", metavar="C")
        parser.add_argument("--site", default="", metavar="S")
        parser.add_argument("--hours-per-day", type=hours, metavar="H", help="0: no limit; default: the hours on file")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: object, **options: Any) -> None:
        first, until, customer, site = (options[name] for name in ("first", "until", "customer", "site"))
        if until < first:
            raise CommandError("--until must not be before --from.", returncode=2)
        if care_sheet() is None:
            self.stderr.write("No care sheet is in force; load one with load_care.")
        found = visit_report.report(
            first=first,
            until=until,
            today=clock.today(),
            customer=customer,
            site=site,
            hours_a_day=options["hours_per_day"],
        )
        if options["json"]:
            json_list(self.stdout, found)
        else:
            self._as_text(found)
        end_if_unknown(self.stderr, customer=customer, site=site)

    def _as_text(self, found: Iterable[dict[str, Any]]) -> None:
        count = 0
        for visit in found:
            count += 1
            when = in_words(dt.date.fromisoformat(visit["on"]))
            tasks = len(visit["tasks"])
            told = f"{tasks} task{'' if tasks == 1 else 's'}, {visit['minutes']} minutes, {visit['price']}"
            sold = ", under an agreement" if visit["agreement"] else ""
            self.stdout.write(f"{when}: {visit['customer']}, {visit['site']}: {told}{sold}")
        self.stdout.write(f"{count:,} visits.")
