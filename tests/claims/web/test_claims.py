"""Claims on their pages: listed, opened, stepped, proven; what is refused stands at its field with everything typed."""

import datetime as dt
import io
import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from fleet import models
from fleet.claims.actions import claims, suppliers
from fleet.derived import recheck
from fleet.rules.claims import STEPS, State
from tests import claimed, company
from tests.claimed import PAYS, STRICT, step, taken_to
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY


@pytest.fixture
def paper() -> models.Terms:
    return company.on_file(STRICT)[0]


@pytest.fixture
def office():
    return company.as_role("office")


def listed(client, address: str) -> list[list[object]]:
    return [[cell.value for cell in row.cells] for row in client.get(address).context["listing"].rows]


def step_of(client, claim: models.Claim, to: State, **told):
    claim.refresh_from_db()
    sent = {"version": claim.version, "to": to, "day": "2026-02-20", "key": str(uuid.uuid4()), "confirmed": "on"} | told
    return client.post(f"/claims/{claim.pk}/step", sent)


def photo() -> io.BytesIO:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), "gray").save(out, "JPEG")
    out.seek(0)
    out.name = "plate.jpg"
    return out


# ------------------------------------------------------------------------------------------------------ the lists


def test_claims_that_are_not_over_are_listed_by_the_day_they_were_filed(paper, office):
    for state in (State.CREDITED, State.FILED, State.GATHERING):
        taken_to(state)
    found = listed(office, "/claims")
    assert [(row[1], row[13], row[15], row[18]) for row in found] == [
        ("gathering", None, None, None),
        ("filed", 28, Decimal("150.00"), Decimal("150.00")),
    ]
    assert "2 claims are open; $150.00 is outstanding" in words(office.get("/claims"))


@pytest.mark.parametrize(
    ("asked", "states"),
    [
        ("state=any", ["credited", "filed", "gathering"]),
        ("state=credited", ["credited"]),
        ("state=denied", []),
        ("days=10", ["filed"]),
        ("days=30", []),
        ("payer=maker", ["filed", "gathering"]),
        ("payer=labor+plan", []),
        ("maker=Northrill", ["filed", "gathering"]),
        ("text=TV+7", ["filed"]),
        ("text=nobody", []),
    ],
)
def test_the_list_is_narrowed(asked, states, paper, office):
    taken_to(State.CREDITED)
    claim = taken_to(State.FILED)
    claims.change(claim.pk, version=claim.version, edits={"reference": "TV 7"}, by=None, on=TODAY)
    taken_to(State.GATHERING)
    assert sorted(row[1] for row in listed(office, f"/claims?{asked}")) == states


def test_the_list_goes_out_as_a_file(paper, office):
    claim = taken_to(State.FILED)
    text = b"".join(office.get("/claims?as=csv").streaming_content).decode()
    assert f"{claim.pk},filed,maker,Northrill" in text
    assert b"".join(office.get("/claims?as=xlsx").streaming_content).startswith(b"PK")


@pytest.mark.parametrize("address", ["/claims?state=any", "/deadlines", "/on-our-desk"])
def test_five_rows_take_no_more_queries_than_one(address, paper, office):
    claimed.claim(claimed.failure(repaired_on="2026-02-02"))
    claimed.failure(repaired_on="2026-02-02")
    office.get(address)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as found:
            office.get(address)
        counts.append([query["sql"] for query in found])
        for _ in range(4):
            claimed.claim(claimed.failure(repaired_on="2026-02-02"))
            claimed.failure(repaired_on="2026-02-02")
    assert len(counts[0]) == len(counts[1]), counts


@pytest.mark.parametrize(
    ("repaired_on", "left", "overdue"),
    [
        pytest.param("2026-02-01", "1 day left", False, id="the day before the last"),
        pytest.param("2026-01-31", "today", False, id="the last day"),
        pytest.param("2026-01-30", "1 day overdue", True, id="the day after"),
    ],
)
def test_a_deadline_runs_to_its_last_day_and_is_overdue_from_the_next(repaired_on, left, overdue, office):
    """The paper lets 30 days from the repair; asked on March 2, 2026."""
    company.on_file(STRICT | {"claims": {"file_within_days": 30, "file_counted_from": "repaired_on"}})
    claimed.failure(failed_on="2026-01-28", repaired_on=repaired_on)
    (row,) = office.get("/deadlines").context["listing"].rows
    assert row.cells[0].value == "File the claim with Northrill for the sensor"
    assert row.cells[3].said == left
    assert ("1 deadline was missed and is still open." in words(office.get("/on-our-desk"))) is overdue
    assert len(listed(office, "/deadlines?which=overdue")) == overdue
    assert len(listed(office, "/deadlines?which=within+a+week")) == (not overdue)


@pytest.mark.parametrize(
    ("repaired_on", "too_late"),
    [
        pytest.param("2025-12-02", False, id="missed by sixty days"),
        pytest.param("2025-12-01", True, id="missed by more"),
    ],
)
def test_what_nobody_claimed_long_ago_is_no_deadline_any_more(repaired_on, too_late, office):
    asks = {"file_within_days": 30, "file_counted_from": "repaired_on", "part_back_within_days": 10}
    company.on_file(STRICT | {"claims": asks})
    claimed.failure(failed_on="2025-11-25", repaired_on=repaired_on)
    assert len(listed(office, "/deadlines")) == (0 if too_late else 2)


def test_a_claim_that_is_late_stands_however_long_ago(office):
    company.on_file(STRICT | {"claims": {"file_within_days": 30, "file_counted_from": "repaired_on"}})
    claimed.claim(claimed.failure(failed_on="2025-05-20", repaired_on="2025-05-25"))
    assert [row[0] for row in listed(office, "/deadlines")] == ["File the claim with Northrill for the sensor"]


# ---------------------------------------------------------------------------------------------------- opening one


def test_a_claim_is_opened_from_its_failure_in_one_step(paper, office):
    failure = claimed.failure(repaired_on="2026-02-02")
    page = words(office.get(f"/failures/{failure.pk}/claims"))
    assert "Expected: $377.00." in page
    assert "File the claim by March 19, 2026: 17 days left." in page
    response = office.post(
        f"/failures/{failure.pk}/claims", {"terms": paper.pk, "kinds": ["parts", "labor"], "supplier": ""}
    )
    claim = models.Claim.objects.get()
    assert response["Location"] == f"/claims/{claim.pk}"
    assert (claim.kinds, claim.expected, claim.by.role) == ("parts;labor", Decimal("377.00"), "office")


def test_a_payer_that_promised_nothing_wants_a_reason_and_what_was_typed_stays(paper, office):
    failure = claimed.failure(company.unit("OLD1", started_on="2015-06-01", installed_on="2015-06-01"))
    address = f"/failures/{failure.pk}/claims"
    response = office.post(address, {"terms": paper.pk, "kinds": ["labor"], "because": " "})
    assert response.status_code == 422
    form = response.context["denied_forms"][0]
    assert form.errors["because"] == [
        "By the terms on file this payer does not cover this failure; say why you are claiming anyway."
    ]
    assert form["kinds"].value() == ["labor"]
    assert office.post(address, {"terms": paper.pk, "kinds": ["labor"], "because": "goodwill"}).status_code == 302


def test_a_payer_is_not_asked_and_why(paper, office):
    failure = claimed.failure(repaired_on="2026-02-02")
    address = f"/failures/{failure.pk}/claims"
    assert office.post(address, {"terms": paper.pk, "forgo": "1"}).status_code == 422
    office.post(address, {"terms": paper.pk, "forgo": "1", "because": "nine dollars"})
    assert models.Claim.objects.get().state == "withdrawn"
    assert listed(office, "/deadlines") == []


def test_a_technician_sees_where_a_claim_stands_and_opens_none(paper):
    claim = taken_to(State.FILED)
    technician = company.as_role("technician")
    page = words(technician.get(f"/failures/{claim.failure_id}"))
    assert "Filed on February 2, 2026, 28 days ago, for $150.00." in page
    assert f"/claims/{claim.pk}" not in page
    assert technician.get(f"/claims/{claim.pk}").status_code == 403
    assert technician.post(f"/failures/{claim.failure_id}/claims", {"terms": paper.pk}).status_code == 403


# ------------------------------------------------------------------------------------------------------ one claim


def test_what_should_come_is_shown_line_by_line_as_worked_out_by_hand(office):
    """A compressor and 48.08 oz of refrigerant, everything covered.

    Part 640.00; the call 72.00; 4.5 hours at 88.00 = 396.00; 3.005 lb at 9.00 = 27.045; reclaiming 48.00; handling a part of
    80.00 or more 30.00; freight 41.33; less the fee of 35.00: 1,219.375, to the cent half up 1,219.38.
    """
    kinds = ["parts", "labor", "refrigerant", "freight"]
    allowance = PAYS["allowance"] | {
        "refrigerant_per_lb": {"R-410A": "9.00"},
        "reclaim": "48.00",
        "handling": [{"below": "80", "pays": "18.00"}, {"pays": "30.00"}],
    }
    covers = [{"pays_for": kinds, "components": ["*"], "tiers": [{"months": 120}]}]
    company.on_file(STRICT | {"coverage": covers, "allowance": allowance})
    failure = claimed.failure(component="compressor", parts_cost="640.00", freight_cost="41.33")
    for move, ounces in (("recovered", 52), ("added", 40), ("added", Decimal("8.08"))):
        models.RefrigerantEntry.objects.create(
            system=failure.unit.system, failure=failure, on=failure.failed_on, move=move, refrigerant="R-410A",
            ounces=ounces, who="Jules",
        )  # fmt: skip
    page = office.get(f"/claims/{claimed.claim(failure).pk}").context["page"]
    assert page.credit == (
        "Parts: $640.00.",
        "Service call: $72.00.",
        "Hours for the compressor: 4.5 × $88.00 = $396.00.",
        "Refrigerant R-410A: 3.005 lb × $9.00 = $27.045.",
        "Reclaiming refrigerant: $48.00.",
        "Handling of the part: $30.00.",
        "Freight: $41.33.",
        "Less the claim fee: −$35.00.",
    )
    assert page.credit_total == "Expected: $1,219.38."


def test_what_the_payer_wants_is_there_or_missing_with_who_could_supply_it(office):
    wants = ["photo of the nameplate", "readings before the repair", "till receipt"]
    company.on_file(STRICT | {"claims": {"wants": wants, "leave_first": ["compressor"]}})
    failure = claimed.failure(
        component="compressor", repaired_on="2026-02-05", cause="manufacturing defect", new_part_number="C-1"
    )
    claim = claimed.claim(failure)
    page = office.get(f"/claims/{claim.pk}").context["page"]
    assert [(want.text, want.there, want.who) for want in page.wants] == [
        ("photo of the nameplate", False, "technician"),
        ("readings before the repair", False, "technician"),
        ("till receipt", False, "customer"),
        ("serial", True, "technician"),
        ("the day it was installed or started", True, "office"),
        ("the day it was repaired", True, "technician"),
        ("cause", True, "technician"),
        ("the new part's number", True, "technician"),
        ("the payer's prior approval", False, "payer"),
    ]
    assert "4 of 9 are missing." in words(office.get(f"/claims/{claim.pk}"))


@pytest.mark.parametrize("state", list(State))
def test_the_steps_offered_are_exactly_those_of_the_table(state, paper, office):
    claim = taken_to(state)
    response = office.get(f"/claims/{claim.pk}")
    assert response.status_code == 200
    assert [form.offer.to for form in response.context["steps"]] == [str(to) for to in STEPS[state]]


def test_a_claim_goes_from_filing_to_a_credit_in_two_parts(paper, office):
    claim = claimed.claim(claimed.failure())
    assert step_of(office, claim, State.FILED, amount="377.00").status_code == 302
    assert step_of(office, claim, State.APPROVED, amount="377.00", reference="L-9").status_code == 302
    step_of(office, claim, State.CREDITED, day="2026-02-22", amount="200.00")
    page = words(office.get(f"/claims/{claim.pk}"))
    assert "$377.00; $200.00 has been credited and $177.00 is still to come." in page
    step_of(office, claim, State.CREDITED, day="2026-02-27", amount="177.00")
    page = words(office.get(f"/claims/{claim.pk}"))
    assert "Credited: $377.00 of the $377.00 claimed, the last of it on February 27, 2026." in page
    assert "their reference L-9" in page
    assert [step.by.role for step in claim.steps.all()] == ["office"] * 4


def test_a_claim_is_filed_without_papers_only_once_somebody_confirms_it(paper, office):
    claim = claimed.claim(claimed.failure())
    filed = {"amount": "150.00", "note": "by mail", "confirmed": ""}
    response = step_of(office, claim, State.FILED, **filed)
    assert response.status_code == 422
    page = words(response)
    assert "Still missing: photo of the nameplate, readings, serial" not in page
    assert "Still missing: photo of the nameplate, readings, " in page
    assert "Add what you can, or confirm that you are filing without it." in page
    assert 'value="by mail"' in page
    assert "That is right: record it anyway" in page
    claim.refresh_from_db()
    assert claim.state == State.GATHERING
    assert step_of(office, claim, State.FILED, **filed | {"confirmed": "on"}).status_code == 302


@pytest.mark.parametrize(
    ("amount", "asks"),
    [
        pytest.param("149.99", False, id="a cent less"),
        ("150.00", False),
        pytest.param("150.01", True, id="a cent more"),
    ],
)
def test_a_credit_beyond_what_was_approved_is_booked_only_once_somebody_confirms_it(amount, asks, paper, office):
    claim = taken_to(State.APPROVED)
    credit = {"amount": amount, "day": "2026-02-27", "confirmed": ""}
    response = step_of(office, claim, State.CREDITED, **credit)
    assert response.status_code == (422 if asks else 302)
    if asks:
        said = "This is $0.01 more than the $150.00 that was approved. Check the amount, then confirm it."
        assert said in words(response)
        assert step_of(office, claim, State.CREDITED, **credit | {"confirmed": "on"}).status_code == 302
    assert claim.steps.last().amount == Decimal(amount)


def test_a_step_that_is_refused_keeps_everything_that_was_typed(paper, office):
    claim = claimed.claim(claimed.failure())
    response = step_of(office, claim, State.FILED, amount="9999", day="2026-03-03", note="by mail")
    assert response.status_code == 422
    form = response.context["steps"][0]
    assert form.errors == {
        "amount": ["$9,999.00 is more than the $412.00 that was spent and has not been credited yet."],
        "day": ["The day of this step, March 3, 2026, is later than today."],
    }
    assert [form[name].value() for name in ("amount", "day", "note")] == ["9999", "2026-03-03", "by mail"]  # fmt: skip
    assert claim.steps.count() == 0


def test_an_amount_that_is_no_number_is_said_to_be_none(paper, office):
    response = step_of(office, claimed.claim(claimed.failure()), State.FILED, amount="a lot")
    assert response.status_code == 422
    assert response.context["steps"][0].errors["amount"] == ["Enter an amount in dollars and cents, such as 1,412.50."]


def test_whoever_comes_second_sees_what_happened_and_what_they_typed(paper, office):
    claim = taken_to(State.FILED)
    seen = claim.version
    step(claim, State.DENIED, "2026-02-22", reason="too old")
    response = step_of(office, claim, State.APPROVED, day="2026-02-23", amount="150.00", version=seen, note="by phone")
    assert response.status_code == 409
    stray = response.context["stray"]
    assert stray.non_field_errors() == [
        "Somebody moved this claim to “denied” on February 22, 2026 meanwhile. Nothing of yours was saved."
    ]
    assert stray["note"].value() == "by phone"
    page = words(response)
    assert "Denied on February 22, 2026" in page
    assert "Nothing of yours was saved." in page
    # Sent again, knowing what happened, the table itself refuses it.
    again = step_of(office, claim, State.APPROVED, day="2026-02-23", amount="150.00")
    assert "A claim at “denied” cannot go to “approved”, only to “filed” or “written off”." in words(again)


def test_the_same_form_sent_twice_is_one_step(paper, office):
    claim = claimed.claim(claimed.failure())
    sent = {
        "version": 0,
        "to": "filed",
        "day": "2026-02-20",
        "amount": "150.00",
        "confirmed": "on",
        "key": str(uuid.uuid4()),
    }
    for _ in range(2):
        assert office.post(f"/claims/{claim.pk}/step", sent).status_code == 302
    assert claim.steps.count() == 1


def test_the_day_of_a_clock_is_recorded_beside_it(paper, office):
    claim = claimed.claim(claimed.failure(part_taken_on="2026-02-03"))
    assert office.post(f"/claims/{claim.pk}/change", {"version": 0, "part_back_on": "2026-02-21"}).status_code == 302
    claim.refresh_from_db()
    assert (claim.part_back_on, claim.kinds) == (dt.date(2026, 2, 21), "parts;labor")
    page = words(office.get(f"/claims/{claim.pk}"))
    assert "The old part was returned on February 21, 2026, 3 days before the last day." in page
    assert "set the day the old part was returned to February 21, 2026" in page
    response = office.post(f"/claims/{claim.pk}/change", {"version": 1, "form_on": "2026-01-01"})
    assert response.status_code == 422
    assert response.context["known"].errors["form_on"][0].startswith("The day the claim form was filled out, January 1, 2026, is before")  # fmt: skip


def test_the_numbers_and_days_are_saved_together_and_refused_together(paper, office):
    supplier = suppliers.add(told={"name": "Pellbrook", "fee": Decimal("5.00")}, by=None, on=TODAY)
    claim = claimed.claim(claimed.failure())
    sent = {"whole": "1", "version": 0, "reference": "TV 7", "supplier": supplier.pk, "kinds": ["parts"]}
    assert office.post(f"/claims/{claim.pk}/change", sent).status_code == 302
    claim.refresh_from_db()
    assert (claim.reference, claim.supplier, claim.kinds, claim.expected) == ("TV 7", supplier, "parts", Decimal("225.00"))  # fmt: skip
    response = office.post(f"/claims/{claim.pk}/change", {"whole": "1", "version": 1, "reference": "TV 8"})
    assert response.status_code == 422
    assert response.context["known"]["reference"].value() == "TV 8"
    assert response.context["known"].errors["kinds"] == ["Check at least one kind of cost to claim."]


def test_a_step_recorded_by_mistake_is_taken_back_with_a_reason_and_stays_to_be_read(paper, office):
    claim = taken_to(State.DENIED)
    at, sent = f"/claims/{claim.pk}/take-back", {"version": claim.version, "why": ""}
    response = office.post(at, sent)
    assert response.status_code == 422
    assert response.context["back"].errors["why"] == ["Say why you are undoing this step."]
    response = office.post(at, sent | {"why": "that letter was for claim 2"}, follow=True)
    assert "Taken back: denied on February 20, 2026: too old." in words(response)
    assert response.context["page"].state == "filed"
    assert "Wynn Office undid a step: Denied on February 20, 2026: too old. Why: that letter was for claim 2" in words(
        response
    )
    # Somebody whose page still shows the denial is told, and keeps what was typed.
    response = office.post(at, sent | {"why": "me too"})
    assert response.status_code == 409
    assert "has undone a step of this claim meanwhile" in words(response)
    assert 'value="me too"' in words(response)
    claim.refresh_from_db()
    assert (claim.state, claim.steps.count()) == ("filed", 1)


def test_a_claim_without_a_step_offers_no_way_back(paper, office):
    assert "Undo the latest step" not in words(office.get(f"/claims/{claimed.claim(claimed.failure()).pk}"))


def test_a_clock_is_let_go_with_a_reason_and_counts_again(paper, office):
    claim = claimed.claim(claimed.failure(repaired_on="2026-02-02"))
    sent = {"version": 0, "kind": "old part back", "why": ""}
    response = office.post(f"/claims/{claim.pk}/dismiss-deadline", sent)
    assert response.status_code == 422
    assert "Say why this deadline no longer applies." in words(response)
    response = office.post(f"/claims/{claim.pk}/dismiss-deadline", sent | {"kind": "us", "why": "nobody's clock"})
    assert response.status_code == 422
    assert not models.ClockNote.objects.exists()
    office.post(f"/claims/{claim.pk}/dismiss-deadline", sent | {"why": "scrapped on site, they agreed"})
    assert "No longer applies: scrapped on site, they agreed" in words(office.get(f"/claims/{claim.pk}"))
    office.post(f"/claims/{claim.pk}/restore-deadline", {"version": 1, "kind": "old part back"})
    assert not models.ClockNote.objects.exists()
    assert (
        "Wynn Office restored the deadline for returning the old part (dismissed before: scrapped on site, they agreed)"
        in words(office.get(f"/claims/{claim.pk}"))
    )
    assert list(recheck.differences(on=TODAY)) == []


def test_a_photo_given_for_what_they_want_is_there_for_every_claim_on_the_failure(paper, office, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    failure = claimed.failure()
    first, second = claimed.claim(failure), claimed.claim(failure, claimed.plan_for(failure).code)
    want = "photo of the nameplate"
    response = office.post(f"/claims/{first.pk}/give", {"want": want})
    assert response.context["give"].errors["file"] == ["Choose a photo or a paper."]
    assert office.post(f"/claims/{first.pk}/give", {"want": want, "file": photo()}).status_code == 302
    document = models.Document.objects.get()
    assert (document.claim, document.failure, document.given_for) == (first, failure, want)
    for claim in (first, second):
        page = office.get(f"/claims/{claim.pk}").context["page"]
        assert [(one.there, one.given) for one in page.wants if one.text == want] == [(True, ((document.pk, want),))]


def test_a_photo_that_is_kept_already_is_given(office, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    company.on_file(STRICT | {"claims": {"wants": ["till receipt"]}})
    failure = claimed.failure()
    claim = claimed.claim(failure)
    office.post(f"/units/{failure.unit_id}/documents", {"documents": photo(), "caption": "from the drawer"})
    document = models.Document.objects.get()
    sent = {"want": "till receipt", "document": document.pk}
    assert office.post(f"/claims/{claim.pk}/give", sent).status_code == 302
    document.refresh_from_db()
    assert document.given_for == "till receipt"
    bad = io.BytesIO(b"no photo")
    bad.name = "x.jpg"
    response = office.post(f"/claims/{claim.pk}/give", {"want": "till receipt", "file": bad})
    assert response.context["give"].errors["file"] == ["It is named as a photo, but no photo could be read in it."]


# ------------------------------------------------------------------------------------------------------ suppliers


def test_a_supplier_is_added_and_put_right_and_its_claims_follow(paper, office):
    told = {"name": "Pellbrook", "file_within_days": "10", "file_counted_from": "failed_on", "part_back_counted_from": "failed_on", "form_before_part": "no", "fee": "5.00"}  # fmt: skip
    assert office.post("/suppliers/add", told | {"fee": "-1"}).status_code == 422
    assert office.post("/suppliers/add", told).status_code == 302
    supplier = models.Supplier.objects.get()
    assert (supplier.file_within_days, supplier.form_before_part, supplier.fee) == (10, False, Decimal("5.00"))
    claim = claimed.claim(claimed.failure(), supplier=supplier)
    assert claim.clocks.get(kind="filing").last_on == dt.date(2026, 2, 11)
    was = {f"was_{name}": value for name, value in told.items()}
    assert office.post(f"/suppliers/{supplier.pk}", was | told | {"file_within_days": "1"}).status_code == 302
    assert claim.clocks.get(kind="filing").last_on == dt.date(2026, 2, 2)
    # Somebody who still saw ten days is told, and what they typed stays.
    response = office.post(f"/suppliers/{supplier.pk}", was | told | {"file_within_days": "12"})
    assert response.status_code == 409
    form = response.context["form"]
    assert form.errors["file_within_days"] == [
        "Wynn Office changed this meanwhile; it is now 1. Save again to have yours instead."
    ]
    assert (form["file_within_days"].value(), form["was_file_within_days"].value()) == ("12", "1")
    assert [row[0] for row in listed(office, "/suppliers")] == ["Pellbrook"]
    assert list(recheck.differences(on=TODAY)) == []


def test_two_suppliers_have_two_names(office):
    told = {"name": "Pellbrook", "file_counted_from": "failed_on", "part_back_counted_from": "failed_on"}
    office.post("/suppliers/add", told)
    response = office.post("/suppliers/add", told)
    assert response.status_code == 422
    assert response.context["form"].errors["name"] == ["Supplier with this Name already exists."]
