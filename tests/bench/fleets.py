"""Invented fleets of any size, written as files a contractor could have."""

import csv
import datetime as dt
import random
from pathlib import Path

TODAY = dt.date(2026, 11, 24)
SHEET = Path(__file__).parents[2] / "fixtures" / "care" / "house.toml"
MAKER = """
code = "bench-maker"
payer = "maker"
maker = "Tarnvale"
title = "Ductless limited warranty"
models = ["TV*"]
installed_from = 2010-01-01
checked_on = 2026-08-01
source = { title = "Statement", page = "1" }
requires = ["licensed installer"]
starts = [{ from = "started_on" }, { from = "installed_on" }]
[registration]
within_days = 60
counted_from = "installed_on"
[transfer]
rule = "notice"
within_days = 90
[claims]
form_before_part = true
file_within_days = 30
file_counted_from = "repaired_on"
part_back_within_days = 20
part_back_counted_from = "part_taken_on"
wants = ["photo of the nameplate"]
[[coverage]]
pays_for = ["parts"]
components = ["*"]
tiers = [{ months = 60 }, { months = 120, when = ["registered", "first owner"] }]
[[coverage]]
pays_for = ["parts"]
components = ["compressor"]
tiers = [{ months = 84 }, { months = 144, when = ["registered", "owner home", "first owner"] }]
[[coverage]]
pays_for = ["parts"]
components = ["remote control", "panel"]
tiers = [{ months = 12 }]
[[coverage]]
pays_for = ["parts"]
components = ["indoor coil"]
tiers = [{ months = 60 }, { months = 120, when = ["registered", "yearly maintenance"] }]
[[coverage]]
pays_for = ["freight"]
components = ["*"]
tiers = [{ months = 12 }]
"""
PLAN = """
code = "bench-plan"
payer = "labor plan"
maker = "*"
title = "Labor plan"
models = ["*"]
installed_from = 2010-01-01
checked_on = 2026-08-01
source = { title = "Plan" }
starts = [{ from = "started_on" }, { from = "installed_on" }]
[[coverage]]
pays_for = ["labor"]
components = ["*"]
waits_days = 30
tiers = [{ months = 120 }]
[[coverage]]
pays_for = ["refrigerant"]
components = ["*"]
tiers = [{ months = 60 }]
"""
OURS = """
code = "bench-ours"
payer = "installer"
maker = "*"
title = "Our workmanship"
models = ["*"]
installed_from = 2010-01-01
checked_on = 2026-08-01
source = { title = "Our promise" }
starts = [{ from = "started_on" }, { from = "installed_on" }]
[[coverage]]
pays_for = ["labor"]
components = ["*"]
tiers = [{ months = 24 }]
[[coverage]]
pays_for = ["parts", "labor"]
components = ["flare joint", "line set"]
tiers = [{ months = 60 }]
"""
TERMS = (MAKER, PLAN, OURS)
COLUMNS = (
    "customer", "phone", "site", "street", "city", "region", "use", "system", "role", "style", "room", "maker", "model",
    "serial", "installed_on", "started_on", "registered_on", "registration_number", "licensed_installer", "attached",
)  # fmt: skip


def write_installs(path: Path, units: int) -> None:
    """Write an installs file: four heads and an outdoor unit to a site, put in over fifteen years.

    One site in ten is new and not registered yet; of one in twenty nobody wrote down what it is used for.
    """
    chance = random.Random(7)
    with path.open("w", newline="") as file:
        sheet = csv.writer(file)
        sheet.writerow(COLUMNS)
        for number in range(units):
            home, place = divmod(number, 5)
            if place == 0:
                is_new = chance.random() < 0.1
                installed = TODAY - dt.timedelta(days=chance.randrange(1, 50) if is_new else chance.randrange(60, 5400))
                told = not is_new and chance.random() < 0.8
                registered = installed + dt.timedelta(days=chance.randrange(5, 80)) if told else None
                confirmed = f"R-{home:06}" if told and chance.random() < 0.9 else ""
                use = "" if chance.random() < 0.05 else chance.choice(("owner home", "rental"))
            sheet.writerow(
                (
                    f"Customer {home:06}", f"555-{home:07}", "Home", f"{home} Alder Road", "Brackwater", "US-KY",
                    use if place == 0 else "", "Main",
                    "head" if place else "outdoor", "wall" if place else "", f"Room {place}", "Tarnvale",
                    f"TV-{chance.choice((9, 12, 18))}", f"T{number:08}X", installed, installed,
                    min(registered, TODAY) if registered else "", confirmed, "yes", "bench-plan",
                )
            )  # fmt: skip
