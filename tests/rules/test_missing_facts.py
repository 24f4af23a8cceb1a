"""Which facts are missing for a unit, and how many days of coverage each may add."""

import datetime as dt
from dataclasses import replace

import pytest

from fleet.rules import missing_facts
from fleet.rules.coverage import groups
from fleet.rules.dates import DAY, Length
from fleet.rules.facts import Holding, Site, Stay, Unit, Use
from fleet.rules.terms import Addend, Basis, Coverage, Place, RegistrationTerms, Terms, Tier

START = dt.date(2020, 4, 14)
TODAY = dt.date(2024, 6, 1)
FIVE, TEN = Length(months=60), Length(months=120)


def terms(*tiers: Tier, **more) -> Terms:
    values = {
        "code": "t-1",
        "payer": "maker",
        "maker": "Northrill",
        "title": "Statement",
        "models": ("*",),
        "installed_from": dt.date(2000, 1, 1),
        "installed_to": None,
        "replaces": "",
        "checked_on": TODAY,
        "source_title": "Statement",
        "source_page": "",
        "counts_first_day": False,
        "excludes_causes": (),
        "starts": (Basis((Addend("started_on"),)),),
        "coverages": (Coverage(("parts",), ("*",), tiers),),
    }
    return Terms(**(values | more))


UNIT = Unit(maker="Northrill", model="N1", started_on=START)


def found(unit: Unit, told: Terms, *, on: dt.date = TODAY, serial: str = "S1", role: str = "head", style: str = "wall"):
    holding = Holding(told)
    held = [(holding, groups(unit, holding, on=on))]
    facts = missing_facts.missing_facts(unit, held, on=on, serial=serial, role=role, style=style)
    return [(one.fact, one.stay, one.worth) for one in facts]


def test_the_days_between_the_certain_and_the_possible_last_day():
    # From April 14, 2025 to April 14, 2030 are 1,826 days.
    told = terms(Tier(FIVE, ()), Tier(TEN, ("licensed installer",)))
    assert found(UNIT, told) == [("licensed_installer", None, (1826, 0, 0, 0))]


def test_from_the_start_where_nothing_is_certain():
    # April 14, 2020 to April 14, 2025, both counted, are 1,827 days.
    assert found(UNIT, terms(Tier(FIVE, ("original site",)))) == [("original_site", None, (1827, 0, 0, 0))]


def test_shared_equally_among_the_facts_that_a_row_hangs_on():
    told = terms(Tier(FIVE, ()), Tier(TEN, ("licensed installer", "owner home", "matched system")))
    assert found(UNIT, told) == [
        ("use", 0, (608, 0, 0, 0)),
        ("licensed_installer", None, (608, 0, 0, 0)),
        ("matched_system", None, (608, 0, 0, 0)),
    ]


@pytest.mark.parametrize(
    ("compressor", "worth"),
    [
        pytest.param(Length(months=84), 1826, id="the compressor gains less"),
        pytest.param(TEN, 1826, id="as much"),
        pytest.param(Length(months=144), 2557, id="more: April 14, 2032 from April 14, 2025"),
    ],
)
def test_years_of_one_component_and_of_another_make_no_more_years(compressor, worth):
    licensed = ("licensed installer",)
    told = terms(
        coverages=(
            Coverage(("parts",), ("*",), (Tier(FIVE, ()), Tier(TEN, licensed))),
            Coverage(("parts",), ("compressor",), (Tier(FIVE, ()), Tier(compressor, licensed))),
        )
    )
    assert found(UNIT, told) == [("licensed_installer", None, (worth, 0, 0, 0))]


def test_a_lifetime_counts_as_ten_years():
    told = terms(Tier(FIVE, ()), Tier(Length(), ("rental",)))
    assert found(UNIT, told) == [("use", 0, (3650, 0, 0, 0))]


@pytest.mark.parametrize(
    ("on", "worth"),
    [
        pytest.param(dt.date(2030, 4, 14), [("licensed_installer", None, (1826, 0, 0, 0))], id="the possible last day"),
        pytest.param(dt.date(2030, 4, 15), [], id="the day after"),
    ],
)
def test_what_is_over_whatever_is_found_is_missing_no_more(on, worth):
    assert found(UNIT, terms(Tier(FIVE, ()), Tier(TEN, ("licensed installer",))), on=on) == worth


def test_an_unknown_start_is_worth_the_longest_tier_without_a_no():
    unit = replace(UNIT, started_on=None, licensed_installer=False)
    told = terms(Tier(FIVE, ()), Tier(Length(months=84), ("first owner",)), Tier(TEN, ("licensed installer",)))
    assert found(unit, told) == [("started_on", None, (2555, 0, 0, 0))]


def test_an_assumed_start_wants_its_proof():
    starts = (Basis((Addend("started_on"),)), Basis((Addend("manufactured_on"),), assumed=True))
    unit = replace(UNIT, started_on=None, manufactured_on=START)
    assert found(unit, terms(Tier(FIVE, ()), starts=starts)) == [("started_on", None, (0, 0, 0, 0))]
    assert found(UNIT, terms(Tier(FIVE, ()), starts=starts)) == []


@pytest.mark.parametrize(
    ("site", "wants"),
    [
        (Site(), ["new_construction"]),
        (Site(new_construction=False), []),
        (Site(new_construction=True), ["closed_on"]),
        (Site(new_construction=True, closed_on=START), []),
    ],
)
def test_a_new_house_wants_its_closing_day(site, wants):
    starts = (Basis((Addend("closed_on"),), new_house_only=True), Basis((Addend("started_on"),)))
    unit = replace(UNIT, stays=(Stay(site),))
    assert [fact for fact, _, _ in found(unit, terms(Tier(FIVE, ()), starts=starts))] == wants


@pytest.mark.parametrize(
    ("region", "uses", "wants"),
    [
        ("", (), [("region", 0)]),
        ("US-FL", (), [("use", 0)]),
        ("US-FL", (Use("rental"),), []),
        ("US-KY", (), []),
    ],
)
def test_a_registration_missed_wants_the_place_that_may_excuse_it(region, uses, wants):
    rules = RegistrationTerms(
        required=True,
        by="either",
        within_days=60,
        counted_from="started_on",
        not_required_in=(Place("US-FL", ("rental",)),),
    )
    unit = replace(UNIT, stays=(Stay(Site(region=region, uses=uses)),))
    told = terms(Tier(FIVE, ()), Tier(TEN, ("registered",)), registration=rules)
    assert [(fact, stay) for fact, stay, _ in found(unit, told)] == wants


def test_a_registration_still_to_make_is_work_and_no_fact():
    rules = RegistrationTerms(required=True, by="either", within_days=60, counted_from="started_on")
    unit = replace(UNIT, started_on=TODAY - 60 * DAY)
    told = terms(Tier(FIVE, ()), Tier(TEN, ("registered",)), registration=rules)
    assert found(unit, told) == []


def test_missing_maintenance_wants_one_record_in_the_first_year_without():
    told = terms(Tier(TEN, ("yearly maintenance",)))
    unit = replace(UNIT, maintained_on=(START,))
    holding = Holding(told)
    held = [(holding, groups(unit, holding, on=TODAY))]
    (one,) = missing_facts.missing_facts(unit, held, on=TODAY, serial="S1", role="head", style="wall")
    assert (one.fact, one.first, one.last) == ("maintenance", dt.date(2021, 4, 14), dt.date(2022, 4, 13))


@pytest.mark.parametrize(
    ("serial", "role", "style", "wants"),
    [
        ("S1", "head", "wall", []),
        ("", "head", "wall", ["serial"]),
        (" - ", "head", "", ["serial", "style"]),
        ("S1", "outdoor", "", []),
    ],
)
def test_serials_and_the_style_of_heads(serial, role, style, wants):
    facts = found(UNIT, terms(Tier(FIVE, ())), serial=serial, role=role, style=style)
    assert [fact for fact, _, _ in facts] == wants


def test_the_use_is_missing_for_the_site_where_it_stands_now():
    unit = replace(UNIT, stays=(Stay(Site(uses=(Use("rental"),))), Stay(Site(), dt.date(2023, 5, 1))))
    told = terms(Tier(FIVE, ()), Tier(TEN, ("owner home",)))
    assert [(fact, stay) for fact, stay, _ in found(unit, told)] == [("use", 1)]


KEY = (1, 1, "parts", "*")
LAST = dt.date(2025, 4, 14)


@pytest.mark.parametrize(
    ("before", "after", "expected"),
    [
        pytest.param(None, (True, LAST, False), (1, (("parts", LAST),), 0), id="new"),
        pytest.param((True, LAST, False), (True, LAST, False), (0, (), 0), id="the same"),
        pytest.param((True, LAST - DAY, False), (True, LAST, False), (1, (("parts", LAST),), 0), id="a day more"),
        pytest.param((True, LAST, False), (True, None, True), (1, (("parts", None),), 0), id="for life"),
        pytest.param((True, LAST, False), (True, LAST - DAY, False), (0, (), 1), id="a day less"),
        pytest.param(None, (False, TODAY - DAY, False), (0, (), 0), id="over already"),
        pytest.param(None, (True, TODAY, False), (1, (("parts", TODAY),), 0), id="to today"),
    ],
)
def test_what_filling_in_opened(before, after, expected):
    told = missing_facts.opened({} if before is None else {KEY: before}, {KEY: after}, on=TODAY)
    assert (told.units, told.lasts, told.lost) == expected
