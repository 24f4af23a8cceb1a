"""Our desk with a row of everything that it may show, and a site's page with all that is ours: how many queries each asks."""

import datetime as dt
import re
import uuid
from decimal import Decimal
from typing import Any

import pytest

from fleet import models
from fleet.business.actions import bills
from fleet.care.actions import care_sheets
from fleet.derived import refresh
from fleet.front.queries import deadlines
from tests import claimed, company
from tests.business.web.test_bills import HOW
from tests.caring import entry
from tests.front.web.test_deadlines_of_ours import agreed, promised
from tests.rows import asked

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
# Terms that are registered, told of a sale, and ask for approval before a compressor is replaced.
PAPER: dict[str, Any] = claimed.STRICT | {
    "coverage": [
        {
            "pays_for": ["parts", "labor"],
            "components": ["*"],
            "tiers": [{"months": 60}, {"months": 120, "when": ["registered", "licensed installer"]}],
        }
    ],
    "transfer": {"rule": "notice", "within_days": 90},
}


@pytest.fixture(autouse=True)
def on_file():
    company.on_file(PAPER)
    sheet = {
        "code": "ours-1",
        "setup_minutes": 30,
        "task": [entry("coil", minutes=45, price="95.00", checked_on=dt.date(2026, 1, 1))],
    }
    care_sheets.load_table(sheet, on=TODAY)
    models.House.objects.update_or_create(pk=1, defaults={"renewal_notice_days": 30})


def some_of_everything(number: int, *, ended: bool) -> models.Site:
    """A household with a row in every part of the desk."""
    named = {"customer": f"Household {number}", "started_on": "2026-01-15", "installed_on": "2026-01-15"}
    company.unit(f"SB-{number}-1", room="Den", **named)
    company.unit(f"SB-{number}-2", room="Loft", **named | {"installed_on": None})
    old = {"started_on": "2022-01-15", "installed_on": "2022-01-15", "registered_on": "2022-02-01"}
    sold = company.unit(f"SB-{number}-3", room="Attic", site="Sold house", **named | old, licensed_installer=True)
    failed = company.unit(f"SB-{number}-4", room="Yard", **named | old)
    site = failed.system.site
    models.Sale.objects.create(site=sold.system.site, sold_on=company.day("2026-02-01"))
    models.Registration.objects.filter(unit=failed).update(in_name="Somebody Else")
    refresh.refresh([unit.pk for unit in models.Unit.objects.filter(system__site__customer=site.customer)], on=TODAY)
    claimed.failure(failed, "2026-02-08", repaired_on="2026-02-10", part_taken_on="2026-02-10")
    claimed.failure(failed, "2026-02-28", component="compressor", parts_cost=None, labor_minutes=None)
    everything_of_ours(site, number, ended=ended)
    call = models.Call.objects.create(
        key=uuid.uuid4(), came_on=TODAY, caller="Ada", site=site, unit=failed, trouble="noise"
    )
    models.CallPart.objects.create(call=call, what="Drain pump", ordered_on=TODAY)
    write_up = models.WriteUp.objects.create(key=uuid.uuid4(), site=site, on=TODAY, technician="Jules")
    models.WriteUpCheck.objects.create(write_up=write_up, kind="task", unit=failed, why="The head was taken out.")
    by, _ = models.User.objects.get_or_create(username="jules", defaults={"role": "technician"})
    models.UnitReport.objects.create(unit=failed, kind="not there", on=TODAY, by=by)
    statement = models.Statement.objects.create(name=f"credits-{number}.csv", digest=f"{number:064}")
    models.StatementLine.objects.create(statement=statement, row=1, on=TODAY, amount=Decimal(80))
    terms = models.Terms.objects.get()
    models.PayerWord.objects.create(
        unit=failed, terms=terms, kind="parts", said_on=TODAY, who="Their desk", covered=False
    )
    return site


def everything_of_ours(site: models.Site, number: int, *, ended: bool) -> None:
    """Agreements of a site that wait in every way, bills and all, and promises; `ended`: some ended early and nobody settled them."""
    agreed(site, "2025-04-01", reference=f"A-{number}-1")
    agreed(site, "2025-05-11", renews="by itself", reference=f"A-{number}-2")
    billed = agreed(site, "2025-09-01", renews="by itself", reference=f"A-{number}-3")
    sent = {"kind": "term", "first": dt.date(2025, 9, 1), "last": dt.date(2026, 8, 31), "number": ""}
    bills.send(billed.pk, **sent, amount=Decimal(120), billed_on=dt.date(2026, 1, 10), **HOW)
    for billing, reference in (("upfront", "4"), ("per visit", "5")) if ended else ():
        gone = agreed(site, "2025-10-01", reference=f"A-{number}-{reference}", billing=billing)
        models.Agreement.objects.filter(pk=gone.pk).update(ended_on=dt.date(2026, 2, 1), ended_why="They moved")
        models.AddedHeads.objects.create(agreement=gone, on=dt.date(2025, 12, 1), taken=True, decided_on=TODAY)
    promised(site, until="2026-03-20")
    promised(site, until="2026-03-21", words="New louver free", system_id=site.systems.first().pk)


def queries_of(client, address: str) -> list[str]:
    client.get(address)
    with asked() as found:
        assert client.get(address).status_code == 200
    return found


@pytest.mark.parametrize(("role", "ended", "most"), [("office", False, 30), ("owner", False, 30), ("office", True, 30)])
def test_the_desk_asks_thirty_queries_at_most_however_much_stands_on_it(role, ended, most, monkeypatch):
    client = company.as_role(role)
    # So that rows of every source are shown, however many of them there are.
    monkeypatch.setattr(deadlines, "FIRST", 50)
    some_of_everything(1, ended=ended)
    one = queries_of(client, "/on-our-desk")
    context = client.get("/on-our-desk").context
    page = context["page"]
    kinds = {row.of.kind for row in page.deadlines.rows}
    assert len(kinds) >= 8
    assert page.for_a_date.rows
    assert page.registered_otherwise.rows
    assert context["calls"].rows
    assert context["to_check"].rows
    assert context["reported"].rows
    assert context["credits_left"]
    assert context["to_book"][1].rows
    assert context["missing_facts"].rows
    assert context["differing"].count
    for number in range(2, 6):
        some_of_everything(number, ended=ended)
    five = queries_of(client, "/on-our-desk")
    assert len(five) == len(one) <= most, "\n".join(re.sub(r"SELECT .*? FROM", "SELECT FROM", one) for one in five)


@pytest.mark.parametrize(("role", "ended", "most"), [("office", False, 30), ("owner", False, 30), ("office", True, 30)])
def test_a_site_with_agreements_bills_and_promises_asks_thirty_queries_at_most(role, ended, most):
    client = company.as_role(role)
    site = some_of_everything(1, ended=ended)
    one = queries_of(client, f"/sites/{site.pk}")
    titles = str(client.get(f"/sites/{site.pk}").content)
    assert "Agreement A-1-3" in titles
    assert "New louver free" in titles
    for number in range(2, 6):
        everything_of_ours(site, number, ended=ended)
    five = queries_of(client, f"/sites/{site.pk}")
    assert len(five) == len(one) <= most, "\n".join(re.sub(r"SELECT .*? FROM", "SELECT FROM", one) for one in five)
