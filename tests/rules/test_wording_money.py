"""Is it English, and exact, for everything that claims, money, readings and failures can say?"""

import datetime as dt
import re
from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest

from fleet.rules import survival, weibull
from fleet.rules.claims import Claim as ClaimFacts
from fleet.rules.claims import Refusal, State, Step, Why, refusals
from fleet.rules.clocks import Clock, ClockKind, ClockState
from fleet.rules.missed_registrations import Missed
from fleet.rules.money import Age, Credit, Item, Line, Standing
from fleet.rules.readings import PLATE, LeakRate, Measured, OutOfBand, Warn, warnings
from fleet.rules.wants import Wanted, Who
from fleet.rules.wording import claims, failing, money, readings
from tests.facts import day

D = Decimal


def is_english(text):
    """One line with a capital or a figure first and a full stop, and nothing that a program left in it."""
    assert re.fullmatch(r"[A-Z$\d\N{MINUS SIGN}][^\n]*[^\s.]\.", text), text
    assert not re.search(r"None|  | [,.;:]|\b\w+_\w+\b|datetime|[{}\[\]<>]|\.;|,,|\b(?i:(\w+) \1)\b", text), text


# --------------------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("refusal", "text"),
    [
        (
            Refusal(Why.NO_SUCH_STEP, State.GATHERING, State.CREDITED),
            "A claim at “not filed yet” cannot go to “credited”, only to “filed” or “withdrawn”.",
        ),
        (
            Refusal(Why.NO_SUCH_STEP, State.FILED, State.CREDITED),
            "A claim at “filed” cannot go to “credited”, only to “more information needed”, “approved”, “partly approved”, “denied” or “withdrawn”.",
        ),
        (
            Refusal(Why.NO_SUCH_STEP, State.WITHDRAWN, State.FILED),
            "A claim at “withdrawn” cannot go to “filed”: it is final.",
        ),
        (Refusal(Why.REASON_WANTED, State.DENIED, State.FILED), "Say what has changed since it was denied."),
        (Refusal(Why.REASON_WANTED, State.CREDITED, State.FILED), "Say what the payer corrected."),
        (Refusal(Why.REASON_WANTED, State.FILED, State.DENIED), "Say why the payer denied it."),
        (Refusal(Why.REASON_WANTED, State.APPROVED, State.CREDITED), "Say why the payer pays less than it approved."),
        (Refusal(Why.AMOUNT_WANTED, State.GATHERING, State.FILED), "Say how much you are claiming."),
        (Refusal(Why.AMOUNT_WANTED, State.APPROVED, State.CREDITED), "Say how much was credited."),
        (Refusal(Why.AMOUNT_OUT_OF_PLACE, amount=D("5")), "This step has no amount; leave $5.00 out."),
        (
            Refusal(Why.CORRECTION_WANTED),
            "Only the payer’s own correction reopens a credited claim: check the box if that is what happened.",
        ),
        (Refusal(Why.NOT_AN_AMOUNT), "Enter an amount above zero, in dollars and cents, such as 320.00."),
        (
            Refusal(Why.OVER_SPENT, amount=D("1250.01"), limit=D("1250.00")),
            "$1,250.01 is more than the $1,250.00 that was spent and has not been credited yet.",
        ),
        (
            Refusal(Why.LESS_THAN_ASKED, amount=D("499.99"), limit=D("500")),
            "$499.99 is less than the $500.00 claimed; record a partial approval instead.",
        ),
        (
            Refusal(Why.NOT_LESS_THAN_ASKED, amount=D("500"), limit=D("500")),
            "$500.00 is not less than the $500.00 claimed; record an approval in full instead.",
        ),
        (
            Refusal(Why.NOTHING_PROMISED),
            "By the terms on file this payer does not cover this failure; say why you are claiming anyway.",
        ),
        (
            Refusal(Why.LATER_THAN_TODAY, what="part_back_on", day=day("2024-06-02")),
            "The day the old part was returned, June 2, 2024, is later than today.",
        ),
        (
            Refusal(
                Why.OUT_OF_ORDER, what="filed_on", day=day("2024-03-11"), other="form_on", other_day=day("2024-03-12")
            ),
            "The day it was filed, March 11, 2024, is before the day the claim form was filled out, March 12, 2024.",
        ),
    ],
)
def test_why_a_step_is_refused(refusal, text):
    assert claims.refusal(refusal) == text
    is_english(text)


@pytest.mark.parametrize(("state", "to"), list(product(State, State)), ids=str)
def test_every_refusal_of_every_step_is_said(state, to):
    """With nothing given, with nonsense given, and on a day that cannot be."""
    facts = ClaimFacts(state, day("2024-03-08"), day("2024-03-20"), D(500), D(500), D(0), D(650))
    for amount, on in product((None, D(-1), D(100), D(501), D(9000)), ("2024-03-01", "2024-04-01", "2024-05-01")):
        for one in refusals(facts, Step(to, day(on), amount), today=day("2024-04-01")):
            is_english(claims.refusal(one))


# ----------------------------------------------------------------------------------------------------------- clocks


def clock(kind, state, last=None, done_on=None, counted_from="repaired_on"):
    return Clock(kind, state, last and day(last), done_on and day(done_on), counted_from)


FILE, BACK, FORM, APPROVAL = ClockKind.FILE, ClockKind.PART_BACK, ClockKind.FORM, ClockKind.APPROVAL


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (clock(FILE, ClockState.RUNNING, "2024-04-22"), "File the claim by April 22, 2024: 21 days left."),
        (clock(FILE, ClockState.RUNNING, "2024-04-02"), "File the claim by April 2, 2024: 1 day left."),
        (clock(FILE, ClockState.RUNNING, "2024-04-01"), "File the claim by April 1, 2024: today is the last day."),
        (
            clock(FILE, ClockState.MISSED, "2024-03-31"),
            "The claim should have been filed by March 31, 2024, 1 day ago.",
        ),
        (
            clock(FILE, ClockState.WAITING),
            "File the claim: the deadline counts from the day it was repaired, which is not on file.",
        ),
        (
            clock(FILE, ClockState.KEPT, "2024-04-22", "2024-04-20"),
            "The claim was filed on April 20, 2024, 2 days before the last day.",
        ),
        (
            clock(FILE, ClockState.KEPT, "2024-04-22", "2024-04-22"),
            "The claim was filed on April 22, 2024, on the last day.",
        ),
        (clock(FILE, ClockState.KEPT, None, "2024-04-22"), "The claim was filed on April 22, 2024, in time."),
        (
            clock(FILE, ClockState.MISSED, "2024-04-22", "2024-04-23"),
            "The claim was filed on April 23, 2024, 1 day late.",
        ),
        (clock(BACK, ClockState.STOPPED, "2024-04-22"), "The old part was not returned; the claim is closed."),
        (
            clock(BACK, ClockState.MISSED, "2024-03-22"),
            "The old part should have been returned by March 22, 2024, 10 days ago.",
        ),
        (clock(FORM, ClockState.FIRST), "Fill out the claim form before the new part is picked up."),
        (clock(APPROVAL, ClockState.FIRST), "Get prior approval before the repair."),
        (
            clock(APPROVAL, ClockState.MISSED, "2024-03-30"),
            "Prior approval should have been received by March 30, 2024, 2 days ago.",
        ),
    ],
)
def test_how_a_clock_stands(one, text):
    assert claims.clock(one, asked=day("2024-04-01")) == text
    is_english(text)


@pytest.mark.parametrize(
    ("kind", "state"),
    [
        (kind, state)
        for kind, state in product(ClockKind, ClockState)
        if state is not ClockState.FIRST or kind in (FORM, APPROVAL)  # only these come before something else
    ],
)
@pytest.mark.parametrize("last", [None, "2024-03-20", "2024-04-01"])
@pytest.mark.parametrize("done_on", [None, "2024-03-25"])
def test_every_clock_is_said(kind, state, last, done_on):
    one = clock(kind, state, last, done_on)
    is_english(claims.clock(one, asked=day("2024-04-01")))
    is_english(claims.clock_line(one) + ".")


def test_a_clock_in_a_calendar():
    assert (
        claims.clock_line(clock(FORM, ClockState.FIRST)) == "Fill out the claim form before the new part is picked up"
    )
    assert claims.clock_line(clock(FILE, ClockState.RUNNING, "2024-04-22")) == "File the claim by April 22, 2024"
    assert claims.clock_line(clock(FILE, ClockState.WAITING)) == "File the claim"


def test_what_is_wanted():
    assert (
        claims.want(Wanted("till receipt", there=True, who=Who.CUSTOMER, asked_by_payer=True))
        == "On hand: till receipt."
    )
    for who in Who:
        text = claims.want(Wanted("readings", there=False, who=who, asked_by_payer=True))
        assert text == f"Missing: readings; ask the {who}."


# ------------------------------------------------------------------------------------------------------------ money


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        ("0", "$0.00"),
        ("0.00", "$0.00"),
        ("5", "$5.00"),
        ("5E+2", "$500.00"),
        ("1202.65", "$1,202.65"),
        ("-35.00", "\N{MINUS SIGN}$35.00"),
        ("11.02500", "$11.025"),
    ],
)
def test_an_amount(amount, text):
    assert money.dollars(D(amount)) == text


def line(item, standing=Standing.COUNTS, *factors, what=""):
    return Line(item, "", standing, tuple(map(D, factors)), what)


COUNTS, PERHAPS = Standing.COUNTS, Standing.PERHAPS


@pytest.mark.parametrize(
    ("one", "text"),
    [
        (line(Item.PARTS, COUNTS, "640.00"), "Parts: $640.00."),
        (line(Item.CALL, COUNTS, "72.00"), "Service call: $72.00."),
        (
            line(Item.HOURS, COUNTS, "4.5", "88.00", what="compressor"),
            "Hours for the compressor: 4.5 × $88.00 = $396.00.",
        ),
        (
            line(Item.HOURS, COUNTS, "0.125", "88.20", what="other"),
            "Hours for any other component: 0.125 × $88.20 = $11.025.",
        ),
        (
            line(Item.REFRIGERANT, COUNTS, "3.25", "9.00", what="R-410A"),
            "Refrigerant R-410A: 3.25 lb × $9.00 = $29.25.",
        ),
        (line(Item.FEE, COUNTS, "35.00"), "Less the claim fee: \N{MINUS SIGN}$35.00."),
        (line(Item.PARTS, PERHAPS, "640.00"), "Parts: $640.00, if what is still open is proven."),
        (line(Item.FREIGHT, Standing.NOT_COVERED), "Freight: not covered."),
        (line(Item.PARTS, Standing.NOT_RECORDED), "Parts: the cost is not on file."),
        (line(Item.LABOR, Standing.NOT_RECORDED), "Labor: the labor time is not on file."),
        (line(Item.RECLAIM, Standing.NOT_DONE), "Reclaiming refrigerant: no recovery is recorded."),
        (
            line(Item.HOURS, Standing.NOT_IN_ALLOWANCE, what="sensor"),
            "Hours for the sensor: not in this payer’s allowance.",
        ),
    ],
)
def test_a_line_shows_its_arithmetic(one, text):
    assert money.credit_line(one) == text
    is_english(text)


@pytest.mark.parametrize(
    ("total", "possible", "text"),
    [
        ("65.00", "65.00", "Expected: $65.00."),
        ("65.00", "533.00", "Expected: $65.00; $533.00 if what is still open is proven."),
        ("-12.60", "-12.60", "Expected: \N{MINUS SIGN}$12.60."),
    ],
)
def test_the_total(total, possible, text):
    assert money.credit(Credit((), D(total), D(possible))) == text


def test_bands_of_days():
    assert [money.age(Age(first, last, 0, D(0))) for first, last in ((0, 10), (11, 30), (31, 60), (61, None))] == [
        "0 to 10 days",
        "11 to 30 days",
        "31 to 60 days",
        "61 days or more",
    ]


@pytest.mark.parametrize(
    ("registered_on", "text"),
    [
        (
            None,
            "The manufacturer would have paid $563.00 for parts and labor: never registered; the last day to register was June 13, 2015.",
        ),
        (
            "2015-06-25",
            "The manufacturer would have paid $563.00 for parts and labor: registered on June 25, 2015; the last day to register was June 13, 2015.",
        ),
    ],
)
def test_what_a_missed_registration_cost(registered_on, text):
    found = Missed(
        "paper",
        "maker",
        day("2015-06-13"),
        registered_on and day(registered_on),
        ("parts", "labor"),
        D(563),
    )
    assert money.missed(found) == text
    is_english(text)


# --------------------------------------------------------------------------------------------------------- readings


@pytest.mark.parametrize(
    ("reading", "value", "text"),
    [
        ("indoor relative humidity", "35", "35% is under 40%: too dry (common practice)."),
        (
            "indoor relative humidity",
            "71.50",
            "71.5% is over 60%: mold can grow (US EPA, mold course, chapter 2, as quoted elsewhere and common practice).",
        ),
        (
            "vacuum reached",
            "800",
            "800 micron is over 500 micron: not a deep enough vacuum (manufacturers' installation manuals).",
        ),
        ("amps", "12.1", "12.1 A is over the 12 A on the nameplate (the unit's nameplate)."),
    ],
)
def test_what_a_reading_warns_of(reading, value, text):
    (only,) = warnings(reading, D(value), Measured(plate_amps=D("12.0")))
    assert readings.out_of_band(only) == text
    is_english(text)


@pytest.mark.parametrize("code", list(Warn))
def test_every_warning_has_its_sentence(code):
    is_english(readings.out_of_band(OutOfBand(code, D("1.50"), D("1.20"), (PLATE,), "")))


def test_a_leak_rate():
    found = LeakRate(day("2025-03-01"), D("1.00"), 212, Fraction(365, 212) * 25, Fraction(75, 2))
    text = readings.leak_rate(found)
    assert (
        text
        == "1 lb added on March 1, 2025, over 212 days: 43.0% of the full charge a year; 37.5% in the last 365 days."
    )
    is_english(text)


def test_percent_goes_up_at_the_half():
    """0.25% is 0.3% to one place."""
    found = LeakRate(day("2025-03-01"), D("0.01"), 365, Fraction(1, 4), Fraction(1, 4))
    assert "365 days: 0.3% of the full charge" in readings.leak_rate(found)


def test_what_stands_beside_the_fields():
    is_english(readings.NOT_A_CHARGING_METHOD)


# ---------------------------------------------------------------------------------------------------------- failing


def test_a_rate():
    """12 in 344,440 hours, taken as days: 3.483916e-05, 1.800190e-05 and 6.085700e-05 times 36,525."""
    text = failing.rate(survival.rate(12, 344_440))
    assert text == "12 failures in 943.0 unit-years: 1.3 in 100 unit-years; with 95% confidence from 0.7 to 2.2."
    is_english(text)


def test_one_failure_and_none():
    assert failing.rate(survival.rate(1, 36_525)).startswith("1 failure in 100.0 unit-years: 1.0 in 100")
    none = failing.rate(survival.rate(0, 36_525))
    assert none == "No failures in 100.0 unit-years; with 95% confidence fewer than 3.0 in 100 unit-years."


@pytest.mark.parametrize("convention", survival.Convention)
def test_every_convention_has_a_name(convention):
    is_english(failing.convention(convention))


@pytest.mark.parametrize(
    ("shape", "told"),
    [(2.1, "failures grow with age"), (0.6, "failures fall with age"), (1.05, "age tells little")],
)
def test_a_fit(shape, told):
    found = weibull.Weibull(shape, 3652.5, 0.1, 400.0, -50.0, 12, 70)
    text = failing.fit(found, failures=12)
    assert text.endswith(f"scale 10.0 years: {told}.")
    is_english(text)


@pytest.mark.parametrize(
    ("why", "text"),
    [
        (weibull.NoFit.TOO_FEW, "Too few failures for a fit: 3 of the 5 that it takes."),
        (weibull.NoFit.NO_SPREAD, "No fit: the ages at failure lie too close together."),
    ],
)
def test_no_fit(why, text):
    assert failing.fit(why, failures=3) == text


def test_days_are_never_written_so_that_they_can_be_misread():
    assert str(dt.date(2024, 3, 8)) not in claims.clock(
        clock(FILE, ClockState.RUNNING, "2024-03-08"), asked=day("2024-03-01")
    )
