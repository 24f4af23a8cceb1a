"""What a spreadsheet does not say and its other columns do: each way on both sides of what it can say."""

import dataclasses
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import terms, terms_table
from fleet.rules.spreadsheets import filling
from tests.paths import FIXTURES

TARVANE = terms_table.read(tomllib.loads((FIXTURES / "terms" / "tarvane-ductless-2018.toml").read_text()))


def of(maker: str, *models: str, payer: str = "maker") -> terms.Terms:
    return dataclasses.replace(TARVANE, maker=maker, models=models, payer=payer)


@pytest.mark.parametrize(
    ("model", "maker"),
    [("TV-M30", "Tarvane"), ("tvm30", "Tarvane"), ("TB-4", "Tarvane"), ("TB-44", ""), ("HC36", "Halvik"), ("HW-9", "Halvik"),
     ("TX1", ""), ("ZZ1", ""), ("", ""), ("PL9", "")],
)  # fmt: skip
def test_a_maker_is_known_by_the_one_pattern_that_says_something_and_fits(model, maker):
    on_file = [of("Tarvane", "TV-*", "TH-*", "TB-?", "TX*"), of("Halvik", "HW*", "HC*"), of("Halvik", "HC??"), of("Northrill", "TX*"),
               of("Quarterdeck", "*"), of("Brisk", "?-*"), of("Plan", "PL*", payer="labor plan")]  # fmt: skip
    assert filling.maker(model, on_file) == maker


@pytest.mark.parametrize(
    ("street", "streets", "site"),
    [("12 Elm St", 1, "Home"), ("", 0, "Home"), ("12 Elm St", 2, "12 Elm St"), ("", 2, "Home")],
)
def test_a_site_is_home_unless_its_customer_has_several(street, streets, site):
    assert filling.site(street, streets) == site


@pytest.mark.parametrize(
    ("day", "days", "system"),
    [
        ("2019-03-08", {"2019-03-08"}, "Installed March 8, 2019"),
        ("2019-03-08", {"2019-03-08", "2021-06-01"}, "Installed March 8, 2019"),
        ("", {"2019-12-31"}, "Installed December 31, 2019"),
        ("", {"2019-03-08", "2021-06-01"}, "Install date not known"),
        ("", set(), "System"),
    ],
)
def test_units_of_one_day_are_one_system(day, days, system):
    assert filling.system_by_day(day, days) == system


@pytest.mark.parametrize(
    ("roles", "systems"),
    [
        ([], []),
        (["head"], [1]),
        (["outdoor", "head", "head"], [1, 1, 1]),
        (["head", "outdoor", "head"], [1, 1, 1]),
        (["outdoor", "outdoor"], [1, 2]),
        (["outdoor", "head", "outdoor", "head"], [1, 1, 2, 2]),
    ],
)
def test_each_outdoor_unit_begins_a_system(roles, systems):
    assert filling.systems_by_outdoor(roles) == [f"System {number}" for number in systems]


@given(st.lists(st.sampled_from(["outdoor", "head", "pump"])))
def test_no_unit_is_without_a_system_and_no_system_has_two_outdoor_units(roles):
    systems = filling.systems_by_outdoor(roles)
    assert len(systems) == len(roles)
    of_outdoor = [system for system, role in zip(systems, roles, strict=True) if role == "outdoor"]
    assert len(set(of_outdoor)) == len(of_outdoor)


@pytest.mark.parametrize(
    ("column", "first", "second", "same"),
    [
        ("street", "12 Elm St", "12 ELM STREET", True), ("street", "12 Elm St", "14 Elm St", False),
        ("city", "Salt Neck", "SALT NECK", True), ("city", "Salt Neck", "Salt Neck Village", False),
        ("phone", "207-555-0134", "555-0134", True), ("phone", "207-555-0134", "207-555-0135", False),
        ("postcode", "04791", "04791-0002", True), ("postcode", "04791", "04792", False),
        ("email", "Ann@ibarra.example", "ann@ibarra.example", True), ("use", "rental", "owner home", False),
    ],
)  # fmt: skip
def test_two_values_say_the_same_only_where_one_is_the_other_in_full(column, first, second, same):
    assert filling.is_same_fact(column, first, second) is same
    assert filling.is_same_fact(column, second, first) is same
