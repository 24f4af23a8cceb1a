"""Who pays each kind of cost, and whom else is it worth asking?"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.coverage import payments
from fleet.rules.findings import Answer, Payment, Result

PAYERS = ("maker", "labor plan", "installer")
YES, IF, NO, WHO_KNOWS = Result.COVERED, Result.COVERED_IF, Result.NOT_COVERED, Result.CANNOT_SAY


def said(*results, kind="parts"):
    """One answer of each payer, in the order in which they are asked; None where it holds no terms."""
    return [
        Answer(f"paper of the {payer}", payer, kind, result, ())
        for payer, result in zip(PAYERS, results, strict=True)
        if result is not None
    ]


def paid(answers, kind="parts"):
    (found,) = (payment for payment in payments(answers) if payment.kind == kind)
    return found.pays, found.worth_asking


@pytest.mark.parametrize(
    ("results", "pays", "worth_asking"),
    [
        ((YES, YES, YES), "maker", ()),
        ((YES, IF, WHO_KNOWS), "maker", ()),
        ((NO, YES, YES), "labor plan", ()),
        ((IF, YES, NO), "labor plan", ("maker",)),
        ((WHO_KNOWS, YES, IF), "labor plan", ("maker",)),
        ((IF, WHO_KNOWS, YES), "installer", ("maker", "labor plan")),
        ((NO, NO, YES), "installer", ()),
        ((None, None, YES), "installer", ()),
        ((IF, NO, NO), "maker if", ()),
        ((IF, IF, NO), "maker if", ()),
        ((NO, IF, IF), "labor plan if", ()),
        ((WHO_KNOWS, IF, NO), "labor plan if", ("maker",)),
        ((WHO_KNOWS, WHO_KNOWS, IF), "installer if", ("maker", "labor plan")),
        ((WHO_KNOWS, NO, NO), "cannot say", ("maker",)),
        ((WHO_KNOWS, NO, WHO_KNOWS), "cannot say", ("maker", "installer")),
        ((NO, NO, NO), "customer", ()),
        ((NO, None, None), "customer", ()),
        ((None, None, None), "customer", ()),
    ],
)
def test_the_first_that_is_covered_pays(results, pays, worth_asking):
    assert paid(said(*results)) == (pays, worth_asking)


def test_each_kind_of_cost_is_paid_for_by_itself():
    found = payments([*said(YES, None, None), *said(NO, IF, None, kind="labor")])
    assert found == (
        Payment("parts", "maker", ()),
        Payment("labor", "labor plan if", ()),
        Payment("refrigerant", "customer", ()),
        Payment("freight", "customer", ()),
    )


@pytest.mark.parametrize(
    ("first", "second", "pays", "worth_asking"),
    [
        (NO, YES, "maker", ()),
        (IF, NO, "maker if", ()),
        (WHO_KNOWS, NO, "cannot say", ("maker",)),
        (WHO_KNOWS, YES, "maker", ()),
    ],
)
def test_of_two_papers_of_one_payer_the_better_counts(first, second, pays, worth_asking):
    answers = [*said(first, None, None), *said(second, None, None)]
    assert paid(answers) == paid(answers[::-1]) == (pays, worth_asking)


def test_the_payer_that_pays_is_not_worth_asking_besides():
    """Its second paper is open, but it pays already."""
    assert paid([*said(IF, None, None), *said(YES, None, None)]) == ("maker", ())


RESULTS = st.none() | st.sampled_from(list(Result))


@given(RESULTS, RESULTS, RESULTS)
def test_whom_it_is_worth_asking_comes_before_who_pays(maker, plan, installer):
    pays, worth_asking = paid(said(maker, plan, installer))
    payer = pays.removesuffix(" if")
    if payer in PAYERS:
        assert all(PAYERS.index(name) < PAYERS.index(payer) for name in worth_asking)
    assert list(worth_asking) == sorted(worth_asking, key=PAYERS.index)
    assert (pays == "customer") == (not {maker, plan, installer} & {YES, IF, WHO_KNOWS})
