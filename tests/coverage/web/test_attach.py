"""A labor plan or terms of ours given to a unit that stands already: who pays since when, said at once, and undone. Asked on March 2, 2026."""

import pytest

from fleet import models
from fleet.derived import recheck
from fleet.facts import fleet_facts
from fleet.loading import history
from fleet.rules import coverage
from tests import company
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
PLAN = company.OURS | {
    "code": "plan-1",
    "payer": "labor plan",
    "title": "Ten-year labor plan",
    "starts": [{"from": "attached_on"}],
    "coverage": [{"pays_for": ["labor"], "components": ["*"], "tiers": [{"months": 120}]}],
}


@pytest.fixture
def unit():
    company.on_file(company.MAKER, company.OURS, PLAN)
    made = company.unit(
        "SB-1002", room="Den", started_on="2021-03-10", installed_on="2021-03-09", installed_by="Vann & Co"
    )
    company.unit("SB-1003", room="Loft", started_on="2021-03-10", installed_on="2021-03-09")
    company.unit("SB-9", customer="Ulla Prent", started_on="2021-03-10")
    company.worked_out()
    return made


@pytest.fixture
def office():
    return company.as_role("office")


def give(client, unit, *, others=(), **named):
    typed = {"terms": "plan-1", "attached_on": "2026-02-10", "number": "P-7"} | named
    return client.post(f"/units/{unit.pk}/terms", typed | {"units": [unit.pk, *(one.pk for one in others)]})


def labor(unit, on: str) -> list[tuple[str, str]]:
    told = fleet_facts([models.Unit.objects.get(pk=unit.pk)])[unit.pk]
    found = coverage.answers(told.unit, told.holdings, "sensor", on=company.day(on), asked=TODAY)
    return [(one.terms, one.result.value) for one in found if one.kind == "labor"]


def test_a_plan_is_given_to_two_units_and_the_page_says_who_pays_since_when(unit, office):
    loft = models.Unit.objects.get(serial="SB-1003")
    assert "Add a labor plan or terms" in words(office.get(f"/units/{unit.pk}"))
    shown = words(office.get(f"/units/{unit.pk}/terms"))
    assert "Ten-year labor plan" in shown
    response = give(office, unit, others=[loft])
    assert response.status_code == 302
    page = words(office.get(response["Location"]))
    assert "Recorded. Coverage of 2 units runs longer: labor until February 10, 2036." in page
    assert "Starts February 10, 2026" in page
    assert "Bought or promised for this unit alone." in page
    assert "Bought or promised: Ten-year labor plan" in page
    assert [labor(unit, on) for on in ("2026-02-09", "2026-02-10", "2036-02-10", "2036-02-11")] == [
        [("plan-1", "not_covered")],
        [("plan-1", "covered")],
        [("plan-1", "covered")],
        [("plan-1", "not_covered")],
    ]
    change = models.Change.objects.get(table="unit", object_id=loft.pk, field="promise")
    assert str(change.by) == "Wynn Office"
    assert change.after == "Ten-year labor plan bought or promised on February 10, 2026, number P-7"
    assert change.after in words(office.get(f"/units/{loft.pk}/changes"))
    assert not list(recheck.differences(on=TODAY))


def test_terms_of_ours_are_promised_for_a_unit_that_another_company_installed(unit, office):
    assert ("ours-1", "covered") not in labor(unit, "2021-04-01")
    assert give(office, unit, terms="ours-1", attached_on="").status_code == 302
    assert labor(unit, "2021-04-01") == [("ours-1", "covered")]
    # What it holds already is not offered again.
    assert "Our workmanship" not in words(office.get(f"/units/{unit.pk}/terms"))


def test_it_is_undone_with_a_reason_and_stays_to_be_read(unit, office):
    give(office, unit)
    ((what, said),) = office.get(f"/units/{unit.pk}/life").context["page"].told
    assert said == "Ten-year labor plan bought or promised on February 10, 2026, number P-7"
    assert office.post(f"/units/{unit.pk}/life/back", {"what": what, "why": "other house"}).status_code == 302
    assert not models.Attachment.objects.exists()
    assert labor(unit, "2026-02-10") == []
    assert "other house" in words(office.get(f"/units/{unit.pk}/changes"))
    assert not list(recheck.differences(on=TODAY))


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ({"attached_on": "2026-03-03"}, "Enter a day no later than today."),
        ({"attached_on": "soon"}, "Enter a valid date."),
        ({"terms": ""}, "Choose a labor plan or terms."),
        ({"terms": "nothing-1"}, "Choose terms that are on file."),
        ({"number": "one\ntwo"}, "This must be one line."),
    ],
)
def test_what_cannot_be_is_refused_and_stays_typed(unit, office, named, said):
    refused = give(office, unit, **named)
    assert refused.status_code == 422
    assert said in words(refused)
    assert refused.context["form"]["number"].value() == named.get("number", "P-7")
    assert not models.Attachment.objects.exists()


def test_units_of_another_house_and_none_are_refused(unit, office):
    other = models.Unit.objects.get(serial="SB-9")
    assert "Choose units of this system." in words(give(office, unit, others=[other]))
    typed = {"terms": "plan-1", "attached_on": ""}
    assert "Choose at least one unit." in words(office.post(f"/units/{unit.pk}/terms", typed))
    assert not models.Attachment.objects.exists()


def test_one_plan_is_given_once_along_a_line_of_exchanges(unit, office):
    loft = models.Unit.objects.get(serial="SB-1003")
    give(office, loft)
    row = {"serial": "SB-1003", "day": "2026-02-20", "kind": "exchanged", "under_warranty": "yes", "new_serial": "N-1"}
    history.load_rows([row], by=None, on=TODAY)
    heir = models.Unit.objects.get(serial="N-1")
    refused = give(office, unit, others=[heir])
    assert refused.status_code == 422
    assert "Northrill NH-9 N-1 has Ten-year labor plan already." in words(refused)
    assert not models.Attachment.objects.filter(unit=unit).exists()
    assert office.get(f"/units/{loft.pk}/terms").status_code == 404  # it is gone


def test_a_file_that_says_the_same_brings_nothing_new(unit, office):
    give(office, unit)
    row = {"serial": "SB-1002", "day": "2026-02-10", "kind": "attached", "terms": "plan-1", "number": "P-7"}
    history.load_rows([row], by=None, on=TODAY)
    assert models.Attachment.objects.count() == 1


@pytest.mark.parametrize(("role", "status"), [("technician", 403), ("office", 200), ("owner", 200)])
def test_the_office_and_the_owner_give_them(unit, role, status):
    assert company.as_role(role).get(f"/units/{unit.pk}/terms").status_code == status
