"""What is told of clocks, unclaimed failures and facts wanted where there are more than anybody counts; every page is there."""

import pytest

from fleet.claims.facts.clock_rows import LONG_AGO
from fleet.claims.queries import clocks, money
from fleet.coverage.queries import wanted
from fleet.rules.dates import DAY
from tests import claimed, company
from tests.claims.queries.test_clocks import clock
from tests.coverage.web.test_wanted import registered, words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
SINCE = TODAY - LONG_AGO


@pytest.fixture
def pays():
    company.on_file(claimed.PAYS)


@pytest.fixture
def one_a_page(monkeypatch):
    for module in (clocks, wanted):
        monkeypatch.setattr(module, "PER_PAGE", 1)
    monkeypatch.setattr("fleet.elements.lists.PER_PAGE", 1)


@pytest.mark.parametrize(
    ("most", "said", "of", "gone"),
    [
        pytest.param(2, "More than 2 clocks of claims were missed", "of more than 2</p>", "more than 2", id="one more"),
        pytest.param(3, "3 clocks of claims were missed", "of 3</p>", "3", id="as many"),
    ],
)
def test_clocks_that_were_not_counted_are_told_as_more_and_every_page_is_there(
    most, said, of, gone, pays, one_a_page, monkeypatch
):
    monkeypatch.setattr(clocks, "MOST", most)
    for number in (3, 2, 1):
        clock(TODAY - number * DAY)
        clock(SINCE - DAY, lapses_on=SINCE - DAY)
    office = company.as_role("office")
    page = words(office.get("/claims/clocks"))
    assert f"{said}, the longest ago on 27 February 2026" in page
    assert f"1 to 1 {of}" in page
    assert f"Too late to claim as the terms read: {gone}." in page
    assert f"Too late to claim as the terms read: {gone}<" in office.get("/waiting-on-us").content.decode()
    for which in ("running or missed", "missed"):
        shown, number = [], 1
        while number is not None:
            page = office.get("/claims/clocks", {"which": which, "page": number}).context["page"]
            shown += [row[1].value for row in page.listing.rows]
            number = page.listing.after
        assert shown == [TODAY - number * DAY for number in (3, 2, 1)]
        assert (page.listing.count, page.listing.more) == (3, False)


@pytest.mark.parametrize(
    ("most", "said"),
    [(1, "More than 1 failure that"), (2, "2 failures that a payer may owe for are not claimed yet.")],
)
def test_failures_that_nobody_claimed_are_counted_as_far_as_anybody_reads(most, said, pays, monkeypatch):
    of = company.unit("SB-1", started_on="2021-03-10", installed_on="2021-03-09")
    company.worked_out()
    for day, repaired_on in (("2026-02-10", "2026-02-10"), ("2026-02-11", None), ("2025-11-01", "2025-11-01")):
        claimed.failure(of, day, repaired_on=repaired_on, part_taken_on=repaired_on)
    claimed.claim(claimed.failure(of, "2026-02-12", repaired_on="2026-02-12"))
    monkeypatch.setattr(money, "MOST", most)
    assert said in words(company.as_role("owner").get("/money"))


@pytest.fixture
def facts(one_a_page):
    """Four rows: two units hang on who put them in, a third one on that and on its serial."""
    company.on_file()
    for serial in ("SB-1", "SB-2", ""):
        registered(serial, room="Den" if not serial else "")
    company.worked_out()
    return company.as_role("office")


FOUR = [
    ("Put in by a licensed installer", "SB-1"),
    ("Put in by a licensed installer", "SB-2"),
    ("Put in by a licensed installer", "Den"),
    ("Serial", "Den"),
]


@pytest.mark.parametrize("narrowed", ["", "&text=Marsh"], ids=["all", "narrowed"])
@pytest.mark.parametrize(("most", "said"), [(3, "More than 3"), (4, "4")], ids=["one more", "as many"])
def test_facts_that_were_not_counted_are_told_as_more_and_every_page_is_there(most, said, narrowed, facts, monkeypatch):
    monkeypatch.setattr(wanted, "MOST", most)
    page = words(facts.get(f"/facts-wanted?{narrowed}"))
    assert f"{said}{' such' if narrowed else ''} facts are not on file." in page
    assert f"1 to 1 of {said.lower()}</p>" in page
    assert f"Page 1 of {said.lower()}</span>" in page
    if not narrowed:
        assert f"{said} facts that coverage hangs on are not on file." in words(facts.get("/waiting-on-us"))
    shown, number = [], 1
    while number is not None:
        response = facts.get(f"/facts-wanted?page={number}{narrowed}")
        shown += [tuple(cell.value for cell in row[:2]) for row in response.context["page"].listing.rows]
        number = response.context["page"].listing.after
    assert shown == FOUR
    assert "4 to 4 of 4</p>" in words(response)
