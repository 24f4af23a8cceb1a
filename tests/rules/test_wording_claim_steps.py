"""Where a claim stands, and what it did and may do, in plain English. Asked on March 20, 2024."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.rules.claims import STEPS, Standing, State
from fleet.rules.wording import claim_steps

ASKED = dt.date(2024, 3, 20)


def day(number: int) -> dt.date:
    return dt.date(2024, 3, number)


@pytest.mark.parametrize(
    ("state", "money", "days", "said"),
    [
        (State.GATHERING, (), (None, None), "Not filed yet; opened on March 1, 2024, 19 days ago."),
        (State.FILED, ("320",), (8, 8), "Filed on March 8, 2024, 12 days ago, for $320.00."),
        (State.FILED, ("320",), (8, 19), "Filed last on March 19, 2024, 1 day ago, for $320.00."),
        (State.FILED, ("320", "0", "120"), (8, 20), "Filed last on March 20, 2024, today, for $320.00; $120.00 has been credited so far."),
        (State.ASKED_FOR_MORE, ("320",), (8, 18), "The payer has needed more information since March 18, 2024, 2 days ago."),
        (State.APPROVED, ("320", "320"), (8, 18), "Approved on March 18, 2024: $320.00; $0.00 has been credited and $320.00 is still to come."),
        (State.PART_APPROVED, ("320", "200", "50"), (8, 18), "Approved in part: $200.00; $50.00 has been credited and $150.00 is still to come."),
        (State.DENIED, ("320",), (8, 18), "Denied on March 18, 2024, 2 days ago; we claimed $320.00."),
        (State.CREDITED, ("320", "320", "320"), (8, 18), "Credited: $320.00 of the $320.00 claimed, the last of it on March 18, 2024."),
        (State.WRITTEN_OFF, ("320", "200", "50"), (8, 18), "Written off on March 18, 2024; $50.00 had been credited."),
        (State.WITHDRAWN, (), (None, 18), "Withdrawn on March 18, 2024; nothing is claimed."),
    ],
)  # fmt: skip
def test_where_a_claim_stands(state, money, days, said):
    amounts = [Decimal(amount) for amount in (*money, "0", "0", "0")[:3]]
    filed, last = (number and day(number) for number in days)
    found = Standing(state, *amounts, filed, last)
    assert claim_steps.stands(found, opened_on=day(1), asked=ASKED) == said


def test_every_step_of_the_table_has_words_of_its_own_before_and_after():
    for state, into in STEPS.items():
        to_do = [claim_steps.to_do(state, to) for to in into]
        assert len(set(to_do)) == len(to_do)
        assert all(claim_steps.done(state, to) and claim_steps.reason_label(state, to) for to in into)
    assert claim_steps.to_do(State.GATHERING, State.FILED) == "File this claim"
    assert claim_steps.done(State.CREDITED, State.FILED) == "Reopened by the payer's correction"


@pytest.mark.parametrize(
    ("state", "whom"),
    [(State.GATHERING, "ours"), (State.FILED, "the payer’s"), (State.ASKED_FOR_MORE, "ours"), (State.APPROVED, "the payer’s"),
     (State.PART_APPROVED, "the payer’s"), (State.DENIED, "ours"), (State.CREDITED, ""), (State.WRITTEN_OFF, ""),
     (State.WITHDRAWN, "")],
)  # fmt: skip
def test_on_whom_a_claim_waits(state, whom):
    assert claim_steps.waits_on(state) == whom
