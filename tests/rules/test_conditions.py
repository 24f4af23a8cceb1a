"""Does a condition hold on a day: yes, no, or did nobody record it? Each edge on both of its sides."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import words
from fleet.rules.conditions import complete_years, judge
from fleet.rules.facts import Match
from fleet.rules.findings import Code, Reason, Verdict
from tests.facts import day, holding, registration, site, stay, terms, unit, use

START = day("2015-04-14")


def judged(condition, at, paper=None, on="2020-01-01", asked=None, **held):
    found = judge(condition, at, holding(paper or terms(), **held), start=START, on=day(on), asked=day(asked or on))
    return found.verdict, found.reasons


def verdict(*arguments, **named):
    return judged(*arguments, **named)[0]


@pytest.mark.parametrize("condition", words.CONDITIONS)
def test_each_condition_has_an_answer_for_a_unit_of_which_nothing_is_known(condition):
    found, reasons = judged(condition, unit(), terms(registration=registration()))
    assert reasons
    known = {"first owner": Verdict.YES, "away from coast": Verdict.YES}
    gaps = {"yearly maintenance": Verdict.OPEN}
    assert found is (known | gaps).get(condition, Verdict.OPEN)


# ------------------------------------------------------------------------------------------------- facts on record


@pytest.mark.parametrize(
    ("condition", "fact"),
    [
        ("recognized installer", "recognized_installer"),
        ("licensed installer", "licensed_installer"),
        ("matched system", "matched_system"),
        ("original site", "original_site"),
    ],
)
@pytest.mark.parametrize(
    ("recorded", "expected", "code"),
    [
        (True, Verdict.YES, Code.CONDITION_MET),
        (False, Verdict.NO, Code.CONDITION_FAILED),
        (None, Verdict.OPEN, Code.CONDITION_OPEN),
    ],
)
def test_a_recorded_fact(condition, fact, recorded, expected, code):
    """What nobody recorded is open, not no."""
    assert judged(condition, unit(**{fact: recorded})) == (expected, (Reason(code, what=condition),))


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        ("2018-05-31", (Verdict.YES, Code.CONDITION_MET, None)),
        ("2018-06-01", (Verdict.OPEN, Code.CONDITION_OPEN, "2018-06-01")),
        ("2020-05-31", (Verdict.OPEN, Code.CONDITION_OPEN, "2018-06-01")),
        ("2020-06-01", (Verdict.NO, Code.CONDITION_FAILED, "2020-06-01")),
        ("2022-06-01", (Verdict.YES, Code.CONDITION_MET, "2022-06-01")),
        ("2022-06-02", (Verdict.YES, Code.CONDITION_MET, "2022-06-01")),
    ],
)
def test_whether_a_system_matches_is_as_answered_at_the_last_exchange_up_to_the_failure(on, expected):
    answered = (
        Match(day("2018-06-01")),
        Match(day("2020-06-01"), matched=False),
        Match(day("2022-06-01"), matched=True),
    )
    known, code, since = expected
    reason = Reason(code, what="matched system", day=since and day(since))
    assert judged("matched system", unit(matched_system=True, matches=answered), on=on) == (known, (reason,))


@pytest.mark.parametrize(
    ("surroundings", "expected"),
    [(set(), Verdict.YES), ({"pets", "dust"}, Verdict.YES), ({"coast"}, Verdict.NO), ({"pets", "coast"}, Verdict.NO)],
)
def test_away_from_the_coast(surroundings, expected):
    assert verdict("away from coast", unit(surroundings=frozenset(surroundings))) is expected


@pytest.mark.parametrize("condition", ["owner home", "rental", "business"])
@pytest.mark.parametrize("used_for", ["owner home", "rental", "business", ""])
def test_the_use_of_the_site(condition, used_for):
    expected = Verdict.OPEN if not used_for else Verdict.YES if used_for == condition else Verdict.NO
    assert verdict(condition, unit(site(used_for))) is expected


@pytest.mark.parametrize(
    ("on", "expected"),
    [("2019-05-31", Verdict.YES), ("2019-06-01", Verdict.NO), ("2021-05-31", Verdict.NO), ("2021-06-01", Verdict.YES)],
)
def test_the_use_is_that_of_the_day_of_the_failure(on, expected):
    where = site(uses=(use("owner home"), use("rental", "2019-06-01"), use("owner home", "2021-06-01")))
    assert verdict("owner home", unit(where), on=on) is expected


def test_the_use_before_the_first_record_is_not_known():
    where = site(uses=(use("rental", "2019-06-01"),))
    assert verdict("rental", unit(where), on="2019-05-31") is Verdict.OPEN
    assert verdict("rental", unit(where), on="2019-06-01") is Verdict.YES


@pytest.mark.parametrize(("on", "expected"), [("2019-05-31", Verdict.YES), ("2019-06-01", Verdict.NO)])
def test_the_use_is_that_of_the_site_where_the_unit_stood(on, expected):
    at = unit(stays=(stay(site("owner home")), stay(site("rental"), "2019-06-01")))
    assert verdict("owner home", at, on=on) is expected


# -------------------------------------------------------------------------------------------------- original site


@pytest.mark.parametrize("recorded", [True, False, None])
@pytest.mark.parametrize(("on", "moved"), [("2019-05-31", False), ("2019-06-01", True), ("2019-06-02", True)])
def test_moved_away_from_the_original_site(recorded, on, moved):
    at = unit(stays=(stay(site()), stay(site(), "2019-06-01")), original_site=recorded)
    expected = {True: Verdict.YES, False: Verdict.NO, None: Verdict.OPEN}[recorded]
    assert verdict("original site", at, on=on) is (Verdict.NO if moved else expected)


def test_moved_away_says_when():
    at = unit(stays=(stay(site()), stay(site(), "2019-06-01"), stay(site(), "2020-02-02")))
    (reason,) = judged("original site", at, on="2021-01-01")[1]
    assert reason == Reason(Code.CONDITION_FAILED, what="original site", day=day("2019-06-01"))


# ----------------------------------------------------------------------------------------------------- first owner

NOTICE = terms(transfer={"rule": "notice", "within_days": 90})
AUTOMATIC = terms(transfer={"rule": "automatic"})
NEVER = terms(transfer={"rule": "none"})
FLORIDA = terms(transfer={"rule": "none", "automatic_in": [{"region": "US-FL", "from": day("2024-07-01")}]})
BY_LAW_OR_NOTICE = terms(
    transfer={"rule": "notice", "within_days": 90, "automatic_in": [{"region": "US-FL", "from": day("2024-07-01")}]}
)


def sold(*days, **named):
    return unit(site(sold_on=days, **named))


def test_no_sale_is_no_question():
    for paper in (terms(), NOTICE, AUTOMATIC, NEVER):
        assert judged("first owner", sold(), paper) == (
            Verdict.YES,
            (Reason(Code.CONDITION_MET, what="first owner"),),
        )


@pytest.mark.parametrize(
    ("sold_on", "expected"),
    [
        ("2015-04-13", Verdict.YES),  # the day before the start: whoever bought then was the first owner
        ("2015-04-14", Verdict.YES),
        ("2015-04-15", Verdict.NO),
        ("2019-12-31", Verdict.NO),
        ("2020-01-01", Verdict.NO),
        ("2020-01-02", Verdict.YES),  # the day after the failure
    ],
)
def test_a_sale_counts_after_the_start_and_up_to_the_failure(sold_on, expected):
    assert verdict("first owner", sold(sold_on), NEVER, on="2020-01-01", asked="2026-01-01") is expected


@pytest.mark.parametrize(
    ("paper", "expected", "code"),
    [
        (terms(), Verdict.NO, Code.SOLD),
        (NEVER, Verdict.NO, Code.SOLD),
        (AUTOMATIC, Verdict.YES, Code.TRANSFER_AUTOMATIC),
        (NOTICE, Verdict.NO, Code.TRANSFER_MISSED),
    ],
)
def test_what_becomes_of_the_promise_is_the_papers_rule(paper, expected, code):
    found, (reason,) = judged("first owner", sold("2018-05-01"), paper)
    assert (found, reason.code, reason.day) == (expected, code, day("2018-05-01"))


@pytest.mark.parametrize(
    ("told_on", "expected"),
    [
        ("2018-04-30", Verdict.NO),  # before the sale: no notice of it
        ("2018-05-01", Verdict.YES),
        ("2018-07-29", Verdict.YES),
        ("2018-07-30", Verdict.YES),  # May 1 and 90 days
        ("2018-07-31", Verdict.NO),
    ],
)
def test_told_of_the_sale_around_the_limit(told_on, expected):
    assert verdict("first owner", sold("2018-05-01"), NOTICE, notified_on=(told_on,)) is expected


@pytest.mark.parametrize(
    ("asked", "expected", "code"),
    [
        ("2018-07-29", Verdict.OPEN, Code.NOTIFY_BY),
        ("2018-07-30", Verdict.OPEN, Code.NOTIFY_BY),
        ("2018-07-31", Verdict.NO, Code.TRANSFER_MISSED),
    ],
)
def test_not_told_of_the_sale_around_the_limit(asked, expected, code):
    found, (reason,) = judged("first owner", sold("2018-05-01"), NOTICE, on="2018-06-01", asked=asked)
    assert (found, reason) == (expected, Reason(code, day=day("2018-05-01"), until=day("2018-07-30")))


def test_the_earliest_notice_in_time_is_named():
    held = {"notified_on": ("2018-04-30", "2018-06-09", "2018-06-02", "2018-08-01")}
    assert judged("first owner", sold("2018-05-01"), NOTICE, **held)[1] == (
        Reason(Code.TRANSFER_IN_TIME, day=day("2018-06-02"), until=day("2018-07-30")),
    )


@pytest.mark.parametrize(
    ("told_on", "expected", "codes"),
    [
        # Sold on May 1 and again on June 1: the first must be told of by May 31, the second by August 30.
        (("2018-05-31", "2018-06-01"), Verdict.YES, ["transfer_in_time", "transfer_in_time"]),
        (("2018-05-31", "2018-08-30"), Verdict.YES, ["transfer_in_time", "transfer_in_time"]),
        (("2018-06-01",), Verdict.NO, ["transfer_missed"]),
        (("2018-05-31",), Verdict.NO, ["transfer_missed"]),
        (("2018-05-31", "2018-08-31"), Verdict.NO, ["transfer_missed"]),
        ((), Verdict.NO, ["transfer_missed", "transfer_missed"]),
    ],
)
def test_each_sale_must_have_gone_along(told_on, expected, codes):
    found, reasons = judged("first owner", sold("2018-05-01", "2018-06-01"), NOTICE, notified_on=told_on)
    assert (found, [reason.code for reason in reasons]) == (expected, codes)


@pytest.mark.parametrize(
    ("asked", "expected"), [("2018-05-31", Verdict.OPEN), ("2018-06-01", Verdict.NO), ("2018-08-31", Verdict.NO)]
)
def test_the_next_sale_ends_the_time_to_tell_of_the_one_before(asked, expected):
    at = sold("2018-05-01", "2018-06-01")
    assert verdict("first owner", at, NOTICE, on="2018-05-20", asked=asked) is expected


def test_one_missed_sale_outweighs_an_open_one():
    at = sold("2018-01-01", "2018-06-01")
    found, (reason,) = judged("first owner", at, NOTICE, on="2018-06-10", asked="2018-06-10")
    assert (found, reason.code, reason.day) == (Verdict.NO, Code.TRANSFER_MISSED, day("2018-01-01"))


def test_a_sale_that_was_written_down_twice_is_one_sale():
    at = sold("2018-05-01", "2018-05-01")
    assert verdict("first owner", at, NOTICE, notified_on=("2018-05-01",)) is Verdict.YES


@pytest.mark.parametrize(
    ("region", "sold_on", "expected", "code"),
    [
        ("US-FL", "2024-06-30", Verdict.NO, Code.SOLD),
        ("US-FL", "2024-07-01", Verdict.YES, Code.TRANSFER_AUTOMATIC),
        ("US-GA", "2024-07-01", Verdict.NO, Code.SOLD),
        ("", "2024-06-30", Verdict.NO, Code.SOLD),
        ("", "2024-07-01", Verdict.OPEN, Code.PLACE_UNKNOWN),
    ],
)
def test_a_regions_law_holds_for_sales_from_a_day_on(region, sold_on, expected, code):
    found, (reason,) = judged("first owner", sold(sold_on, region=region), FLORIDA, on="2025-01-01")
    assert (found, reason.code, reason.day) == (expected, code, day(sold_on))


@pytest.mark.parametrize(("region", "expected"), [("US-CA", Verdict.YES), ("US-GA", Verdict.NO), ("", Verdict.OPEN)])
def test_a_regions_law_without_a_day_has_always_been_in_force(region, expected):
    paper = terms(transfer={"rule": "none", "automatic_in": [{"region": "US-CA"}]})
    assert verdict("first owner", sold("2015-04-15", region=region), paper) is expected


@pytest.mark.parametrize(("asked", "code"), [("2024-09-29", Code.NOTIFY_BY), ("2024-09-30", Code.PLACE_UNKNOWN)])
def test_a_region_that_is_not_known_matters_once_it_is_too_late_to_tell(asked, code):
    found, (reason,) = judged("first owner", sold("2024-07-01"), BY_LAW_OR_NOTICE, on="2024-08-01", asked=asked)
    assert (found, reason.code) == (Verdict.OPEN, code)


@pytest.mark.parametrize(
    ("sold_on", "expected"),
    [("2018-04-30", Verdict.YES), ("2018-05-01", Verdict.YES), ("2018-05-02", Verdict.NO)],
)
def test_the_closing_of_a_new_house_is_no_sale(sold_on, expected):
    at = sold(sold_on, closed_on="2018-05-01", new_construction=True)
    assert verdict("first owner", at, NEVER) is expected


@pytest.mark.parametrize(
    ("sold_on", "house", "expected"),
    [
        ("2017-05-31", "first", Verdict.NO),  # the unit still stood there
        ("2017-06-01", "first", Verdict.YES),  # it went on that day
        ("2017-05-31", "second", Verdict.YES),  # it was not there yet
        ("2017-06-01", "second", Verdict.NO),
        ("2018-08-07", "second", Verdict.NO),
        ("2018-08-08", "second", Verdict.YES),  # it went on again
        ("2018-08-08", "third", Verdict.NO),
    ],
)
def test_only_sales_of_the_house_where_the_unit_stood(sold_on, house, expected):
    houses = {"first": site(), "second": site(), "third": site()} | {house: site(sold_on=(sold_on,))}
    days = (None, "2017-06-01", "2018-08-08")
    at = unit(stays=tuple(map(stay, houses.values(), days)))
    assert verdict("first owner", at, NEVER) is expected


@given(
    st.permutations(["2018-05-01", "2018-06-01", "2019-02-02"]),
    st.permutations(["2018-05-31", "2018-06-20", "2019-03-03", "2019-09-09"]),
)
def test_the_order_of_sales_and_notices_does_not_matter(sales, notices):
    at = judged("first owner", sold(*sales), NOTICE, notified_on=tuple(notices))
    assert at[0] is Verdict.YES
    assert [reason.day for reason in at[1]] == [day("2018-05-31"), day("2018-06-20"), day("2019-03-03")]


# ----------------------------------------------------------------------------------------------- yearly maintenance


@pytest.mark.parametrize(
    ("on", "years"),
    [("2015-04-14", 0), ("2016-04-13", 0), ("2016-04-14", 1), ("2017-04-13", 1), ("2017-04-14", 2), ("2015-04-01", 0)],
)
def test_a_year_is_asked_for_once_it_is_complete(on, years):
    assert len(complete_years(START, day(on))) == years
    expected = Verdict.OPEN if years else Verdict.YES
    assert verdict("yearly maintenance", unit(), on=on) is expected


@pytest.mark.parametrize(
    ("maintained_on", "expected"),
    [
        ("2015-04-13", Verdict.OPEN),
        ("2015-04-14", Verdict.YES),
        ("2016-04-13", Verdict.YES),
        ("2016-04-14", Verdict.OPEN),  # the first day of the next year
    ],
)
def test_a_visit_counts_for_the_year_in_which_it_falls(maintained_on, expected):
    at = unit(maintained_on=(maintained_on,))
    assert verdict("yearly maintenance", at, on="2016-04-14") is expected


def test_each_year_without_a_visit_is_named():
    at = unit(maintained_on=("2016-05-01", "2018-06-01"))
    assert judged("yearly maintenance", at, on="2019-12-31") == (
        Verdict.OPEN,
        (
            Reason(Code.MAINTENANCE_GAP, day=day("2015-04-14"), until=day("2016-04-13")),
            Reason(Code.MAINTENANCE_GAP, day=day("2017-04-14"), until=day("2018-04-13")),
        ),
    )


def test_visits_in_one_year_do_not_stand_in_for_another():
    at = unit(maintained_on=("2015-05-01", "2015-08-01", "2015-11-01"))
    assert verdict("yearly maintenance", at, on="2017-04-13") is Verdict.YES
    assert verdict("yearly maintenance", at, on="2017-04-14") is Verdict.OPEN


def test_years_from_a_leap_day_are_counted_from_it_and_do_not_drift():
    assert complete_years(day("2016-02-29"), day("2020-02-29")) == [
        (day("2016-02-29"), day("2017-02-28")),
        (day("2017-02-28"), day("2018-02-28")),
        (day("2018-02-28"), day("2019-02-28")),
        (day("2019-02-28"), day("2020-02-29")),
    ]


@given(
    st.lists(st.dates(day("2015-01-01"), day("2021-01-01")), max_size=8), st.dates(day("2015-01-01"), day("2021-01-01"))
)
def test_one_visit_more_never_hurts(visits, one_more):
    few = unit(maintained_on=tuple(str(visit) for visit in sorted(visits)))
    more = unit(maintained_on=tuple(str(visit) for visit in sorted([*visits, one_more])))
    missing = [
        {reason.day for reason in judged("yearly maintenance", at)[1] if reason.code is Code.MAINTENANCE_GAP}
        for at in (few, more)
    ]
    assert missing[1] <= missing[0]
