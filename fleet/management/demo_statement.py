"""The demo company's one statement of a payer: a part of a claim's credit and a goodwill credit, both left to a person."""

import csv
import datetime as dt
import tempfile
from pathlib import Path

from fleet import models
from fleet.claims.actions import statements
from fleet.rules.dates import DAY

PAYER, NAME = "Tarvane", "tarvane-credits.csv"
# Reference, number, days before today, amount, text: what a statement's file has in its columns.
CREDITS = (
    ("TV 52290", "", 3, "60.00", "CR 99481, second part"),
    ("TV 77120", "", 3, "42.00", "CR 99482, goodwill"),
)


def bring(*, by: models.User, today: dt.date) -> None:
    """Take the statement as anybody's is taken."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / NAME
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file)
            writer.writerow(("reference", "number", "day", "amount", "text"))
            for reference, number, ago, amount, text in CREDITS:
                writer.writerow((reference, number, (today - ago * DAY).isoformat(), amount, text))
        statements.take(path, name=NAME, payer_name=PAYER, by=by, on=today)
