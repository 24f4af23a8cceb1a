"""The demo company's files: written by their generator, and lawful on whatever day they are loaded."""

import csv
import datetime as dt
import io
import runpy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from fleet import clock, models
from fleet.calls.facts.works import works_near
from fleet.care.queries import stops
from fleet.care.queries.due_states import by_its_days, in_state
from fleet.derived import recheck
from fleet.facts.care import care_sheet
from fleet.management import demo, demo_holidays
from fleet.rules import calls, care, claims, registration, terms_table
from fleet.rules.findings import Result
from tests import money_asked
from tests.demo_company import DemoCompany
from tests.paths import FIXTURES

DEMO = FIXTURES / "demo"
DAYS = [
    pytest.param(dt.date(2026, 11, 25), id="the day it was made"),
    pytest.param(dt.date(2027, 3, 1), id="the day after a short February"),
    pytest.param(dt.date(2028, 2, 29), id="a leap day"),
    pytest.param(dt.date(2028, 12, 31), id="the end of a leap year"),
    pytest.param(dt.date(2036, 7, 4), id="ten years on"),
]


def rows(name: str, today: dt.date) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(demo.resolved(DEMO / name, today))))


def days_in(row: dict[str, str], *columns: str) -> list[str]:
    return [row[column] for column in columns if row.get(column)]


def test_the_files_are_what_the_generator_writes() -> None:
    written: dict[str, str] = runpy.run_path(str(DEMO / "build.py"))["build"]()
    assert set(written) == {"installs.csv", "history.csv", "agreements.csv", "README.md"}
    for name, text in written.items():
        assert (DEMO / name).read_bytes() == text.encode(), f"run fixtures/demo/build.py: {name} differs"


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("today", "2028-02-29"),
        ("today-17", "2028-02-12"),
        ("today+1", "2028-03-01"),
        ("today-1y", "2027-02-28"),
        ("today-1y+1", "2027-03-01"),
        ("today-10y+20", "2018-03-20"),
        ("today-4y", "2024-02-29"),
        ("2019-05-14", "2019-05-14"),
        ("", ""),
        ("today is a good day", "today is a good day"),
    ],
)
def test_a_relative_day_is_counted_from_the_day_of_loading(cell: str, day: str) -> None:
    assert demo.resolve(cell, dt.date(2028, 2, 29)) == day


def test_only_days_are_turned_into_days(tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text("day,notes\ntoday-1,today-1\n", encoding="utf-8")
    assert demo.resolved(path, dt.date(2026, 11, 25)) == "day,notes\n2026-11-24,today-1\n"


@pytest.mark.parametrize("today", DAYS)
def test_no_fact_is_later_than_today_and_none_is_left_relative(today: dt.date) -> None:
    for name in ("installs.csv", "history.csv"):
        for row in rows(name, today):
            for column, cell in row.items():
                if column.endswith("_on") or column in ("day", "not_before"):
                    assert not cell.startswith("today"), (name, row, column)
                    assert column == "not_before" or cell <= today.isoformat(), (name, row, column)


@pytest.mark.parametrize("today", DAYS)
def test_what_happened_to_a_unit_happened_in_a_lawful_order(today: dt.date) -> None:
    since: dict[tuple[str, str], str] = {}
    for row in rows("installs.csv", today):
        known = days_in(row, "manufactured_on", "purchased_on", "installed_on", "started_on")
        assert known == sorted(known), row
        assert not row["registered_on"] or row["registered_on"] >= known[-1], row
        since[row["maker"], row["serial"]] = known[-1] if known else ""
    for row in rows("history.csv", today):
        if row["kind"] == "exchanged":
            since[row["maker"], row["new_serial"]] = row["day"]
        assert row["day"] >= since[row["maker"], row["serial"]], row
        assert days_in(row, "day", "part_taken_on", "repaired_on") == sorted(
            days_in(row, "day", "part_taken_on", "repaired_on")
        ), row


def test_every_terms_file_reads_and_only_the_withdrawn_draft_is_replaced() -> None:
    read = [
        terms_table.read(tomllib.loads(path.read_text("utf-8"))) for path in sorted((FIXTURES / "terms").glob("*.toml"))
    ]
    assert {one.replaces for one in read} == {"", "tarvane-ductless-2018-draft"}
    assert {one.payer for one in read} == {"maker", "labor plan", "installer"}
    assert {one.counts_first_day for one in read} == {True, False}
    assert {one.replacement.rule for one in read if one.replacement} == {"remainder", "longer of", "fresh"}
    assert {one.transfer.rule for one in read if one.transfer} == {"automatic", "notice", "none"}


def test_the_company_is_of_the_size_it_says() -> None:
    installs: list[dict[str, Any]] = list(rows("installs.csv", dt.date(2026, 11, 25)))
    assert len(installs) == 342
    assert len({(row["customer"], row["site"]) for row in installs}) == 79
    assert len({row["customer"] for row in installs}) == 66
    references = [row["reference"] for row in rows("history.csv", dt.date(2026, 11, 25))]
    assert len(references) == len(set(references))


@pytest.mark.django_db
def test_the_demo_logins_are_told_only_while_they_work(capsys: pytest.CaptureFixture[str]) -> None:
    for login in demo.LOGINS:
        models.User.objects.create_user(login.username, password=login.password, role=login.username)
    models.User.objects.create_user("stranger", password="quite-their-own")
    call_command("demo_logins")
    assert [line.split() for line in capsys.readouterr().out.splitlines()] == [
        ["office", "front-desk-tidewrack"],
        ["technician", "ladder-and-tub"],
        ["owner", "sunday-evening-ledger"],
    ]
    owner = models.User.objects.get(username="owner")
    owner.set_password("changed-since-then")
    owner.save()
    models.User.objects.filter(username="office").update(is_active=False)
    call_command("demo_logins")
    assert capsys.readouterr().out.split() == ["technician", "ladder-and-tub"]


@pytest.mark.parametrize(
    ("day", "why"),
    [
        (dt.date(2026, 5, 25), "Memorial Day"),
        (dt.date(2026, 6, 19), "Juneteenth"),
        (dt.date(2026, 7, 3), "Independence Day"),
        (dt.date(2026, 9, 7), "Labor Day"),
        (dt.date(2026, 11, 26), "Thanksgiving"),
        (dt.date(2026, 11, 27), "Day after Thanksgiving"),
        (dt.date(2027, 7, 5), "Independence Day"),
        (dt.date(2027, 12, 24), "Christmas"),
        (dt.date(2027, 12, 31), "New Year's Day"),
        (dt.date(2032, 5, 31), "Memorial Day"),
    ],
)
def test_a_holiday_is_kept_on_its_day_or_the_working_day_beside_it(day: dt.date, why: str) -> None:
    """From memory of printed calendars: a Saturday's on the Friday before, a Sunday's on the Monday after."""
    kept = demo_holidays.holidays(day.year) | demo_holidays.holidays(day.year + 1)
    assert kept[day] == why


@pytest.mark.parametrize("year", range(2026, 2056))
def test_holidays_are_eight_working_days_of_a_year(year: int) -> None:
    kept = demo_holidays.holidays(year)
    assert len(kept) == 8
    assert all(day.weekday() < 5 for day in kept)


@pytest.mark.django_db
def test_the_demo_company_comes_whole_with_what_is_left_to_a_person(demo_company: DemoCompany) -> None:
    """Through the same actions as anybody's rows, and what is kept of it is what its facts give."""
    demo_company.load()
    left = models.StatementLine.objects.filter(statement__payer_name="Tarvane", state="open")
    assert [(line.reference, str(line.amount)) for line in left] == [("TV 52290", "60.00"), ("TV 77120", "42.00")]
    stops = models.Booking.objects.filter(technician__username="technician", state="booked")
    assert stops.filter(on=clock.today()).count() >= 2
    assert stops.filter(on__gt=clock.today()).exists()
    assert list(recheck.differences(on=clock.today())) == []
    has_calls_in_every_state(clock.today())
    missed, with_labor = money_asked.compare(since=dt.date(2010, 1, 1), on=clock.today())
    assert missed > 0
    assert with_labor > 0
    shows_every_state(clock.today())
    has_kept_its_record(clock.today())
    stands_in_a_large_house_and_a_church()


@pytest.mark.django_db
def test_it_has_kept_its_record_on_a_day_on_which_it_is_closed(
    demo_company: DemoCompany, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And at another time of the year, when other work is due."""
    today = dt.date(2027, 7, 5)
    monkeypatch.setattr(clock, "today", lambda: today)
    demo_company.load()
    assert models.ClosedDay.objects.get(on=today).why == "Independence Day"
    assert models.Booking.objects.filter(on=today, state="booked").count() >= 2
    assert list(recheck.differences(on=today)) == []
    has_calls_in_every_state(today)
    shows_every_state(today)
    has_kept_its_record(today)


def shows_every_state(today: dt.date) -> None:
    """There is something of everything to look at."""
    assert set(models.CoverageRow.objects.values_list("result", flat=True)) == set(Result)
    assert set(models.Claim.objects.values_list("state", flat=True)) == set(claims.State)
    registrations = set(models.HoldingRow.objects.values_list("registration", flat=True))
    assert registrations >= set(registration.State) - {registration.State.SENT}
    sheet = care_sheet()
    assert sheet is not None
    for state in care.State:
        assert models.DueRow.objects.filter(in_state(state, sheet, on=today)).exists(), state


def has_calls_in_every_state(today: dt.date) -> None:
    """One of them on today's first stop with its part, and one about a head that was put in some days before."""
    assert set(models.Call.objects.values_list("state", flat=True)) == set(calls.State)
    technician = models.User.objects.get(username="technician")
    first = stops.today(on=today, technician=technician).today[0]
    assert len(first.calls) == 1
    assert [text.partition(",")[0] for text in first.parts] == ["Indoor fan motor"]
    install = models.Call.objects.get(unit__system__site__customer__name="Sylvie Nakamura-Roy")
    work = calls.may_be_call_back(works_near(install, days=30), install.came_on, days=30)
    assert (install.state, work and work.kind) == ("open", "Install")
    assert models.Label.objects.exclude(unit=None).count() >= 9
    assert models.Label.objects.filter(unit=None).exists()


def has_kept_its_record(today: dt.date) -> None:
    """A handful is overdue, none for longer than a year, and the holidays ahead are entered."""
    late = models.DueRow.objects.filter(by="technician").filter(by_its_days(care.State.LATE, on=today))
    assert 1 <= late.count() <= 12
    assert late.values("site").distinct().count() <= 2
    assert all(row.late_after > today - dt.timedelta(days=366) for row in late)
    ahead = today + dt.timedelta(days=365)
    assert models.ClosedDay.objects.filter(on__gte=today, on__lt=ahead).count() in (8, 9)
    addresses = {site.pk: f"{site.street} {site.city}" for site in models.Site.objects.all()}
    ended = models.Agreement.objects.get(site__customer__name="Ottoline Graves")
    assert "Gannet Street" in ended.ended_why
    assert "Gannet Street" in addresses[ended.site_id]


def stands_in_a_large_house_and_a_church() -> None:
    """Heads by the site: eight in one house, and a hall that nobody lives in with nothing but cassettes."""
    heads = models.Unit.objects.filter(role="head", removed_on=None)
    house = models.Site.objects.get(customer__name="Minerva and Joel Quarrington")
    assert heads.filter(system__site=house, style="wall").count() == heads.filter(system__site=house).count() == 8
    hall = models.Site.objects.get(customer__name="Wexcombe Meeting House")
    assert [told.use for told in models.SiteUse.objects.filter(site=hall)] == ["business"]
    assert set(heads.filter(system__site=hall).values_list("style", flat=True)) == {"cassette"}
