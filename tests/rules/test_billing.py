"""The bills of an agreement that stands for years: sent ones stay, planned ones follow. Worked by hand.

Two wall heads; the first is 120 a visit and a further one 80: a year of one visit is 200. With a third head it is 280.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import billing
from fleet.rules.billing import Account, Sent
from fleet.rules.dates import Span
from tests.caring import day, money
from tests.rules.test_agreements import SHEET, TODAY, TWO, agreement, head


def sent(first="2026-03-01", last="2027-02-28", amount="200.00", *, kind="term", billed_on=None, paid="0.00", key=1):
    span = Span(day(first), day(last))
    return Sent(key, kind, span, money(amount), day(billed_on or first), paid=money(paid))


def account(*bills, taken=(), left=()):
    return Account(bills, frozenset(map(day, taken)), frozenset(map(day, left)))


def standing(of, told, *, units=TWO, first="2026-03-01", last="2028-02-29", today=TODAY, visits=()):
    every = billing.standing(
        told, of, units, SHEET, span=Span(day(first), day(last)), today=day(today), visits=map(day, visits)
    )
    return [(one.days.first.isoformat(), str(one.amount), one.state) for one in every]


# ------------------------------------------------------------------------------------------------------- sent and planned


def test_without_a_bill_sent_all_are_planned():
    assert standing(account(), agreement(months=24, renews="no")) == [
        ("2026-03-01", "200.00", "planned"),
        ("2027-03-01", "200.00", "planned"),
    ]


def test_a_later_price_head_or_discount_changes_planned_bills_only():
    """The first year was sent at 200. With a third head the second is 280; at 150 and 100 it is 250; less 10% it is 180."""
    of = account(sent())
    kept = ("2026-03-01", "200.00", "billed")
    three = (*TWO, head("H3", "2026-01-05"))
    assert standing(of, agreement(months=24), units=three) == [kept, ("2027-03-01", "280.00", "planned")]
    dearer = agreement(months=24, first_head="150.00", further_head="100.00")
    assert standing(of, dearer) == [kept, ("2027-03-01", "250.00", "planned")]
    assert standing(of, agreement(months=24, discount_percent="10")) == [kept, ("2027-03-01", "180.00", "planned")]


@pytest.mark.parametrize(
    ("paid", "state"),
    [
        pytest.param("0.00", "billed", id="nothing came in"),
        pytest.param("199.99", "billed", id="a cent is missing"),
        pytest.param("200.00", "paid", id="all of it"),
    ],
)
def test_a_bill_is_paid_when_all_of_it_came_in(paid, state):
    assert standing(account(sent(paid=paid)), agreement(renews="no"))[0][2] == state


@pytest.mark.parametrize(
    ("first", "last", "planned"),
    [
        pytest.param("2025-03-01", "2026-02-28", 1, id="until the day before it"),
        pytest.param("2025-03-02", "2026-03-01", 0, id="its first day was billed"),
        pytest.param("2026-03-02", "2027-03-01", 1, id="from the day after it"),
    ],
)
def test_a_day_is_not_billed_twice(first, last, planned):
    every = standing(account(sent(first, last)), agreement(renews="no"))
    assert [state for _, _, state in every].count("planned") == planned


def test_monthly_bills_are_sent_one_by_one():
    """400 a year: eleven times 33.33, and 33.37."""
    told = agreement(visits_per_year=2, billing="monthly", renews="no")
    of = account(
        sent("2026-03-01", "2026-03-31", "33.33", paid="33.33"), sent("2026-04-01", "2026-04-30", "33.33", key=2)
    )
    every = standing(of, told)
    assert len(every) == 12
    assert [state for _, _, state in every][:3] == ["paid", "billed", "planned"]
    assert sum(Decimal(amount) for _, amount, _ in every) == 400


def test_per_visit_the_day_of_the_visit_is_billed():
    """400 for two visits; the first was billed on its day."""
    told = agreement(visits_per_year=2, billing="per visit", renews="no")
    of = account(sent("2026-05-04", "2026-05-04", "200.00"))
    assert standing(of, told, visits=("2026-05-04", "2026-11-02")) == [
        ("2026-05-04", "200.00", "billed"),
        ("2026-11-02", "200.00", "planned"),
    ]


# -------------------------------------------------------------------------------------------------------------- added heads

THREE = (*TWO, head("H3", "2026-09-01"))


def test_added_heads_are_proposed_until_somebody_decides():
    """80 more a year; from September 1 to February 28, 181 of 365 days are left: 39.6712."""

    def proposed(of):
        span = Span(day("2026-03-01"), day("2027-02-28"))
        found = billing.proposals(agreement(), of, THREE, SHEET, span=span, today=day(TODAY))
        return [(one.days.first.isoformat(), str(one.amount)) for one in found]

    assert proposed(account()) == [("2026-09-01", "39.67")]
    assert proposed(account(taken=["2026-09-01"])) == []
    assert proposed(account(left=["2026-09-01"])) == []
    assert proposed(account(left=["2026-08-31"])) == [("2026-09-01", "39.67")]


def test_only_a_proposal_that_was_taken_is_a_bill():
    told = agreement(renews="no")
    year = ("2026-03-01", "200.00", "billed")
    assert standing(account(sent()), told, units=THREE) == [year]
    assert standing(account(sent(), left=["2026-09-01"]), told, units=THREE) == [year]
    assert standing(account(sent(), taken=["2026-09-01"]), told, units=THREE) == [
        year,
        ("2026-09-01", "39.67", "planned"),
    ]
    both = account(sent(), sent("2026-09-01", "2027-02-28", "35.00", kind="added heads", key=2), taken=["2026-09-01"])
    assert standing(both, told, units=THREE) == [year, ("2026-09-01", "35.00", "billed")]


def test_a_bill_for_added_heads_does_not_stand_for_the_term():
    of = account(sent("2026-09-01", "2028-02-29", "35.00", kind="added heads"))
    assert ("2027-03-01", "200.00", "planned") in standing(of, agreement(months=24, renews="no"))


# -------------------------------------------------------------------------------------------------------------- ended early


def given_back(of, told, *, units=TWO, made=(), planned=()):
    found = billing.refund(
        told, of, units, SHEET, today=day(TODAY), made=tuple(map(day, made)), planned=tuple(map(day, planned))
    )
    return str(found.paid), str(found.by_days.give_back), found.by_visits and str(found.by_visits.give_back)


def test_ended_early_by_hand():
    """Upfront, 200 sent and paid; ended September 1 after 184 of 365 days: 200 × 181 ÷ 365 = 99.178. No visit was made."""
    told = agreement(renews="no", ended_on="2026-09-01")
    assert given_back(account(sent(paid="200.00")), told) == ("200.00", "99.18", "200.00")
    assert given_back(account(sent(paid="200.00")), told, made=["2026-05-04"]) == ("200.00", "99.18", "0.00")


def test_what_was_not_billed_counts_as_planned():
    """Monthly, 16.66 a month and 16.74 for the last: sent and paid through May. Ended on June 16: of June 15 of 30 days.

    Used by days: 3 × 16.66 + 8.33 = 58.31, and 49.98 was paid: 8.33 is still owed. No visit was made: all is given back.
    """
    told = agreement(billing="monthly", renews="no", ended_on="2026-06-16")
    bills = [
        sent("2026-03-01", "2026-03-31", "16.66", paid="16.66", key=1),
        sent("2026-04-01", "2026-04-30", "16.66", paid="16.66", key=2),
        sent("2026-05-01", "2026-05-31", "16.66", paid="16.66", key=3),
    ]
    assert given_back(account(*bills), told) == ("49.98", "-8.33", "49.98")
    assert given_back(account(*bills), told, made=["2026-05-04"]) == ("49.98", "-8.33", "-150.02")


def test_a_bill_for_added_heads_counts_with_its_year():
    """200 and 39.67 paid; ended on December 1: 275 of 365 days of the year, 91 of the 181 of the added head.

    200 × 275 ÷ 365 = 150.6849, 39.67 × 91 ÷ 181 = 19.9446: 170.6295 of 239.67 is used.
    """
    of = account(
        sent(paid="200.00"), sent("2026-09-01", "2027-02-28", "39.67", kind="added heads", paid="39.67", key=2),
        taken=["2026-09-01"],
    )  # fmt: skip
    told = agreement(renews="no", ended_on="2026-12-01")
    assert given_back(of, told, units=THREE) == ("239.67", "69.04", "239.67")


def test_per_visit_a_visit_planned_before_the_end_counts():
    """Two visits of 200 each; one was made and paid, the second is planned for the day before it ends, or for that day."""
    told = agreement(visits_per_year=2, billing="per visit", renews="no", ended_on="2026-11-30")
    of = account(sent("2026-05-04", "2026-05-04", "200.00", paid="200.00"))
    assert given_back(of, told, made=["2026-05-04"], planned=["2026-11-29"]) == ("200.00", "-200.00", None)
    assert given_back(of, told, made=["2026-05-04"], planned=["2026-11-30"]) == ("200.00", "0.00", None)


# --------------------------------------------------------------------------------------------------------------- properties


@given(st.sets(st.integers(0, 11)), st.integers(0, 20_000))
def test_sending_bills_as_planned_changes_no_sum(months, paid):
    """Whichever months were sent as they were planned, the twelve bills come to the same, and each day stands once."""
    told = agreement(visits_per_year=2, billing="monthly", renews="no")
    span = Span(day("2026-03-01"), day("2027-02-28"))
    planned = billing.standing(told, Account(), TWO, SHEET, span=span, today=day(TODAY))
    bills = [
        Sent(number, "term", one.days, one.amount, one.days.first, paid=min(one.amount, Decimal(paid) / 100))
        for number, one in enumerate(planned)
        if number in months
    ]
    after = billing.standing(told, account(*bills), TWO, SHEET, span=span, today=day(TODAY))
    assert [(one.days, one.amount) for one in after] == [(one.days, one.amount) for one in planned]
    assert sum(one.state != "planned" for one in after) == len(months)
    assert all(one.paid + one.open == (one.amount if one.sent else 0) for one in after)
