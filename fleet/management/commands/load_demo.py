"""load_demo: the demo company, on a database with no customers."""

import csv
import datetime as dt
import io
from pathlib import Path

from django.conf import settings
from django.db import transaction

from fleet import clock, models
from fleet.care.actions import care_sheets
from fleet.coverage.actions import terms
from fleet.loading import history, installs
from fleet.management import (
    demo,
    demo_agreements,
    demo_bills,
    demo_calls,
    demo_claims,
    demo_holidays,
    demo_rounds,
    demo_statement,
    demo_visits,
)
from fleet.management.here import HereCommand
from fleet.office.actions import company

_FILES = ("installs", "history", "agreements")


class Command(HereCommand):
    """Take the demo company's files through the same actions as anybody's; do nothing where there is a customer."""

    help = "Load the demo company, unless customers are already on file."

    def handle(self, *args: object, **options: object) -> None:
        if models.Customer.objects.exists():
            self.stdout.write("Customers are already on file, so the demo company was not loaded.")
            return
        today = clock.today()
        fixtures = Path(settings.BASE_DIR) / "fixtures"
        with transaction.atomic():
            for login in demo.LOGINS:
                models.User.objects.create_user(
                    login.username,
                    password=login.password,
                    first_name=login.first_name,
                    last_name=login.last_name,
                    role=login.username,
                )
            terms.load_files(sorted((fixtures / "terms").glob("*.toml")), by=None, on=today)
            care_sheets.load_file(fixtures / "care" / "house.toml", by=None, on=today)
            owner = models.User.objects.get(username="owner")
            company.settle(was=dict.fromkeys(demo.COMPANY, ""), told=demo.COMPANY, by=owner)
            company.steps_over(by=owner, on=today)
            told = {name: _rows(fixtures / "demo" / f"{name}.csv", today) for name in _FILES}
            office = models.User.objects.get(username="office")
            demo_holidays.bring(by=office, today=today)
            installs.load_rows(told["installs"], on=today)
            history.load_rows(told["history"], on=today)
            demo_rounds.bring(by=office, today=today)
            demo_claims.bring(by=office, today=today)
            demo_statement.bring(by=office, today=today)
            demo_agreements.bring(told["agreements"], by=office, today=today)
            demo_visits.bring(by=office, today=today)
            demo_calls.bring(by=office, today=today)
            demo_bills.bring(by=office, today=today)
        units = models.Unit.objects.count()
        self.stdout.write(f"The demo company is loaded: {units} units at {models.Site.objects.count()} sites.")


def _rows(path: Path, today: dt.date) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(demo.resolved(path, today))))
