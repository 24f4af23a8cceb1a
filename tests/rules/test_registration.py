"""Was it registered in time? Each edge on both of its sides, and each fact that may be unknown."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.findings import Code, Reason, Verdict
from fleet.rules.registration import State, deadline, judge, standing
from tests.facts import day, holding, registration, site, terms, unit, use

# Installed on April 14, 2015, 60 days: the limit is June 13, 2015.
PAPER = terms(registration=registration(60))
UNIT = unit(installed_on="2015-04-14")
START = day("2015-04-14")


def judged(at=UNIT, paper=PAPER, asked="2015-05-01", start="2015-04-14", **held):
    found = judge(at, holding(paper, **held), start=start and day(start), asked=day(asked))
    (reason,) = found.reasons
    return found.verdict, reason


# ---------------------------------------------------------------------------------------------------------- deadline


@pytest.mark.parametrize(
    ("counted_from", "expected"),
    [
        ("installed_on", "2020-03-31"),
        ("started_on", "2020-04-05"),
        ("purchased_on", "2020-03-11"),
        ("closed_on", "2020-05-31"),
        ("attached_on", "2020-05-01"),
    ],
)
def test_the_limit_counts_from_the_date_that_the_paper_names(counted_from, expected):
    where = site(closed_on="2020-05-01")
    at = unit(where, installed_on="2020-03-01", started_on="2020-03-06", purchased_on="2020-02-10")
    held = holding(terms(registration=registration(30, counted_from)), attached_on="2020-04-01")
    assert deadline(at, held) == day(expected)


@pytest.mark.parametrize(
    ("new_construction", "expected"),
    [(True, "2020-08-30"), (False, "2020-05-30"), (None, "2020-05-30")],
)
def test_in_a_new_house_the_limit_counts_from_the_closing(new_construction, expected):
    """A new house that nobody recorded as one counts as an old one."""
    paper = terms(registration=registration(90, new_house_counted_from="closed_on"))
    at = unit(site(new_construction=new_construction, closed_on="2020-06-01"), installed_on="2020-03-01")
    assert deadline(at, holding(paper)) == day(expected)


def test_in_a_new_house_the_limit_counts_as_ever_where_the_paper_says_nothing_of_new_houses():
    at = unit(site(new_construction=True, closed_on="2020-06-01"), installed_on="2020-03-01")
    assert deadline(at, holding(terms(registration=registration(90)))) == day("2020-05-30")


@pytest.mark.parametrize("rules", [None, {"required": False}])
def test_no_limit_where_none_is_asked(rules):
    paper = terms() if rules is None else terms(registration=rules)
    assert deadline(UNIT, holding(paper)) is None


def test_no_limit_while_the_day_it_counts_from_is_unknown():
    assert deadline(unit(started_on="2015-04-14"), holding(PAPER)) is None


# --------------------------------------------------------------------------------------------------------- registered


@pytest.mark.parametrize(
    ("registered_on", "verdict", "code"),
    [
        ("2015-04-13", Verdict.YES, Code.REGISTERED_IN_TIME),
        ("2015-04-27", Verdict.YES, Code.REGISTERED_IN_TIME),
        ("2015-06-12", Verdict.YES, Code.REGISTERED_IN_TIME),
        ("2015-06-13", Verdict.YES, Code.REGISTERED_IN_TIME),
        ("2015-06-14", Verdict.NO, Code.REGISTERED_LATE),
        ("2015-06-25", Verdict.NO, Code.REGISTERED_LATE),
    ],
)
def test_registered_around_the_limit(registered_on, verdict, code):
    """The day of asking has no say in it."""
    for asked in ("2015-06-13", "2030-01-01"):
        assert judged(registered_on=registered_on, asked=asked) == (
            verdict,
            Reason(code, day=day(registered_on), until=day("2015-06-13")),
        )


@pytest.mark.parametrize(
    ("asked", "verdict", "code"),
    [
        ("2015-06-12", Verdict.OPEN, Code.REGISTER_BY),
        ("2015-06-13", Verdict.OPEN, Code.REGISTER_BY),
        ("2015-06-14", Verdict.NO, Code.NOT_REGISTERED),
    ],
)
def test_not_registered_around_the_limit(asked, verdict, code):
    found, reason = judged(asked=asked)
    assert (found, reason.code, reason.until) == (verdict, code, day("2015-06-13"))


@pytest.mark.parametrize("by", ["owner", "installer", "either"])
def test_who_may_register_is_told_while_it_can_be_done(by):
    _, reason = judged(paper=terms(registration=registration(60, by=by)))
    assert reason == Reason(Code.REGISTER_BY, what=by, until=day("2015-06-13"))


@pytest.mark.parametrize(("accepted", "verdict"), [(True, Verdict.YES), (False, Verdict.NO)])
def test_accepted_late_in_writing(accepted, verdict):
    assert judged(registered_on="2016-01-01", accepted_late=accepted)[0] is verdict
    assert judged(accepted_late=accepted, asked="2016-01-01")[0] is verdict


def test_accepted_late_says_when_it_was_registered():
    assert judged(registered_on="2016-01-01", accepted_late=True)[1] == Reason(
        Code.REGISTRATION_ACCEPTED_LATE, day=day("2016-01-01")
    )


# ------------------------------------------------------------------------------- the day it counts from is unknown

NO_DAY = unit(started_on="2015-04-14")


@pytest.mark.parametrize(
    ("held", "verdict", "code"),
    [
        ({}, Verdict.OPEN, Code.ANCHOR_UNKNOWN),
        ({"registered_on": "2015-04-20"}, Verdict.OPEN, Code.ANCHOR_UNKNOWN),
        ({"registration_number": "R-77"}, Verdict.YES, Code.REGISTERED_WITH_NUMBER),
        ({"registered_on": "2015-04-20", "registration_number": "R-77"}, Verdict.YES, Code.REGISTERED_WITH_NUMBER),
    ],
)
def test_without_the_day_only_a_number_proves_it(held, verdict, code):
    found, reason = judged(NO_DAY, **held)
    assert (found, reason.code) == (verdict, code)


def test_what_is_unknown_is_named():
    assert judged(NO_DAY)[1].what == "installed_on"
    new_house = terms(registration=registration(60, new_house_counted_from="closed_on"))
    at = unit(site(new_construction=True), installed_on="2015-04-14")
    assert judged(at, new_house)[1].what == "closed_on"


@pytest.mark.parametrize("asked", ["2015-06-14", "2035-01-01"])
def test_a_unit_that_waits_for_its_closing_day_is_never_late(asked):
    paper = terms(registration=registration(60, "closed_on"))
    assert judged(paper=paper, asked=asked)[0] is Verdict.OPEN


def test_a_number_is_no_proof_where_the_day_is_known():
    """Not in time with a number is late all the same; and a number without a day proves nothing of the day."""
    assert judged(registered_on="2015-06-14", registration_number="R-77")[0] is Verdict.NO
    assert judged(registration_number="R-77", asked="2015-06-14")[0] is Verdict.NO


# ----------------------------------------------------------------------------------------- places that do not ask for it

FLORIDA = terms(registration=registration(60, not_required_in=[{"region": "US-FL", "use": ["owner home", "rental"]}]))
QUEBEC = terms(registration=registration(60, not_required_in=[{"region": "CA-QC", "started_from": day("2020-01-01")}]))


@pytest.mark.parametrize(
    ("region", "used_for", "verdict", "code"),
    [
        ("US-FL", "owner home", Verdict.YES, Code.REGISTRATION_NOT_REQUIRED),
        ("US-FL", "rental", Verdict.YES, Code.REGISTRATION_NOT_REQUIRED),
        ("US-FL", "business", Verdict.NO, Code.NOT_REGISTERED),
        ("US-FL", "", Verdict.OPEN, Code.PLACE_UNKNOWN),
        ("US-GA", "owner home", Verdict.NO, Code.NOT_REGISTERED),
        ("US-GA", "", Verdict.NO, Code.NOT_REGISTERED),
        ("US", "owner home", Verdict.NO, Code.NOT_REGISTERED),
        ("", "owner home", Verdict.OPEN, Code.PLACE_UNKNOWN),
        ("", "business", Verdict.NO, Code.NOT_REGISTERED),
        ("", "", Verdict.OPEN, Code.PLACE_UNKNOWN),
    ],
)
def test_the_place_decides_once_it_is_too_late(region, used_for, verdict, code):
    at = unit(site(used_for, region=region), installed_on="2015-04-14")
    found, reason = judged(at, FLORIDA, asked="2015-06-14")
    assert (found, reason.code) == (verdict, code)


@pytest.mark.parametrize(
    ("region", "used_for", "what"), [("US-FL", "", "use"), ("", "rental", "region"), ("", "", "region")]
)
def test_what_is_not_known_of_the_place_is_named(region, used_for, what):
    at = unit(site(used_for, region=region), installed_on="2015-04-14")
    assert judged(at, FLORIDA, asked="2015-06-14")[1] == Reason(Code.PLACE_UNKNOWN, what=what)
    assert judged(at, FLORIDA, registered_on="2015-06-14")[1] == Reason(Code.PLACE_UNKNOWN, what=what)


def test_a_place_that_is_not_known_matters_only_once_it_is_too_late():
    at = unit(site(), installed_on="2015-04-14")
    assert judged(at, FLORIDA, asked="2015-06-13")[1].code is Code.REGISTER_BY
    assert judged(at, FLORIDA, registered_on="2015-06-13")[1].code is Code.REGISTERED_IN_TIME


@pytest.mark.parametrize(
    ("started", "verdict"), [("2019-12-31", Verdict.NO), ("2020-01-01", Verdict.YES), ("2020-01-02", Verdict.YES)]
)
def test_the_law_of_a_place_begins_on_a_day(started, verdict):
    at = unit(site(region="CA-QC"), installed_on=started)
    assert judged(at, QUEBEC, start=started, asked="2021-01-01")[0] is verdict


@pytest.mark.parametrize(("started", "verdict"), [("2019-12-31", Verdict.NO), ("2020-01-01", Verdict.OPEN)])
def test_a_region_that_is_not_known_matters_only_where_the_law_had_begun(started, verdict):
    assert judged(unit(installed_on=started), QUEBEC, start=started, asked="2021-01-01")[0] is verdict


@pytest.mark.parametrize("used_for", ["", "owner home", "business"])
def test_where_the_law_is_for_every_use_only_the_region_matters(used_for):
    at = unit(site(used_for), installed_on="2020-01-01")
    assert judged(at, QUEBEC, start="2020-01-01", asked="2021-01-01") == (
        Verdict.OPEN,
        Reason(Code.PLACE_UNKNOWN, what="region"),
    )


def test_while_the_start_is_unknown_no_law_of_a_later_day_is_relied_on():
    at = unit(site(region="CA-QC"), installed_on="2020-01-01")
    assert judged(at, QUEBEC, start=None, asked="2021-01-01")[1].code is Code.NOT_REGISTERED


@pytest.mark.parametrize(
    ("asked", "code"), [("2015-05-31", Code.REGISTER_BY), ("2015-06-01", Code.REGISTRATION_NOT_REQUIRED)]
)
def test_while_the_start_is_unknown_the_use_is_that_of_the_day_of_asking(asked, code):
    where = site(region="US-FL", uses=(use("business"), use("rental", "2015-06-01")))
    assert judged(unit(where, installed_on="2015-04-14"), FLORIDA, start=None, asked=asked)[1].code is code


@pytest.mark.parametrize(("rented_from", "verdict"), [("2015-04-14", Verdict.NO), ("2015-04-15", Verdict.YES)])
def test_the_use_is_that_of_the_day_the_term_starts(rented_from, verdict):
    paper = terms(registration=registration(60, not_required_in=[{"region": "US-FL", "use": ["owner home"]}]))
    where = site(region="US-FL", uses=(use("owner home"), use("rental", rented_from)))
    assert judged(unit(where, installed_on="2015-04-14"), paper, asked="2020-01-01")[0] is verdict


def test_the_law_comes_before_what_was_done():
    at = unit(site("rental", region="US-FL"), installed_on="2015-04-14")
    assert judged(at, FLORIDA, registered_on="2016-01-01")[1] == Reason(Code.REGISTRATION_NOT_REQUIRED, what="US-FL")


def test_terms_that_do_not_ask_for_it():
    for paper in (terms(), terms(registration={"required": False})):
        assert judged(paper=paper) == (Verdict.YES, Reason(Code.REGISTRATION_NOT_REQUIRED))


# ------------------------------------------------------------------------------------------------ the state on a list


@pytest.mark.parametrize(
    ("asked", "held", "state", "shown"),
    [
        ("2015-06-13", {}, State.TO_DO, "2015-06-13"),
        ("2015-06-14", {}, State.MISSED, "2015-06-13"),
        ("2015-06-14", {"registered_on": "2015-06-13"}, State.SENT, "2015-06-13"),
        ("2015-06-20", {"registered_on": "2015-06-14"}, State.MISSED, "2015-06-13"),
        ("2015-06-20", {"registered_on": "2015-06-01", "registration_number": "R-7"}, State.CONFIRMED, "2015-06-01"),
        ("2015-06-20", {"registered_on": "2015-06-14", "registration_number": "R-7"}, State.MISSED, "2015-06-13"),
        ("2015-06-20", {"registered_on": "2015-06-14", "accepted_late": True}, State.SENT, "2015-06-14"),
        ("2015-06-20", {"accepted_late": True}, State.SENT, None),
    ],
)
def test_where_it_stands(asked, held, state, shown):
    found = standing(UNIT, holding(PAPER, **held), start=START, asked=day(asked))
    assert (found.state, found.day, found.deadline) == (state, shown and day(shown), day("2015-06-13"))


@pytest.mark.parametrize(
    ("held", "state"),
    [
        ({}, State.WAITING),
        ({"registered_on": "2015-04-20"}, State.SENT),
        ({"registration_number": "R-7"}, State.CONFIRMED),
    ],
)
def test_where_it_stands_while_the_day_is_unknown(held, state):
    found = standing(NO_DAY, holding(PAPER, **held), start=START, asked=day("2030-01-01"))
    assert (found.state, found.deadline) == (state, None)


def test_a_number_is_worth_more_than_that_none_was_needed():
    free = terms(registration={"required": False})
    assert standing(UNIT, holding(free), start=START, asked=START).state is State.NOT_REQUIRED
    confirmed = standing(UNIT, holding(free, registration_number="R-7"), start=START, asked=START)
    assert confirmed.state is State.CONFIRMED


def test_missed_as_long_as_the_place_is_not_known():
    at = unit(site("rental"), installed_on="2015-04-14")
    assert standing(at, holding(FLORIDA), start=START, asked=day("2015-06-13")).state is State.TO_DO
    assert standing(at, holding(FLORIDA), start=START, asked=day("2015-06-14")).state is State.MISSED


# --------------------------------------------------------------------------------------------------------- any day

ANY_DAY = st.dates(day("2014-01-01"), day("2018-01-01"))


@given(registered_on=ANY_DAY, sooner=ANY_DAY, asked=ANY_DAY)
def test_registering_earlier_is_never_worse(registered_on, sooner, asked):
    held = holding(PAPER)
    later, earlier = max(registered_on, sooner), min(registered_on, sooner)
    rank = [Verdict.NO, Verdict.OPEN, Verdict.YES]
    verdicts = [
        judge(UNIT, replace(held, registered_on=registered), start=START, asked=asked).verdict
        for registered in (later, earlier)
    ]
    assert rank.index(verdicts[0]) <= rank.index(verdicts[1])


@given(asked=ANY_DAY, later=ANY_DAY)
def test_waiting_longer_never_helps(asked, later):
    first, last = min(asked, later), max(asked, later)
    rank = [Verdict.NO, Verdict.OPEN]
    assert rank.index(judge(UNIT, holding(PAPER), start=START, asked=last).verdict) <= rank.index(
        judge(UNIT, holding(PAPER), start=START, asked=first).verdict
    )
