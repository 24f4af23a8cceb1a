"""Equipment in a spreadsheet: role and style from one word, weights, times and numbers; nothing guessed."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import words
from fleet.rules.spreadsheets import equipment
from fleet.rules.spreadsheets.equipment import Kind


@pytest.mark.parametrize(
    ("cell", "role", "style"),
    [
        ("outdoor", "outdoor", ""), ("Outdoor Unit", "outdoor", ""), ("ODU", "outdoor", ""), ("O.D.U.", None, None),
        ("Condenser", "outdoor", ""), ("Condensing unit", "outdoor", ""), ("ODU #2 (36k)", "outdoor", ""),
        ("3-zone outdoor", "outdoor", ""),
        ("head", "head", ""), ("Indoor head", "head", ""), ("Wall head", "head", "wall"), ("wall mount", "head", "wall"),
        ("Wall-mounted", "head", "wall"), ("High wall", "head", "wall"), ("Hi-Wall 12k", "head", "wall"), ("Wall", "head", "wall"),
        ("Head - wall", "head", "wall"), ("indoor wall unit", "head", "wall"),
        ("Floor console", "head", "floor"), ("floor mount", "head", "floor"),
        ("Cassette", "head", "cassette"), ("4-way ceiling cassette", "head", "cassette"), ("Ducted", "head", "ducted"),
        ("slim duct", "head", "ducted"), ("Ducted head", "head", "ducted"),
        ("Branch box", "branch box", ""), ("BB", "branch box", ""), ("Air handler", "air handler", ""), ("A/H", "air handler", ""),
        ("AHU", "air handler", ""), ("Furnace", "furnace", ""), ("gas furnace", "furnace", ""),
        ("Dehumidifier", "dehumidifier", ""), ("whole-house dehu", "dehumidifier", ""),
        ("Pump", "pump", ""), ("condensate pump", "pump", ""),
    ],
)  # fmt: skip
def test_a_word_that_can_mean_one_kind_of_unit_is_that(cell, role, style):
    kind = equipment.kind(cell)
    assert kind == (Kind(role, style, is_sure=True) if role else None)
    assert role is None or role in words.ROLES


@pytest.mark.parametrize(
    ("cell", "role", "style"),
    [
        ("Indoor", "head", ""), ("IDU", "head", ""), ("evaporator", "head", ""), ("Heat pump", "outdoor", ""), ("mini split", "head", ""),
        ("Thermostat", "other", ""), ("Wall head (old)", "head", "wall"), ("new condenser", "outdoor", ""),
        ("ducted air handler", "air handler", ""), ("wall furnace", "furnace", ""), ("indoor condenser", "outdoor", ""),
    ],
)  # fmt: skip
def test_a_word_that_may_mean_something_else_is_only_proposed(cell, role, style):
    assert equipment.kind(cell) == Kind(role, style, is_sure=False)


@pytest.mark.parametrize(
    "cell", ["", "?", "n/a", "fridge", "wall or floor", "condenser and furnace", "Ann Ibarra", "12k", "unit"]
)
def test_what_names_no_kind_or_several_is_none(cell):
    assert equipment.kind(cell) is None


@given(st.text(max_size=40))
def test_whatever_the_word_a_style_is_only_ever_a_heads(cell):
    kind = equipment.kind(cell)
    assert kind is None or (kind.role in words.ROLES and (not kind.style or kind.role == "head"))


@pytest.mark.parametrize("word", words.ROLES[:-1])
def test_every_role_of_ours_is_itself(word):
    assert equipment.kind(word) == Kind(word, "", is_sure=True)


@pytest.mark.parametrize("word", words.STYLES)
def test_every_style_of_ours_is_itself(word):
    assert equipment.kind(word) == Kind("head", word, is_sure=True)


@pytest.mark.parametrize(("known", "reads"), [(words.USES, equipment.use), (words.ACCESS, equipment.access)])
def test_every_word_of_ours_is_itself_in_any_case(known, reads):
    assert [reads(word.upper()) for word in known] == list(known)
    assert reads("fridge") is None


@pytest.mark.parametrize(
    ("cell", "expected"),
    [(";".join(words.SURROUNDINGS), ";".join(words.SURROUNDINGS)), ("Dogs, smoker", "pets;smoke"), ("year-round", "all year"),
     ("pets and llamas", None), ("", None), (";", None)],
)  # fmt: skip
def test_surroundings_are_all_known_or_none(cell, expected):
    assert equipment.surroundings(cell) == expected


@pytest.mark.parametrize(
    ("cell", "expected", "proposed"),
    [("Yes", "yes", "yes"), ("y", "yes", ""), ("NO", "no", ""), ("n", "no", ""), ("x", None, "yes"), ("1", None, "yes"),
     ("yes - see file", None, "yes"), ("maybe", None, ""), ("", None, "")],
)  # fmt: skip
def test_yes_is_yes_and_a_mark_is_only_proposed(cell, expected, proposed):
    assert equipment.yes_no(cell) == expected
    assert equipment.proposed_yes(cell) == proposed


@pytest.mark.parametrize(
    ("cell", "use", "proposed"),
    [("owner home", "owner home", "owner home"), ("Rental", "rental", "rental"), ("Commercial", "business", "business"), ("Residential", None, "owner home"),
     ("Apt", None, "rental"), ("boat", None, "")],
)  # fmt: skip
def test_a_use_that_says_who_lives_there_is_read_and_another_proposed(cell, use, proposed):
    assert equipment.use(cell) == use
    assert equipment.proposed_use(cell) == proposed


@pytest.mark.parametrize(
    ("cell", "ounces"),
    [("92", "92"), ("92.5", "92.5"), ("92 oz", "92"), ("5 lb", "80"), ("5 lbs 12 oz", "92"), ("5# 12oz", "92"), ("5.75 lbs.", "92"),
     ("0.1 lb", "1.6"), ("2.6 kg", None), ("", None), ("about 92", None), ("lb", None)],
)  # fmt: skip
def test_a_weight_is_in_ounces(cell, ounces):
    assert equipment.ounces(cell) == ounces


@given(st.integers(0, 99), st.integers(0, 15))
def test_pounds_and_ounces_add_up(pounds, ounces):
    assert Decimal(equipment.ounces(f"{pounds} lb {ounces} oz") or "x") == 16 * pounds + ounces


@pytest.mark.parametrize(
    ("cell", "minutes"),
    [("45", "45"), ("45.0", "45"), ("45 min", "45"), ("1 h", "60"), ("1.5 hrs", "90"), ("1 hr 30 min", "90"), ("1:30", "90"),
     ("0.33 h", None), ("1:75", None), ("", None), ("an hour", None)],
)  # fmt: skip
def test_a_time_is_in_minutes(cell, minutes):
    assert equipment.minutes(cell) == minutes


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        ("1234.5", "1234.5"),
        ("$1,234.50", "1234.50"),
        ("1,234", "1234"),
        ("12,34", None),
        ("1.234,50", None),
        ("", None),
        ("-5", None),
    ],
)
def test_a_number_is_one_without_its_commas(cell, number):
    assert equipment.number(cell) == number


def test_a_number_may_have_its_unit_behind_it():
    assert equipment.number("19.8 Amps", "a|amps?") == "19.8"
    assert equipment.number("5%", "%|percent") == "5"
    assert equipment.number("19.8 V", "a|amps?") is None
