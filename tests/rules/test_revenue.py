"""What an agreement costs, when it is billed, and what the coming months carry: worked by hand, to the cent."""

import datetime as dt
from decimal import Decimal

import pytest
from dateutil.rrule import MONTHLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import revenue
from fleet.rules.agreements import BILLING, Agreement
from fleet.rules.care import CareUnit
from fleet.rules.dates import Span, add_months
from fleet.rules.revenue import Band, Bill, Month, Trip
from tests.caring import day, money, sheet, unit

SHEET = sheet(style_factor={"cassette": "1.5", "floor": "1.1"})
TODAY = "2026-11-24"
TWO_WALL = (unit("H1"), unit("H2"))


def agreement(start_on: str = "2026-03-01", visits_per_year: int = 1, months: int = 12, **named) -> Agreement:
    """A first head costs 120 a visit and a further one 80, where nothing else is said."""
    for name in ("first_head", "further_head", "discount_percent", "rise_percent"):
        if name in named:
            named[name] = money(named[name])
    prices = {"first_head": money("120.00"), "further_head": money("80.00")}
    return Agreement(day(start_on), months, visits_per_year, **prices | named)


def bills(
    told: Agreement,
    first: str,
    last: str,
    *,
    units: tuple[CareUnit, ...] = TWO_WALL,
    visits: tuple[str, ...] = (),
    today: str = TODAY,
) -> list[tuple[str, str, int]]:
    """Each bill's day and amount, and the renewals that must come about before it."""
    span = Span(day(first), day(last))
    found = revenue.bills(told, units, SHEET, span=span, today=day(today), visits=map(day, visits))
    return [(bill.on.isoformat(), str(bill.amount), bill.renewals) for bill in found]


def price(told: Agreement, styles: list[str], years: int) -> Decimal:
    """The price of a year, so many years on."""
    return revenue.price_of_year(told, styles, SHEET, told.year_at(add_months(told.start_on, 12 * years)))


def trips(*told: str) -> list[Trip]:
    return [Trip(day(on), money("150.00")) for on in told]


# ------------------------------------------------------------------------------------------------------- a year's price


@pytest.mark.parametrize(
    ("styles", "named", "year", "expected"),
    [
        pytest.param(["wall"], {}, 0, "120.00", id="one head"),
        pytest.param(["wall"] * 3, {}, 0, "280.00", id="each further head"),
        pytest.param(["wall"] * 3, {"visits_per_year": 2}, 0, "560.00", id="two visits a year"),
        pytest.param(["cassette"], {}, 0, "180.00", id="a style's factor"),
        pytest.param(["wall", "cassette"], {}, 0, "260.00", id="the highest factor is the first head"),
        pytest.param(["cassette", "floor", "wall"], {}, 0, "348.00", id="180 and 88 and 80"),
        pytest.param(["", "ducted"], {}, 0, "200.00", id="no factor given counts one"),
        pytest.param([], {}, 0, "0.00", id="no head"),
        pytest.param(["wall"] * 2, {"discount_percent": "12.5"}, 0, "175.00", id="less a discount"),
        pytest.param(["wall"] * 2, {"rise_percent": "4"}, 0, "200.00", id="no rise in the first year"),
        pytest.param(["wall"] * 2, {"rise_percent": "4"}, 1, "208.00", id="a rise in the second"),
        pytest.param(["wall"] * 2, {"rise_percent": "4"}, 2, "216.32", id="and on the rise in the third"),
        pytest.param(["wall"] * 2, {"rise_percent": "4"}, 3, "224.97", id="224.9728 rounded once"),
        pytest.param(["wall"], {"first_head": "0.50", "rise_percent": "1"}, 1, "0.51", id="0.505 half up"),
        pytest.param(["wall"], {"first_head": "10.05", "discount_percent": "50"}, 0, "5.03", id="5.025 half up"),
        pytest.param(["wall"], {"discount_percent": "100"}, 0, "0.00", id="all of it off"),
    ],
)
def test_a_years_price(styles, named, year, expected):
    assert str(price(agreement(**named), styles, year)) == expected


def test_a_rise_is_compounded_exactly_and_rounded_once():
    """1.035 to the 30th is 2.80679370…; rounding each year to the cent on the way would give 336.81."""
    told = agreement(rise_percent="3.5")
    assert str(price(told, ["wall"], 30)) == "336.82"
    rounded = money("120.00")
    for _ in range(30):
        rounded = (rounded * money("1.035")).quantize(money("0.01"))
    assert str(rounded) == "336.81"


def test_only_heads_in_service_on_the_bills_day_count():
    """A head came on May 1 and one went on August 1; a pump and the outdoor unit do not count."""
    units = (
        unit("H1"),
        unit("H2", joined_on="2026-05-01"),
        unit("H3", left_on="2026-08-01"),
        unit("O1", "outdoor"),
        unit("P1", "pump"),
    )
    told = agreement("2025-03-31", billing="monthly", renews="by itself")
    found = {on: amount for on, amount, _ in bills(told, "2026-04-01", "2027-03-30", units=units)}
    assert found["2026-04-30"] == "16.66"  # 200 a year
    assert found["2026-05-31"] == "23.33"  # 280 a year
    assert found["2026-07-31"] == "23.33"
    assert found["2026-08-31"] == "16.66"
    assert found["2027-02-28"] == "16.74"  # today's heads, and the odd cents of 200.00


def test_of_days_to_come_todays_heads_count():
    """A head that will go after today counts, one that is yet to come does not; one that stands idle is in service."""
    units = (
        unit("H1"),
        unit("H2", left_on="2027-01-01"),
        unit("H3", idle=("2026-10-01", "2027-01-01")),
        unit("H4", joined_on="2027-01-01"),
    )
    assert revenue.styles_on(units, day("2027-03-01"), today=day(TODAY)) == ("wall", "wall", "wall")
    assert len(revenue.styles_on(units, day("2026-09-30"), today=day(TODAY))) == 3


# ------------------------------------------------------------------------------------------------- bills, worked by hand


def test_upfront_on_the_first_day_of_each_agreement_year():
    told = agreement("2025-03-01", months=24, rise_percent="10")
    assert bills(told, "2025-01-01", "2027-02-28") == [("2025-03-01", "200.00", 0), ("2026-03-01", "220.00", 0)]


def test_monthly_a_twelfth_with_the_odd_cents_on_the_years_last():
    """200 a year: 16.66 eleven times, and 16.74."""
    found = bills(agreement("2026-03-01", billing="monthly"), "2026-03-01", "2027-02-28")
    assert [amount for _, amount, _ in found] == ["16.66"] * 11 + ["16.74"]
    assert sum(Decimal(amount) for _, amount, _ in found) == 200


def test_a_start_on_the_31st_is_billed_on_the_last_day_of_short_months():
    """And comes back to the 31st. A plain monthly recurrence (RFC 5545, RR-14) would leave five months out."""
    found = bills(agreement("2024-01-31", billing="monthly"), "2024-01-31", "2025-01-30")
    assert [on for on, _, _ in found] == [
        "2024-01-31", "2024-02-29", "2024-03-31", "2024-04-30", "2024-05-31", "2024-06-30",
        "2024-07-31", "2024-08-31", "2024-09-30", "2024-10-31", "2024-11-30", "2024-12-31",
    ]  # fmt: skip
    plain = [str(one.date()) for one in rrule(MONTHLY, dtstart=day("2024-01-31"), count=7)]
    assert plain == ["2024-01-31", "2024-03-31", "2024-05-31", "2024-07-31", "2024-08-31", "2024-10-31", "2024-12-31"]


@pytest.mark.parametrize(
    "rule",
    [
        pytest.param({"bymonthday": -1}, id="RR-17"),
        pytest.param({"bymonthday": (28, 29, 30, 31), "bysetpos": -1}, id="RR-23"),
    ],
)
def test_it_is_the_recurrence_that_rfc_5545_gives_for_a_months_last_day(rule):
    found = bills(agreement("2024-01-31", billing="monthly"), "2024-01-31", "2024-06-30")
    assert [on for on, _, _ in found] == [
        str(one.date()) for one in rrule(MONTHLY, dtstart=day("2024-01-31"), count=6, **rule)
    ]


def test_the_fourteenth_year_is_billed_like_the_first():
    told = agreement("2013-03-31", billing="monthly")
    assert [on for on, _, _ in bills(told, "2026-03-30", "2026-06-30")] == [
        "2026-03-31",
        "2026-04-30",
        "2026-05-31",
        "2026-06-30",
    ]
    assert told.year_at(day("2026-03-30")).index == 12
    assert told.year_at(day("2026-03-31")).index == 13
    assert told.renewal_on(day(TODAY)) == day("2027-03-31")


def test_skipping_back_from_a_day_that_is_not_there():
    """RR-22: December 31 monthly, skipping backward (RFC 7529)."""
    heads = (unit("H1", installed_on=None),)
    found = bills(agreement("2014-12-31", billing="monthly"), "2014-12-31", "2015-03-31", units=heads)
    assert [on for on, _, _ in found] == ["2014-12-31", "2015-01-31", "2015-02-28", "2015-03-31"]


def test_a_leap_day_comes_back_in_leap_years():
    """February 29, 2024, renewed by itself: terms begin on February 28, and on the 29th again in 2028 (RR-15 would skip three)."""
    found = bills(agreement("2024-02-29"), "2024-01-01", "2028-12-31")
    assert [on for on, _, _ in found] == ["2024-02-29", "2025-02-28", "2026-02-28", "2027-02-28", "2028-02-29"]


def test_a_renewal_inside_the_months_ahead_with_rise_and_rate():
    """Term to February 28, 2027, billed monthly: three bills are agreed, the rest hang on one renewal and count 0.85 of 17.16."""
    told = agreement("2026-03-01", billing="monthly", rise_percent="3")
    found = bills(told, "2026-12-01", "2027-05-31")
    assert found == [
        ("2026-12-01", "16.66", 0),
        ("2027-01-01", "16.66", 0),
        ("2027-02-01", "16.74", 0),
        ("2027-03-01", "17.16", 1),
        ("2027-04-01", "17.16", 1),
        ("2027-05-01", "17.16", 1),
    ]
    span = Span(day("2026-12-01"), day("2027-05-31"))
    billed = revenue.bills(told, TWO_WALL, SHEET, span=span, today=day(TODAY))
    months = revenue.bands(span, billed, (), rate=money("0.85"))
    assert [(one.first.month, str(one.contracted), str(one.renewals)) for one in months] == [
        (12, "16.66", "0.00"),
        (1, "16.66", "0.00"),
        (2, "16.74", "0.00"),
        (3, "0.00", "14.59"),
        (4, "0.00", "14.59"),
        (5, "0.00", "14.59"),
    ]


def test_two_renewals_count_with_the_rate_twice():
    """200, then 210 at 0.8 is 168, then 220.50 at 0.64 is 141.12."""
    told = agreement("2026-12-01", rise_percent="5")
    span = Span(day("2026-11-24"), day("2028-12-31"))
    found = revenue.bills(told, TWO_WALL, SHEET, span=span, today=day(TODAY))
    assert [(str(bill.on), str(bill.amount), bill.renewals, bill.band) for bill in found] == [
        ("2026-12-01", "200.00", 0, Band.CONTRACTED),
        ("2027-12-01", "210.00", 1, Band.RENEWALS),
        ("2028-12-01", "220.50", 2, Band.RENEWALS),
    ]
    months = {one.first: one for one in revenue.bands(span, found, (), rate=money("0.8"))}
    assert str(months[day("2026-12-01")].contracted) == "200.00"
    assert str(months[day("2027-12-01")].renewals) == "168.00"
    assert str(months[day("2028-12-01")].renewals) == "141.12"


def test_each_visit_is_billed_up_to_those_sold():
    """200 for three visits: 66.66, 66.66, 66.68; the fourth of the year is beyond; the next year begins anew."""
    told = agreement("2026-03-01", 3, first_head="40.00", further_head="26.67", billing="per visit", months=24)
    assert str(price(told, ["wall", "wall"], 0)) == "200.01"
    told = agreement("2026-03-01", 3, first_head="66.67", billing="per visit", months=24)
    visits = ("2026-04-01", "2026-08-01", "2026-12-01", "2027-02-28", "2027-03-01")
    one_head = (unit("H1"),)
    assert bills(told, "2026-03-01", "2028-02-29", units=one_head, visits=visits) == [
        ("2026-04-01", "66.67", 0),
        ("2026-08-01", "66.67", 0),
        ("2026-12-01", "66.67", 0),
        ("2027-03-01", "66.67", 0),
    ]
    assert revenue.beyond(told, trips(*visits)) == (Trip(day("2027-02-28"), money("150.00")),)


def test_the_odd_cents_of_visits_are_on_the_years_last():
    told = agreement("2026-03-01", 3, first_head="33.34", billing="per visit", discount_percent="1")
    # 3 × 33.34 less 1 % is 99.0198: 99.02 in three is 33.00, 33.00, 33.02.
    visits = ("2026-04-01", "2026-08-01", "2026-12-01")
    found = bills(told, "2026-03-01", "2027-02-28", units=(unit("H1"),), visits=visits)
    assert [amount for _, amount, _ in found] == ["33.00", "33.00", "33.02"]


def test_a_visit_made_before_the_months_ahead_counts_among_those_sold():
    told = agreement("2026-03-01", 2, billing="per visit")
    visits = ("2026-05-01", "2026-12-10", "2027-01-10")
    assert bills(told, "2026-11-24", "2027-02-28", visits=visits) == [("2026-12-10", "200.00", 0)]
    assert [trip.on for trip in revenue.beyond(told, trips(*visits))] == [day("2027-01-10")]


# ---------------------------------------------------------------------------------------------- terms, renewals, the end


@pytest.mark.parametrize(
    ("named", "today", "expected"),
    [
        pytest.param({"renews": "by itself"}, "2026-11-24", "2027-03-01", id="the first term"),
        pytest.param({"renews": "by itself"}, "2027-02-28", "2027-03-01", id="its last day"),
        pytest.param({"renews": "by itself"}, "2027-03-01", "2028-03-01", id="renewed by itself that day"),
        pytest.param({"renews": "by asking"}, "2027-03-01", "2027-03-01", id="nobody has asked yet"),
        pytest.param(
            {"renews": "by asking", "terms_agreed": 3}, "2027-03-01", "2029-03-01", id="asked and agreed twice"
        ),
        pytest.param({"renews": "no"}, "2030-01-01", "2027-03-01", id="never"),
        pytest.param({"months": 15}, "2026-11-24", "2027-06-01", id="fifteen months"),
    ],
)
def test_when_the_next_term_would_begin(named, today, expected):
    assert agreement("2026-03-01", **named).renewal_on(day(today)) == day(expected)


def test_terms_are_counted_from_the_first_start():
    told = agreement("2024-08-31", months=6)
    assert [str(told.renewal_on(day(today))) for today in ("2024-08-31", "2025-02-28", "2025-08-31")] == [
        "2025-02-28",
        "2025-08-31",
        "2026-02-28",
    ]


def test_what_renewed_by_itself_already_is_agreed():
    told = agreement("2023-03-01", rise_percent="10")
    assert bills(told, "2025-03-01", "2027-03-01") == [
        ("2025-03-01", "242.00", 0),
        ("2026-03-01", "266.20", 0),
        ("2027-03-01", "292.82", 1),
    ]


@pytest.mark.parametrize(
    ("named", "expected"),
    [
        ({"renews": "by itself"}, ["2026-12-01", "2027-12-01"]),
        ({"renews": "by asking"}, ["2026-12-01", "2027-12-01"]),
        ({"renews": "no"}, ["2026-12-01"]),
        ({"renews": "by itself", "ended_on": dt.date(2027, 12, 1)}, ["2026-12-01"]),
        ({"renews": "by itself", "ended_on": dt.date(2027, 12, 2)}, ["2026-12-01", "2027-12-01"]),
    ],
)
def test_what_does_not_renew_or_has_ended_is_not_billed(named, expected):
    assert [on for on, _, _ in bills(agreement("2026-12-01", **named), "2026-11-24", "2028-11-30")] == expected


@pytest.mark.parametrize(
    ("renews", "on", "in_force", "may_hold"),
    [
        ("by itself", "2026-02-28", False, False),
        ("by itself", "2026-03-01", True, True),
        ("by itself", "2029-01-01", True, True),
        ("by asking", "2027-02-28", True, True),
        ("by asking", "2027-03-01", False, True),
        ("no", "2027-02-28", True, True),
        ("no", "2027-03-01", False, False),
    ],
)
def test_whether_it_covers_its_site(renews, on, in_force, may_hold):
    told = agreement("2026-03-01", renews=renews)
    assert told.in_force(day(on), today=day(TODAY)) == in_force
    assert told.may_hold(day(on)) == may_hold


def test_what_is_on_offer_is_what_no_agreement_would_cover():
    told = agreement("2026-12-01", renews="no")
    visits = trips("2026-11-30", "2026-12-01", "2027-11-30", "2027-12-01")
    assert [trip.on.isoformat() for trip in revenue.offers([told], visits)] == ["2026-11-30", "2027-12-01"]
    assert revenue.offers([agreement("2026-01-01", renews="by asking")], visits) == ()
    assert revenue.offers([], visits) == tuple(visits)


# ------------------------------------------------------------------------------------------------------ the months ahead


@pytest.mark.parametrize(
    ("renewed", "came_up", "expected"),
    [
        (15, 19, (money("0.8"), False)),
        (15, 20, (money("0.75"), True)),
        (0, 0, (money("0.8"), False)),
        (40, 40, (1, True)),
    ],
)
def test_the_renewal_rate_is_measured_where_enough_came_up(renewed, came_up, expected):
    found = revenue.renewal_rate(renewed=renewed, came_up=came_up, owners=money("0.8"))
    assert (found.rate, found.measured) == expected


@pytest.mark.parametrize(
    ("first", "months", "last"),
    [
        ("2026-11-24", 1, "2026-11-30"),
        ("2026-11-24", 12, "2027-10-31"),
        ("2026-12-01", 36, "2029-11-30"),
        ("2028-01-31", 2, "2028-02-29"),
    ],
)
def test_the_months_ahead_begin_with_the_month_of_the_first_day(first, months, last):
    assert revenue.months_ahead(day(first), months) == Span(day(first), day(last))


def test_the_three_bands_stay_apart():
    span = revenue.months_ahead(day("2026-11-24"), 2)
    billed = [
        Bill(day("2026-11-23"), money("1000.00")),
        Bill(day("2026-11-24"), money("10.00")),
        Bill(day("2026-12-31"), money("20.00")),
        Bill(day("2026-12-31"), money("33.33"), renewals=1),
        Bill(day("2027-01-01"), money("1000.00")),
    ]
    assert revenue.bands(span, billed, trips("2026-12-05", "2026-12-06", "2027-01-01"), rate=money("0.5")) == (
        Month(day("2026-11-01"), money("10.00"), money("0.00"), money("0.00")),
        Month(day("2026-12-01"), money("20.00"), money("16.67"), money("300.00")),
    )


@pytest.mark.parametrize(
    ("rate", "renewals"),
    [
        pytest.param("0", {0: "100.00", 1: "0.00", 2: "0.00"}, id="nobody renews: what is agreed stands all the same"),
        pytest.param("0.01", {0: "100.00", 1: "1.00", 2: "0.01"}, id="hardly anybody"),
        pytest.param("1", {0: "100.00", 1: "100.00", 2: "100.00"}, id="everybody"),
    ],
)
def test_a_rate_at_its_ends_leaves_what_is_agreed_alone(rate, renewals):
    span = revenue.months_ahead(day("2026-12-01"), 1)
    for number, amount in renewals.items():
        (month,) = revenue.bands(
            span, [Bill(day("2026-12-01"), money("100.00"), renewals=number)], (), rate=money(rate)
        )
        sums = (month.contracted, month.renewals)
        assert sums == ((money("0.00"), money(amount)) if number else (money(amount), money("0.00")))


@given(st.decimals(0, 1, places=3), st.integers(0, 5))
def test_one_more_renewal_never_makes_money_likelier(rate, renewals):
    chance = revenue.renewal_chance(rate, renewals)
    assert 0 <= revenue.renewal_chance(rate, renewals + 1) <= chance <= 1


def test_a_month_is_rounded_once():
    """Three bills of 0.33 at a half are 0.495: 0.50, where rounding each would give 0.51."""
    span = revenue.months_ahead(day("2026-12-01"), 1)
    billed = [Bill(day("2026-12-01"), money("0.33"), renewals=1)] * 3
    assert revenue.bands(span, billed, (), rate=money("0.5"))[0].renewals == money("0.50")


# ---------------------------------------------------------------------------------------------------------- every cent, once

AGREEMENTS = st.builds(
    Agreement,
    start_on=st.dates(day("2020-01-01"), day("2026-11-24")),
    months=st.sampled_from([1, 6, 12, 15, 24, 36]),
    visits_per_year=st.integers(1, 12),
    first_head=st.decimals(0, 500, places=2),
    further_head=st.decimals(0, 500, places=2),
    discount_percent=st.decimals(0, 100, places=2),
    rise_percent=st.decimals(0, 20, places=2),
    billing=st.sampled_from(BILLING),
    renews=st.sampled_from(["by itself", "by asking"]),
)


@given(
    told=AGREEMENTS, styles=st.lists(st.sampled_from(["wall", "cassette", "floor"]), max_size=8), year=st.integers(0, 5)
)
def test_every_cent_of_a_years_price_is_billed_once(told, styles, year):
    """Whatever the billing: over each agreement year the bills come to that year's price, none of them below nothing."""
    units = tuple(unit(f"H{place}", style=style, installed_on=None) for place, style in enumerate(styles))
    of = told.year_at(add_months(told.start_on, 12 * year))
    length = (of.last - of.first).days
    visits = [of.first + dt.timedelta(days=number * length // 14) for number in range(of.visits + 2)]
    found = revenue.bills(told, units, SHEET, span=of.days, today=day(TODAY), visits=visits)
    assert sum(bill.amount for bill in found) == revenue.price_of_year(told, styles, SHEET, of)
    assert all(bill.amount >= 0 and bill.amount == round(bill.amount, 2) for bill in found)


@given(told=AGREEMENTS, cut=st.integers(0, 1500))
def test_a_span_cut_in_two_has_the_same_bills(told, cut):
    first, last = day("2024-06-15"), day("2029-06-14")
    middle = first + dt.timedelta(days=cut)
    visits = [first + dt.timedelta(days=number * 30) for number in range(60)]

    def found(begin: dt.date, end: dt.date) -> tuple[Bill, ...]:
        return revenue.bills(told, TWO_WALL, SHEET, span=Span(begin, end), today=day(TODAY), visits=visits)

    assert found(first, middle) + found(middle + revenue.DAY, last) == found(first, last)


@given(told=AGREEMENTS, styles=st.lists(st.sampled_from(["wall", "cassette", "floor"]), min_size=1, max_size=8))
def test_one_more_head_never_costs_less(told, styles):
    assert price(told, styles[1:], 1) <= price(told, styles, 1)


@given(number=st.integers(1, 60), cents=st.integers(0, 10_000_00))
def test_shares_come_to_the_whole(number, cents):
    price = Decimal(cents) / 100
    shares = [revenue.share_of(price, number, place) for place in range(number)]
    assert sum(shares) == price
    assert len(set(shares[:-1])) <= 1
    assert shares[-1] >= shares[0]


@pytest.mark.parametrize(
    ("named", "today", "expected"),
    [
        pytest.param({}, "2027-02-28", (0, 0), id="the day before its first term is over"),
        pytest.param({}, "2027-03-01", (1, 1), id="the day on which it renewed by itself"),
        pytest.param({}, "2029-03-01", (3, 3), id="three times"),
        pytest.param({"renews": "by asking"}, "2029-03-01", (0, 1), id="nobody asked: it came up once"),
        pytest.param({"renews": "by asking", "terms_agreed": 2}, "2027-03-01", (1, 1), id="asked and agreed"),
        pytest.param({"renews": "by asking", "terms_agreed": 2}, "2028-03-01", (1, 2), id="and then no more"),
        pytest.param({"renews": "no"}, "2029-03-01", (0, 0), id="it was never to renew"),
        pytest.param({"ended_on": day("2027-02-28")}, "2029-03-01", (0, 0), id="ended before its term was over"),
        pytest.param({"ended_on": day("2027-03-01")}, "2029-03-01", (0, 1), id="ended with its term"),
        pytest.param({"ended_on": day("2027-03-02")}, "2029-03-01", (1, 1), id="ended in the term after"),
    ],
)
def test_how_often_it_came_up_and_was_renewed(named, today, expected):
    assert revenue.came_up(agreement(**named), today=day(today)) == expected


@pytest.mark.parametrize(
    ("on", "named", "expected"),
    [
        ("2027-02-28", {}, 0),
        ("2027-03-01", {}, 1),
        ("2028-03-01", {}, 2),
        ("2027-03-01", {"terms_agreed": 2}, 0),
    ],
)
def test_how_many_renewals_a_day_hangs_on(on, named, expected):
    assert revenue.renewals_before(agreement(**named), day(on), today=day(TODAY)) == expected
