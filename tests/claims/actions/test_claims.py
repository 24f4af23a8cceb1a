"""A claim is opened on a payer of a failure; its clocks and what should come follow from both, whatever is put right."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from fleet import models
from fleet.claims.actions import claims, failures, suppliers
from fleet.derived import recheck, refresh
from fleet.loading import history
from fleet.refusals import Refused
from fleet.rules.claims import State
from tests import claimed, company, rows
from tests.claimed import STRICT, WAY, clocks, refused, step

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def paper() -> models.Terms:
    return company.on_file(STRICT)[0]


@pytest.fixture(autouse=True)
def _kept_is_what_the_facts_give():
    yield
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


# ---------------------------------------------------------------------------------------------------- the clocks


def test_a_failure_that_nobody_claimed_has_the_clocks_a_claim_would_have(paper):
    failure = claimed.failure(repaired_on="2026-02-02", part_taken_on="2026-02-03")
    assert clocks(failure) == {
        "claim form": ("2026-02-03", False, False),
        "filing": ("2026-03-19", False, False),
        "old part back": ("2026-02-24", False, False),
    }


def test_an_opened_claim_takes_the_clocks_over_and_knows_what_should_come(paper):
    failure = claimed.failure(repaired_on="2026-02-02")
    claim = claimed.claim(failure)
    assert (claim.payer, claim.payer_name, claim.kinds, claim.state) == (
        "maker",
        "Northrill",
        "parts;labor",
        "gathering",
    )
    # 200.00 for the part and 30.00 for handling it, 72.00 for the call, 1.25 hours at 88.00, less the fee of 35.00.
    assert claim.expected == Decimal("377.00")
    assert clocks(failure) == {
        "claim form": (None, True, True),
        "filing": ("2026-03-19", False, True),
        "old part back": (None, False, True),
    }


def test_what_was_done_leaves_the_clocks_and_what_is_over_has_none(paper):
    failure = claimed.failure(repaired_on="2026-02-02", part_taken_on="2026-02-03")
    claim = claimed.claim(failure)
    claim = claims.change(claim.pk, version=0, edits={"form_on": dt.date(2026, 2, 3)}, by=None, on=TODAY)
    assert set(clocks(failure)) == {"filing", "old part back"}
    step(claim, State.FILED, amount="150.00")
    assert set(clocks(failure)) == {"old part back"}
    step(claim, State.WITHDRAWN, reason="a loose plug")
    assert clocks(failure) == {}


def test_a_claim_that_the_payer_corrects_wants_its_old_part_back_again(paper):
    failure = claimed.failure(repaired_on="2026-02-02", part_taken_on="2026-02-03")
    claim = claimed.claim(failure)
    for to in WAY[State.CREDITED]:
        step(claim, to, amount="150.00")
    assert clocks(failure) == {}
    step(claim, State.FILED, reason="credited twice", payers_correction=True)
    assert set(clocks(failure)) == {"old part back"}


def test_a_component_named_for_leave_first_has_that_clock_before_its_repair(paper):
    assert clocks(claimed.failure(component="compressor"))["leave to replace"] == (None, True, False)
    assert "leave to replace" not in clocks(claimed.failure(component="capacitor"))


def test_a_clock_let_go_with_a_reason_waits_no_more_until_it_is_taken_up_again(paper):
    failure = claimed.failure(repaired_on="2026-02-02", part_taken_on="2026-02-03")
    claim = claimed.claim(failure)
    told = {"version": 0, "kind": "old part back", "by": None, "on": TODAY}
    assert refused(claims.dismiss_deadline, claim.pk, why=" ", **told) == {
        "why": "Say why this deadline no longer applies."
    }
    claims.dismiss_deadline(claim.pk, why="they scrap it on site", **told)
    assert set(clocks(failure)) == {"claim form", "filing"}
    claims.restore_deadline(claim.pk, version=1, kind="old part back", by=None, on=TODAY)
    assert set(clocks(failure)) == {"claim form", "filing", "old part back"}
    change = models.Change.objects.get(table="claim", object_id=claim.pk)
    assert (change.field, change.before) == ("old part back counts no more", "they scrap it on site")


def test_a_suppliers_own_clocks_and_fee_hold_for_a_claim_through_it(paper):
    failure = claimed.failure(repaired_on="2026-02-02")
    supplier = suppliers.add(told={"name": "Pellbrook", "file_within_days": 10, "fee": Decimal("5")}, by=None, on=TODAY)
    claim = claimed.claim(failure, supplier=supplier)
    assert clocks(failure)["filing"] == ("2026-02-11", False, True)
    assert claim.expected == Decimal("407.00")
    suppliers.correct(supplier.pk, was={"file_within_days": 10}, told={"file_within_days": 11}, by=None, on=TODAY)
    assert clocks(failure)["filing"] == ("2026-02-12", False, True)


def test_a_part_that_came_from_a_supplier_with_clocks_has_them_before_a_claim_is_opened(paper):
    supplier = suppliers.add(told={"name": "Pellbrook", "file_within_days": 10}, by=None, on=TODAY)
    assert clocks(claimed.failure(supplier=supplier))["filing"] == ("2026-02-11", False, False)


def test_two_people_who_correct_one_fact_of_a_supplier_are_told(paper):
    supplier = suppliers.add(told={"name": "Pellbrook", "phone": "1"}, by=None, on=TODAY)
    suppliers.correct(supplier.pk, was={"phone": "1"}, told={"phone": "2"}, by=None, on=TODAY)
    with pytest.raises(Refused) as found:
        suppliers.correct(supplier.pk, was={"phone": "1"}, told={"phone": "3"}, by=None, on=TODAY)
    assert found.value.faults == {"phone": "Somebody changed this meanwhile; it is now 2."}


def test_the_days_of_a_unit_that_is_gone_still_come(paper):
    """A limit that passes ends what a payer might have paid for, also where no holding is kept any more to say when."""
    only = {"pays_for": ["parts"], "components": ["*"], "tiers": [{"months": 60, "when": ["registered"]}]}
    within = {"within_days": 30, "counted_from": "installed_on"}
    company.on_file(STRICT | {"code": "nelvarno-1", "maker": "Nelvarno", "registration": within, "coverage": [only]})
    gone = {"removed_on": "2026-02-25", "removal_reason": "removed"}
    unit = rows.unit("G1", maker="Nelvarno", started_on="2026-02-10", installed_on="2026-02-10", **gone)
    claim = claimed.claim(claimed.failure(unit, "2026-02-15"), "nelvarno-1", kinds=["parts"])
    # 200.00 and 30.00 for handling, less the fee of 35.00, hang on registering by March 12.
    assert (claim.expected, claim.possible, claim.next_on) == (Decimal(0), Decimal("195.00"), dt.date(2026, 3, 13))
    refresh.catch_up(on=dt.date(2026, 3, 12))  # the first page of that day
    assert not refresh.is_due(on=dt.date(2026, 3, 12))
    later = dt.date(2026, 3, 13)
    assert refresh.is_due(on=later)
    refresh.catch_up(on=later)
    claim.refresh_from_db()
    # What is left are the days around the end of the term, at which an answer is worded otherwise.
    assert (claim.possible, claim.next_on) == (Decimal(0), dt.date(2031, 2, 9))
    assert [str(one) for one in recheck.differences(on=later)] == []
    refresh.refresh([unit.pk], on=TODAY)


# --------------------------------------------------------------------------------------------------- opening one


@pytest.fixture
def ended() -> models.Failure:
    """A failure more than ten years after the unit was put in: eight months after everything ended."""
    return claimed.failure(company.unit("OLD1", started_on="2015-06-01", installed_on="2015-06-01"), "2026-02-01")


def test_a_payer_that_promised_nothing_is_asked_only_with_a_reason(paper, ended):
    assert refused(claimed.claim, ended) == {
        "because": "By the terms on file this payer does not cover this failure; say why you are claiming anyway."
    }
    assert refused(claimed.claim, ended, because="  ") != {}
    claim = claimed.claim(ended, because="their representative asked for it")
    assert (claim.opened_because, claim.kinds) == ("their representative asked for it", "parts;labor")
    assert claim.expected == 0


def test_one_claim_for_a_failure_and_payer(paper):
    failure = claimed.failure()
    claimed.claim(failure)
    assert refused(claimed.claim, failure) == {
        "terms": "There already is a claim with Northrill for this failure: not filed yet."
    }
    with pytest.raises(IntegrityError), transaction.atomic():
        models.Claim.objects.create(
            failure=failure, terms=paper, payer="maker", payer_name="Northrill", kinds="parts", opened_on=TODAY
        )


def test_two_payers_of_one_failure_have_a_claim_each(paper):
    failure = claimed.failure()
    plan = claimed.plan_for(failure)
    first, second = claimed.claim(failure), claimed.claim(failure, plan.code, kinds=["labor"])
    assert [first.payer_name, second.payer_name] == ["Northrill", "Ten years of labor"]
    assert second.kinds == "labor"


def test_a_voided_failure_is_not_claimed(paper):
    failure = claimed.failure(voided_on="2026-02-02", void_reason="told twice")
    assert refused(claimed.claim, failure) == {"failure": "This failure was voided: told twice."}
    assert clocks(failure) == {}


def test_a_payer_that_is_not_asked_is_settled_with_the_reason(paper):
    failure = claimed.failure(repaired_on="2026-02-02")
    assert refused(claims.forgo, failure.pk, paper.pk, because="", by=None, on=TODAY) != {}
    assert models.Claim.objects.count() == 0
    claim = claims.forgo(failure.pk, paper.pk, because="nine dollars", by=None, on=TODAY)
    assert (claim.state, claim.steps.get().reason) == ("withdrawn", "nine dollars")
    assert clocks(failure) == {}


# ---------------------------------------------------------------------------------------------- beside the steps


def test_what_is_changed_beside_the_steps_is_on_record(paper):
    claim = claimed.claim(claimed.failure())
    claims.change(claim.pk, version=0, edits={"reference": " TV 7 ", "carrier": "Parcel 9"}, by=None, on=TODAY)
    claim = claims.change(claim.pk, version=1, edits={"reference": "TV 8", "carrier": "Parcel 9"}, by=None, on=TODAY)
    assert (claim.reference, claim.carrier, claim.version) == ("TV 8", "Parcel 9", 2)
    told = models.Change.objects.filter(table="claim", object_id=claim.pk).order_by("pk")
    assert list(told.values_list("field", "before", "after")) == [
        ("reference", "", "TV 7"),
        ("carrier", "", "Parcel 9"),
        ("reference", "TV 7", "TV 8"),
    ]


def test_nothing_changed_counts_for_nothing(paper):
    claim = claimed.claim(claimed.failure())
    assert claims.change(claim.pk, version=0, edits={"reference": ""}, by=None, on=TODAY).version == 0


@pytest.mark.parametrize(
    ("field", "day", "said"),
    [
        ("part_back_on", "2026-01-31", "The day the old part was returned, January 31, 2026, is before the day it failed, February 1, 2026."),
        ("part_back_on", "2026-03-03", "The day the old part was returned, March 3, 2026, is later than today."),
        ("approved_on", "2026-01-31", "The day prior approval was received, January 31, 2026, is before the day it failed, February 1, 2026."),
        ("form_on", "2026-02-21", "The day it was filed, February 20, 2026, is before the day the claim form was filled out, February 21, 2026."),
    ],
)  # fmt: skip
def test_days_out_of_order_are_refused_at_their_field(field, day, said, paper):
    claim = claimed.claim(claimed.failure())
    step(claim, State.FILED, amount="150.00")
    edits = {field: dt.date.fromisoformat(day)}
    assert refused(claims.change, claim.pk, version=1, edits=edits, by=None, on=TODAY) == {field: said}


def test_the_kinds_asked_for_decide_what_should_come(paper):
    claim = claimed.claim(claimed.failure())
    claim = claims.change(claim.pk, version=0, edits={"kinds": ["labor"]}, by=None, on=TODAY)
    # Handling goes with the work where the part is not asked for: 72.00 + 1.25 x 88.00 + 30.00, less the fee of 35.00.
    assert (claim.kinds, claim.expected) == ("labor", Decimal("177.00"))
    assert list(refused(claims.change, claim.pk, version=1, edits={"kinds": []}, by=None, on=TODAY)) == ["kinds"]


def test_a_part_that_they_do_not_ask_for_need_not_go_back():
    company.on_file(STRICT | {"claims": STRICT["claims"] | {"old_part": "return if asked"}})
    failure = claimed.failure(part_taken_on="2026-02-03")
    claim = claimed.claim(failure)
    assert "old part back" in clocks(failure)
    claims.change(claim.pk, version=0, edits={"part_asked_for": False}, by=None, on=TODAY)
    assert "old part back" not in clocks(failure)


def test_recheck_reports_a_clock_and_a_claim_that_are_not_what_they_should_be(paper):
    failure = claimed.failure(repaired_on="2026-02-02")
    claim = claimed.claim(failure)
    failure.clocks.filter(kind="filing").update(last_on=dt.date(2026, 3, 20))
    models.Claim.objects.filter(pk=claim.pk).update(expected=Decimal("1.00"), credited=Decimal("2.00"))
    found = [str(one) for one in recheck.differences(on=TODAY)]
    assert "clock of filing" in found[0]
    assert "2026-03-20" in found[0]
    # Two dollars that nobody credited stand as credited, and no longer as still to be claimed.
    for said in (
        f"claim {claim.pk}: kept",
        f"claim {claim.pk} after its steps",
        "credited of failure",
        "to claim of failure",
    ):
        assert sum(said in one for one in found) == 1, said
    assert len(found) == 5
    models.Claim.objects.filter(pk=claim.pk).update(credited=Decimal(0))
    refresh.refresh([failure.unit_id], on=TODAY)


def test_a_failure_from_a_file_has_the_same_clocks_and_expects_the_same_as_one_from_the_screen(paper):
    told = {
        "component": "compressor",
        "repaired_on": "2026-02-05",
        "part_taken_on": "2026-02-04",
        "parts_cost": "640.00",
    }
    units = [
        company.unit(serial, started_on="2021-06-01", installed_on="2021-06-01") for serial in ("FILE1", "SCREEN1")
    ]
    history.load_rows([{"serial": "FILE1", "day": "2026-02-01", "kind": "failure"} | told], on=TODAY)
    failures.record(units[1].pk, {"failed_on": "2026-02-01"} | told, by=None, on=TODAY)
    found = [unit.failures.get() for unit in units]
    assert clocks(found[0]) == clocks(found[1])
    assert len(clocks(found[0])) == 4
    assert [claimed.claim(failure).expected for failure in found] == [Decimal("1103.00")] * 2
