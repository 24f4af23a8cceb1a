"""An outdoor unit exchanged while indoor units stay: whether the system still matches is asked, kept and said in the answer."""

import pytest

from fleet import models
from fleet.derived import recheck
from fleet.facts import fleet_facts
from fleet.loading import history
from fleet.registry.actions import merges, undo_events
from fleet.rules import coverage
from fleet.sheets import BadFile
from tests import company
from tests.claims.web.test_failures import sent as failure_form
from tests.coverage.web.test_missing_facts import fill
from tests.pages import words
from tests.registry.web.test_editing import seen

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
# Ten years of parts in a matched system, else one.
MATCHED = company.MAKER | {
    "registration": None,
    "coverage": [
        {
            "pays_for": ["parts"],
            "components": ["*"],
            "tiers": [{"months": 12}, {"months": 120, "when": ["matched system"]}],
        }
    ],
}
EXCHANGE = {
    "kind": "exchanged",
    "day": "2025-01-05",
    "under_warranty": "yes",
    "new_model": "NW-30",
    "new_serial": "N-1",
}
REFUSED = "Answer yes, no or not known: coverage of the indoor units may depend on it."
SINCE = "since the outdoor unit was exchanged on January 5, 2025"


@pytest.fixture
def outdoor():
    company.on_file({name: value for name, value in MATCHED.items() if value is not None})
    made = company.unit("OUT-1", role="outdoor", style="", model="NW-30", started_on="2021-03-10", matched_system=True)
    company.unit("SB-1002", room="Den", started_on="2021-03-10", matched_system=True)
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def result(serial: str, on: str) -> str:
    """What the manufacturer's terms say of the unit's fan motor on a day."""
    unit = models.Unit.objects.get(serial=serial)
    told = fleet_facts([unit])[unit.pk]
    (answer,) = coverage.answers(told.unit, told.holdings, "indoor fan motor", on=company.day(on), asked=TODAY)
    return answer.result.value


def tell(unit, **named):
    row = {
        "serial": unit.serial,
        "day": "2025-01-05",
        "kind": "exchanged",
        "under_warranty": "yes",
        "new_serial": "N-1",
    }
    return history.load_rows([row | named], by=None, on=TODAY)


def clean():
    return list(recheck.differences(on=TODAY)) == []


# ------------------------------------------------------------------------------------------------- asked on screen


def test_the_exchange_asks_and_takes_nothing_before_it_is_answered(outdoor, office):
    address = f"/units/{outdoor.pk}/life"
    assert "Is the system still matched?" in words(office.get(address))
    refused = office.post(address, EXCHANGE)
    assert refused.status_code == 422
    assert REFUSED in words(refused)
    assert refused.context["forms"]["exchanged"]["new_serial"].value() == "N-1"
    outdoor.refresh_from_db()
    assert (outdoor.removed_on, outdoor.matched_after) == (None, "")
    assert office.post(address, EXCHANGE | {"still_matched": "maybe"}).status_code == 422
    assert office.post(address, EXCHANGE | {"still_matched": "not known"}).status_code == 302
    outdoor.refresh_from_db()
    assert outdoor.matched_after == "not known"
    assert clean()


def test_a_head_and_an_outdoor_unit_alone_are_not_asked(outdoor, office):
    head = models.Unit.objects.get(serial="SB-1002")
    alone = company.unit("OUT-2", role="outdoor", style="", customer="Ulla Prent")
    for unit, serial in ((head, "N-2"), (alone, "N-3")):
        address = f"/units/{unit.pk}/life"
        assert "Is the system still matched?" not in words(office.get(address))
        assert office.post(address, EXCHANGE | {"new_serial": serial}).status_code == 302


def test_indoor_units_that_are_gone_are_not_asked_about(outdoor, office):
    models.Unit.objects.filter(serial="SB-1002").update(removed_on="2024-12-01", removal_reason="removed")
    assert "Is the system still matched?" not in words(office.get(f"/units/{outdoor.pk}/life"))


# ------------------------------------------------------------------------------------------------- said in the answer


@pytest.mark.parametrize("serial", ["SB-1002", "N-1"])
@pytest.mark.parametrize(
    ("answered", "since"), [("yes", "covered"), ("no", "not_covered"), ("not known", "covered_if"), ("", "covered")]
)
def test_the_answer_holds_from_the_day_of_the_exchange_for_what_stays_and_what_came(outdoor, serial, answered, since):
    tell(outdoor, still_matched=answered)
    before = "covered" if serial == "SB-1002" else "not_covered"  # the new unit was not there
    assert [result(serial, on) for on in ("2025-01-04", "2025-01-05", "2025-01-06")] == [before, since, since]
    assert clean()


@pytest.mark.parametrize(
    ("answered", "said"),
    [
        ("no", f"It is not part of a matched system {SINCE}"),
        ("not known", f"if it is part of a matched system {SINCE}"),
        ("yes", f"It is part of a matched system {SINCE}"),
    ],
)
def test_the_unit_page_says_it(outdoor, office, answered, said):
    tell(outdoor, still_matched=answered)
    head = models.Unit.objects.get(serial="SB-1002")
    page = words(office.get(f"/units/{head.pk}?component=indoor+fan+motor"))
    assert said in page
    assert f"{answered}, {SINCE}" in page


def test_a_head_put_in_later_is_judged_by_its_own_fact_and_by_later_exchanges(outdoor):
    tell(outdoor, still_matched="no")
    company.unit("SB-2", room="Loft", installed_on="2025-01-06", started_on="2025-01-06", matched_system=True)
    assert result("SB-2", "2025-02-01") == "covered"
    heir = models.Unit.objects.get(serial="N-1")
    tell(heir, day="2026-02-10", new_serial="N-2", still_matched="no")
    assert [result("SB-2", on) for on in ("2026-02-09", "2026-02-10")] == ["covered", "not_covered"]


def test_of_two_exchanges_on_one_day_the_one_that_does_not_match_decides(outdoor):
    second = company.unit("OUT-2", role="outdoor", style="", started_on="2021-03-10")
    tell(outdoor, still_matched="no")
    tell(second, new_serial="N-2", still_matched="yes")
    assert result("SB-1002", "2025-01-05") == "not_covered"


# ------------------------------------------------------------------------------------------------- put right


def test_it_is_corrected_on_any_unit_of_the_system_and_the_change_is_kept(outdoor, office):
    tell(outdoor, still_matched="not known")
    head = models.Unit.objects.get(serial="SB-1002")
    address = f"/units/{head.pk}/correct"
    shown = seen(office, address)
    assert shown["matched_system"] == ""
    assert office.post(address, shown | {"matched_system": "no", "why": "list of the manufacturer"}).status_code == 302
    outdoor.refresh_from_db()
    head.refresh_from_db()
    assert (outdoor.matched_after, head.matched_system) == ("no", True)
    assert [result("SB-1002", on) for on in ("2025-01-04", "2025-01-05")] == ["covered", "not_covered"]
    change = models.Change.objects.get(table="unit", object_id=outdoor.pk, field="matched_after")
    assert (change.before, change.after, change.why) == ("", "no", "list of the manufacturer")
    # Somebody who still saw the blank is told.
    late = company.as_role("owner").post(address, shown | {"matched_system": "yes"})
    assert late.status_code == 409
    assert "Wynn Office changed this meanwhile; it is now no." in words(late)
    assert clean()


def test_a_correction_of_something_else_leaves_it(outdoor, office):
    tell(outdoor, still_matched="no")
    head = models.Unit.objects.get(serial="SB-1002")
    address = f"/units/{head.pk}/correct"
    assert office.post(address, seen(office, address) | {"notes": "loud"}).status_code == 302
    outdoor.refresh_from_db()
    assert outdoor.matched_after == "no"


def test_it_is_missing_information_filled_in_and_undone(outdoor, office):
    tell(outdoor, still_matched="not known")
    company.worked_out()
    head = models.Unit.objects.get(serial="SB-1002")
    assert models.FactRow.objects.filter(unit=head, fact="matched_system").exists()
    response = fill(office, "matched_system", head, "yes")
    assert response.status_code == 302
    outdoor.refresh_from_db()
    assert outdoor.matched_after == "yes"
    assert not models.FactRow.objects.filter(fact="matched_system").exists()
    undo = office.get(response["Location"]).context["undo"]
    assert undo.title == "Part of a matched system"
    assert office.post(f"/missing-information/{undo.change}/undo").status_code == 302
    outdoor.refresh_from_db()
    assert outdoor.matched_after == "not known"
    assert clean()


def test_undoing_the_exchange_takes_the_answer_along(outdoor):
    tell(outdoor, still_matched="no")
    undo_events.undo_event(
        outdoor.pk, kind="exchanged", day=company.day("2025-01-05"), why="wrong house", by=None, on=TODAY
    )
    outdoor.refresh_from_db()
    assert (outdoor.removed_on, outdoor.matched_after) == (None, "")
    assert result("SB-1002", "2025-01-06") == "covered"
    assert clean()


def test_two_records_of_the_exchanged_unit_made_one_keep_the_answer_and_come_apart_again(outdoor):
    twice = company.unit("0UT-1", role="outdoor", style="", model="NW-30")
    tell(outdoor, still_matched="no")
    chosen = {"serial": "kept"}
    merges.merge("unit", twice.pk, outdoor.pk, chosen=chosen, by=None, on=TODAY)
    twice.refresh_from_db()
    assert twice.matched_after == "no"
    assert result("SB-1002", "2025-01-06") == "not_covered"
    merges.undo(models.Merge.objects.get().pk, by=None, on=TODAY)
    twice.refresh_from_db()
    assert (twice.matched_after, models.Unit.objects.get(serial="OUT-1").matched_after) == ("", "no")
    assert clean()


# ------------------------------------------------------------------------------------------------- a failure and a file


def test_an_exchange_within_a_failure_asks_too(outdoor, office):
    address = f"/units/{outdoor.pk}/failure"
    typed = failure_form(
        component="compressor",
        failed_on="2025-01-03",
        repaired_on="2025-01-05",
        new_serial="N-1",
        new_model="NW-30",
        under_warranty="yes",
    )
    assert "Is the system still matched?" in words(office.get(address))
    refused = office.post(address, typed)
    assert refused.status_code == 422
    assert REFUSED in words(refused)
    assert not models.Failure.objects.exists()
    assert office.post(address, typed | {"still_matched": "no"}).status_code == 302
    outdoor.refresh_from_db()
    assert outdoor.matched_after == "no"
    assert result("SB-1002", "2025-01-05") == "not_covered"
    assert clean()


def test_a_failure_of_a_head_is_not_asked(outdoor, office):
    head = models.Unit.objects.get(serial="SB-1002")
    assert "Is the system still matched?" not in words(office.get(f"/units/{head.pk}/failure"))


def test_a_file_says_it_for_outdoor_units_alone(outdoor):
    head = models.Unit.objects.get(serial="SB-1002")
    with pytest.raises(BadFile, match="nothing for a head"):
        tell(head, new_serial="N-9", still_matched="yes")
    with pytest.raises(BadFile, match="yes, no, not known"):
        tell(outdoor, still_matched="perhaps")
    with pytest.raises(BadFile, match="it goes with exchanged"):
        tell(outdoor, kind="removed", under_warranty="", new_serial="", still_matched="no")


def test_a_later_file_fills_it_in_and_corrects_it_by_its_reference(outdoor):
    tell(outdoor, reference="J-7")
    assert result("SB-1002", "2025-01-05") == "covered"
    assert tell(outdoor, reference="J-7", still_matched="not known").filled == 1
    assert result("SB-1002", "2025-01-05") == "covered_if"
    with pytest.raises(BadFile, match="'not known' as on file, not 'no'"):
        tell(outdoor, reference="J-7", still_matched="no")
    row = {"serial": "OUT-1", "day": "2025-01-05", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N-1"}
    history.load_rows([row | {"reference": "J-7", "still_matched": "no"}], by=None, on=TODAY, correct=True)
    assert result("SB-1002", "2025-01-05") == "not_covered"
    assert clean()
