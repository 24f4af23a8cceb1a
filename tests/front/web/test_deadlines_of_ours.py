"""Agreements to decide about or to give notice of, and promises of ours that end, in the one list of deadlines. Asked on March 2, 2026.

One wall head at a site; a year of one visit is 120.
"""

import datetime as dt
from decimal import Decimal
from typing import Any

import pytest

from fleet import models
from fleet.business.actions import agreements, bills, own_promises
from fleet.care.actions import care_sheets
from fleet.front.queries import calendars
from tests import company
from tests.business.web.test_bills import AGREED as BILLED
from tests.business.web.test_bills import HOW, SHEET, YEAR
from tests.pages import words

pytestmark = pytest.mark.django_db
TODAY = company.TODAY
AGREED: dict[str, Any] = BILLED | {"renews": "by asking"}


@pytest.fixture
def office():
    return company.as_role("office")


@pytest.fixture
def site():
    made = company.unit("SB-1", room="Den", started_on="2024-05-01", installed_on="2024-05-01")
    care_sheets.load_table(SHEET, on=TODAY)
    return made.system.site


def promised(site: models.Site, *, until: str, **named: Any) -> models.OwnPromise:
    facts = {
        "system_id": None,
        "words": "Should this size not carry the house, we change it",
        "conditions": "",
        "made_by": "Wynn Owner",
        "made_on": dt.date(2025, 1, 5),
        "until": company.day(until),
        "cost_at_most": Decimal("4200.00"),
    }
    return own_promises.make(site.pk, facts=facts | named, **HOW)


def agreed(site: models.Site, start_on: str, **named: Any) -> models.Agreement:
    return agreements.make(site.pk, facts=AGREED | {"start_on": company.day(start_on)} | named, **HOW)


def rows(client, asked: str = "") -> list[tuple]:
    found = client.get(f"/deadlines{asked}").context["listing"].rows
    return [(row.cells[0].value, str(row.cells[2].value or ""), row.cells[3].said, row.cells[4].value) for row in found]


RENEW = "Agreement A-1: ask whether they renew"
PROMISE = "Our promise ends: Should this size not carry the house, we change it"


def test_they_stand_among_the_others_by_their_last_day(site, office):
    models.House.objects.update_or_create(pk=1, defaults={"renewal_notice_days": 30})
    agreed(site, "2025-04-01")
    other = company.unit("SB-2", customer="Cato Wren", started_on="2024-05-01").system.site
    agreed(other, "2025-05-11", renews="by itself", reference="A-2")
    billed = agreed(other, "2025-09-01", renews="by itself", reference="A-3")
    bills.send(billed.pk, **YEAR, amount=Decimal("120.00"), billed_on=dt.date(2026, 1, 10), number="", **HOW)
    promised(site, until="2026-03-20")
    assert rows(office) == [
        ("Agreement A-3: billed, and not paid in 30 days: ask for it", "2026-02-09", "21 days overdue", "$120.00 not paid"),
        (PROMISE, "2026-03-20", "18 days left", "up to $4,200.00"),
        (RENEW, "2026-04-01", "30 days left", "$120.00 a year"),
        ("Agreement A-2: last day to give notice of the renewal", "2026-04-11", "40 days left", "$120.00 a year"),
    ]  # fmt: skip
    assert [row[0] for row in rows(office, "?kind=our+promise+ends")] == [PROMISE]
    assert [row[1] for row in rows(office, "?kind=give+notice+of+a+renewal")] == ["2026-04-11"]
    assert len(rows(office, "?kind=decide+about+an+agreement")) == 2
    assert [row[1] for row in rows(office, "?which=overdue")] == ["2026-02-09"]
    assert rows(office, "?which=within+a+week") == []
    assert rows(office, "?payer=maker") == []
    assert len(rows(office, "?text=wren")) == 2
    desk = words(office.get("/on-our-desk"))
    assert PROMISE in desk
    assert "1 deadline was missed and is still open." in desk


@pytest.mark.parametrize(
    ("until", "left"),
    [
        ("2026-03-01", None),
        ("2026-03-02", "today"),
        ("2026-03-03", "1 day left"),
        ("2026-05-01", "60 days left"),
        ("2026-05-02", None),
    ],
)
def test_a_promise_stands_there_for_its_last_sixty_days(site, office, until, left):
    promised(site, until=until)
    assert [row[2] for row in rows(office)] == ([] if left is None else [left])


def test_a_promise_that_was_called_on_or_released_is_done_with(site, office):
    called, released = promised(site, until="2026-03-20"), promised(site, until="2026-03-21")
    own_promises.call_on(called.pk, day=TODAY, what="Changed the head", cost=None, **HOW)
    assert len(rows(office)) == 1
    own_promises.release(released.pk, day=TODAY, why="They are content", **HOW)
    assert rows(office) == []


@pytest.mark.parametrize(
    ("start_on", "left"),
    [
        ("2025-05-02", None),  # comes up in 61 days
        ("2025-05-01", "60 days left"),
        ("2025-03-03", "1 day left"),
        ("2025-03-02", "today"),
        ("2025-03-01", "1 day overdue"),
    ],
)
def test_an_agreement_stands_there_from_sixty_days_before_until_somebody_decides(site, office, start_on, left):
    made = agreed(site, start_on)
    assert [row[2] for row in rows(office)] == ([] if left is None else [left])
    if left and "overdue" in left:
        agreements.renew(made.pk, seen=1, **HOW)
        assert rows(office) == []


def test_the_site_says_all_of_its_own_and_the_unit_what_was_promised_for_its_system(site, office):
    agreed(site, "2025-04-01")
    promised(site, until="2026-03-20")
    promised(site, until="2026-03-21", words="New louver free", system_id=site.systems.get().pk)
    promised(company.unit("SB-2", customer="Cato Wren").system.site, until="2026-03-22", words="Elsewhere")
    unit = models.Unit.objects.get(serial="SB-1")
    page = words(office.get(f"/sites/{site.pk}"))
    assert f"{RENEW}</a> by" in page
    assert f"{PROMISE}</a> by" in page
    assert "Our promise ends: New louver free</a> by" in page
    assert "Elsewhere" not in page
    page = words(office.get(f"/units/{unit.pk}"))
    assert "Our promise ends: New louver free</a> by" in page
    assert PROMISE not in page
    # Agreements and promises are the desk's.
    for address in (f"/sites/{site.pk}", f"/units/{unit.pk}"):
        page = words(company.as_role("technician").get(address))
        assert "ask whether they renew" not in page
        assert "Our promise ends" not in page


def test_the_calendar_has_a_day_for_each(site):
    made, promise = agreed(site, "2025-04-01"), promised(site, until="2026-03-20")
    found = calendars.calendar(on=TODAY, mark=str, address=lambda name, pk: f"/{name}/{pk}")
    assert [(one.on.isoformat(), one.title, one.address) for one in found.days] == [
        ("2026-03-20", PROMISE, f"/own_promise/{promise.pk}"),
        ("2026-04-01", RENEW, f"/agreement/{made.pk}"),
    ]
    assert "By April 1, 2026: 30 days left." in found.days[1].lines


def test_all_of_them_leave_as_a_file(site, office):
    agreed(site, "2025-04-01")
    promised(site, until="2026-03-20")
    told = b"".join(office.get("/deadlines?as=csv").streaming_content).decode("utf-8-sig")
    assert "our promise ends" in told
    assert "decide about an agreement" in told
