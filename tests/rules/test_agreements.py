"""Agreements that change: part years, heads by the day, what ending early gives back, a head added in mid-term. Worked by hand.

Two wall heads; the first is 120 a visit and a further one 80: a year of one visit is 200.
"""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import decisions, refunds, revenue
from fleet.rules.agreements import Agreement
from fleet.rules.care import CareUnit
from fleet.rules.dates import Span, add_months
from fleet.rules.refunds import Charge
from tests.caring import day, money, sheet

SHEET = sheet(style_factor={"cassette": "1.5"})
TODAY = "2026-11-24"


def head(key: str, installed_on: str | None = None, **named) -> CareUnit:
    named = {name: value and day(value) if name.endswith("_on") else value for name, value in named.items()}
    return CareUnit(key, style=named.pop("style", "wall"), installed_on=installed_on and day(installed_on), **named)


TWO = (head("H1"), head("H2"))


def agreement(start_on: str = "2026-03-01", visits_per_year: int = 1, months: int = 12, **named) -> Agreement:
    named = {"first_head": "120.00", "further_head": "80.00"} | named
    for name in ("first_head", "further_head", "discount_percent", "rise_percent"):
        if name in named:
            named[name] = money(named[name])
    if "ended_on" in named:
        named["ended_on"] = day(named["ended_on"])
    return Agreement(day(start_on), months, visits_per_year, **named)


def bills(told: Agreement, first: str, last: str, *, units=TWO, visits=(), today: str = TODAY):
    span = Span(day(first), day(last))
    return revenue.bills(told, units, SHEET, span=span, today=day(today), visits=map(day, visits))


def amounts(told: Agreement, first: str = "2026-03-01", last: str = "2032-12-31", **how) -> list[tuple[str, str]]:
    return [(bill.on.isoformat(), str(bill.amount)) for bill in bills(told, first, last, **how)]


# -------------------------------------------------------------------------------------------------------------- part years


@pytest.mark.parametrize(
    ("months", "expected"),
    [
        pytest.param(11, [("2026-03-01", "183.33")], id="eleven months: 183.333"),
        pytest.param(12, [("2026-03-01", "200.00")], id="a whole year"),
        pytest.param(13, [("2026-03-01", "200.00"), ("2027-03-01", "16.67")], id="and a month: 16.666"),
        pytest.param(18, [("2026-03-01", "200.00"), ("2027-03-01", "100.00")], id="and six"),
        pytest.param(24, [("2026-03-01", "200.00"), ("2027-03-01", "200.00")], id="two whole years"),
        pytest.param(1, [("2026-03-01", "16.67")], id="one month"),
    ],
)
def test_where_the_term_ends_inside_a_year_its_price_is_the_months_share(months, expected):
    assert amounts(agreement(months=months, renews="no")) == expected


def test_the_share_is_rounded_once_from_the_exact_price():
    """200.01 less 50% is 100.005: a year is 100.01, and half of it 50.0025, not half of 100.01."""
    told = agreement(months=18, renews="no", first_head="200.01", discount_percent="50")
    assert amounts(told, units=(head("H1"),)) == [("2026-03-01", "100.01"), ("2027-03-01", "50.00")]


def test_a_rise_is_of_whole_years_since_the_first():
    told = agreement(months=18, renews="no", rise_percent="7")
    assert amounts(told) == [("2026-03-01", "200.00"), ("2027-03-01", "107.00")]


def test_monthly_bills_of_a_part_year_stay_a_twelfth_and_the_last_takes_what_is_left():
    """Six months of 200 are 100: five times 16.66, and 16.70. Seven of a first year are 116.67: six times, and 16.71."""
    told = agreement(months=18, renews="no", billing="monthly")
    assert [amount for _, amount in amounts(told, "2027-03-01")] == ["16.66"] * 5 + ["16.70"]
    assert [amount for _, amount in amounts(agreement(months=7, renews="no", billing="monthly"))] == ["16.66"] * 6 + [
        "16.71"
    ]


@pytest.mark.parametrize(
    ("visits_per_year", "months", "sold"),
    [
        pytest.param(2, 5, 1, id="the second window begins after six months"),
        pytest.param(2, 6, 1, id="on the day the term is over"),
        pytest.param(2, 7, 2, id="within it"),
        pytest.param(5, 7, 3, id="0, 2 and 4; the fourth begins with the eighth month"),
        pytest.param(5, 8, 4, id="and 7"),
        pytest.param(1, 1, 1, id="the first always"),
        pytest.param(3, 12, 3, id="a whole year"),
    ],
)
def test_a_part_years_visits_are_those_whose_windows_begin_in_it(visits_per_year, months, sold):
    told = agreement(visits_per_year=visits_per_year, months=months, renews="no")
    assert told.year_at(day("2026-03-01")).visits == sold
    assert len(list(told.visit_windows(first=day("2026-03-01"), today=day("2026-03-01")))) == sold


def test_a_part_years_visits_share_its_price():
    """Five visits a year are 1,000; seven months are 583.33 for three of them, and a fourth goes beyond."""
    told = agreement(visits_per_year=5, months=7, renews="no", billing="per visit")
    visits = ("2026-03-10", "2026-05-10", "2026-07-10", "2026-09-10")
    assert amounts(told, visits=visits) == [
        ("2026-03-10", "194.44"),
        ("2026-05-10", "194.44"),
        ("2026-07-10", "194.45"),
    ]
    trips = [revenue.Trip(day(on), Decimal(0)) for on in visits]
    assert [trip.on for trip in revenue.beyond(told, trips)] == [day("2026-09-10")]


def test_the_next_term_begins_with_a_year_of_its_own():
    """Eighteen months, renewed by itself once: a year and a half, a year and a half; then it hangs on a renewal."""
    told = agreement(months=18)
    found = bills(told, "2026-03-01", "2029-03-01", today="2027-10-01")
    assert [(bill.on.isoformat(), str(bill.amount), bill.renewals) for bill in found] == [
        ("2026-03-01", "200.00", 0),
        ("2027-03-01", "100.00", 0),
        ("2027-09-01", "200.00", 0),
        ("2028-09-01", "100.00", 0),
        ("2029-03-01", "200.00", 1),
    ]
    half = agreement(months=6)
    assert amounts(half, "2026-03-01", "2027-03-01", today="2027-03-01") == [
        ("2026-03-01", "100.00"), ("2026-09-01", "100.00"), ("2027-03-01", "100.00"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("on", "first", "last", "index"),
    [
        pytest.param("2026-03-01", "2026-03-01", "2027-02-28", 0, id="its first day"),
        pytest.param("2027-02-28", "2026-03-01", "2027-02-28", 0, id="its last day"),
        pytest.param("2027-03-01", "2027-03-01", "2027-08-31", 1, id="the part year"),
        pytest.param("2027-08-31", "2027-03-01", "2027-08-31", 1, id="its last day, the term's last"),
        pytest.param(
            "2027-09-01", "2027-09-01", "2028-08-31", 1, id="the next term: eighteen months are one whole year"
        ),
        pytest.param("2028-09-01", "2028-09-01", "2029-02-28", 2, id="thirty are two"),
    ],
)
def test_the_agreement_year_of_a_day(on, first, last, index):
    year = agreement(months=18).year_at(day(on))
    assert (year.first, year.last, year.index) == (day(first), day(last), index)


def test_years_are_counted_from_the_first_start():
    """From January 31, 2024: the year's bills and the next year begin on the 31st again."""
    year = agreement("2024-02-29").year_at(day("2027-06-01"))
    assert (year.first, year.last) == (day("2027-02-28"), day("2028-02-28"))


def test_each_bill_is_for_days():
    def spans(told, last, **how):
        return [(str(bill.days.first), str(bill.days.last)) for bill in bills(told, "2024-01-01", last, **how)]

    assert spans(agreement("2024-01-31", months=18, renews="no"), "2025-12-31") == [
        ("2024-01-31", "2025-01-30"),
        ("2025-01-31", "2025-07-30"),
    ]
    assert spans(agreement("2024-01-31", renews="no", billing="monthly"), "2024-04-29") == [
        ("2024-01-31", "2024-02-28"),
        ("2024-02-29", "2024-03-30"),
        ("2024-03-31", "2024-04-29"),
    ]
    assert spans(agreement("2024-01-31", billing="per visit"), "2024-12-31", visits=("2024-05-06",)) == [
        ("2024-05-06", "2024-05-06")
    ]


# ---------------------------------------------------------------------------------------------------- heads in service


@pytest.mark.parametrize(
    ("named", "on", "serves"),
    [
        pytest.param({"installed_on": "2026-05-01"}, "2026-04-30", False, id="the day before it was put in"),
        pytest.param({"installed_on": "2026-05-01"}, "2026-05-01", True, id="that day"),
        pytest.param(
            {"installed_on": "2026-05-01", "started_on": "2026-06-01"}, "2026-05-01", True, id="started later"
        ),
        pytest.param({"started_on": "2026-06-01"}, "2026-05-31", False, id="only the start is known"),
        pytest.param({"started_on": "2026-06-01"}, "2026-06-01", True, id="that day, too"),
        pytest.param({}, "2000-01-01", True, id="neither is known: always"),
        pytest.param({"left_on": "2026-08-01"}, "2026-07-31", True, id="the day before it was removed"),
        pytest.param({"left_on": "2026-08-01"}, "2026-08-01", False, id="the day it was removed"),
        pytest.param({"joined_on": "2026-08-01"}, "2026-07-31", False, id="moved here later"),
        pytest.param({"joined_on": "2026-08-01"}, "2026-08-01", True, id="the day it came here"),
        pytest.param({"replaced_on": "2026-08-01"}, "2026-07-31", False, id="the old serial still stood there"),
        pytest.param(
            {"installed_on": "2026-08-20", "replaces_on": "2026-08-01"}, "2026-07-31", False, id="the other was there"
        ),
        pytest.param(
            {"installed_on": "2026-08-20", "replaces_on": "2026-08-01"}, "2026-08-01", True, id="in its place since"
        ),
        pytest.param(
            {"replaces_on": "2026-08-01"}, "2026-07-31", False, id="even where nobody knows when it was put in"
        ),
    ],
)
def test_from_when_to_when_a_head_is_in_service(named, on, serves):
    assert revenue.styles_on([head("H1", **named)], day(on), today=day("2026-11-24")) == (("wall",) if serves else ())


def test_of_days_to_come_todays_heads():
    units = (head("H1"), head("H2", installed_on="2027-01-01"), head("H3", left_on="2027-01-01"))
    assert revenue.styles_on(units, day("2027-06-01"), today=day(TODAY)) == ("wall", "wall")


def test_a_bill_of_nothing_is_not_listed():
    assert amounts(agreement(), units=()) == []
    assert amounts(agreement(discount_percent="100")) == []
    assert amounts(agreement(billing="monthly", renews="no"), units=(head("H1", installed_on="2026-10-01"),))[0] == (
        "2026-10-01",
        "10.00",
    )


# --------------------------------------------------------------------------------------------------------- ended early


def upfront(paid: str = "200.00", **named) -> list[Charge]:
    return [Charge(Span(day("2026-03-01"), day("2027-02-28")), money("200.00"), money(paid))]


def settled(told: Agreement, charges, made: tuple[str, ...] = ()) -> tuple[str, str | None]:
    found = refunds.ended_early(told, charges, made=map(day, made))
    return str(found.by_days.give_back), None if found.by_visits is None else str(found.by_visits.give_back)


@pytest.mark.parametrize(
    ("ended_on", "by_days", "by_visits"),
    [
        pytest.param("2026-02-28", "200.00", "200.00", id="before the start: all that was paid"),
        pytest.param("2026-03-01", "200.00", "200.00", id="on its first day"),
        pytest.param("2026-03-02", "199.45", "200.00", id="after one of 365 days: 0.5479 is used"),
        pytest.param("2026-09-01", "99.18", "200.00", id="after 184: 100.8219 is used"),
        pytest.param("2027-02-28", "0.55", "200.00", id="a day before its end: 199.4520"),
        pytest.param("2027-03-01", "0.00", "0.00", id="the day after its term: nothing"),
        pytest.param("2028-01-01", "0.00", "0.00", id="long after it"),
    ],
)
def test_what_a_year_paid_in_advance_gives_back(ended_on, by_days, by_visits):
    assert settled(agreement(renews="no", ended_on=ended_on), upfront()) == (by_days, by_visits)


@pytest.mark.parametrize(
    ("made", "by_visits"),
    [
        pytest.param((), "400.00", id="none made"),
        pytest.param(("2026-05-01",), "200.00", id="one of two"),
        pytest.param(("2026-05-01", "2026-08-31"), "0.00", id="both, the second the day before it ended"),
        pytest.param(("2026-05-01", "2026-09-01"), "200.00", id="one on the day it ended does not count"),
        pytest.param(("2026-02-28", "2026-05-01"), "200.00", id="nor one of the year before"),
        pytest.param(("2026-04-01", "2026-05-01", "2026-06-01"), "0.00", id="no more than were sold"),
        pytest.param(("2026-05-01", "2026-05-01"), "200.00", id="a day counts once"),
    ],
)
def test_what_it_gives_back_by_visits(made, by_visits):
    told = agreement(visits_per_year=2, renews="no", ended_on="2026-09-01")
    charge = Charge(Span(day("2026-03-01"), day("2027-02-28")), money("400.00"), money("400.00"))
    assert settled(told, [charge], made)[1] == by_visits


def monthly(count_paid: int) -> list[Charge]:
    """400 a year: eleven times 33.33, and 33.37."""
    charges = []
    for number in range(12):
        first = add_months(day("2026-03-01"), number)
        last = add_months(day("2026-03-01"), number + 1) - dt.timedelta(days=1)
        amount = money("33.37") if number == 11 else money("33.33")
        charges.append(Charge(Span(first, last), amount, amount if number < count_paid else Decimal(0)))
    return charges


@pytest.mark.parametrize(
    ("count_paid", "made", "expected"),
    [
        # Until September 15 six months and half of the seventh are used: 199.98 + 16.665 = 216.645.
        pytest.param(
            7, ("2026-05-01",), ("16.67", "33.31"), id="seven paid: 16.665 up; by visits 233.31 less half of 400"
        ),
        pytest.param(6, ("2026-05-01",), ("-16.67", "-0.02"), id="six paid: still owed, rounded away from zero"),
        pytest.param(0, (), ("-216.65", "0.00"), id="nothing paid, nothing made: 216.645 by days"),
        pytest.param(12, ("2026-05-01", "2026-08-01"), ("183.36", "0.00"), id="all paid: 400 less 216.645 is 183.355"),
    ],
)
def test_what_monthly_bills_give_back_counts_the_planned_ones_of_the_year(count_paid, made, expected):
    told = agreement(visits_per_year=2, billing="monthly", ended_on="2026-09-16")
    assert settled(told, monthly(count_paid), made) == expected


def test_per_visit_only_the_days_are_asked():
    told = agreement(visits_per_year=2, billing="per visit", ended_on="2026-09-01")
    charges = [
        Charge(Span(day("2026-04-10"), day("2026-04-10")), money("200.00"), money("200.00")),
        Charge(Span(day("2026-10-10"), day("2026-10-10")), money("200.00"), money("50.00")),
    ]
    assert settled(told, charges, ("2026-04-10",)) == ("50.00", None)


def test_only_the_year_it_ends_in_counts():
    """The first year is over and paid; of the second, 31 of its 366 days are used: 16.9399."""
    second = Charge(Span(day("2027-03-01"), day("2028-02-29")), money("200.00"), money("200.00"))
    told = agreement(ended_on="2027-04-01")
    found = refunds.ended_early(told, [*upfront(), second], made=[day("2026-06-01")])
    assert (str(found.paid), str(found.by_days.used), str(found.by_days.give_back)) == ("200.00", "16.94", "183.06")
    assert str(found.by_visits.give_back) == "200.00"


def test_an_added_heads_bill_is_one_of_its_year():
    """39.67 for September 1 through February 28, 181 days, of which 30 are used by September 30: 6.5751 of it."""
    told = agreement(ended_on="2026-10-01")
    added = Charge(Span(day("2026-09-01"), day("2027-02-28")), money("39.67"), money("39.67"))
    # 200 × 214 ÷ 365 = 117.2602; together 123.8353 of 239.67.
    assert settled(told, [*upfront(), added])[0] == "115.83"


def test_in_a_part_year_its_own_visits_and_days_count():
    """Six months of 400 are 200, for one visit: of the 184 days from March 1 through August 31, 122 are before July 1: 132.6086."""
    told = agreement("2026-03-01", 2, months=6, renews="no", ended_on="2026-07-01")
    charge = Charge(Span(day("2026-03-01"), day("2026-08-31")), money("200.00"), money("200.00"))
    assert settled(told, [charge], ("2026-04-01",)) == ("67.39", "0.00")


# ------------------------------------------------------------------------------------------------ a head added in mid-term


def added(
    told: Agreement, *units: CareUnit, first: str = "2026-01-01", last: str = "2030-12-31", today: str = "2027-12-31"
):
    found = refunds.heads_added(told, units, SHEET, span=Span(day(first), day(last)), today=day(today))
    return [(one.days.first.isoformat(), str(one.amount), one.units) for one in found]


@pytest.mark.parametrize(
    ("put_in", "amount"),
    [
        pytest.param("2026-02-28", None, id="before the agreement"),
        pytest.param("2026-03-01", None, id="on the year's first day it is in its bill"),
        pytest.param("2026-03-02", "79.78", id="80 for 364 of 365 days: 79.7808"),
        pytest.param("2026-09-01", "39.67", id="181 days: 39.6712"),
        pytest.param("2027-02-28", "0.22", id="the last day: 0.2191"),
        pytest.param("2027-03-01", None, id="the day after the term"),
    ],
)
def test_a_head_added_in_mid_term_pays_for_the_days_left(put_in, amount):
    found = added(agreement(renews="no"), *TWO, head("H3", put_in))
    assert found == ([] if amount is None else [(put_in, amount, ("H3",))])


def test_two_on_one_day_are_one_proposal_and_on_two_days_two():
    units = (*TWO, head("H3", "2026-09-01"), head("H4", "2026-09-01"), head("H5", "2026-10-01"))
    assert added(agreement(renews="no"), *units) == [
        ("2026-09-01", "79.34", ("H3", "H4")),  # 160 × 181 ÷ 365
        ("2026-10-01", "33.10", ("H5",)),  # 80 × 151 ÷ 365 = 33.0958
    ]


def test_one_of_a_dearer_style_becomes_the_first_head():
    """180 + 80 + 80 less 200 is 140; × 181 ÷ 365 is 69.4246."""
    assert added(agreement(renews="no"), *TWO, head("H3", "2026-09-01", style="cassette")) == [
        ("2026-09-01", "69.42", ("H3",))
    ]


@pytest.mark.parametrize(
    ("named", "unit"),
    [
        pytest.param({}, head("H3", "2026-09-01", replaces_on="2026-08-20"), id="it takes the place of another"),
        pytest.param({}, head("H3"), id="nobody knows when"),
        pytest.param({"billing": "monthly"}, head("H3", "2026-09-01"), id="billed monthly"),
        pytest.param({"billing": "per visit"}, head("H3", "2026-09-01"), id="billed per visit"),
        pytest.param({"further_head": "0.00"}, head("H3", "2026-09-01"), id="it comes to nothing"),
        pytest.param({"further_head": "0.01"}, head("H3", "2027-02-28"), id="it comes to less than a cent"),
        pytest.param({"ended_on": "2026-09-01"}, head("H3", "2026-09-01"), id="ended that day"),
        pytest.param({}, head("H3", replaced_on="2026-09-01"), id="it came in exchange under warranty"),
        pytest.param({}, head("P1", "2026-09-01", role="pump"), id="no head"),
    ],
)
def test_what_proposes_nothing(named, unit):
    assert added(agreement(**named), *TWO, unit) == []


def test_of_a_part_year_the_share_counts():
    """Six months of 80 are 40; from April 1, 2027, 153 of 184 days are left: 33.2608."""
    told = agreement(months=18, renews="no")
    assert added(told, *TWO, head("H3", "2027-04-01")) == [("2027-04-01", "33.26", ("H3",))]


def test_one_that_went_the_same_day_is_in_neither_price():
    units = (head("H1"), head("H2", left_on="2026-09-01"), head("H3", "2026-09-01"))
    assert added(agreement(renews="no"), *units) == [("2026-09-01", "39.67", ("H3",))]  # 200 less 120


# ----------------------------------------------------------------------------------------------------------- to decide


def decided(told: Agreement, today: str, charges=(), *, settled: bool = False, notice_days: int = 0):
    found = decisions.to_decide(told, charges, today=day(today), settled=settled, notice_days=notice_days)
    return [(one.what, one.on and one.on.isoformat()) for one in found]


@pytest.mark.parametrize(
    ("renews", "today", "expected"),
    [
        pytest.param("by asking", "2026-12-30", [], id="61 days before its term is over"),
        pytest.param("by asking", "2026-12-31", [("renewal", "2027-03-01")], id="60 days"),
        pytest.param("by asking", "2027-02-28", [("renewal", "2027-03-01")], id="its last day"),
        pytest.param("by asking", "2027-03-01", [("over", "2027-03-01")], id="over, and nobody has decided"),
        pytest.param("no", "2026-12-30", [], id="it does not renew: 61 days"),
        pytest.param("no", "2026-12-31", [("ending", "2027-03-01")], id="60 days"),
        pytest.param("no", "2027-03-01", [], id="it has ended as was agreed"),
        pytest.param("by itself", "2027-02-28", [], id="it goes on by itself"),
    ],
)
def test_a_term_that_ends_within_sixty_days_is_to_decide(renews, today, expected):
    assert decided(agreement(renews=renews), today) == expected


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        pytest.param("2026-11-30", [], id="61 days before the last day to give notice"),
        pytest.param("2026-12-01", [("notice", "2027-01-30")], id="60 days"),
        pytest.param("2027-01-30", [("notice", "2027-01-30")], id="the last day: 30 days before March 1"),
        pytest.param("2027-01-31", [], id="too late"),
    ],
)
def test_notice_of_a_renewal_has_a_last_day(today, expected):
    assert decided(agreement(), today, notice_days=30) == expected
    assert decided(agreement(renews="by asking", ended_on="2026-11-01"), today, notice_days=30, settled=True) == []
    assert decided(agreement(), today) == []


def test_one_that_was_ended_is_to_decide_until_somebody_has():
    told = agreement(ended_on="2026-09-01")
    assert decided(told, "2026-10-01", upfront()) == [("refund", "2026-09-01")]
    assert decided(told, "2026-10-01", upfront(), settled=True) == []
    # Told ahead of its day it may be decided at once; where nothing is to give back or owed, there is nothing to decide.
    assert decided(told, "2026-08-01", upfront()) == [("refund", "2026-09-01")]
    assert decided(agreement(renews="no", ended_on="2027-03-01"), "2027-03-01", upfront()) == []


@pytest.mark.parametrize(
    ("billed_on", "paid", "expected"),
    [
        pytest.param("2026-10-26", "0.00", [], id="29 days ago"),
        pytest.param("2026-10-25", "0.00", [("unpaid", "2026-10-25")], id="30 days ago"),
        pytest.param("2026-10-25", "199.99", [("unpaid", "2026-10-25")], id="a cent is missing"),
        pytest.param("2026-10-25", "200.00", [], id="paid"),
        pytest.param(None, "0.00", [], id="not billed"),
    ],
)
def test_a_bill_that_is_unpaid_for_thirty_days_is_to_decide(billed_on, paid, expected):
    days = Span(day("2026-03-01"), day("2027-02-28"))
    charge = Charge(days, money("200.00"), money(paid), billed_on=billed_on and day(billed_on))
    assert decided(agreement(), TODAY, [charge]) == expected


@pytest.mark.parametrize(
    ("rise", "today", "expected"),
    [
        pytest.param("3", "2026-12-30", [], id="61 days before the next year"),
        pytest.param("3", "2026-12-31", [("rise", "2027-03-01")], id="60 days"),
        pytest.param("3", "2027-03-01", [], id="it is the new price now"),
        pytest.param("0", "2027-02-01", [], id="no rise"),
        pytest.param("-3", "2027-02-01", [], id="it falls"),
    ],
)
def test_a_rise_is_announced_sixty_days_ahead(rise, today, expected):
    assert decided(agreement(rise_percent=rise), today) == expected
    assert decided(agreement(rise_percent=rise, renews="no"), today) == [
        one for one in [("ending", "2027-03-01")] if today in ("2026-12-31", "2027-02-01")
    ]


# ------------------------------------------------------------------------------------------------------------- properties

AGREEMENTS = st.builds(
    agreement,
    start_on=st.dates(dt.date(2024, 1, 1), dt.date(2026, 11, 1)).map(str),
    visits_per_year=st.integers(1, 6),
    months=st.integers(1, 30),
    first_head=st.sampled_from(["120.00", "33.37", "0.01"]),
    discount_percent=st.sampled_from(["0", "12.5", "33.3333"]),
    rise_percent=st.sampled_from(["0", "3"]),
    renews=st.sampled_from(["by itself", "by asking", "no"]),
    billing=st.sampled_from(["upfront", "monthly"]),
)


@given(AGREEMENTS)
def test_the_bills_of_a_year_come_to_its_price_and_cover_its_days(told):
    year = told.year_at(told.start_on)
    found = bills(told, str(year.first), str(year.last), today=str(told.start_on))
    price = revenue.price_of_year(told, ("wall", "wall"), SHEET, year)
    assert sum((bill.amount for bill in found), Decimal(0)) == price
    if len(found) == (1 if told.billing == "upfront" else year.months):
        covered = [bill.days for bill in found]
        assert (covered[0].first, covered[-1].last) == (year.first, year.last)
        assert all(
            one.last + dt.timedelta(days=1) == other.first for one, other in zip(covered, covered[1:], strict=False)
        )


@given(AGREEMENTS, st.dates(dt.date(2024, 1, 1), dt.date(2029, 1, 1)))
def test_every_day_of_a_term_lies_in_one_year_and_years_follow_each_other(told, on):
    if on < told.start_on:
        return
    year = told.year_at(on)
    assert year.first <= on <= year.last
    assert told.year_at(year.last + dt.timedelta(days=1)).first == year.last + dt.timedelta(days=1)
    assert 1 <= year.visits <= told.visits_per_year


@given(st.dates(dt.date(2026, 3, 1), dt.date(2027, 2, 28)), st.integers(0, 3))
def test_nothing_given_back_exceeds_what_was_paid_and_later_gives_back_less(ended_on, made):
    told = agreement(visits_per_year=3, renews="no", ended_on=str(ended_on))
    later = agreement(
        visits_per_year=3, renews="no", ended_on=str(min(ended_on + dt.timedelta(days=1), dt.date(2027, 2, 28)))
    )
    charge = [Charge(Span(day("2026-03-01"), day("2027-02-28")), money("600.00"), money("600.00"))]
    visits = [dt.date(2026, 3, 1 + number) for number in range(made)]
    now, then = (refunds.ended_early(one, charge, made=visits) for one in (told, later))
    assert 0 <= then.by_days.give_back <= now.by_days.give_back <= 600
    assert 0 <= then.by_visits.give_back <= now.by_visits.give_back <= 600
