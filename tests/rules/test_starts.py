"""On which day does a term start? The first basis whose date is known, and what was assumed on the way."""

import pytest

from fleet.rules.starts import Start, start_of
from tests.facts import day, holding, site, stay, terms, unit

DATES = ("started_on", "installed_on", "purchased_on", "manufactured_on", "closed_on", "attached_on")


def started(starts, at, **held):
    return start_of(at, holding(terms(starts=starts), **held))


@pytest.mark.parametrize("name", DATES)
def test_each_date_may_be_the_start(name):
    where = site(closed_on="2020-05-01") if name == "closed_on" else site()
    facts = {name: "2020-05-01"}
    at = unit(where, **({} if name in ("closed_on", "attached_on") else facts))
    found = started([{"from": name}], at, **(facts if name == "attached_on" else {}))
    assert found == Start(day("2020-05-01"), name, assumed=False, wanted=name)


@pytest.mark.parametrize("name", DATES)
def test_a_date_that_is_not_on_file_is_wanted(name):
    assert started([{"from": name}], unit()) == Start(None, "", assumed=False, wanted=name)


LADDER = [
    {"from": "closed_on", "when": "new house"},
    {"from": "started_on"},
    {"from": "installed_on"},
    {"earliest_of": [{"from": "purchased_on"}, {"from": "manufactured_on", "plus_months": 18}], "assumed": True},
]


@pytest.mark.parametrize(
    ("house", "facts", "expected", "by", "assumed"),
    [
        ({"new_construction": True, "closed_on": "2020-06-01"}, {"started_on": "2020-05-01"}, "2020-06-01", "closed_on", False),
        ({"new_construction": True}, {"started_on": "2020-05-01"}, "2020-05-01", "started_on", False),
        ({"new_construction": False, "closed_on": "2020-06-01"}, {"started_on": "2020-05-01"}, "2020-05-01", "started_on", False),
        ({"closed_on": "2020-06-01"}, {"started_on": "2020-05-01"}, "2020-05-01", "started_on", False),
        ({}, {"started_on": "2020-05-01", "installed_on": "2020-04-01"}, "2020-05-01", "started_on", False),
        ({}, {"installed_on": "2020-04-01", "purchased_on": "2020-03-01"}, "2020-04-01", "installed_on", False),
        ({}, {"purchased_on": "2020-03-01"}, "2020-03-01", "purchased_on", True),
        ({}, {"manufactured_on": "2018-08-31"}, "2020-02-29", "manufactured_on", True),
        ({}, {"purchased_on": "2020-02-28", "manufactured_on": "2018-08-31"}, "2020-02-28", "purchased_on", True),
        ({}, {"purchased_on": "2020-03-01", "manufactured_on": "2018-08-31"}, "2020-02-29", "manufactured_on", True),
    ],
)  # fmt: skip
def test_the_first_basis_whose_date_is_known_wins(house, facts, expected, by, assumed):
    found = started(LADDER, unit(site(**house), **facts))
    assert (found.day, found.by, found.assumed) == (day(expected), by, assumed)


@pytest.mark.parametrize(
    ("new_construction", "wanted"), [(True, "closed_on"), (False, "started_on"), (None, "started_on")]
)
def test_the_date_that_is_wanted_is_that_of_the_first_basis_that_fits(new_construction, wanted):
    assert started(LADDER, unit(site(new_construction=new_construction))).wanted == wanted


def test_a_basis_for_a_new_house_alone_says_what_it_waits_for():
    only = [{"from": "closed_on", "when": "new house"}]
    assert started(only, unit(site(closed_on="2020-06-01"))) == Start(None, "", assumed=False, wanted="closed_on")


@pytest.mark.parametrize(
    ("plus", "expected"), [({"plus_days": 1}, "2024-02-29"), ({"plus_months": 12}, "2025-02-28"), ({}, "2024-02-28")]
)
def test_time_added_to_a_date(plus, expected):
    assert started([{"from": "purchased_on", **plus}], unit(purchased_on="2024-02-28")).day == day(expected)


def test_the_closing_is_that_of_the_house_where_the_unit_was_put_in():
    at = unit(stays=(stay(site(closed_on="2020-06-01")), stay(site(closed_on="2021-07-02"), "2021-08-01")))
    assert started([{"from": "closed_on"}], at).day == day("2020-06-01")
