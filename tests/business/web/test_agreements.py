"""Agreements, the house and the year ahead on their pages. Asked on March 2, 2026.

Two wall heads at one site; a first head is 120 a visit and a further one 80: a year of two visits is 400.
"""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest

from fleet import models, tasks
from fleet.business.actions import agreements as actions
from fleet.business.actions import outlook
from fleet.care.actions import care_sheets, due
from fleet.derived import recheck
from fleet.facts import house as gather_house
from fleet.rules.dates import in_words
from tests import company, rows
from tests.caring import entry
from tests.pages import words

pytestmark = pytest.mark.django_db

TODAY = company.TODAY
SHEET = {
    "code": "ours-1",
    "setup_minutes": 30,
    "task": [entry("coil", title="Clean the coil", minutes=45, price="95.00", checked_on=dt.date(2026, 1, 1))],
}
TOLD = {
    "reference": "A-1", "start_on": dt.date(2025, 5, 31), "months": 12, "visits_per_year": 2, "first_head": Decimal(120),
    "further_head": Decimal(80), "discount_percent": Decimal(10), "billing": "monthly", "renews": "by asking",
    "rise_percent": Decimal(3), "notes": "Rings twice",
}  # fmt: skip
TYPED = {name: str(value) for name, value in TOLD.items()}


@pytest.fixture
def site():
    first = company.unit("SB-1", room="Den", started_on="2024-05-01", installed_on="2024-05-01")
    company.unit("SB-2", room="Loft", started_on="2024-05-01", installed_on="2024-05-01")
    care_sheets.load_table(SHEET, on=TODAY)
    return first.system.site


@pytest.fixture
def made(site):
    return actions.make(site.pk, facts=TOLD, by=None, on=TODAY)


@pytest.fixture(params=["office", "owner"])
def client(request):
    return company.as_role(request.param)


def carried(told):
    return {f"was_{name}": str(value) for name, value in told.items()}


# ------------------------------------------------------------------------------------------------------------ agreements


def test_a_page_without_agreements_says_how_to_get_one(client, site):
    assert "No agreements are on file yet." in words(client.get("/agreements"))


def test_the_list_says_where_each_stands_and_what_it_costs(client, made):
    page = client.get("/agreements")
    assert "1 agreement is in force. 1 renewal comes up in the next 90 days; ask about it by May 31, 2026." in words(
        page
    )
    ((row,),) = [page.context["listing"].rows]
    told = {column.name: cell.value for column, cell in zip(page.context["listing"].columns, row.cells, strict=True)}
    assert (told["reference"], told["state"]) == ("A-1", "renews within 90 days, ask")
    assert (told["heads"], told["year_price"], told["term_over_on"]) == (2, Decimal("360.00"), dt.date(2026, 5, 31))


@pytest.mark.parametrize(
    ("state", "count"), [("in force", 1), ("to renew", 1), ("undecided", 0), ("ended", 0), ("over", 0), ("to begin", 0)]
)
def test_the_list_is_narrowed_by_where_they_stand(client, made, state, count):
    assert client.get("/agreements", {"state": state}).context["listing"].count == count


def test_a_renewal_is_due_ninety_days_before_and_not_ninety_one(client, site):
    for reference, days in (("near", 90), ("far", 91)):
        start = TODAY + dt.timedelta(days=days) - dt.timedelta(days=365)
        actions.make(site.pk, facts=TOLD | {"reference": reference, "start_on": start}, by=None, on=TODAY)
    page = client.get("/agreements", {"state": "to renew"})
    assert [row.cells[3].value for row in page.context["listing"].rows] == ["near"]


def test_the_list_comes_as_a_file(client, made):
    found = client.get("/agreements?as=csv")
    (row,) = csv.DictReader(io.StringIO(b"".join(found.streaming_content).decode("utf-8-sig")))
    assert (row["reference"], row["year_price"], row["start_on"]) == ("A-1", "360.00", "2025-05-31")


def test_more_agreements_ask_no_more_of_the_database(made):
    """With each site its own customer."""
    client = company.as_role("owner")
    client.get("/agreements")
    with rows.asked() as one:
        client.get("/agreements")
    for _ in range(4):
        actions.make(rows.site().pk, facts=TOLD, by=None, on=TODAY)
    with rows.asked() as five:
        client.get("/agreements")
    assert len(one) == len(five)


def test_one_shows_how_its_price_comes_about_and_its_bills(client, made):
    page = client.get(f"/agreements/{made.pk}")
    sums = [(line.words, str(line.amount)) for line in page.context["page"].sums]
    assert sums == [
        ("First head, wall: $120.00", "120.00"),
        ("1 further head, wall: $80.00", "80.00"),
        ("2 visits a year", "400.00"),
        ("Discount of 10%", "-40.00"),
        ("Price of the 1st year", "360.00"),
    ]
    bills = page.context["page"].bills
    assert [(str(bill.first), str(bill.amount), bill.words) for bill in bills[8:13]] == [
        ("2026-01-31", "30.00", "planned"),
        ("2026-02-28", "30.00", "planned"),
        ("2026-03-31", "30.00", "planned"),
        ("2026-04-30", "30.00", "planned"),
        ("2026-05-31", "30.90", "planned, if renewed"),
    ]
    assert "In force since May 31, 2025, now in its 1st year" in words(page)


def test_visits_sold_stand_against_those_made(client, made, site):
    unit = site.systems.get().units.first()
    due.record(unit.pk, "coil", day=dt.date(2026, 2, 10), technician="Jules", by=None, on=TODAY)
    text = words(client.get(f"/agreements/{made.pk}"))
    assert "2 visits sold this year, 1 made: 1 to go." in text
    assert "Made on February 10, 2026." in text


def test_one_is_made_for_a_site(client, site):
    assert "2 heads in service: 2 wall." in words(client.get(f"/sites/{site.pk}/agreement"))
    answer = client.post(f"/sites/{site.pk}/agreement", TYPED | {"further_head": "", "discount_percent": ""})
    row = models.Agreement.objects.get()
    assert answer["Location"] == f"/agreements/{row.pk}"
    assert (row.further_head, row.discount_percent, row.billing) == (Decimal(120), 0, "monthly")
    assert list(recheck.differences(on=TODAY)) == []


def test_a_bad_form_keeps_what_was_typed(client, site):
    answer = client.post(f"/sites/{site.pk}/agreement", TYPED | {"months": "0", "first_head": "much"})
    assert answer.status_code == 422
    assert "much" in words(answer)
    assert {"months", "first_head"} <= set(answer.context["form"].errors)
    assert models.Agreement.objects.count() == 0


def test_the_same_one_twice_is_refused_in_words(client, made, site):
    answer = client.post(f"/sites/{site.pk}/agreement", TYPED)
    assert answer.status_code == 422
    assert "This site already has an agreement with this reference." in words(answer)


def test_it_is_changed_and_a_change_made_meanwhile_is_shown(client, made):
    address = f"/agreements/{made.pk}"
    assert client.post(address, TYPED | carried(TOLD) | {"months": "24"})["Location"] == address
    answer = client.post(address, TYPED | carried(TOLD) | {"months": "36"})
    assert answer.status_code == 409
    assert "it is now 24." in words(answer)
    assert models.Agreement.objects.get().months == 24
    # Seen now, the same form says what is to be.
    seen = {f"was_{name}": answer.context["form"].data[f"was_{name}"] for name in TOLD}
    assert client.post(address, TYPED | seen | {"months": "36"}).status_code == 302
    assert models.Agreement.objects.get().months == 36


def test_it_is_renewed_once_and_that_is_taken_back(client, made):
    assert client.post(f"/agreements/{made.pk}/renew", {"seen": 1}).status_code == 302
    assert client.post(f"/agreements/{made.pk}/renew", {"seen": 1}).status_code == 409
    assert models.Agreement.objects.get().terms_agreed == 2
    assert client.post(f"/agreements/{made.pk}/take-back", {"seen": 2}).status_code == 302
    assert models.Agreement.objects.get().terms_agreed == 1
    assert client.post(f"/agreements/{made.pk}/take-back", {"seen": 1}).status_code == 422


def test_it_ends_with_a_reason_and_is_taken_up_again(client, made):
    refused = client.post(f"/agreements/{made.pk}/end", {"day": "2026-03-02", "why": ""})
    assert refused.status_code == 422
    assert "Enter a reason." in words(refused)
    assert client.post(f"/agreements/{made.pk}/end", {"day": "2026-03-02", "why": "Sold"}).status_code == 302
    assert "Ended on March 2, 2026: Sold" in words(client.get(f"/agreements/{made.pk}"))
    assert client.post(f"/agreements/{made.pk}/take-up").status_code == 302
    assert "In force since" in words(client.get(f"/agreements/{made.pk}"))


def test_one_that_is_not_there(client):
    assert client.get("/agreements/77").status_code == 404
    assert client.get("/sites/77/agreement").status_code == 404
    for act in ("renew", "take-back", "take-up"):
        assert client.post(f"/agreements/77/{act}", {"seen": 1}).status_code == 404


# ------------------------------------------------------------------------------------------------------------- the house

SETTLED = {
    "hourly_rate": "115", "drive_price": "62.00", "hours_a_day": "12", "renewal_percent": "85",
    "record_complete_from": "2019-01-01", "weekdays": ["0", "1", "2", "3"], "call_back_days": "45",
    "renewal_notice_days": "60", "promise_reserve": "2500",
}  # fmt: skip
UNSETTLED = {
    "was_hourly_rate": "0.00", "was_drive_price": "0.00", "was_hours_a_day": "6", "was_renewal_percent": "80",
    "was_record_complete_from": "", "was_weekdays": "01234", "was_call_back_days": "30", "was_renewal_notice_days": "",
    "was_promise_reserve": "0.00",
}  # fmt: skip


@pytest.fixture
def owner():
    return company.as_role("owner")


def test_the_owner_settles_rates_days_and_hours(owner):
    page = owner.get("/hours-and-rates")
    for name, value in UNSETTLED.items():
        assert f'name="{name}" value="{value}"' in page.content.decode() or not value
    assert owner.post("/hours-and-rates", SETTLED | UNSETTLED)["Location"] == "/hours-and-rates"
    row = models.House.objects.get()
    assert (row.hourly_rate, row.weekdays, row.hours_a_day) == (Decimal(115), "0123", Decimal(12))
    assert (row.renewal_percent, row.record_complete_from) == (Decimal(85), dt.date(2019, 1, 1))
    assert (row.call_back_days, row.renewal_notice_days, row.promise_reserve) == (45, 60, Decimal(2500))
    logged = models.Change.objects.filter(table="house", field="call_back_days")
    assert list(logged.values_list("before", "after")) == [("30", "45")]


@pytest.mark.parametrize("name", ["call_back_days", "renewal_notice_days"])
@pytest.mark.parametrize(
    ("typed", "is_taken"), [("0", False), ("1", True), ("365", True), ("366", False), ("x", False)]
)
def test_days_of_a_setting_are_one_to_a_year(owner, name, typed, is_taken):
    answer = owner.post("/hours-and-rates", SETTLED | UNSETTLED | {name: typed})
    assert answer.status_code == (302 if is_taken else 422)


def test_a_house_that_gives_no_notice_says_so_and_one_without_call_back_days_is_refused(owner):
    assert owner.post("/hours-and-rates", SETTLED | UNSETTLED | {"call_back_days": ""}).status_code == 422
    owner.post("/hours-and-rates", SETTLED | UNSETTLED | {"renewal_notice_days": ""})
    assert models.House.objects.get().renewal_notice_days is None


def test_no_day_worked_is_refused_with_all_else_still_typed(owner):
    answer = owner.post("/hours-and-rates", SETTLED | UNSETTLED | {"weekdays": []})
    assert answer.status_code == 422
    assert "Check at least one day." in words(answer)
    assert 'value="62.00"' in answer.content.decode()


def test_a_setting_changed_meanwhile_is_shown(owner):
    owner.post("/hours-and-rates", SETTLED | UNSETTLED)
    answer = owner.post("/hours-and-rates", SETTLED | UNSETTLED | {"renewal_percent": "90"})
    assert answer.status_code == 409
    assert "it is now 85.00." in words(answer)


def test_a_years_hours_are_entered_at_once(owner):
    typed = {f"month_2027-{month:02}": str(60 + month) for month in range(1, 12)} | {"month_2027-12": ""}
    assert owner.post("/hours-and-rates/2027", typed)["Location"] == "/hours-and-rates?year=2027#months"
    assert models.MonthHours.objects.count() == 11
    assert "are entered for 11 of the 12 months" in words(owner.get("/hours-and-rates?year=2027"))
    assert owner.post("/hours-and-rates/2027", typed | {"month_2027-02": "many"}).status_code == 422
    refused = owner.post("/hours-and-rates/2027", typed | {"month_2027-02": "10"})
    assert refused.status_code == 409
    assert "it is now 62.00." in words(refused)


def test_days_are_closed_and_opened(owner):
    owner.post("/hours-and-rates/closed", {"first": "2026-12-24", "last": "2026-12-28", "why": "Holidays"})
    assert models.ClosedDay.objects.count() == 5
    for last in ("2026-12-23", "2027-02-24"):  # before the first; and the 63rd day
        answer = owner.post("/hours-and-rates/closed", {"first": "2026-12-24", "last": last, "why": ""})
        assert answer.status_code == 422
    first = models.ClosedDay.objects.first()
    owner.post(f"/hours-and-rates/closed/{first.pk}/open")
    assert models.ClosedDay.objects.count() == 4


def test_the_usual_holidays_are_proposed_and_closed_in_one_step(owner):
    """Until the end of next year; Columbus Day of 2027 is offered without its check."""
    text = words(owner.get("/hours-and-rates"))
    assert "Thursday, December 24, 2026: Christmas Eve" in text
    assert "Saturday" not in text.partition("Usual holidays that are still working days")[2]
    form = owner.get("/hours-and-rates").context["holidays"]
    offered, checked = dict(form.fields["days"].choices), form["days"].value()
    assert "2027-10-11" in offered
    assert "2027-10-11" not in checked
    assert [day for day in checked if day < "2027"][-4:] == ["2026-11-26", "2026-11-27", "2026-12-24", "2026-12-25"]
    owner.post("/hours-and-rates/holidays", {"days": checked})
    closed = models.ClosedDay.objects.get(on=dt.date(2026, 12, 24))
    assert closed.why == "Christmas Eve"
    assert models.Change.objects.filter(table="closedday", object_id=closed.pk, field="on").count() == 1
    # What is closed is proposed no more; what stayed open is.
    left = owner.get("/hours-and-rates").context["page"].holidays
    assert {one.name for one in left} >= {"Columbus Day"}
    assert not {one.on.isoformat() for one in left} & set(checked)
    assert not any(day in gather_house.working() for day in models.ClosedDay.objects.values_list("on", flat=True))


@pytest.mark.parametrize("days", [[], ["2026-12-23"], ["nonsense"]])
def test_a_day_that_is_no_holiday_is_not_closed_as_one(owner, days):
    assert owner.post("/hours-and-rates/holidays", {"days": days}).status_code == 422
    assert not models.ClosedDay.objects.exists()


def test_holidays_follow_the_companys_country(owner):
    models.Company.objects.create(pk=1, country="CA")
    names = {one.name for one in owner.get("/hours-and-rates").context["page"].holidays}
    assert "Canada Day" in names
    assert "Memorial Day" not in names


# --------------------------------------------------------------------------------------------------------- the year ahead


def test_the_year_ahead_says_each_band_by_itself(owner, made):
    page = owner.get("/the-year-ahead")
    text = words(page)
    # Thirty a month until the term is over on May 31, of which that of April lies in the whole months; eleven bills of a twelfth
    # of 370.80 follow, times 80%.
    assert (
        f"In the 12 months through {in_words(dt.date(2027, 3, 31))}, agreements already in place bill $30.00." in text
    )
    assert "They cover 1 site today." in text
    assert "Renewals would add $271.92 if 80% renew. That is your own figure" in text
    assert "No work to sell" in text
    assert [strip.name for strip in page.context["page"].drawing.strips] == [
        "contracted", "renewals", "on offer", "hours",
    ]  # fmt: skip


def test_it_is_drawn_with_a_table_that_says_the_same(owner, made):
    page = owner.get("/the-year-ahead?ahead=24").context["page"]
    assert len(page.by_month.rows) == 24
    for strip, column in zip(page.drawing.strips[:3], (1, 2, 3), strict=True):
        shown = [row.cells[column].value for row in page.by_month.rows]
        assert [bool(bar.height) for bar in strip.bars] == [bool(amount) for amount in shown]
        top = max(bar.height for bar in strip.bars)
        assert [bar.height for bar in strip.bars].index(top) == shown.index(max(shown))


def test_what_is_on_offer_is_told_to_be_called_down(owner, site):
    text = words(owner.get("/the-year-ahead"))
    assert "1 site without an agreement has work due in the 12 months from today" in text
    # Due on May 1, 2025 and late since; each head once now, and again in a year's time at the earliest.
    listed = owner.get("/the-year-ahead/on-offer").context["listing"]
    told = {column.name: cell.value for column, cell in zip(listed.columns, listed.rows[0].cells, strict=True)}
    assert (told["heads"], told["tasks"], told["late"], told["visits"]) == (2, 2, 2, 1)
    assert (told["first_on"], told["price"]) == (dt.date(2026, 3, 2), Decimal("190.00"))
    assert told["say"].startswith(
        "Your 2 heads have 2 maintenance tasks due within a year, 2 of them overdue. We could come on March 2"
    )
    assert owner.get("/the-year-ahead/on-offer?late=late").context["listing"].count == 1
    assert owner.get("/the-year-ahead/on-offer?text=nobody").context["listing"].count == 0


def test_it_follows_what_changed(owner, site):
    before = words(owner.get("/the-year-ahead"))
    actions.make(site.pk, facts=TOLD, by=None, on=TODAY)
    assert words(owner.get("/the-year-ahead")) != before


def test_hours_on_hand_that_are_too_few_are_said(owner, site):
    models.MonthHours.objects.create(month=dt.date(2026, 4, 1), hours=Decimal("1.5"))
    models.Booking.objects.create(site=site, on=dt.date(2026, 4, 9), minutes=120, price=Decimal("190.00"))
    assert "h on hand, 0.5 h short" in words(owner.get("/the-year-ahead"))


def test_a_large_company_waits_for_no_plan_but_for_a_job(owner, site, monkeypatch):
    monkeypatch.setattr(outlook, "FEW_SITES", 0)
    assert "being worked out for the first time" in words(owner.get("/the-year-ahead"))
    owner.get("/the-year-ahead")
    assert models.Job.objects.filter(name="look_ahead").count() == 1
    tasks.drain()
    text = words(owner.get("/the-year-ahead"))
    assert "Worked out on March 2, 2026, 12:00 PM." in text
    actions.make(site.pk, facts=TOLD, by=None, on=TODAY)
    assert "it is being worked out again" in words(owner.get("/the-year-ahead"))
    tasks.drain()
    assert "in the background" not in words(owner.get("/the-year-ahead"))


def test_the_files_have_what_the_pages_have(owner, site):
    months = owner.get("/the-year-ahead?ahead=36&as=csv")
    found = list(csv.DictReader(io.StringIO(b"".join(months.streaming_content).decode("utf-8-sig"))))
    assert (len(found), found[0]["month"], found[0]["on_offer"]) == (36, "2026-04", "0.00")
    # Late, it is done today in the running month, and comes again a year later: 30 minutes and 45 for each of two heads.
    assert (found[11]["month"], found[11]["on_offer"], found[11]["hours_due"]) == ("2027-03", "190.00", "2.00")
    offers = owner.get("/the-year-ahead/on-offer?as=csv")
    (row,) = csv.DictReader(io.StringIO(b"".join(offers.streaming_content).decode("utf-8-sig")))
    assert row["price"] == "190.00"
    workbook = owner.get("/the-year-ahead/on-offer?as=xlsx")
    assert b"".join(workbook.streaming_content).startswith(b"PK")
    workbook.close()


def test_without_a_care_sheet_or_anything_it_says_so(owner):
    assert "No care sheet (our list of maintenance tasks) is in force" in words(owner.get("/the-year-ahead"))


def test_more_sites_ask_no_more_of_the_database(owner, site):
    owner.get("/the-year-ahead")
    with rows.asked() as one:
        owner.get("/the-year-ahead")
    for number in range(4):
        company.unit(f"X-{number}", customer=f"Customer {number}", room="Den", started_on="2024-05-01")
    company.worked_out()
    owner.get("/the-year-ahead")
    with rows.asked() as five:
        owner.get("/the-year-ahead")
    assert len(one) == len(five)
