"""What does a failure cost, what should come back, what is out, and what did a missed registration cost? All worked by hand."""

from decimal import Decimal
from fractions import Fraction

import pytest

from fleet.rules.claims import State
from fleet.rules.findings import Answer, Result
from fleet.rules.missed_registrations import missed
from fleet.rules.money import (
    Account,
    Item,
    Job,
    Standing,
    cents,
    cost,
    costs,
    expected,
    fronted,
    labor_shortfall,
    most,
    recoveries,
)
from fleet.rules.terms import ClaimTerms
from tests.facts import day, holding, months, pays, registration, site, terms, unit

R = Result
ALL = ("parts", "labor", "refrigerant", "freight")
ALLOWANCE = {
    "call": "72.00",
    "hourly": "88.00",
    "hours": {"compressor": "4.5", "indoor coil": "2.5", "*": "1.25"},
    "refrigerant_per_lb": {"R-410A": "9.00", "R-32": "14.00"},
    "reclaim": "48.00",
    "handling": [{"below": "20", "pays": "6.00"}, {"below": "80", "pays": "18.00"}, {"pays": "30.00"}],
}


def paper(allowance=ALLOWANCE, fee=None, **changed):
    """A paper with an allowance: that of above with some of its keys changed, or taken out by None."""
    rules = {key: value for key, value in ((allowance or {}) | changed).items() if value is not None}
    told = {"allowance": rules} if allowance is not None else {}
    return terms(pays(months(60)), claims={"fee": fee} if fee else {}, **told)


def answered(*covered, **others):
    """One answer for each kind of cost: covered where it is named, else what is said of it, else not."""
    return [
        Answer("paper", "maker", kind, R.COVERED if kind in covered else others.get(kind, R.NOT_COVERED), ())
        for kind in ALL
    ]


def job(
    component="compressor",
    *,
    parts=None,
    minutes=None,
    hourly="85.00",
    refrigerant=None,
    freight=None,
    added=(),
    recovered=False,
):
    return Job(
        component,
        parts and Decimal(parts),
        minutes,
        Decimal(hourly),
        refrigerant and Decimal(refrigerant),
        freight and Decimal(freight),
        tuple((name, Decimal(pounds)) for name, pounds in added),
        recovered,
    )


def credit(of, *covered, under=None, **told):
    return expected(under or paper(), answered(*covered), of, **told)


def shown(found):
    """The lines as (what for, whether it counts, the numbers, what they make)."""
    return [
        (str(line.item), str(line.standing), " x ".join(map(str, line.factors)), str(line.amount.normalize()))
        for line in found.lines
    ]


def totals(found):
    return str(found.total), str(found.possible)


# ----------------------------------------------------------------------------------------------------- what it cost


def test_what_a_job_cost_us():
    """150 minutes at 85.00 an hour are 212.50."""
    of = job(parts="640.00", minutes=150, refrigerant="41.10", freight="22.40")
    assert {kind: str(amount) for kind, amount in costs(of).items()} == {
        "parts": "640.00", "labor": "212.50", "refrigerant": "41.10", "freight": "22.40",
    }  # fmt: skip
    assert cost(of) == Decimal("916.00")


def test_what_nobody_recorded_counts_as_nothing():
    assert cost(job()) == 0


@pytest.mark.parametrize(
    ("minutes", "hourly", "expected_labor"),
    [
        pytest.param(20, "85.00", "28.33", id="28.333"),
        pytest.param(40, "85.00", "56.67", id="56.667"),
        pytest.param(1, "85.50", "1.43", id="1.425, half a cent up"),
        pytest.param(1, "85.49", "1.42", id="1.4248"),
        pytest.param(0, "85.00", "0.00", id="no time"),
    ],
)
def test_hours_are_rounded_once_half_up(minutes, hourly, expected_labor):
    assert str(costs(job(minutes=minutes, hourly=hourly))["labor"]) == expected_labor


@pytest.mark.parametrize(
    ("exact", "rounded"),
    [
        ("0.004", "0.00"),
        ("0.005", "0.01"),
        ("0.0149", "0.01"),
        ("0.015", "0.02"),
        ("0.025", "0.03"),
        ("-0.005", "-0.01"),
    ],
)
def test_to_the_cent_half_up(exact, rounded):
    """Not to the even cent: 0.025 is 0.03."""
    assert str(cents(Decimal(exact))) == rounded


# ------------------------------------------------------------------------------------------- expected: all of it


def test_everything_at_once_line_by_line():
    """640.00 + 72.00 + 4.5 x 88.00 + 3.25 x 9.00 + 48.00 + 30.00 + 22.40 - 35.00 = 1,202.65."""
    of = job(
        parts="640.00", minutes=300, refrigerant="41.10", freight="22.40", added=[("R-410A", "3.25")], recovered=True
    )
    found = credit(of, *ALL, under=paper(fee="35.00"))
    assert shown(found) == [
        ("parts", "counts", "640.00", "6.4E+2"),
        ("call", "counts", "72.00", "72"),
        ("hours", "counts", "4.5 x 88.00", "396"),
        ("refrigerant", "counts", "3.25 x 9.00", "29.25"),
        ("reclaim", "counts", "48.00", "48"),
        ("handling", "counts", "30.00", "3E+1"),
        ("freight", "counts", "22.40", "22.4"),
        ("fee", "counts", "35.00", "-35"),
    ]
    assert totals(found) == ("1202.65", "1202.65")


@pytest.mark.parametrize(
    ("covered", "total"),
    [
        pytest.param((), "0.00", id="nothing: and no fee"),
        pytest.param(("parts",), "635.00", id="640.00 + 30.00 - 35.00"),
        pytest.param(("labor",), "463.00", id="72.00 + 396.00 + 30.00 - 35.00"),
        pytest.param(("refrigerant",), "42.25", id="29.25 + 48.00 - 35.00"),
        pytest.param(("freight",), "-12.60", id="22.40 - 35.00: it would cost more than it brings"),
        pytest.param(("parts", "labor"), "1103.00", id="640.00 + 72.00 + 396.00 + 30.00 - 35.00"),
    ],
)
def test_each_kind_of_cost_only_where_it_is_covered(covered, total):
    of = job(
        parts="640.00", minutes=300, refrigerant="41.10", freight="22.40", added=[("R-410A", "3.25")], recovered=True
    )
    assert str(credit(of, *covered, under=paper(fee="35.00")).total) == total


# ---------------------------------------------------------------------------------------------------- expected: parts


def test_parts_at_what_they_cost():
    found = credit(job(parts="212.37"), "parts", under=paper(handling=None))
    assert shown(found) == [("parts", "counts", "212.37", "212.37")]
    assert totals(found) == ("212.37", "212.37")


def test_a_covered_part_without_a_cost_is_said():
    found = credit(job(), "parts")
    assert shown(found) == [("parts", "not recorded", "", "0")]
    assert totals(found) == ("0.00", "0.00")


def test_what_is_not_covered_is_said_where_it_cost_something():
    found = credit(job(parts="212.37", minutes=60, refrigerant="9.00", freight="3.00"))
    assert shown(found) == [
        ("parts", "not covered", "", "0"),
        ("labor", "not covered", "", "0"),
        ("refrigerant", "not covered", "", "0"),
        ("handling", "not covered", "", "0"),
        ("freight", "not covered", "", "0"),
    ]
    assert shown(credit(job())) == []


# ---------------------------------------------------------------------------------------------------- expected: labor


@pytest.mark.parametrize(
    ("component", "factors", "total"),
    [
        pytest.param("compressor", "4.5 x 88.00", "468.00", id="named: 72.00 + 396.00"),
        pytest.param("indoor coil", "2.5 x 88.00", "292.00", id="named: 72.00 + 220.00"),
        pytest.param("sensor", "1.25 x 88.00", "182.00", id="by *: 72.00 + 110.00"),
        pytest.param("other", "1.25 x 88.00", "182.00", id="by *: also the component called other"),
    ],
)
def test_hours_by_component(component, factors, total):
    """What the work really took (three hours) does not matter to an allowance."""
    found = credit(job(component, minutes=180), "labor")
    assert [(line[0], line[2]) for line in shown(found)] == [("call", "72.00"), ("hours", factors)]
    assert str(found.total) == total


def test_a_component_that_the_allowance_does_not_name_has_the_call_alone():
    found = credit(job("sensor"), "labor", under=paper(hours={"compressor": "4.5"}))
    assert shown(found) == [("call", "counts", "72.00", "72"), ("hours", "not in the allowance", "", "0")]
    assert str(found.total) == "72.00"


def test_an_allowance_without_a_call():
    found = credit(job("sensor"), "labor", under=paper(call=None))
    assert shown(found) == [("hours", "counts", "1.25 x 88.00", "1.1E+2")]


def test_labor_without_an_allowance_counts_at_what_it_cost():
    found = credit(job(minutes=150), "labor", under=paper(None))
    assert shown(found) == [("labor", "counts", "212.50", "212.5")]


def test_labor_without_an_allowance_and_without_hours_is_said():
    assert shown(credit(job(), "labor", under=paper(None))) == [("labor", "not recorded", "", "0")]


# ----------------------------------------------------------------------------------------------- expected: refrigerant


@pytest.mark.parametrize(
    ("added", "lines", "total"),
    [
        pytest.param([("R-410A", "2.5")], [("counts", "2.5 x 9.00")], "22.50", id="by weight"),
        pytest.param([("r410a", "2.5")], [("counts", "2.5 x 9.00")], "22.50", id="however it is written"),
        pytest.param([("R-32", "0.75")], [("counts", "0.75 x 14.00")], "10.50", id="each kind at its own"),
        pytest.param(
            [("R-410A", "2.5"), ("R-32", "0.75")],
            [("counts", "2.5 x 9.00"), ("counts", "0.75 x 14.00")],
            "33.00",
            id="two kinds",
        ),
        pytest.param(
            [("R-22", "3")], [("not in the allowance", "")], "0.00", id="a kind that the allowance does not name"
        ),
        pytest.param([], [], "0.00", id="none put in"),
    ],
)
def test_refrigerant_by_weight(added, lines, total):
    found = credit(job(added=added), "refrigerant", under=paper(reclaim=None))
    assert [(standing, factors) for _, standing, factors, _ in shown(found)] == lines
    assert str(found.total) == total


@pytest.mark.parametrize(
    ("recovered", "covered", "standing", "total"),
    [
        (True, "refrigerant", "counts", "48.00"),
        (False, "refrigerant", "not done", "0.00"),
    ],
)
def test_reclaiming(recovered, covered, standing, total):
    found = credit(job(recovered=recovered), covered)
    assert [(line[0], line[1], line[3]) for line in shown(found)] == [("reclaim", standing, "48" if recovered else "0")]
    assert str(found.total) == total


def test_reclaiming_is_not_paid_where_refrigerant_is_not():
    assert Item.RECLAIM not in {line.item for line in credit(job(recovered=True), "labor").lines}


def test_refrigerant_without_an_allowance_counts_at_what_it_cost():
    found = credit(job(refrigerant="41.10", added=[("R-410A", "3.25")]), "refrigerant", under=paper(None))
    assert shown(found) == [("refrigerant", "counts", "41.10", "41.1")]


def test_refrigerant_put_in_without_a_cost_is_said():
    under = paper(None)
    assert shown(credit(job(added=[("R-410A", "3.25")]), "refrigerant", under=under)) == [
        ("refrigerant", "not recorded", "", "0")
    ]
    assert shown(credit(job(), "refrigerant", under=under)) == []


# -------------------------------------------------------------------------------------------------- expected: handling


@pytest.mark.parametrize(
    ("parts", "pays_amount"),
    [
        pytest.param("0.00", "6.00", id="a part for nothing"),
        pytest.param("19.99", "6.00", id="a cent below the first edge"),
        pytest.param("20.00", "18.00", id="on the first edge"),
        pytest.param("20.01", "18.00", id="a cent above the first edge"),
        pytest.param("79.99", "18.00", id="a cent below the second edge"),
        pytest.param("80.00", "30.00", id="on the second edge"),
        pytest.param("5000.00", "30.00", id="far above"),
    ],
)
def test_handling_by_what_the_part_cost(parts, pays_amount):
    found = credit(job(parts=parts), "parts")
    (line,) = [line for line in found.lines if line.item is Item.HANDLING]
    assert str(line.amount) == pays_amount
    assert found.total == Decimal(parts) + Decimal(pays_amount)


def test_a_part_above_the_last_closed_band():
    under = paper(handling=[{"below": "20", "pays": "6.00"}])
    assert shown(credit(job(parts="19.99"), "parts", under=under))[1] == ("handling", "counts", "6.00", "6")
    assert shown(credit(job(parts="20.00"), "parts", under=under))[1] == ("handling", "not in the allowance", "", "0")


def test_no_part_no_handling():
    assert [line.item for line in credit(job(minutes=60), "labor").lines] == [Item.CALL, Item.HOURS]


@pytest.mark.parametrize(
    ("covered", "handled"),
    [
        (("parts",), True),
        (("labor",), True),
        (("parts", "labor"), True),
        (("refrigerant",), False),
        (("freight",), False),
    ],
)
def test_handling_goes_with_the_part_or_the_work_on_it_and_is_paid_once(covered, handled):
    lines = [line for line in credit(job(parts="50.00"), *covered).lines if line.item is Item.HANDLING]
    assert [line.standing is Standing.COUNTS for line in lines] == [handled]


# ----------------------------------------------------------------------------------------- expected: freight and fee


def test_freight_at_what_it_cost_whatever_the_allowance():
    assert shown(credit(job(freight="22.40"), "freight")) == [("freight", "counts", "22.40", "22.4")]
    assert shown(credit(job(), "freight")) == []


@pytest.mark.parametrize(
    ("covered", "fee", "total"),
    [
        pytest.param(("parts",), "35.00", "65.00", id="100.00 - 35.00"),
        pytest.param(("parts",), None, "100.00", id="no fee"),
        pytest.param((), "35.00", "0.00", id="nothing to take it from"),
    ],
)
def test_the_fee(covered, fee, total):
    assert str(credit(job(parts="100.00"), *covered, under=paper(handling=None, fee=fee)).total) == total


def test_the_fee_of_a_supplier_holds():
    under = paper(handling=None, fee="35.00")
    found = credit(job(parts="100.00"), "parts", under=under, rules=ClaimTerms(fee=Decimal("50.00")))
    assert str(found.total) == "50.00"
    found = credit(job(parts="100.00"), "parts", under=under, rules=ClaimTerms())
    assert str(found.total) == "100.00"


# -------------------------------------------------------------------------------------------------- expected: rounding


def test_lines_keep_half_cents_and_only_the_total_is_rounded():
    """0.125 x 88.20 = 11.025 and 0.5 x 9.01 = 4.505 make 15.53; rounded line by line they would make 15.54."""
    under = paper(call=None, hourly="88.20", hours={"*": "0.125"}, refrigerant_per_lb={"R-410A": "9.01"}, reclaim=None)
    found = credit(job("sensor", added=[("R-410A", "0.5")]), "labor", "refrigerant", under=under)
    assert [str(line.amount) for line in found.lines] == ["11.02500", "4.505"]
    assert str(found.total) == "15.53"


@pytest.mark.parametrize(("hours", "total"), [("0.125", "11.03"), ("0.124", "10.94"), ("0.375", "33.08")])
def test_half_a_cent_goes_up(hours, total):
    """0.125 x 88.20 = 11.025; 0.124 x 88.20 = 10.9368; 0.375 x 88.20 = 33.075."""
    assert (
        str(credit(job("sensor"), "labor", under=paper(call=None, hourly="88.20", hours={"*": hours})).total) == total
    )


# ------------------------------------------------------------------------------------------- expected: what is open


@pytest.mark.parametrize("result", [R.COVERED_IF, R.CANNOT_SAY])
def test_what_hangs_on_something_open_is_possible_only(result):
    """Parts 100.00 for certain, labor 72.00 + 396.00 perhaps, less 35.00."""
    found = expected(
        paper(handling=None, fee="35.00"), answered("parts", labor=result), job(parts="100.00", minutes=300)
    )
    assert [(line[0], line[1]) for line in shown(found)] == [
        ("parts", "counts"), ("call", "perhaps"), ("hours", "perhaps"), ("fee", "counts"),
    ]  # fmt: skip
    assert totals(found) == ("65.00", "533.00")


def test_where_all_is_open_so_is_the_fee():
    found = expected(paper(handling=None, fee="35.00"), answered(parts=R.COVERED_IF), job(parts="100.00"))
    assert [(line[0], line[1]) for line in shown(found)] == [("parts", "perhaps"), ("fee", "perhaps")]
    assert totals(found) == ("0.00", "65.00")


def test_handling_prefers_what_is_certain():
    found = expected(paper(), answered("labor", parts=R.COVERED_IF), job(parts="50.00"))
    assert [(line.kind, str(line.standing)) for line in found.lines if line.item is Item.HANDLING] == [
        ("labor", "counts")
    ]


def test_only_the_answers_of_these_terms_count():
    others = [Answer("another paper", "labor plan", "parts", R.COVERED, ())]
    assert str(expected(paper(), others, job(parts="100.00")).total) == "0.00"


def test_only_the_kinds_that_are_asked_for():
    found = expected(
        paper(handling=None), answered("parts", "labor"), job(parts="100.00", minutes=60), kinds=("labor",)
    )
    assert str(found.total) == "468.00"


def test_money_is_never_a_float():
    of = job(
        parts="640.00", minutes=301, refrigerant="41.10", freight="22.40", added=[("R-410A", "3.25")], recovered=True
    )
    found = credit(of, *ALL, under=paper(fee="35.00"))
    assert {type(value) for value in (found.total, found.possible, cost(of), most(of, found))} == {Decimal}


# ------------------------------------------------------------------------------------------------ the most to ask for


def test_the_most_is_what_was_spent_where_that_is_more():
    """Ten hours at 85.00 are 850.00, where the allowance pays 468.00; the part is 90.00 and 30.00 for handling it."""
    of = job(parts="90.00", minutes=600)
    assert str(most(of, credit(of, "parts", "labor"))) == "970.00"


def test_the_most_is_the_allowance_where_the_work_was_quicker():
    """Two hours at 85.00 are 170.00; the allowance pays 468.00 all the same. And the part: 640.00 + 30.00."""
    of = job(parts="640.00", minutes=120)
    assert str(most(of, credit(of, "parts", "labor"))) == "1138.00"


def test_the_most_without_any_promise_is_what_was_spent():
    """Asked for as a favor: 640.00 + 170.00 + 41.10 + 22.40."""
    of = job(parts="640.00", minutes=120, refrigerant="41.10", freight="22.40")
    assert str(most(of, credit(of))) == "873.50"


def test_a_fee_does_not_lower_what_may_be_asked():
    of = job(parts="100.00")
    assert str(most(of, credit(of, "parts", under=paper(handling=None, fee="35.00")))) == "100.00"


def test_nothing_spent_nothing_to_ask_for():
    assert most(job(), credit(job())) == 0


# ---------------------------------------------------------------------------------------------------------- shortfall


@pytest.mark.parametrize(("minutes", "short"), [(300, "243.00"), (120, "-12.00"), (128, "-0.67")])
def test_the_shortfall_of_labor(minutes, short):
    """By * the allowance pays 72.00 + 110.00 = 182.00; 300 minutes cost 425.00, 120 cost 170.00, 128 cost 181.33."""
    of = job("sensor", parts="640.00", minutes=minutes)
    assert str(labor_shortfall(of, [credit(of, "parts", "labor")])) == short


def test_labor_that_two_payers_pay_for_counts_twice_and_what_is_open_not():
    of = job("sensor", minutes=300)
    twice = [credit(of, "labor"), credit(of, "labor", under=paper(None))]
    assert str(labor_shortfall(of, twice)) == "-182.00"
    open_one = expected(paper(), answered(labor=R.COVERED_IF), of)
    assert str(labor_shortfall(of, [open_one])) == "425.00"


# ------------------------------------------------------------------------------------------------------------ fronted


def account(
    state,
    filed_on="2024-03-01",
    payer="maker",
    maker="Halvik",
    claimable="500.00",
    asked="500.00",
    approved="0",
    credited="0",
):
    return Account(
        payer, maker, state, filed_on and day(filed_on), *map(Decimal, (claimable, asked, approved, credited))
    )


@pytest.mark.parametrize(
    ("state", "out", "lost"),
    [
        (State.GATHERING, "0", "0"),
        (State.FILED, "500.00", "0"),
        (State.ASKED_FOR_MORE, "500.00", "0"),
        (State.APPROVED, "400.00", "0"),
        (State.PART_APPROVED, "400.00", "0"),
        (State.DENIED, "0", "500.00"),
        (State.CREDITED, "0", "0"),
        (State.WRITTEN_OFF, "0", "500.00"),
        (State.WITHDRAWN, "0", "500.00"),
    ],
)
def test_what_is_out_in_each_state(state, out, lost):
    found = account(state, approved="400.00")
    assert (str(found.out), str(found.lost)) == (out, lost)


def test_credits_in_parts_bring_down_what_is_out():
    assert str(account(State.APPROVED, approved="400.00", credited="150.00").out) == "250.00"
    assert account(State.APPROVED, approved="400.00", credited="410.00").out == 0
    assert str(account(State.FILED, credited="150.00").out) == "350.00"  # reopened by the payer's correction
    assert str(account(State.WRITTEN_OFF, credited="150.00").lost) == "350.00"


@pytest.mark.parametrize(
    ("filed_on", "band"),
    [
        ("2024-03-31", 0),
        ("2024-03-21", 0),
        ("2024-03-20", 1),
        ("2024-03-01", 1),
        ("2024-02-29", 2),
        ("2024-01-31", 2),
        ("2024-01-30", 3),
        ("2022-01-30", 3),
    ],
)
def test_the_age_of_what_is_out(filed_on, band):
    """On March 31: 0 to 10 days, 11 to 30, 31 to 60, more."""
    found = fronted([account(State.FILED, filed_on)], on=day("2024-03-31"))
    assert [(age.first, age.last) for age in found] == [(0, 10), (11, 30), (31, 60), (61, None)]
    assert [age.claims for age in found] == [int(place == band) for place in range(4)]
    assert [str(age.amount) for age in found] == ["500.00" if place == band else "0" for place in range(4)]


def test_only_what_is_out_ages():
    accounts = [
        account(State.GATHERING, None), account(State.CREDITED, credited="500.00"), account(State.DENIED),
        account(State.APPROVED, approved="400.00", credited="150.00"), account(State.FILED, asked="120.50"),
    ]  # fmt: skip
    found = fronted(accounts, on=day("2024-03-12"))
    assert [(age.claims, str(age.amount)) for age in found] == [(0, "0"), (2, "370.50"), (0, "0"), (0, "0")]


# ----------------------------------------------------------------------------------------------------------- recovered


def test_what_came_back_by_payer_and_by_maker():
    accounts = [
        account(State.CREDITED, credited="450.00"),
        account(State.DENIED, maker="Velmora"),
        account(State.FILED, payer="labor plan", claimable="182.00", asked="180.00"),
        account(State.WRITTEN_OFF, claimable="300.00", credited="100.00"),
    ]
    by_payer = recoveries(accounts, lambda one: one.payer)
    assert [
        (one.name, one.claims, str(one.claimable), str(one.recovered), str(one.out), str(one.lost)) for one in by_payer
    ] == [
        ("labor plan", 1, "182.00", "0", "180.00", "0"),
        ("maker", 3, "1300.00", "550.00", "0", "700.00"),
    ]
    assert [one.share for one in by_payer] == [Fraction(0), Fraction(550, 1300)]
    assert [(one.name, str(one.recovered)) for one in recoveries(accounts, lambda one: one.maker)] == [
        ("Halvik", "550.00"), ("Velmora", "0"),
    ]  # fmt: skip


def test_no_share_of_nothing():
    (only,) = recoveries([account(State.FILED, claimable="0")], lambda one: one.payer)
    assert only.share is None
    assert recoveries([], lambda one: one.payer) == ()


# -------------------------------------------------------------------------------------------- missed registrations

# Five years of parts, ten if registered within 60 days; installed on April 14, 2015, the last day was June 13, 2015.
TEN_YEARS = {
    "registration": registration(60),
    "claims": {"fee": "35.00"},
    "allowance": ALLOWANCE,
}
MAKER = terms(pays(months(60), months(120, "registered")), code="maker", **TEN_YEARS)
MAKER_LABOR = terms(
    pays(months(60), months(120, "registered")),
    pays(months(60), months(120, "registered"), kind="labor"),
    code="maker",
    **TEN_YEARS,
)
PLAN = terms(pays(months(120)), payer="labor plan", maker="*", code="plan")
OURS = terms(pays(months(120)), payer="installer", maker="*", code="ours")
UNIT = unit(site("owner home", region="US-OH"), maker="Halvik", installed_on="2015-04-14")


def cost_of_missing(*papers, on="2022-05-07", asked="2024-01-01", at=UNIT, of=None, cause="", **held):
    holdings = [holding(one, **(held if one.registration else {})) for one in papers]
    found = missed(at, holdings, of or job(parts="100.00", minutes=120), on=day(on), asked=day(asked), cause=cause)
    return [(one.terms, one.payer, str(one.deadline), one.kinds, str(one.amount)) for one in found]


LOST = [("maker", "maker", "2015-06-13", ("parts",), "95.00")]  # 100.00 + 30.00 for handling - 35.00


def test_a_failure_that_registering_would_have_covered():
    assert cost_of_missing(MAKER) == LOST


@pytest.mark.parametrize(
    ("added", "kinds"),
    [
        pytest.param((), ("parts",), id="none was used"),
        pytest.param((("R-410A", "0.5"),), ("parts", "refrigerant"), id="half a pound was used"),
    ],
)
def test_refrigerant_is_lost_only_where_some_was_used(added, kinds):
    paper = terms(
        pays(months(60), months(120, "registered")),
        pays(months(60), months(120, "registered"), kind="refrigerant"),
        code="maker",
        **TEN_YEARS,
    )
    ((_, _, _, lost, _),) = cost_of_missing(paper, of=job(parts="100.00", minutes=120, added=added))
    assert lost == kinds


@pytest.mark.parametrize(
    ("registered_on", "expected_cost"),
    [
        pytest.param("2015-06-12", [], id="registered a day before the limit"),
        pytest.param("2015-06-13", [], id="on the limit"),
        pytest.param("2015-06-14", LOST, id="a day late"),
        pytest.param("2021-01-01", LOST, id="years late"),
        pytest.param(None, LOST, id="never"),
    ],
)
def test_the_day_of_registering(registered_on, expected_cost):
    assert cost_of_missing(MAKER, registered_on=registered_on) == expected_cost


@pytest.mark.parametrize(
    ("on", "expected_cost"),
    [
        pytest.param("2020-04-14", [], id="covered all the same: the last day of five years"),
        pytest.param("2020-04-15", LOST, id="the first day that was lost"),
        pytest.param("2025-04-14", LOST, id="the last day that was lost"),
        pytest.param("2025-04-15", [], id="over in any case"),
    ],
)
def test_only_failures_that_registering_would_have_covered_count(on, expected_cost):
    assert cost_of_missing(MAKER, on=on, asked="2026-01-01") == expected_cost


@pytest.mark.parametrize(("asked", "expected_cost"), [("2015-06-13", []), ("2015-06-14", LOST)])
def test_nothing_is_missed_while_the_limit_has_not_passed(asked, expected_cost):
    """A failure of later is asked about: until June 13, 2015 somebody may still register."""
    assert cost_of_missing(MAKER, asked=asked) == expected_cost


def test_every_kind_of_cost_that_was_lost_counts_once():
    """100.00 + 72.00 + 4.5 x 88.00 + 30.00 - 35.00 = 563.00."""
    assert cost_of_missing(MAKER_LABOR) == [("maker", "maker", "2015-06-13", ("parts", "labor"), "563.00")]


def test_what_a_labor_plan_pays_is_lost_to_nobody():
    assert cost_of_missing(MAKER, PLAN) == []


def test_what_we_bear_ourselves_is_lost_to_us():
    assert cost_of_missing(MAKER, OURS) == LOST


def test_two_papers_of_one_payer_pay_only_once():
    second = terms(pays(months(60), months(120, "registered")), code="maker-too", **TEN_YEARS)
    assert cost_of_missing(MAKER, second) == LOST


def test_where_the_law_asks_for_no_registration_none_is_missed():
    lawful = terms(
        pays(months(60), months(120, "registered")),
        code="maker",
        registration=registration(60, not_required_in=[{"region": "US-OH"}]),
    )
    assert cost_of_missing(lawful) == []


def test_a_late_registration_that_the_payer_accepted_is_not_missed():
    assert cost_of_missing(MAKER, registered_on="2016-01-01", accepted_late=True) == []


def test_while_the_day_that_the_limit_counts_from_is_unknown_none_is_missed():
    started = unit(maker="Halvik", started_on="2015-04-14")
    paper_of_start = terms(
        pays(months(60), months(120, "registered")),
        code="maker",
        registration=registration(60),
        starts=[{"from": "started_on"}],
    )
    assert cost_of_missing(paper_of_start, at=started) == []


def test_another_condition_that_failed_as_well_is_not_the_registrations_fault():
    strict = terms(pays(months(60), months(120, "registered", "matched system")), code="maker", **TEN_YEARS)
    assert cost_of_missing(strict, at=unit(maker="Halvik", installed_on="2015-04-14", matched_system=False)) == []
    assert cost_of_missing(strict, at=unit(maker="Halvik", installed_on="2015-04-14", matched_system=None)) == []
    assert cost_of_missing(strict, at=unit(maker="Halvik", installed_on="2015-04-14", matched_system=True)) == LOST


def test_an_excluded_cause_is_not_the_registrations_fault():
    strict = terms(pays(months(60), months(120, "registered")), code="maker", excludes_causes=["power"], **TEN_YEARS)
    assert cost_of_missing(strict, cause="power") == []
    assert cost_of_missing(strict, cause="wear") == LOST
