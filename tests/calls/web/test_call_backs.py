"""Call-backs: each figure opens its own rows, whose jobs they are, and what stands apart."""

import datetime as dt
import uuid

import pytest
from django.urls import reverse

from fleet import models
from fleet.calls.facts.works import works_near
from fleet.calls.queries import call_backs as queries
from tests import company, rows
from tests.company import NOON, TODAY, day
from tests.pages import words

pytestmark = [pytest.mark.django_db, pytest.mark.time_machine(NOON, tick=False)]


@pytest.fixture
def head():
    company.on_file()
    made = company.unit("SB-1", room="Den", started_on="2020-05-01", installed_on="2020-05-01")
    company.worked_out()
    return made


def cleaned(unit, on, technician="Ike", task="coil"):
    return models.MaintenanceRecord.objects.create(unit=unit, done_on=day(on), task=task, technician=technician)


def repaired(unit, on, technician="Ola"):
    return models.Failure.objects.create(
        unit=unit, component="sensor", failed_on=day(on), repaired_on=day(on), technician=technician
    )


def called(unit, on):
    return models.Call.objects.create(
        key=uuid.uuid4(), came_on=day(on), caller="Odile", trouble="water", site=unit.system.site, unit=unit
    )


def said_yes(call, word="yes"):
    company.as_role("office").post(reverse("call_back", args=[call.pk]), {"call_back": word})
    call.refresh_from_db()
    return call


def found_broken(call, pays):
    """A visit for the call found something broken; who pays for it as it was answered then."""
    write_up = models.WriteUp.objects.create(key=uuid.uuid4(), site=call.site, on=TODAY, technician="Ola")
    models.CallStep.objects.create(call=call, to="put right", on=TODAY, write_up=write_up)
    failure = models.Failure.objects.create(unit=call.unit, component="drain pump", failed_on=TODAY, write_up=write_up)
    models.FailureAnswer.objects.create(failure=failure, asked_on=TODAY, content={"pays": pays})
    return failure


def shown(days=365):
    return [
        (one.kind, one.technician, one.works, one.came_back, one.payer_owes) for one in queries.rates(days, on=TODAY)
    ]


def test_the_rate_by_kind_and_technician_with_each_figure_opening_its_rows(head):
    for on in ("2026-01-05", "2026-01-20", "2026-02-10"):
        cleaned(head, on)
    cleaned(head, "2026-02-11", technician="Wynn")
    repaired(head, "2026-02-20")
    said_yes(called(head, "2026-02-12"))  # the day after Wynn's cleaning
    said_yes(called(head, "2026-02-25"))  # five days after Ola's repair
    assert shown() == [("Repair", "Ola", 1, 1, 0), ("coil", "Ike", 3, 0, 0), ("coil", "Wynn", 1, 1, 0)]
    owner = company.as_role("owner")
    page = owner.get("/call-backs")
    assert "5 jobs: 2 brought a call back." in words(page)
    for address in ("/call-backs", "/call-backs/jobs"):
        # What the form shows where nothing was chosen is the period that was counted.
        days = owner.get(address).context["form"].fields["days"]
        assert days.choices[0][0] == days.empty_value == 365
    opened = 0
    listing = page.context["listing"]
    for row in listing.rows:
        for column, cell in zip(listing.columns, row.cells, strict=True):
            if column.name in ("works", "came_back", "payer_owes"):
                assert (cell.to is None) == (cell.value == 0)
                if cell.to is not None:
                    behind = owner.get(reverse(cell.to.name) + cell.to.query)
                    assert behind.context["listing"].count == cell.value
                    opened += 1
    assert opened == 5


def test_what_nobody_was_named_for_has_its_rows_too(head):
    models.Unit.objects.filter(pk=head.pk).update(installed_on=day("2026-02-01"))
    assert shown() == [("Install", "", 1, 0, 0)]
    owner = company.as_role("owner")
    listing = owner.get("/call-backs").context["listing"]
    link = next(
        cell.to for column, cell in zip(listing.columns, listing.rows[0].cells, strict=True) if column.name == "works"
    )
    assert owner.get(reverse(link.name) + link.query).context["listing"].count == 1


@pytest.mark.parametrize(
    ("on", "counts"), [("2025-12-02", False), ("2025-12-03", True), ("2026-03-02", True), ("2026-03-03", False)]
)
def test_a_period_ends_today_and_begins_so_many_days_before_the_next(head, on, counts):
    """Ninety days up to March 2, 2026 begin on December 3, 2025."""
    cleaned(head, on)
    assert bool(shown(90)) is counts
    assert (dt.date(2026, 3, 2) - dt.date(2025, 12, 3)).days + 1 == 90


def test_two_calls_about_one_job_count_once(head):
    repaired(head, "2026-02-20")
    for on in ("2026-02-22", "2026-02-24"):
        said_yes(called(head, on))
    assert shown() == [("Repair", "Ola", 1, 1, 0)]


def test_two_jobs_of_one_day_and_kind_are_two(head):
    other = company.unit("SB-2", customer="Aldo Quist", started_on="2020-05-01", installed_on="2020-05-01")
    repaired(head, "2026-02-20")
    repaired(other, "2026-02-20")
    said_yes(called(other, "2026-02-22"))
    assert shown() == [("Repair", "Ola", 2, 1, 0)]
    (one,) = [one for one in queries.done(365, on=TODAY) if one.call]
    assert one.work.key == f"failure {other.failures.get().pk}"


def test_no_is_none_and_a_decision_taken_back_counts_no_more(head):
    repaired(head, "2026-02-20")
    call = said_yes(called(head, "2026-02-22"), "no")
    assert shown() == [("Repair", "Ola", 1, 0, 0)]
    said_yes(call)
    assert shown() == [("Repair", "Ola", 1, 1, 0)]
    said_yes(call, "")
    assert (call.work_key, shown()) == ("", [("Repair", "Ola", 1, 0, 0)])


@pytest.mark.parametrize(
    ("pays", "figures"),
    [
        ({"parts": "maker", "labor": "customer"}, (0, 1)),
        ({"parts": "installer", "labor": "installer"}, (1, 0)),
        ({"parts": "maker if"}, (1, 0)),
        ({"parts": "customer"}, (1, 0)),
    ],
)
def test_a_failure_that_a_payer_owes_for_stands_apart(head, pays, figures):
    repaired(head, "2026-02-20")
    call = said_yes(called(head, "2026-02-22"))
    failure = found_broken(call, pays)
    assert shown() == [("Repair", "Ola", 1, *figures)]
    models.Failure.objects.filter(pk=failure.pk).update(voided_on=TODAY, void_reason="entered twice")
    assert shown() == [("Repair", "Ola", 1, 1, 0)]


def test_one_call_that_is_ours_makes_the_job_ours(head):
    repaired(head, "2026-02-20")
    found_broken(said_yes(called(head, "2026-02-22")), {"parts": "maker"})
    said_yes(called(head, "2026-02-24"))
    assert shown() == [("Repair", "Ola", 1, 1, 0)]


def test_a_job_that_was_undone_is_no_job(head):
    record = cleaned(head, "2026-02-20")
    said_yes(called(head, "2026-02-22"))
    assert shown() == [("coil", "Ike", 1, 1, 0)]
    record.delete()
    assert shown() == []


def test_before_anything_is_on_file_the_page_says_what_will_stand_there(head):
    assert "Maintenance, repairs and installs are counted here" in words(company.as_role("owner").get("/call-backs"))


def test_only_the_owner_sees_whose_work_came_back(head):
    for role in ("office", "technician"):
        for address in ("/call-backs", "/call-backs/jobs"):
            assert company.as_role(role).get(address).status_code == 403


@pytest.mark.parametrize("address", ["/call-backs", "/call-backs/jobs"])
def test_one_job_and_five_ask_the_same_queries(head, address):
    owner = company.as_role("owner")
    counts = []
    for number in range(5):
        unit = company.unit(f"SB-1{number}", customer=f"Customer {number}", installed_on="2020-05-01")
        cleaned(unit, "2026-02-20", technician=f"T{number}")
        repaired(unit, "2026-02-21")
        found_broken(said_yes(called(unit, "2026-02-25")), {"parts": "maker"})
        with rows.asked() as asked:
            owner.get(address)
        counts.append(len(asked))
    assert counts[0] == counts[-1] <= 20


def test_the_files_have_what_the_page_has(head):
    repaired(head, "2026-02-20")
    said_yes(called(head, "2026-02-22"))
    text = company.as_role("owner").get("/call-backs?as=csv").getvalue().decode()
    assert "Repair,Ola,1,1,100.0,0" in text


def test_what_another_company_did_is_no_work_of_ours(head):
    """A record says by whom in its technician's place; a company that put in a unit on file is known by its name."""
    company.unit("SB-9", customer="Gil Ashby", installed_by="Gull Air", started_on="2019-05-01")
    cleaned(head, "2026-02-10", technician="Gull Air")
    repaired(head, "2026-02-11", technician="Gull Air")
    cleaned(head, "2026-02-05")
    assert [(work.on, work.technician) for work in works_near(called(head, "2026-02-12"), days=30)] == [
        (day("2026-02-05"), "Ike")
    ]
    assert shown() == [("coil", "Ike", 1, 0, 0)]
    cleaned(head, "2026-02-09", technician="Gull")
    assert ("coil", "Gull", 1, 0, 0) in shown()
