"""What did a missed registration lose? Each edge on both of its sides, and each fact that may be unknown."""

import pytest

from fleet.rules.lost import Lost, lost
from tests.facts import day, holding, months, pays, registration, site, terms, unit

# Installed on April 14, 2015, 60 days: the limit is June 13, 2015. Five years to anybody, ten if registered.
FIVE_OR_TEN = pays(months(60), months(120, "registered"))
PAPER = terms(FIVE_OR_TEN, registration=registration(60))
UNIT = unit(site(region="US-ME"), installed_on="2015-04-14")
LATER = "2024-01-10"

FIVE_YEARS = ("parts", 1826, "2020-04-14", "2025-04-14", False)


def gone(at=UNIT, paper=PAPER, on=LATER, **held):
    """What was lost, as (kind, days, to, in place of, perhaps)."""
    return [_plain(one) for one in lost(at, holding(paper, **held), on=day(on))]


def _plain(one: Lost):
    return (one.kind, one.days, one.last and str(one.last), one.would_reach and str(one.would_reach), one.perhaps)


@pytest.mark.parametrize(
    ("registered_on", "expected"),
    [
        pytest.param("2015-04-14", [], id="on the day it was put in"),
        pytest.param("2015-06-12", [], id="the day before the limit"),
        pytest.param("2015-06-13", [], id="on the limit"),
        pytest.param("2015-06-14", [FIVE_YEARS], id="the day after the limit"),
        pytest.param("2023-12-31", [FIVE_YEARS], id="years late"),
        pytest.param(None, [FIVE_YEARS], id="never"),
    ],
)
def test_the_limit_decides_whether_anything_is_lost(registered_on, expected):
    assert gone(registered_on=registered_on) == expected


@pytest.mark.parametrize(
    ("on", "expected"),
    [
        pytest.param("2015-06-12", [], id="the day before the limit"),
        pytest.param("2015-06-13", [], id="on the limit it can still be registered"),
        pytest.param("2015-06-14", [FIVE_YEARS], id="the day after the limit"),
        pytest.param("2020-04-14", [FIVE_YEARS], id="the last day that it has"),
        pytest.param("2025-04-14", [FIVE_YEARS], id="the last day that it would have had"),
        pytest.param("2025-04-15", [FIVE_YEARS], id="the day after that: what was lost stays lost"),
    ],
)
def test_nothing_is_lost_while_it_can_be_registered(on, expected):
    assert gone(on=on) == expected


@pytest.mark.parametrize(
    ("within_days", "late_by", "expected"),
    [(0, "2015-04-14", []), (0, "2015-04-15", [FIVE_YEARS]), (1, "2015-04-15", []), (1, "2015-04-16", [FIVE_YEARS])],
)
def test_a_limit_of_no_days_ends_on_the_day_itself(within_days, late_by, expected):
    assert gone(paper=terms(FIVE_OR_TEN, registration=registration(within_days)), registered_on=late_by) == expected


@pytest.mark.parametrize(
    ("at", "paper", "held"),
    [
        pytest.param(unit(started_on="2015-04-14"), terms(FIVE_OR_TEN, registration=registration(60), starts=[{"from": "started_on"}]), {}, id="nobody knows when the limit began"),
        pytest.param(UNIT, terms(FIVE_OR_TEN, registration=registration(60), starts=[{"from": "started_on"}]), {}, id="nobody knows when the terms began"),
        pytest.param(unit(site(new_construction=True), installed_on="2015-04-14"), terms(FIVE_OR_TEN, registration=registration(60, new_house_counted_from="closed_on")), {}, id="the closing of a new house is not on file"),
        pytest.param(UNIT, terms(pays(months(60)), registration=registration(60)), {}, id="no tier asks for it"),
        pytest.param(UNIT, terms(FIVE_OR_TEN, registration=registration(60, required=False)), {}, id="not required"),
        pytest.param(UNIT, PAPER, {"accepted_late": True}, id="accepted late in writing"),
    ],
)  # fmt: skip
def test_nothing_is_known_to_be_lost(at, paper, held):
    assert gone(at, paper, **held) == []


def test_a_number_without_a_day_is_no_registration_in_time():
    assert gone(registration_number="N-7") == [FIVE_YEARS]


@pytest.mark.parametrize(
    ("closed_on", "registered_on", "expected"),
    [
        pytest.param("2015-05-01", "2015-06-30", [], id="on the limit that the closing moved"),
        pytest.param("2015-05-01", "2015-07-01", [FIVE_YEARS], id="the day after it"),
    ],
)
def test_in_a_new_house_the_limit_counts_from_the_closing(closed_on, registered_on, expected):
    at = unit(site(new_construction=True, closed_on=closed_on), installed_on="2015-04-14")
    paper = terms(FIVE_OR_TEN, registration=registration(60, new_house_counted_from="closed_on"))
    assert gone(at, paper, registered_on=registered_on) == expected


@pytest.mark.parametrize(
    ("region", "expected"),
    [
        pytest.param("US-FL", [], id="where the law does not ask for it"),
        pytest.param("US-ME", [FIVE_YEARS], id="elsewhere"),
        pytest.param("", [], id="nobody recorded where: it may still hold"),
    ],
)
def test_where_it_need_not_be_registered_nothing_is_lost(region, expected):
    at = unit(site(region=region), installed_on="2015-04-14")
    paper = terms(FIVE_OR_TEN, registration=registration(60, not_required_in=[{"region": "US-FL"}]))
    assert gone(at, paper) == expected


@pytest.mark.parametrize(
    ("licensed", "expected"),
    [
        pytest.param(True, [FIVE_YEARS], id="met"),
        pytest.param(None, [(*FIVE_YEARS[:4], True)], id="not recorded: perhaps"),
        pytest.param(False, [], id="not met: it would have been no better"),
    ],
)
def test_what_else_the_longer_term_asks_decides_too(licensed, expected):
    paper = terms(pays(months(60), months(120, "registered", "licensed installer")), registration=registration(60))
    at = unit(site(region="US-ME"), installed_on="2015-04-14", licensed_installer=licensed)
    assert gone(at, paper) == expected


@pytest.mark.parametrize(
    ("coverage", "named", "expected"),
    [
        pytest.param(FIVE_OR_TEN, {"counts_first_day": True}, ("parts", 1826, "2020-04-13", "2025-04-13", False), id="the first day counts"),
        pytest.param(pays({"days": 30}, {"days": 31, "when": ["registered"]}), {}, ("parts", 1, "2015-05-14", "2015-05-15", False), id="one day"),
        # From April 14, 2015 to April 14, 2025, both of them: 3,653 days and one.
        pytest.param(pays(months(120, "registered")), {}, ("parts", 3654, None, "2025-04-14", False), id="all of it"),
        # The first 30 days were never covered.
        pytest.param(pays(months(120, "registered"), waits_days=30), {}, ("parts", 3624, None, "2025-04-14", False), id="all of it but for the days it waits"),
        pytest.param(pays(months(60), {"lifetime": True, "when": ["registered"]}), {}, ("parts", None, "2020-04-14", None, False), id="a lifetime"),
    ],
)  # fmt: skip
def test_how_much_is_lost(coverage, named, expected):
    assert gone(paper=terms(coverage, registration=registration(60), **named)) == [expected]


def test_a_start_on_29_february_ends_on_the_last_of_the_month():
    at = unit(site(region="US-ME"), installed_on="2016-02-29")
    # To February 28, 2021 in place of February 28, 2026: 2024 has the one leap day between.
    assert gone(at) == [("parts", 1826, "2021-02-28", "2026-02-28", False)]
    assert gone(at, registered_on="2016-04-29") == []  # 60 days on
    assert gone(at, registered_on="2016-04-30") != []


def test_each_kind_of_cost_and_group_of_components_is_told_by_itself():
    paper = terms(
        FIVE_OR_TEN,
        pays(months(96), months(156, "registered"), components=("compressor",)),
        pays(months(12), kind="labor"),
        registration=registration(60),
    )
    found = lost(UNIT, holding(paper), on=day(LATER))
    assert [(one.kind, one.components, one.days, str(one.last), str(one.would_reach)) for one in found] == [
        ("parts", ("*",), 1826, "2020-04-14", "2025-04-14"),
        # 2024 and 2028 have a leap day each.
        ("parts", ("compressor",), 1827, "2023-04-14", "2028-04-14"),
    ]
