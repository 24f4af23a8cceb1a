"""The owner's money: worked by hand, in sentences, drawn, and in tables that leave as files."""

import csv
import io
from decimal import Decimal

import pytest
from openpyxl import load_workbook

from fleet import models
from fleet.claims.queries import money as queries
from fleet.derived import recheck
from fleet.rules.claims import State
from tests import claimed, company, rows
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture(autouse=True)
def terms():
    company.on_file(claimed.PAYS)
    models.House.objects.create(pk=1, hourly_rate=Decimal("85.00"))


def unit(serial: str = "SB-1002", **named) -> models.Unit:
    made = company.unit(serial, **{"started_on": "2021-03-10", "installed_on": "2021-03-09"} | named)
    company.worked_out()
    return made


def page(since: str = "2025-03-02", until: str = "2026-03-02"):
    return queries.page(queries.Period(company.day(since), company.day(until)), on=TODAY)


def table(found, name: str) -> list[tuple]:
    return [tuple(cell.value for cell in row.cells) for row in found.table(name).rows]


def figures(found) -> dict[str, tuple[str, str]]:
    return {line.figure: (str(line.amount), str(line.above)) for line in found.figures if line.amount or line.above}


def test_where_every_dollar_of_a_year_stands():
    """Four failures, worked by hand: each cost a part of 200.00 and two hours at 85.00, 370.00.

    Each could bring 200.00 + 72.00 + 1.25 x 88.00 + 30.00 handling - 35.00 = 377.00, so 7.00 above what it cost.
    1. Approved in full, 100.00 credited: 270.00 of the cost is outstanding, and 7.00 above it.
    2. 120.00 claimed, approved and credited: 250.00 is ours.
    3. Denied: 370.00 is lost.
    4. Nobody claimed: 370.00 can still be claimed, and 7.00 above it.
    """
    whole = claimed.approved(claimed.failure(unit(), "2026-02-01"), "377.00")
    claimed.step(whole, State.CREDITED, "2026-02-27", "100.00")
    part = claimed.approved(claimed.failure(whole.failure.unit, "2026-02-02"), "120.00")
    claimed.step(part, State.CREDITED, "2026-02-27", "120.00")
    denied = claimed.claim(claimed.failure(whole.failure.unit, "2026-02-03"))
    claimed.step(denied, State.FILED, "2026-02-04", "377.00")
    claimed.step(denied, State.DENIED, "2026-02-10", reason="Photo was blurred.")
    claimed.failure(whole.failure.unit, "2026-02-04")
    found = page()
    assert figures(found) == {
        "credited": ("220.00", "0.00"),
        "out": ("270.00", "7.00"),
        "to claim": ("370.00", "7.00"),
        "denied": ("370.00", "0.00"),
        "ours": ("250.00", "0.00"),
    }
    assert found.cost == Decimal("1480.00")
    assert found.sentences[0] == (
        "Failures from March 2, 2025 to March 2, 2026 cost us $1,480.00: payers credited $220.00; $270.00 is outstanding "
        "with payers; $370.00 can still be claimed; $370.00 is lost; we bear $250.00 ourselves. "
        "Payers and customers also bring $14.00 more than the work cost."
    )
    assert found.sentences[1] == "Of these failures, 1 claim is outstanding."
    money = [Decimal(text) for text in ("220.00", "270.00", "370.00", "370.00", "0", "0")]
    assert table(found, "payer") == [("Northrill", *money, Decimal("14.00"))]
    assert table(found, "maker") == [
        ("Northrill", Decimal("1480.00"), *money, 0, 0, Decimal("250.00"), Decimal("14.00"))
    ]
    assert table(found, "hours") == [("Northrill", 4, Decimal("8.0"), Decimal("680.00"))]
    # Filed on February 3, credited in full on February 27.
    assert table(found, "waits") == [("Northrill", 1, Decimal(24), 24)]
    assert table(found, "denied") == [
        (
            str(denied.pk), "Northrill", "Northrill", "sensor", "SB-1002", "denied",
            Decimal("377.00"), Decimal("377.00"), "Photo was blurred.",
        )
    ]  # fmt: skip
    (bar,) = found.by_payer
    assert bar.words == "$220.00 credited, $270.00 outstanding, $370.00 can still be claimed, $370.00 lost."


@pytest.mark.parametrize(
    ("since", "until", "failures"),
    [
        pytest.param("2026-02-01", "2026-02-03", 3, id="first and last day are inside"),
        pytest.param("2026-02-02", "2026-02-03", 2, id="the day after the first"),
        pytest.param("2026-02-01", "2026-02-02", 2, id="the day before the last"),
        pytest.param("2026-02-04", "2026-02-28", 0, id="none"),
    ],
)
def test_a_period_has_a_first_and_a_last_day(since, until, failures):
    of = unit()
    for number in range(1, 4):
        claimed.approved(claimed.failure(of, f"2026-02-0{number}"), "200.00")
    found = page(since, until)
    assert found.cost == failures * Decimal("370.00")
    # Nothing of another period is spoken of.
    assert ("outstanding" in found.sentences[0]) is (failures > 0)
    assert (found.sentences[1] == "No claim on these failures is outstanding.") is (failures == 0)
    assert sum(row[1] for row in table(found, "age")) == failures


def test_what_nobody_filed_in_time_is_lost_as_the_day_passes():
    claimed.failure(unit(), "2026-01-01", repaired_on="2026-01-16")  # 45 days end on March 2
    assert figures(page())["to claim"] == ("370.00", "7.00")
    with company.on_day("2026-03-03"):
        text = company.as_role("owner").get("/money").content.decode()
        assert "$370.00 is lost" in text
        assert [str(one) for one in recheck.differences(on=company.day("2026-03-03"))] == []


def test_every_figure_opens_its_rows_and_they_add_up():
    claimed.approved(claimed.failure(unit(), "2026-02-01"), "377.00")
    owner = company.as_role("owner")
    address = "/money/rows?figure=out&amp;since=2025-03-02&amp;until=2026-03-02"
    assert address in owner.get("/money").content.decode()
    opened = owner.get(address.replace("&amp;", "&"))
    assert "1 row: $370.00, and $7.00 on top of the cost." in words(opened)
    told = b"".join(owner.get(address.replace("&amp;", "&") + "&as=csv").streaming_content).decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(told))
    assert (row["figure"], row["amount"], row["above"], row["payer"]) == ("out", "370.00", "7.00", "Northrill")
    assert "0 rows" not in owner.get("/money/rows?figure=denied").content.decode()
    assert company.as_role("technician").get("/money/rows").status_code == 403


@pytest.mark.parametrize(
    ("filed_on", "place"),
    [("2026-02-20", 0), ("2026-02-19", 1), ("2026-01-31", 1), ("2026-01-30", 2), ("2026-01-01", 2), ("2025-12-31", 3)],
)
def test_what_is_out_stands_under_the_days_since_it_was_filed(filed_on, place):
    row = claimed.claim(claimed.failure(unit(), "2025-12-20"))
    claimed.step(row, State.FILED, filed_on, "377.00")
    amounts = [amount for _, _, amount in table(page(), "age")]
    assert amounts == [Decimal("370.00") if at == place else 0 for at in range(4)]


def test_our_hours_against_what_payers_pay_for_them():
    # Two hours at 85.00 are 170.00; the payer pays 72.00 + 110.00 = 182.00.
    claimed.approved(claimed.failure(unit(), "2026-02-01"), "377.00")
    assert page().labor == (
        "Our labor on 1 failure that payers cover cost $170.00; payers should pay all of it, and $12.00 more."
    )
    # Four hours at 85.00 are 340.00, 158.00 more than the allowance; both together 146.00.
    claimed.approved(claimed.failure(models.Unit.objects.get(), "2026-02-02", labor_minutes=240), "377.00")
    assert page().labor == ("Our labor on 2 failures that payers cover cost $510.00; payers should pay $364.00 of it.")


def test_what_a_missed_registration_cost_unit_by_unit():
    company.on_file(claimed.REGISTERED | {"replaces": "northrill-1"})
    never = unit("SB-1", started_on="2018-03-10", installed_on="2018-03-09")
    late = unit(
        "SB-2", started_on="2018-03-10", installed_on="2018-03-09", registered_on="2018-06-01", customer="Cato Wren"
    )
    in_time = unit("SB-3", started_on="2018-03-10", installed_on="2018-03-09", registered_on="2018-05-08")
    young = unit("SB-4", started_on="2023-03-10", installed_on="2023-03-09")
    for number, of in enumerate((never, late, in_time, young)):
        claimed.failure(of, f"2026-02-0{number + 1}")
    claimed.failure(never, "2025-03-01")
    found = page()
    # Each would have brought 377.00: the five years of the unregistered ended on March 10, 2023.
    assert found.sentences[2] == "Missed registrations cost $754.00 on 2 failures."
    day = company.day
    assert table(found, "missed") == [
        ("SB-2", "Cato Wren", "Home", "sensor", day("2026-02-02"), "maker", "parts and labor", day("2018-06-01"), day("2018-05-08"), "The manufacturer would have paid $377.00 for parts and labor: registered on June 1, 2018; the last day to register was May 8, 2018.", Decimal("377.00")),
        ("SB-1", "Odile Marsh", "Home", "sensor", day("2026-02-01"), "maker", "parts and labor", None, day("2018-05-08"), "The manufacturer would have paid $377.00 for parts and labor: never registered; the last day to register was May 8, 2018.", Decimal("377.00")),
    ]  # fmt: skip
    assert page("2025-03-01").sentences[2] == "Missed registrations cost $1,131.00 on 3 failures."


@pytest.mark.parametrize(("parts_cost", "lost"), [("35.01", "$0.01"), ("35.00", ""), ("12.00", "")])
def test_what_the_fee_would_have_eaten_was_not_lost(parts_cost, lost):
    only_parts = {"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 120, "when": ["registered"]}]}
    terms = claimed.REGISTERED | {"replaces": "northrill-1", "coverage": [only_parts]}
    company.on_file({name: value for name, value in terms.items() if name != "allowance"})
    claimed.failure(unit("SB-1", started_on="2018-03-10", installed_on="2018-03-09"), parts_cost=parts_cost)
    told = f"Missed registrations cost {lost} on 1 failure." if lost else "No missed registration cost anything."
    assert page().sentences[2] == told


def test_a_voided_failure_costs_nothing():
    company.on_file(claimed.REGISTERED | {"replaces": "northrill-1"})
    of = unit("SB-1", started_on="2018-03-10", installed_on="2018-03-09")
    claimed.failure(of, "2026-02-01", voided_on="2026-02-02", void_reason="Wrong unit.")
    assert page().sentences == (
        "No money is on file for failures from March 2, 2025 to March 2, 2026.",
        "No claim on these failures is outstanding.",
        "No missed registration cost anything.",
    )


def test_what_a_unit_that_is_gone_lost_still_counts():
    company.on_file(claimed.REGISTERED | {"replaces": "northrill-1"})
    of = unit("SB-1", started_on="2018-03-10", installed_on="2018-03-09")
    claimed.failure(of, "2026-02-01")
    models.Unit.objects.filter(pk=of.pk).update(removed_on=company.day("2026-02-10"), removal_reason="removed")
    company.worked_out()
    assert page().sentences[2] == "Missed registrations cost $377.00 on 1 failure."


# -- the screen


def test_the_owner_and_the_office_see_it_and_a_technician_does_not():
    claimed.approved(claimed.failure(unit(), "2026-02-01"), "377.00")
    for role in ("owner", "office"):
        text = company.as_role(role).get("/money").content.decode()
        assert (
            "Failures from March 2, 2025 to March 2, 2026 cost us $370.00: $370.00 is outstanding with payers." in text
        )
        assert "style=" not in text
    assert company.as_role("technician").get("/money").status_code == 403


def test_a_day_that_cannot_be_read_is_told_and_the_usual_one_holds():
    text = company.as_role("owner").get("/money?since=soon").content.decode()
    assert "Enter a valid date." in text
    assert "No money is on file for failures from March 2, 2025 to March 2, 2026." in text


@pytest.mark.parametrize("of", list(queries.TABLES))
def test_each_table_leaves_as_a_file(of):
    claimed.approved(claimed.failure(unit(), "2026-02-01"), "377.00")
    owner = company.as_role("owner")
    told = b"".join(owner.get(f"/money?of={of}&as=csv").streaming_content).decode("utf-8-sig")
    columns = next(csv.reader(io.StringIO(told)))
    assert columns == [column.name for column in page().table(of).columns]
    workbook = b"".join(owner.get(f"/money?of={of}&as=xlsx").streaming_content)
    assert next(load_workbook(io.BytesIO(workbook)).active.values)[0]
    assert owner.get("/money?of=secrets&as=csv").status_code == 404


def test_it_asks_as_much_of_the_database_with_one_failure_as_with_five():
    company.on_file(claimed.REGISTERED | {"replaces": "northrill-1"})
    counts = []
    for number in range(5):
        of = unit(f"SB-{number}", started_on="2018-03-10", installed_on="2018-03-09")
        claimed.failure(of, "2026-02-01")
        second = claimed.failure(of, "2026-02-02")
        claimed.approved(second, "120.00", terms="northrill-2", because="It is worth a try.")
        with rows.asked() as asked:
            page()
        counts.append(len(asked))
    assert counts[0] == counts[-1]
