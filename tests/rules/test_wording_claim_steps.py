"""Where a claim stands, what it did and may do, and its clocks together, in plain English. Asked on March 20, 2024."""

import datetime as dt
from decimal import Decimal

import pytest

from fleet.rules.claims import STEPS, Standing, State
from fleet.rules.wording import claim_steps
from fleet.rules.wording.claim_clocks import Together, clocks_in_words

ASKED = dt.date(2024, 3, 20)


def day(number: int) -> dt.date:
    return dt.date(2024, 3, number)


@pytest.mark.parametrize(
    ("state", "money", "days", "said"),
    [
        (State.GATHERING, (), (None, None), "Being gathered since March 1, 2024; not filed yet."),
        (State.FILED, ("320",), (8, 8), "Filed on March 8, 2024, 12 days ago; $320.00 is asked for."),
        (State.FILED, ("320",), (8, 19), "Filed last on March 19, 2024, 1 day ago; $320.00 is asked for."),
        (State.FILED, ("320", "0", "120"), (8, 20), "Filed last on March 20, 2024, today; $320.00 is asked for, $120.00 was credited so far."),
        (State.ASKED_FOR_MORE, ("320",), (8, 18), "The payer asked for more on March 18, 2024, 2 days ago."),
        (State.APPROVED, ("320", "320"), (8, 18), "Approved on March 18, 2024: $320.00, of which $0.00 was credited and $320.00 is still out."),
        (State.PART_APPROVED, ("320", "200", "50"), (8, 18), "Approved in part: $200.00, of which $50.00 was credited and $150.00 is still out."),
        (State.DENIED, ("320",), (8, 18), "Denied on March 18, 2024, 2 days ago; $320.00 was asked for."),
        (State.CREDITED, ("320", "320", "320"), (8, 18), "Credited: $320.00 of $320.00 asked for, the last on March 18, 2024."),
        (State.WRITTEN_OFF, ("320", "200", "50"), (8, 18), "Written off on March 18, 2024; $50.00 had been credited."),
        (State.WITHDRAWN, (), (None, 18), "Withdrawn on March 18, 2024; nothing is asked for."),
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
    assert claim_steps.to_do(State.GATHERING, State.FILED) == "File it"
    assert claim_steps.done(State.CREDITED, State.FILED) == "Opened again by the payer's correction"


@pytest.mark.parametrize(
    ("state", "whom"),
    [(State.GATHERING, "us"), (State.FILED, "the payer"), (State.ASKED_FOR_MORE, "us"), (State.APPROVED, "the payer"),
     (State.PART_APPROVED, "the payer"), (State.DENIED, "us"), (State.CREDITED, ""), (State.WRITTEN_OFF, ""),
     (State.WITHDRAWN, "")],
)  # fmt: skip
def test_on_whom_a_claim_waits(state, whom):
    assert claim_steps.waits_on(state) == whom


def together(days):
    return Together(len(days), min(map(day, days))) if days else Together()


@pytest.mark.parametrize(
    ("missed", "closing", "first", "said"),
    [
        ([], [], 0, ()),
        ([18], [], 0, ("1 clock of a claim was missed, on March 18, 2024: it stands here until done.",)),
        ([18, 3], [], 0, ("2 clocks of claims were missed, the longest ago on March 3, 2024: they stand here until done.",)),
        ([], [20], 0, ("1 clock of a claim runs out within a week, today.",)),
        ([], [21], 0, ("1 clock of a claim runs out within a week, on Thursday, March 21, 2024.",)),
        ([], [27, 22], 0, ("2 clocks of claims run out within a week, the first on Friday, March 22, 2024.",)),
        ([], [], 1, ("1 thing must be done before the repair or before the new part is taken.",)),
        ([], [], 2, ("2 things must be done before the repair or before the new part is taken.",)),
    ],
)  # fmt: skip
def test_clocks_together(missed, closing, first, said):
    found = clocks_in_words(missed=together(missed), closing=together(closing), first=first, asked=ASKED)
    assert found == said
