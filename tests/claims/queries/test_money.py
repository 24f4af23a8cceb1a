"""What is kept of the money of failures is what the rules say of each, whatever was told and however much time passed."""

import datetime as dt
from decimal import Decimal
from itertools import product

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleet import models
from fleet.business.actions import house
from fleet.claims.actions import claims, failures
from fleet.claims.queries import money as queries
from fleet.claims.queries.claim_sums import OUT, cents, dollars, total
from fleet.derived import recheck, refresh
from fleet.rules import money as rules
from fleet.rules.claims import State
from fleet.rules.money_parts import OnePayer
from tests import claimed, company, money_asked
from tests.examples import examples

pytestmark = pytest.mark.django_db
SINCE, TODAY = company.day("2025-03-02"), company.TODAY
# A plan that pays our hours and, of the registered alone, refrigerant.
PLAN = company.OURS | {
    "code": "plan-1",
    "payer": "labor plan",
    "title": "Ten years of labor",
    "registration": {"within_days": 90, "counted_from": "installed_on"},
    "coverage": [
        {"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 120}]},
        {"pays_for": ["refrigerant"], "components": ["*"], "tiers": [{"months": 120, "when": ["registered"]}]},
    ],
}
ELSEWHERE = claimed.REGISTERED["registration"] | {"not_required_in": [{"region": "US-FL", "use": ["rental"]}]}
NEW = {"started_on": "2023-03-10", "installed_on": "2023-03-09"}
OLD = {"started_on": "2018-03-10", "installed_on": "2018-03-09"}
SETTLED = {name: getattr(models.House(), name) for name in house.FIELDS} | {"hourly_rate": Decimal("85.00")}


@pytest.fixture(autouse=True)
def terms():
    company.on_file(claimed.REGISTERED | {"code": "northrill-1", "registration": ELSEWHERE}, PLAN, company.OURS)
    models.House.objects.create(pk=1, hourly_rate=Decimal("85.00"))


def unit(serial: str = "SB-1", region: str = "US-KY", **named) -> models.Unit:
    """A unit at a site of its own, in service since 2018 where nothing else is said."""
    made = company.unit(serial, site=f"Home of {serial}", **(OLD | named))
    models.Site.objects.filter(pk=made.system.site_id).update(region=region)
    refresh.refresh([made.pk], on=TODAY)
    return made


def missed(since: str = "2025-03-02") -> list[tuple]:
    found = queries.rows("missed", queries.Period(company.day(since), TODAY), on=TODAY)
    return [(row[0].value, row[5].value, row[6].value, str(row[10].value)) for row in found]


def agrees(on: dt.date = TODAY, since: dt.date = SINCE) -> tuple[int, int]:
    """Hold the page against the rules, and what is kept against what should be; give how much there was."""
    assert [str(one) for one in recheck.differences(on=on)] == []
    return money_asked.compare(since=since, on=on)


def test_a_fleet_with_every_case_says_what_the_rules_say_of_each_failure():
    covered = unit("S-01", started_on="2023-03-10", installed_on="2023-03-09")
    in_time = unit("S-02", registered_on="2018-05-08")
    late = unit("S-03", registered_on="2018-05-09", customer="Cato Wren")
    never = unit("S-04")
    nowhere = unit("S-05", region="")
    gone = unit("S-06")
    planned = unit("S-07")
    models.Attachment.objects.create(unit=planned, terms=models.Terms.objects.get(code="plan-1"))
    swapped = unit("S-08")
    every = (covered, in_time, late, never, nowhere, gone, planned, swapped)
    for number, of in enumerate(every):
        claimed.failure(of, f"2026-01-{number + 1:02}", refrigerant_cost="41.10")
    claimed.failure(late, "2025-03-02")
    claimed.failure(late, "2025-03-01")
    claimed.failure(never, "2026-01-20", parts_cost=None, labor_minutes=None)
    claimed.failure(never, "2026-01-21", voided_on="2026-01-22", void_reason="Wrong unit.")
    models.Unit.objects.filter(pk=gone.pk).update(removed_on=company.day("2026-02-10"), removal_reason="removed")
    models.Unit.objects.filter(pk=swapped.pk).update(removed_on=company.day("2026-01-08"), removal_reason="exchanged")
    denied = claimed.claim(in_time.failures.get())
    with_labor = claimed.approved(claimed.failure(covered, "2026-02-01"), "377.00", terms="northrill-1")
    claimed.claim(with_labor.failure, terms="ours-1", because="It is worth a try.")
    claimed.approved(claimed.failure(planned, "2026-02-02", labor_minutes=100), "80.00", terms="plan-1")
    claimed.claim(claimed.failure(planned, "2026-02-03", labor_minutes=None), terms="plan-1")
    claimed.step(denied, State.FILED, "2026-02-01", "377.00")
    claimed.step(denied, State.DENIED, "2026-02-09", reason="Photo was blurred.")
    company.worked_out()
    # 200.00 + 72.00 + 110.00 + 30.00 - 35.00 = 377.00, without the part 147.00, without the labor that a plan pays 195.00.
    assert missed() == [
        ("S-07", "maker", "parts", "195.00"),
        ("S-07", "maker", "parts", "195.00"),
        ("S-04", "maker", "labor", "147.00"),
        ("S-07", "maker", "parts", "195.00"),
        ("S-07", "labor plan", "refrigerant", "41.10"),
        ("S-06", "maker", "parts and labor", "377.00"),
        ("S-04", "maker", "parts and labor", "377.00"),
        ("S-03", "maker", "parts and labor", "377.00"),
        ("S-03", "maker", "parts and labor", "377.00"),
    ]
    assert agrees() == (9, 3)
    assert agrees(since=company.day("2025-03-01")) == (10, 3)
    assert agrees(since=company.day("2026-02-02")) == (2, 1)


def test_what_is_out_is_in_the_database_what_the_rules_say():
    failure = claimed.failure(unit("SB-1", **NEW))
    first = claimed.claim(failure)
    amounts = [Decimal(text) for text in ("0.00", "0.29", "377.00")]
    for state, expected, asked, approved, credited in product(State, amounts, amounts, amounts, amounts):
        told = {"expected": expected, "asked": asked, "approved": approved, "credited": credited}
        account = rules.Account("", "", state, TODAY, expected, asked, approved, credited)
        models.Claim.objects.filter(pk=first.pk).update(state=state, **told)
        (out,) = models.Claim.objects.values_list(OUT).get()
        assert dollars(out) == account.out == OnePayer("", "", 1, state, expected, asked, approved, credited).out, told


def test_a_sum_of_many_amounts_is_exact():
    of = unit("SB-1")
    days = [company.day("2025-03-02") + dt.timedelta(days=number) for number in range(300)]
    found = models.Failure.objects.bulk_create(
        models.Failure(unit=of, component="sensor", failed_on=day) for day in days
    )
    models.MoneyRow.objects.bulk_create(
        models.MoneyRow(failure=row, failed_on=row.failed_on, terms_missed=1, missed_cost=Decimal("99999999.99"))
        for row in found
    )
    (cost,) = models.MoneyRow.objects.values("terms_missed").annotate(cost=total(cents("missed_cost")))
    assert dollars(cost["cost"]) == Decimal("29999999997.00")


@pytest.mark.parametrize(
    ("asked", "lost"),
    [
        pytest.param("2026-04-10", [], id="the limit is the day asked"),
        pytest.param("2026-04-11", [("SB-1", "maker", "parts and labor", "377.00")], id="the day after"),
    ],
)
@pytest.mark.parametrize("gone", [pytest.param(False, id="in service"), pytest.param(True, id="taken out since")])
def test_a_registration_begins_to_be_missed_as_time_passes(asked, lost, gone):
    only = {"pays_for": ["parts", "labor"], "components": ["*"], "tiers": [{"months": 120, "when": ["registered"]}]}
    company.on_file(claimed.REGISTERED | {"code": "northrill-3", "replaces": "northrill-1", "coverage": [only]})
    of = unit("SB-1", started_on="2026-02-09", installed_on="2026-02-09")
    claimed.failure(of, "2026-02-15")
    if gone:
        models.Unit.objects.filter(pk=of.pk).update(removed_on=company.day("2026-02-20"), removal_reason="removed")
        refresh.refresh([of.pk], on=TODAY)
    assert missed() == []
    day = company.day(asked)
    if refresh.is_due(on=day):
        refresh.catch_up(on=day)
    assert missed() == lost
    assert agrees(on=day) == (len(lost), 0)


def test_a_new_rate_of_ours_is_reckoned_with():
    claimed.approved(claimed.failure(unit("SB-1", **NEW), "2026-02-01"), "377.00")
    assert queries.page(queries.Period(SINCE, TODAY), on=TODAY).labor.startswith(
        "Our labor on 1 failure that payers cover cost $170.00; payers should pay all of it, and $12.00 more"
    )
    house.settle(was=SETTLED, facts=SETTLED | {"hourly_rate": Decimal("120.00")}, by=None, on=TODAY)
    assert queries.page(queries.Period(SINCE, TODAY), on=TODAY).labor == (
        "Our labor on 1 failure that payers cover cost $240.00; payers should pay $182.00 of it."
    )
    assert agrees() == (0, 1)


def test_a_claim_that_is_withdrawn_asks_for_no_labor():
    row = claimed.claim(claimed.failure(unit("SB-1", **NEW), "2026-02-01"))
    assert agrees() == (0, 1)
    claimed.step(row, State.WITHDRAWN, "2026-02-20", reason="We pay it ourselves.")
    assert models.MoneyRow.objects.get().labor_cost is None
    assert agrees() == (0, 0)


def test_a_claim_that_asks_for_parts_alone_asks_for_no_labor():
    row = claimed.claim(claimed.failure(unit("SB-1", **NEW), "2026-02-01"), kinds=["parts"])
    assert agrees() == (0, 0)
    row.refresh_from_db()
    claims.change(row.pk, version=row.version, edits={"kinds": ["parts", "labor"]}, by=None, on=TODAY)
    assert agrees() == (0, 1)


def test_what_is_put_right_on_a_failure_changes_what_was_lost_on_it():
    of = claimed.failure(unit("SB-1"), "2026-02-01")
    assert missed() == [("SB-1", "maker", "parts and labor", "377.00")]
    failures.correct(of.pk, {"parts_cost": failures.Edit("200.00", "210.50")}, by=None, on=TODAY)
    assert missed() == [("SB-1", "maker", "parts and labor", "387.50")]
    failures.void(of.pk, reason="Wrong unit.", by=None, on=TODAY)
    assert missed() == []
    assert not models.MoneyRow.objects.exists()


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param(lambda rows: rows.update(missed_cost=Decimal("1.00")), id="another cost"),
        pytest.param(lambda rows: rows.update(failed_on=company.day("2026-02-02")), id="another day"),
        pytest.param(lambda rows: rows.update(missed=[]), id="nothing of how it came"),
        pytest.param(
            lambda rows: rows.update(labor_cost=Decimal("9.00"), labor_short=Decimal(0)), id="labor of nobody"
        ),
        pytest.param(lambda rows: rows.update(next_on=company.day("2026-06-01")), id="a day that changes nothing"),
        pytest.param(lambda rows: rows.delete(), id="no row"),
    ],
)
def test_recheck_reports_money_that_is_not_what_it_should_be(wrong):
    of = claimed.failure(unit("SB-1"), "2026-02-01")
    assert [str(one) for one in recheck.differences(on=TODAY)] == []
    wrong(models.MoneyRow.objects.filter(failure=of))
    (found,) = recheck.differences(on=TODAY)
    assert found.row == f"money of failure {of.pk}"
    company.worked_out()
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


def test_recheck_reports_money_of_a_failure_that_cost_nothing():
    of = claimed.failure(unit("SB-1", registered_on="2018-05-08"), "2015-02-01", parts_cost=None, labor_minutes=None)
    assert not models.MoneyRow.objects.exists()
    models.MoneyRow.objects.create(failure=of, failed_on=of.failed_on, terms_missed=1, missed_cost=Decimal("377.00"))
    (found,) = recheck.differences(on=TODAY)
    assert found.worked_out is None


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param(lambda rows: rows.update(amount=Decimal("1.00")), id="another amount"),
        pytest.param(lambda rows: rows.update(above=Decimal("1.00")), id="something above the cost"),
        pytest.param(lambda rows: rows.delete(), id="no row"),
    ],
)
def test_recheck_reports_a_dollar_that_stands_in_another_place(wrong):
    of = claimed.failure(unit("SB-1", **NEW), "2026-02-01")
    wrong(models.MoneyPart.objects.filter(failure=of, figure="to claim"))
    (found,) = recheck.differences(on=TODAY)
    assert found.row == f"to claim of failure {of.pk} from Northrill"


def test_a_long_table_shows_its_first_rows_and_a_file_has_all():
    of = unit("SB-1")
    days = [company.day("2025-04-01") + dt.timedelta(days=number) for number in range(queries.FIRST + 1)]
    models.Failure.objects.bulk_create(
        models.Failure(unit=of, component="sensor", failed_on=day, parts_cost=200, labor_minutes=120) for day in days
    )
    refresh.refresh([of.pk], on=TODAY)
    page = queries.page(queries.Period(SINCE, TODAY), on=TODAY)
    table = page.table("missed")
    assert (table.count, len(table.rows)) == (11, 10)
    assert [row.cells[4].value for row in table.rows] == days[:0:-1]
    assert page.sentences[2] == "Missed registrations cost $4,147.00 on 11 failures."
    assert len(missed()) == 11
    text = company.as_role("owner").get("/money?since=2025-03-02").content.decode()
    assert "1 to 10 of 11; the files have all of them" in text
    assert agrees() == (11, 0)


FIRST = dt.date(2024, 1, 1)
SHORT = claimed.REGISTERED | {
    "code": "northrill-1",
    "registration": ELSEWHERE,
    "transfer": {"rule": "notice", "within_days": 30},
    "coverage": [
        {"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 6}]},
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "tiers": [{"months": 2}, {"months": 12, "when": ["registered", "first owner"]}],
        },
    ],
}
DAYS = st.integers(0, 420).map(lambda number: FIRST + dt.timedelta(days=number))
UNITS = st.fixed_dictionaries(
    {
        "installed_on": st.integers(0, 60).map(lambda number: FIRST + dt.timedelta(days=number)),
        "registered_on": st.none() | DAYS,
        "region": st.sampled_from(["", "US-FL", "US-KY", "US-KY"]),
        "failed_on": st.lists(DAYS, min_size=1, max_size=3),
        "sold_on": st.none() | DAYS,
        "removed_on": st.none() | DAYS,
        "claimed": st.sampled_from(["", "northrill-1", "plan-1"]),
    }
)


@settings(max_examples=examples(20), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(told=UNITS, passing=st.lists(st.integers(1, 90), max_size=5))
def test_whatever_was_told_and_however_many_days_pass_what_is_kept_is_what_the_rules_say(told, passing, terms):
    with transaction.atomic():
        company.on_file(SHORT | {"code": "northrill-9", "replaces": "northrill-1"})
        today = _told(told)
        for days in (0, *passing):
            today += dt.timedelta(days=days)
            if refresh.is_due(on=today):
                refresh.catch_up(on=today)
            agrees(on=today, since=FIRST)
        transaction.set_rollback(True)


def _told(told) -> dt.date:
    """Put everything on file at once, as it is on the day of the latest of it."""
    days = [told["installed_on"], *told["failed_on"], told["registered_on"], told["sold_on"], told["removed_on"]]
    today = max(day for day in days if day is not None)
    put_in, registered = str(told["installed_on"]), told["registered_on"] and str(told["registered_on"])
    of = unit("SB-1", told["region"], installed_on=put_in, started_on=put_in, registered_on=registered)
    if told["sold_on"]:
        models.Sale.objects.create(site=of.system.site, sold_on=told["sold_on"])
    models.Attachment.objects.create(unit=of, terms=models.Terms.objects.get(code="plan-1"))
    for day in told["failed_on"]:
        models.Failure.objects.create(
            unit=of, component="sensor", failed_on=day, parts_cost=200, labor_minutes=120, refrigerant_cost=9
        )
    if told["removed_on"] and told["removed_on"] >= max(told["failed_on"]):
        models.Unit.objects.filter(pk=of.pk).update(removed_on=told["removed_on"], removal_reason="removed")
    refresh.refresh([of.pk], on=today)
    if told["claimed"]:
        code = told["claimed"].replace("northrill-1", "northrill-9")
        claimed.claim(of.failures.first(), code, because="It is tried.", on=today)
    return today
