"""A fact that nobody can know any more: it leaves the list, what hangs on it stays open, and it can be brought back."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from fleet import models
from fleet.coverage.actions import missing_facts, set_aside
from fleet.derived import recheck
from fleet.refusals import Refused
from fleet.registry.actions import merges
from tests import company
from tests.company import TODAY, day

pytestmark = pytest.mark.django_db

FLORIDA = {**company.MAKER, "registration": {**company.MAKER["registration"], "not_required_in": [{"region": "US-FL"}]}}


@pytest.fixture
def office():
    company.on_file()
    return company.person("office")


def registered(serial: str = "SB-1", **named) -> models.Unit:
    made = company.unit(serial, started_on="2021-03-10", installed_on="2021-03-09", registered_on="2021-04-01", **named)
    company.worked_out()
    return made


def facts(**which) -> list[str]:
    return list(models.FactRow.objects.filter(**which).order_by("fact").values_list("fact", flat=True))


def answers() -> list[tuple[object, ...]]:
    rows = models.CoverageRow.objects.order_by("unit", "terms", "kind", "components")
    return list(rows.values_list("unit", "kind", "result", "last_on", "possible_last_on", "hangs_on"))


def clean() -> bool:
    return list(recheck.differences(on=TODAY)) == []


def test_it_leaves_the_list_and_every_answer_stays_as_open_as_it_was(office):
    unit = registered()
    before = answers()
    assert facts(unit=unit) == ["licensed_installer"]
    pk = set_aside.put(
        fact="licensed_installer", unit=unit.pk, site=None, note=" The firm closed in 2022. ", by=office, on=TODAY
    )
    assert facts(unit=unit) == []
    assert answers() == before
    assert day("2031-03-10") in {row[4] for row in before}
    row = models.SetAside.objects.get(pk=pk)
    assert (row.unit, row.site, row.set_aside_on, row.by) == (unit, None, day("2026-03-02"), office)
    assert row.note == "The firm closed in 2022."
    assert clean()


def test_it_stands_in_the_changes_of_its_unit(office):
    unit = registered()
    pk = set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, note="Firm closed", by=office, on=TODAY)
    set_aside.bring_back(pk=pk, by=office, on=TODAY)
    changes = models.Change.objects.filter(table="unit", object_id=unit.pk).order_by("pk")
    assert list(changes.values_list("field", "before", "after", "why")) == [
        ("nobody_knows", "", "Installed by a licensed installer", "Firm closed"),
        ("nobody_knows", "Installed by a licensed installer", "", ""),
    ]


def test_brought_back_it_is_missing_again(office):
    unit = registered()
    pk = set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)
    set_aside.bring_back(pk=pk, by=office, on=TODAY)
    assert facts(unit=unit) == ["licensed_installer"]
    assert not models.SetAside.objects.exists()
    assert clean()


def test_what_was_found_after_all_opens_its_coverage(office):
    unit = registered()
    set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)
    done = missing_facts.fill(fact="licensed_installer", unit=unit.pk, site=None, text="yes", by=office, on=TODAY)
    assert done.opened.units == 1
    assert clean()


def test_a_fact_of_a_site_is_set_aside_for_every_unit_there():
    company.on_file(FLORIDA)
    office = company.person("office")
    days = {"started_on": "2025-03-10", "installed_on": "2025-03-09"}
    first, second = company.unit("SB-1", **days), company.unit("SB-2", **days)
    other = company.unit("SB-3", customer="Ivo Lund", **days)
    company.worked_out()
    site = first.system.site_id
    assert facts(fact="region", site=site) == ["region", "region"]
    pk = set_aside.put(fact="region", unit=first.pk, site=site, by=office, on=TODAY)
    assert facts(fact="region") == ["region"]
    assert facts(fact="region", unit=other) == ["region"]
    assert clean()
    set_aside.bring_back(pk=pk, by=office, on=TODAY)
    assert facts(fact="region", unit=second) == ["region"]
    assert clean()


def test_proof_of_one_year_is_set_aside_and_not_that_of_a_later_one():
    terms = {**company.MAKER, "requires": ["yearly maintenance"]}
    company.on_file(terms)
    office = company.person("office")
    unit = registered(licensed_installer=True)
    gap = models.FactRow.objects.get(unit=unit, fact="maintenance")
    assert (gap.first_on, gap.last_on) == (day("2021-03-10"), day("2022-03-09"))
    set_aside.put(fact="maintenance", unit=unit.pk, site=None, by=office, on=TODAY)
    assert facts(fact="maintenance") == []
    models.MaintenanceRecord.objects.create(unit=unit, done_on=day("2021-06-01"), technician="Ben", task="maintenance")
    company.worked_out()
    assert models.FactRow.objects.get(unit=unit, fact="maintenance").first_on == day("2022-03-10")
    assert clean()


def test_what_is_not_missing_is_refused(office):
    unit = registered(licensed_installer=True)
    with pytest.raises(Refused):
        set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)
    assert not models.SetAside.objects.exists()


def test_twice_is_refused(office):
    unit = registered()
    set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)
    with pytest.raises(Refused):
        set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)


@pytest.mark.parametrize(("length", "taken"), [(300, True), (301, False)])
def test_a_reason_has_room_for_300_letters(length, taken, office):
    unit = registered()
    asked = {"fact": "licensed_installer", "unit": unit.pk, "site": None, "by": office, "on": TODAY}
    if taken:
        set_aside.put(**asked, note="x" * length)
    else:
        with pytest.raises(ValidationError):
            set_aside.put(**asked, note="x" * length)
    assert models.SetAside.objects.count() == taken


def test_undoing_what_was_filled_in_does_not_take_it_for_that(office):
    unit = registered()
    set_aside.put(fact="licensed_installer", unit=unit.pk, site=None, by=office, on=TODAY)
    change = models.Change.objects.get(field="nobody_knows")
    with pytest.raises(models.Change.DoesNotExist):
        missing_facts.undo(change=change.pk, by=office, on=TODAY)


def test_units_made_one_keep_what_was_set_aside_of_either(office):
    kept, gone = registered("SB-1"), registered("SB-1002")
    set_aside.put(fact="licensed_installer", unit=gone.pk, site=None, by=office, on=TODAY)
    set_aside.put(fact="licensed_installer", unit=kept.pk, site=None, by=office, on=TODAY)
    merges.merge("unit", kept.pk, gone.pk, chosen={"serial": "kept"}, by=office, on=TODAY)
    assert facts(unit=kept) == []
    assert clean()
    set_aside.bring_back(pk=models.SetAside.objects.earliest("pk").pk, by=office, on=TODAY)
    assert facts(unit=kept) == ["licensed_installer"]
    assert clean()


@pytest.mark.parametrize(
    "wrong",
    [
        {"unit": True, "site": True, "fact": "region"},
        {"unit": False, "site": False, "fact": "region"},
        {"unit": True, "site": False, "fact": "weather"},
        {"unit": True, "site": False, "fact": "serial", "first_on": "2021-03-10"},
    ],
)
def test_the_database_refuses_what_cannot_be(wrong, office):
    unit = registered()
    values = {
        **wrong,
        "unit": unit if wrong["unit"] else None,
        "site": unit.system.site if wrong["site"] else None,
        "set_aside_on": TODAY,
    }
    with pytest.raises(IntegrityError), transaction.atomic():
        models.SetAside.objects.create(**values)
