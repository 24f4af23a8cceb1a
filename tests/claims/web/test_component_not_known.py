"""A failure of which nobody knows yet what failed: recorded, shown, waited for, and said later, at every place that it reaches."""

import datetime as dt
from decimal import Decimal

import pytest
import time_machine

from fleet import models
from fleet.claims.actions import claims, failures
from fleet.derived import recheck
from fleet.elements.edits import Edit
from fleet.loading import history
from fleet.refusals import Conflict, Refused
from fleet.registry.actions import merges
from fleet.rules.which_component import KIND, NOT_KNOWN_YET
from fleet.sheets import BadFile
from tests import claimed, company
from tests.claims.web.test_failures import form_of
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
FOUND = {"component": NOT_KNOWN_YET, "failed_on": "2026-02-20"}


@pytest.fixture(autouse=True)
def noon():
    with time_machine.travel(company.NOON, tick=True):
        company.on_file(claimed.PAYS)
        yield
        assert [str(one) for one in recheck.differences(on=TODAY)] == []


@pytest.fixture
def unit():
    made = company.unit("SB-1002", started_on="2022-03-10", installed_on="2022-03-09", room="Den")
    company.worked_out()
    return made


def record(unit, by=None, **named) -> models.Failure:
    return failures.record(unit.pk, FOUND | named, by=by, on=TODAY)


def say(failure, component, was="", by=None) -> models.Failure:
    return failures.say_component(failure.pk, Edit(was, component), by=by, on=TODAY)


def _form(response, marked: str) -> dict[str, str]:
    """What the form with this in its tag would send back as it stands."""
    html = response.content.decode()
    start = html.index(marked)
    return form_of(html[start : html.index("</form>", start)])


# ------------------------------------------------------------------------------------------------- what is on file


def test_it_is_on_file_with_a_blank_component_and_no_answer_is_kept(unit):
    failure = record(unit, labor_minutes="30")
    failure.refresh_from_db()
    assert (failure.component, str(failure.failed_on)) == ("", "2026-02-20")
    assert not failure.answers.exists()
    assert str(failure) == "component not known yet 2026-02-20"


@pytest.mark.parametrize(
    "named", [{"repaired_on": "2026-02-24"}, {"part_taken_on": "2026-02-24"}, {"new_part_number": "P-2"}]
)
def test_no_repair_is_on_file_before_it_is_known_what_was_repaired(unit, named):
    with pytest.raises(Refused) as refused:
        record(unit, **named)
    assert refused.value.faults == {
        "component": "wanted: what failed, since a repair or a new part is on file; other, if nobody knows"
    }
    with pytest.raises(Refused):
        failures.correct(record(unit).pk, {name: Edit("", text) for name, text in named.items()}, by=None, on=TODAY)


def test_nothing_is_no_answer_to_what_failed(unit):
    with pytest.raises(Refused) as refused:
        failures.record(unit.pk, {"failed_on": "2026-02-20", "notes": "hums"}, by=None, on=TODAY)
    assert refused.value.faults == {"component": "wanted: what failed, or that it is not known yet"}


# ------------------------------------------------------------------------------------------------- its deadline


def test_its_deadline_is_the_first_that_may_run_out(unit):
    """45 days from a repair are not known yet, nor 21 from a part: only the row stands, without a day and without a sum."""
    row = record(unit, parts_cost="12.00").clocks.get()
    assert (row.kind, row.last_on, row.lapses_on, row.worth, row.kinds) == (KIND, None, None, Decimal(0), "parts;labor")


@pytest.mark.parametrize(
    ("day", "left"),
    [
        ("2026-02-21", "1 day left"),
        ("2026-02-20", "today"),
        ("2026-02-19", "1 day overdue"),
    ],
)
def test_its_day_stands_on_our_desk_the_day_before_on_it_and_after_it(day, left):
    """File within 10 days of the failure: worked by hand, February 20 and 10 days are March 2."""
    company.on_file(claimed.PAYS | {"code": "quick-1", "claims": {"file_within_days": 10}, "replaces": "northrill-1"})
    made = company.unit("SB-7", started_on="2022-03-10")
    company.worked_out()
    record(made, failed_on=day)
    office = company.as_role("office")
    (row,) = office.get("/deadlines?kind=say+which+component+failed").context["listing"].rows
    assert (row.cells[0].value, row.cells[0].note, row.cells[3].said) == (
        "Say which component failed: a claim with Northrill may depend on it", "component not known yet", left,
    )  # fmt: skip
    assert row.cells[4].value == "parts and labor"
    desk = words(office.get("/on-our-desk"))
    assert "Failures: say which component failed" in desk
    assert "No claim can begin before that." in desk


# ------------------------------------------------------------------------------------------------- claims and money


def test_no_claim_begins_before_it_is_known(unit):
    failure, paper = record(unit), models.Terms.objects.get(code="northrill-1")
    sentence = "Say which component failed once somebody has looked. Then a claim can begin."
    for act in (claims.open, claims.forgo):
        with pytest.raises(Refused) as refused:
            act(failure.pk, paper.pk, because="they pay", by=None, on=TODAY)
        assert refused.value.faults == {"failure": sentence}
    office = company.as_role("office")
    assert "No claim can begin yet." in words(office.get(f"/failures/{failure.pk}/claims"))
    answered = office.post(f"/failures/{failure.pk}/claims", {"terms": paper.pk}, follow=True)
    assert f"No claim was opened. {sentence}" in words(answered)
    assert not models.Claim.objects.exists()


def test_what_it_could_bring_is_in_no_sum_and_the_page_says_so(unit):
    failure = record(unit, parts_cost="12.00")
    assert [(part.figure, str(part.amount)) for part in failure.money_parts.all()] == [("ours", "12.00")]
    assert failure.money.missed == []
    money = words(company.as_role("owner").get("/money"))
    assert "For 1 failure, nobody knows yet which component failed: what payers may owe for it is not counted." in money
    shown = words(company.as_role("office").get(f"/failures/{failure.pk}"))
    assert "What payers may owe is not counted until it is known which component failed." in shown
    say(failure, "sensor")
    assert {part.figure for part in failure.money_parts.all()} == {"to claim"}
    assert "For 1 failure" not in words(company.as_role("owner").get("/money"))


# ------------------------------------------------------------------------------------------------- what fails, the unit


def test_it_is_a_failure_of_its_unit_and_of_no_component(unit):
    failure = record(unit)
    owner = company.as_role("owner")
    page = owner.get("/what-fails")
    assert "Not counted yet: 1 failure whose component is not known yet." in words(page)
    assert all(not row.cells[2].value for row in page.context["listing"].rows)
    assert "Failure, component not known yet" in words(owner.get(f"/units/{unit.pk}"))
    listed = owner.get("/failures?shown=component+not+known+yet").context["listing"].rows
    assert [(row.cells[1].value, row.cells[1].said) for row in listed] == [("", "component not known yet")]
    say(failure, "sensor")
    assert "Not counted yet" not in words(owner.get("/what-fails"))
    assert not owner.get("/failures?shown=component+not+known+yet").context["listing"].rows


# ------------------------------------------------------------------------------------------------- its page and forms


def test_the_page_keeps_the_answer_of_each_component_and_says_what_to_do(unit):
    failure = record(unit)
    shown = words(company.as_role("office").get(f"/failures/{failure.pk}"))
    assert "Failure found on February 20, 2026, component not known yet" in shown
    assert "Who pays depends on which component failed" in shown
    assert "Say which component failed once somebody has looked. A claim with Northrill may depend on it." in shown
    assert "No claim can begin until somebody says which component failed." in shown
    assert "Any component" in shown


def test_components_that_fare_alike_stand_together_and_most_come_last(unit):
    """The drain pump and the drain pan are ours for two years, by the terms below; all else is the manufacturer's."""
    pumps = {"pays_for": ["parts"], "components": ["drain pump", "drain pan"], "tiers": [{"months": 12}]}
    company.on_file(
        claimed.PAYS | {"code": "pumps-1", "replaces": "northrill-1", "coverage": [*claimed.PAYS["coverage"], pumps]}
    )
    other = company.unit("SB-8", started_on="2022-03-10")
    company.worked_out()
    shown = words(company.as_role("office").get(f"/failures/{record(other).pk}"))
    assert shown.index("Drain pump, drain pan") < shown.index("Any other component")


def test_a_technician_says_later_what_failed_and_takes_it_back(unit):
    tech = company.as_role("technician")
    failure = record(unit)
    page = f"/failures/{failure.pk}"
    told = _form(tech.get(page), f'action="{page}/component"')
    assert told["component"] == NOT_KNOWN_YET
    said = tech.post(f"{page}/component", told | {"component": "drain pump"}, follow=True)
    assert "Drain pump failed on February 20, 2026" in words(said)
    change = models.Change.objects.get(table="failure", field="component")
    assert (change.before, change.after, change.by.role) == ("", "drain pump", "technician")
    assert 'What failed: blank to drain pump <span class="note">Wynn Technician' in words(said)
    failure.refresh_from_db()
    assert failure.answers.get().content["component"] == "drain pump"
    back = tech.post(f"{page}/component", {"component": NOT_KNOWN_YET, "was_component": "drain pump"}, follow=True)
    assert "component not known yet" in words(back)
    assert "undone: not known yet" in words(back)
    failure.refresh_from_db()
    assert failure.component == ""


def test_two_who_say_it_at_once_are_told(unit):
    failure = record(unit)
    say(failure, "louver")
    with pytest.raises(Conflict) as refused:
        say(failure, "sensor")
    assert refused.value.now == {"component": "louver"}
    page = company.as_role("office").post(
        f"/failures/{failure.pk}/component", {"component": "sensor", "was_component": ""}
    )
    assert page.status_code == 409


@pytest.mark.parametrize("given", ["gearbox", ""])
def test_what_is_no_component_is_refused_where_it_was_chosen(unit, given):
    failure = record(unit)
    page = company.as_role("office").post(
        f"/failures/{failure.pk}/component", {"component": given, "was_component": ""}
    )
    assert page.status_code == 422
    failure.refresh_from_db()
    assert failure.component == ""


def test_it_is_not_taken_back_once_a_claim_or_a_repair_hangs_on_it(unit):
    failure = record(unit)
    say(failure, "sensor")
    claimed.claim(failure)
    with pytest.raises(Refused, match="there is a claim on it with Northrill"):
        say(failure, NOT_KNOWN_YET, was="sensor")
    other = record(unit, failed_on="2026-02-21")
    say(other, "louver")
    failures.correct(other.pk, {"repaired_on": Edit("", "2026-02-24")}, by=None, on=TODAY)
    with pytest.raises(Refused, match="since a repair"):
        say(other, NOT_KNOWN_YET, was="louver")


def test_the_form_begins_with_it_from_a_call_and_answers_for_every_component(unit):
    office = company.as_role("office")
    page = office.get(f"/units/{unit.pk}/failure?component=not+known+yet")
    told = _form(page, 'id="failure"')
    assert told["component"] == NOT_KNOWN_YET
    assert "Who pays depends on which component failed" in words(page)
    made = office.post(f"/units/{unit.pk}/failure", told, follow=True)
    assert "Recorded." in words(made)
    assert models.Failure.objects.get().component == ""


def test_the_repair_asks_what_failed(unit):
    failure, tech = record(unit), company.as_role("technician")
    address = f"/failures/{failure.pk}/repair"
    told = _form(tech.get(address), 'id="failure"')
    assert told["component"] == NOT_KNOWN_YET
    refused = tech.post(address, told | {"repaired_on": "2026-02-24"})
    assert (refused.status_code, "since a repair or a new part is on file" in words(refused)) == (422, True)
    tech.post(address, told | {"repaired_on": "2026-02-24", "component": "sensor"})
    failure.refresh_from_db()
    assert (failure.component, failure.repaired_on) == ("sensor", dt.date(2026, 2, 24))


def test_voiding_one_leaves_nothing_of_it(unit):
    failure = record(unit)
    failures.void(failure.pk, reason="entered twice", by=None, on=TODAY)
    assert not failure.clocks.exists()
    assert "Voided on March 2, 2026" in words(company.as_role("office").get(f"/failures/{failure.pk}"))


# ------------------------------------------------------------------------------------------------- files, merges


ROW = {"serial": "SB-1002", "day": "2026-02-20", "kind": "failure", "reference": "J-1"}


def load(*rows):
    return history.load_rows(list(rows), on=TODAY)


def test_a_blank_cell_of_a_file_means_it_and_a_later_row_fills_it(unit):
    load(ROW)
    failure = models.Failure.objects.get()
    assert (failure.component, failure.clocks.count()) == ("", 1)
    load(ROW)
    assert models.Failure.objects.count() == 1
    load(ROW | {"component": "sensor", "repaired_on": "2026-02-24"})
    failure.refresh_from_db()
    assert (failure.component, str(failure.repaired_on)) == ("sensor", "2026-02-24")
    assert not failure.clocks.filter(kind=KIND).exists()


@pytest.mark.parametrize("cell", ["repaired_on", "part_taken_on", "new_part_number"])
def test_a_file_says_what_was_repaired(unit, cell):
    with pytest.raises(BadFile, match="what failed, since a repair or a new part is on file"):
        load(ROW | {cell: "P-2" if cell == "new_part_number" else "2026-02-24"})
    assert not models.Failure.objects.exists()


def test_the_words_of_a_file_stay_as_they_are(unit):
    with pytest.raises(BadFile, match="one of compressor"):
        load(ROW | {"component": NOT_KNOWN_YET})


def test_a_voided_one_of_another_component_hides_no_row_without_one(unit):
    other = failures.record(unit.pk, FOUND | {"component": "sensor"}, by=None, on=TODAY)
    failures.void(other.pk, reason="never was", by=None, on=TODAY)
    load({name: cell for name, cell in ROW.items() if name != "reference"})
    assert models.Failure.objects.filter(voided_on=None, component="").count() == 1


def test_it_goes_along_in_a_merge_of_units_and_back(unit):
    other = company.unit("", started_on="2022-03-10", room="Den")
    company.worked_out()
    failure = record(other)
    merge = merges.merge("unit", unit.pk, other.pk, chosen={}, by=None, on=TODAY)
    failure.refresh_from_db()
    assert (failure.unit_id, failure.clocks.count()) == (unit.pk, 1)
    merges.undo(merge.pk, by=None, on=TODAY)
    assert models.Failure.objects.get().unit_id == other.pk
