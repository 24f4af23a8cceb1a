"""What the lists of clocks, claims and makers ask of the database is what the rules, and the plain questions, say."""

import datetime as dt

import pytest

from fleet import models
from fleet.claims.facts.clock_rows import LONG_AGO, clock_of, counting, too_late
from fleet.claims.queries import claims, clocks, failures_list
from fleet.derived import recheck
from fleet.elements import makers
from fleet.rules.clocks import ClockKind, ClockState
from fleet.rules.dates import DAY
from fleet.rules.wording.claim_clocks import Together, clocks_in_words
from tests import claimed, company

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
SINCE = TODAY - LONG_AGO
DAYS = [None, SINCE - DAY, SINCE, TODAY - DAY, TODAY, TODAY + 7 * DAY, TODAY + 8 * DAY]


@pytest.fixture(autouse=True)
def terms():
    company.on_file(claimed.PAYS)


def clock(last_on: dt.date | None, kind: ClockKind = ClockKind.FORM, **named) -> models.ClockRow:
    """A clock that stands on a failure of its own, where nothing else is said."""
    if "failure" not in named:
        number = models.Failure.objects.count()
        of = models.Unit.objects.first() or company.unit("SB-1")
        named["failure"] = models.Failure.objects.create(
            unit=of, component="sensor", failed_on=company.day("2026-01-01") + number * DAY
        )
    paper = models.Terms.objects.get(code="northrill-1")
    return models.ClockRow.objects.create(terms=paper, kind=kind, last_on=last_on, counted_from="failed_on", **named)


def stands(row: models.ClockRow) -> ClockState | None:
    """How a clock stands by the rules, None where it is not near."""
    found = clock_of(row, asked=TODAY).state
    near = row.first or (row.last_on is not None and row.last_on <= TODAY + 7 * DAY)
    return found if near else None


@pytest.mark.parametrize("first", [False, True])
@pytest.mark.parametrize("last_on", DAYS)
def test_how_a_near_clock_stands_is_counted_as_the_rules_say(last_on, first):
    claim = claimed.claim(claimed.failure(company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")))
    models.ClockRow.objects.all().delete()
    row = clock(last_on, failure=claim.failure, claim=claim, first=first)
    one, state = Together(1, last_on or dt.date.max), stands(row)
    assert clocks.short(on=TODAY).sentences == clocks_in_words(
        missed=one if state is ClockState.MISSED else Together(),
        closing=one if state is ClockState.RUNNING else Together(),
        first=int(state is ClockState.FIRST),
        asked=TODAY,
    )


def test_what_runs_is_listed_with_what_must_come_first_whatever_its_day():
    claim = claimed.claim(claimed.failure(company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")))
    models.ClockRow.objects.all().delete()
    for place, last_on in enumerate((TODAY + DAY, None, TODAY - DAY, TODAY, TODAY - 2 * DAY)):
        clock(last_on, claim=claim, first=place in (1, 2))
    clock(None, claim=claim)
    short = clocks.short(on=TODAY)
    assert [row.cells[1].value for row in short.running.rows] == [TODAY - DAY, TODAY, TODAY + DAY, None]
    assert [row.cells[1].value for row in short.missed.rows] == [TODAY - 2 * DAY, TODAY - DAY]


@pytest.mark.parametrize("lapses_on", DAYS)
def test_a_clock_counts_until_it_has_long_lapsed(lapses_on):
    row = clock(TODAY, lapses_on=lapses_on)
    long_past = lapses_on is not None and lapses_on < SINCE
    assert list(too_late(since=SINCE)) == ([row] if long_past else [])
    assert list(counting(since=SINCE)) == ([] if long_past else [row])


NO_FILING = claimed.PAYS["claims"] | {"file_within_days": None}


@pytest.mark.parametrize(
    ("rules", "told", "is_claimed", "wanted"),
    [
        pytest.param(
            {},
            {"repaired_on": "2026-01-10", "part_taken_on": "2026-01-09"},
            False,
            {"filing": ("2026-02-24", "2026-02-24"), "old part back": ("2026-01-30", "2026-02-24")},
            id="the last day to file decides for all",
        ),
        pytest.param(
            {},
            {"part_taken_on": "2026-01-09"},
            False,
            {"filing": (None, None), "old part back": ("2026-01-30", None)},
            id="while that day is not known, nothing lapses",
        ),
        pytest.param(
            NO_FILING,
            {"repaired_on": "2026-01-10", "part_taken_on": "2026-01-09"},
            False,
            {"old part back": ("2026-01-30", "2026-01-30")},
            id="where there is none, each by its own day",
        ),
        pytest.param(
            {},
            {"repaired_on": "2026-01-10", "part_taken_on": "2026-01-09"},
            True,
            {"filing": ("2026-02-24", None), "old part back": ("2026-01-30", None)},
            id="what is claimed does not lapse",
        ),
    ],
)
def test_when_a_clock_lapses_is_kept_with_it(rules, told, is_claimed, wanted):
    if rules:
        company.on_file(claimed.PAYS | {"code": "northrill-2", "replaces": "northrill-1", "claims": _without(rules)})
    failure = claimed.failure(
        company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09"), "2026-01-08", **told
    )
    if is_claimed:
        claimed.claim(failure)
        company.worked_out()
    assert _lapses() == wanted
    assert [str(one) for one in recheck.differences(on=TODAY)] == []


def _without(rules: dict) -> dict:
    return {name: value for name, value in rules.items() if value is not None and name != "file_counted_from"}


def _lapses() -> dict[str, tuple]:
    rows = models.ClockRow.objects.values_list("kind", "last_on", "lapses_on")
    return {kind: tuple(day and day.isoformat() for day in days) for kind, *days in rows}


def test_a_page_has_the_rows_of_the_file_and_says_what_is_in_it():
    of = company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    for number in range(3):
        failure = claimed.failure(of, f"2026-02-0{number + 1}", repaired_on="2026-02-10")
        if number:
            claimed.approved(failure, "120.00")
    rows = {}
    for listed, count in ((claims.CLAIMS, 2), (clocks.CLOCKS, 4), (failures_list.FAILURES, 3)):
        filters = listed.filters_for()
        page = listed.page(filters, on=TODAY)
        rows[listed.file] = [row.cells for row in page.rows]
        assert rows[listed.file] == list(listed.all(filters, on=TODAY))
        assert page.count == len(page.rows) == count
    page = claims.CLAIMS.page(claims.CLAIMS.filters_for(payer="maker"), on=TODAY)
    assert [row.cells for row in page.rows] == rows["claims"]
    assert str(claims.CLAIMS.lead(page)["out"]) == "240.00"
    assert [row[18].value for row in rows["failures"]] == ["Northrill: approved", "Northrill: approved", "no"]


@pytest.mark.parametrize("which", ["running or missed", "missed"])
def test_all_clocks_are_counted_and_every_page_is_there(which, monkeypatch):
    monkeypatch.setattr("fleet.elements.listing.PER_PAGE", 1)
    for number in (3, 2, 1):
        clock(TODAY - number * DAY)
        clock(SINCE - DAY, lapses_on=SINCE - DAY)
    office = company.as_role("office")
    pages = [office.get("/claims/clocks", {"which": which, "page": number}) for number in (1, 2, 3)]
    for number, page in enumerate(pages, 1):
        text = " ".join(page.content.decode().split())
        assert "3 clocks of claims were missed, the longest ago on February 27, 2026" in text
        assert f"{number} to {number} of 3</p>" in text
        assert "Too late to claim as the terms read: 3." in text
    days = [page.context["listing"].rows[0].cells[1].value for page in pages]
    assert days == [TODAY - number * DAY for number in (3, 2, 1)]
    assert "Too late to claim as the terms read: 3<" in office.get("/waiting-on-us").content.decode()


def test_makers_of_claims_are_those_of_their_units():
    assert makers.of_claims() == ()
    for number, maker in enumerate(("Northrill", "northrill", "Northrill")):
        of = company.unit(f"SB-{number}", started_on="2021-03-10", installed_on="2021-03-09", maker=maker)
        claimed.claim(claimed.failure(of))
    company.unit("SB-9", maker="Zeph")
    assert sorted(makers.of_claims()) == ["Northrill", "northrill"]


def test_makers_are_listed_once_each_in_order():
    assert makers.of_units() == ()
    for number, maker in enumerate(("Tarvane", "Kolmeri", "tarvane", "Kolmeri", "Ång", "Zeph")):
        company.unit(f"SB-{number}", maker=maker)
    assert sorted(makers.of_units()) == ["Kolmeri", "Tarvane", "Zeph", "tarvane", "Ång"]
    assert makers.of_units() == tuple(models.Unit.objects.order_by("maker").values_list("maker", flat=True).distinct())
