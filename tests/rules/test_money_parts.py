"""Where each dollar of a failure stands: worked by hand from the text before any of it was asked, then held for any failure."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.claims import State
from fleet.rules.money_parts import Figure, OnePayer, Waits, next_change, parts, waits
from tests.facts import day

ON = day("2026-03-02")
S = State


def payer(state=None, name="Northrill", last=None, **money):
    claim = None if state is None else 7
    amounts = {key: Decimal(amount) for key, amount in money.items()}
    return OnePayer("maker", name, claim, state, last=last and day(last), **amounts)


def stand(cost, *payers, on=ON, **named):
    money = {key: Decimal(amount) for key, amount in named.items()}
    found = parts(Decimal(cost), payers, on=on, **money)
    return {str(one.figure): (str(one.amount), str(one.above)) if one.above else str(one.amount) for one in found}


@pytest.mark.parametrize(
    ("cost", "payers", "stands"),
    [
        pytest.param("370.00", (), {"ours": "370.00"}, id="nobody else pays"),
        pytest.param("370.00", (payer(expected="200.00"),), {"to claim": "200.00", "ours": "170.00"}, id="nobody claimed"),
        pytest.param(
            "370.00", (payer(S.GATHERING, expected="200.00"),), {"to claim": "200.00", "ours": "170.00"}, id="not filed yet"
        ),
        pytest.param(
            "370.00", (payer(S.FILED, expected="200.00", asked="220.00"),), {"out": "220.00", "ours": "150.00"}, id="filed"
        ),
        pytest.param(
            "370.00",
            (payer(S.ASKED_FOR_MORE, asked="220.00"),),
            {"out": "220.00", "ours": "150.00"},
            id="more information needed",
        ),
        pytest.param(
            "370.00",
            (payer(S.APPROVED, asked="220.00", approved="220.00", credited="100.00"),),
            {"credited": "100.00", "out": "120.00", "ours": "150.00"},
            id="approved and credited in part",
        ),
        pytest.param(
            "370.00",
            (payer(S.PART_APPROVED, asked="220.00", approved="150.00", credited="100.00"),),
            {"credited": "100.00", "out": "50.00", "unapproved": "70.00", "ours": "150.00"},
            id="approved in part, credited in part",
        ),
        pytest.param(
            "370.00",
            (payer(S.CREDITED, asked="220.00", approved="150.00", credited="150.00"),),
            {"credited": "150.00", "unapproved": "70.00", "ours": "150.00"},
            id="credited: the rest was never approved",
        ),
        pytest.param(
            "370.00", (payer(S.DENIED, asked="220.00"),), {"denied": "220.00", "ours": "150.00"}, id="denied"
        ),
        pytest.param(
            "370.00",
            (payer(S.WRITTEN_OFF, asked="220.00", approved="150.00", credited="50.00"),),
            {"credited": "50.00", "denied": "170.00", "ours": "150.00"},
            id="written off",
        ),
        pytest.param(
            "370.00", (payer(S.WITHDRAWN, expected="200.00"),), {"ours": "370.00"}, id="withdrawn: nothing is lost, it is ours"
        ),
        pytest.param(
            "0", (payer(S.WITHDRAWN, expected="182.00"),), {}, id="withdrawn, and no part was needed: nothing was lost"
        ),
        pytest.param("0", (payer(S.DENIED, asked="182.00"),), {}, id="denied, and it cost nothing: nothing was lost"),
        pytest.param(
            "150.00",
            (payer(S.CREDITED, asked="182.00", approved="182.00", credited="182.00"),),
            {"credited": ("150.00", "32.00")},
            id="an allowance above the cost stands apart",
        ),
        pytest.param(
            "150.00",
            (payer(expected="182.00"),),
            {"to claim": "150.00"},
            id="what nobody claimed is never more than was spent",
        ),
        pytest.param(
            "300.00",
            (payer(S.CREDITED, asked="200.00", approved="200.00", credited="200.00"), payer(name="Plan", expected="200.00")),
            {"credited": "200.00", "to claim": "100.00"},
            id="two payers are not asked for one dollar",
        ),
        pytest.param(
            "300.00",
            (payer(S.DENIED, asked="250.00"), payer(name="Plan", expected="200.00")),
            {"to claim": "200.00", "denied": "100.00"},
            id="what another can still be asked for is not lost",
        ),
    ],
)  # fmt: skip
def test_every_dollar_stands_in_one_place(cost, payers, stands):
    assert stand(cost, *payers) == stands


def test_an_allowance_that_nobody_claimed_stands_above_the_cost():
    assert stand("150.00", payer(expected="182.00"), most="182.00") == {"to claim": ("150.00", "32.00")}


@pytest.mark.parametrize(
    ("on", "figure"),
    [
        pytest.param("2026-04-14", "to claim", id="the day before the last"),
        pytest.param("2026-04-15", "to claim", id="the last day to file"),
        pytest.param("2026-04-16", "too late", id="the day after"),
    ],
)
@pytest.mark.parametrize("state", [None, S.GATHERING])
def test_what_nobody_filed_is_lost_from_the_day_after_the_last(state, on, figure):
    told = payer(state, expected="200.00", last="2026-04-15")
    assert stand("370.00", told, on=day(on)) == {figure: "200.00", "ours": "170.00"}


def test_without_a_last_day_it_can_still_be_claimed():
    assert stand("370.00", payer(expected="200.00"), on=day("2036-01-01"))["to claim"] == "200.00"


@pytest.mark.parametrize(
    ("told", "changes_on"),
    [
        pytest.param(payer(expected="1.00", last="2026-03-01"), None, id="too late already"),
        pytest.param(payer(expected="1.00", last="2026-03-02"), "2026-03-03", id="the last day is today"),
        pytest.param(payer(expected="1.00", last="2026-03-05"), "2026-03-06", id="three days on"),
        pytest.param(payer(S.FILED, asked="1.00", last="2026-03-05"), None, id="filed"),
        pytest.param(payer(S.WITHDRAWN, last="2026-03-05"), None, id="withdrawn"),
        pytest.param(payer(expected="1.00"), None, id="no last day"),
    ],
)
def test_time_alone_moves_a_dollar_only_the_day_after_a_last_day(told, changes_on):
    assert next_change([told], on=ON) == (changes_on and day(changes_on))


@pytest.mark.parametrize(
    ("billed", "paid", "stands"),
    [
        pytest.param("0", "0", {"ours": "370.00"}, id="not billed"),
        pytest.param("120.00", "0", {"customer owes": "120.00", "ours": "250.00"}, id="billed"),
        pytest.param(
            "120.00", "50.00", {"customer paid": "50.00", "customer owes": "70.00", "ours": "250.00"}, id="paid in part"
        ),
        pytest.param("120.00", "120.00", {"customer paid": "120.00", "ours": "250.00"}, id="paid"),
        pytest.param("400.00", "400.00", {"customer paid": ("370.00", "30.00")}, id="more than it cost us"),
    ],
)
def test_the_customers_share(billed, paid, stands):
    assert stand("370.00", billed=billed, paid=paid) == stands


def test_a_failure_worked_by_hand():
    """A compressor: part 640.00, four hours at 85.00 = 340.00, refrigerant 60.00: it cost 1,040.00.

    The maker was asked for 670.00, approved 600.00 and credited 450.00 of it so far. The labor plan's 182.00 can still be
    claimed until March 10. The customer was billed 150.00 and paid 100.00.
    """
    maker = payer(S.PART_APPROVED, asked="670.00", approved="600.00", credited="450.00")
    plan = payer(name="Labor plan", expected="182.00", last="2026-03-10")
    assert stand("1040.00", maker, plan, billed="150.00", paid="100.00") == {
        "credited": "450.00",
        "customer paid": "100.00",
        "out": "150.00",
        "customer owes": "50.00",
        "to claim": "182.00",
        "unapproved": "70.00",
        "ours": "38.00",
    }
    # A day after March 10, nothing moves but the plan's share.
    later = stand("1040.00", maker, plan, on=day("2026-03-11"), billed="150.00", paid="100.00")
    assert (later["too late"], "to claim" in later, later["ours"]) == ("182.00", False, "38.00")


amounts = st.decimals(0, 2000, places=2)
payers_of_any_kind = st.builds(
    lambda name, state, expected, asked, approved, credited, last: OnePayer(
        "maker", name, None if state is None else 1, state, expected, asked, min(approved, asked), min(credited, approved, asked), last
    ),
    st.sampled_from(["Northrill", "Plan", "Oldholm"]),
    st.sampled_from([None, *State]),
    amounts, amounts, amounts, amounts,
    st.none() | st.dates(day("2026-02-01"), day("2026-04-01")),
)  # fmt: skip


@given(amounts, st.lists(payers_of_any_kind, max_size=3), amounts, amounts, amounts)
def test_the_parts_add_up_to_the_cost_whatever_happened(cost, told, most, billed, paid):
    found = parts(cost, told, on=ON, most=most, billed=billed, paid=min(paid, billed))
    assert sum((one.amount for one in found), Decimal(0)) == cost
    assert all(one.amount >= 0 and one.above >= 0 for one in found)
    # All that was really credited and paid is there, within the cost or above it.
    real = sum((one.credited for one in told), Decimal(0)) + min(paid, billed)
    shown = [one for one in found if one.figure in (Figure.CREDITED, Figure.CUSTOMER_PAID)]
    assert sum((one.amount + one.above for one in shown), Decimal(0)) == real


@pytest.mark.parametrize(
    ("days", "median", "slowest"),
    [([10], "10", 10), ([10, 13], "11.5", 13), ([30, 10, 11], "11", 30), ([0, 0, 5, 9], "2.5", 9)],
)
def test_the_days_from_filing_to_credit(days, median, slowest):
    told = [("Northrill", ON, ON.fromordinal(ON.toordinal() + number)) for number in days]
    assert waits(told) == (Waits("Northrill", len(days), Decimal(median), slowest),)


def test_the_days_are_told_apart_by_payer():
    assert [one.payer_name for one in waits([("Plan", ON, ON), ("Northrill", ON, ON)])] == ["Northrill", "Plan"]
    assert waits([]) == ()
