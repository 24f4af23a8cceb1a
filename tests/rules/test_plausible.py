"""What is odd of a unit: boundary tables of days, names one letter apart, two heads in a room."""

import datetime as dt
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules import plausible

EARLIER_LATER = (
    ("purchased_on", "installed_on"),
    ("installed_on", "started_on"),
    ("purchased_on", "started_on"),
    ("purchased_on", "registered_on"),
)
DAY = dt.date(2026, 3, 1)


@pytest.mark.parametrize(("earlier", "later"), EARLIER_LATER)
@pytest.mark.parametrize(
    ("second", "odd"),
    [
        pytest.param(dt.date(2026, 2, 28), True, id="the day before"),
        pytest.param(dt.date(2026, 3, 1), False, id="the day itself"),
        pytest.param(dt.date(2026, 3, 2), False, id="the day after"),
        pytest.param(None, False, id="not known"),
    ],
)
def test_a_day_before_one_that_usually_comes_first_is_odd(earlier, later, second, odd):
    assert [one.field for one in plausible.days({earlier: DAY, later: second})] == ([later] if odd else [])
    assert not list(plausible.days({earlier: None, later: second}))


def test_it_is_said_of_both_days_and_confirmed_for_these_two_alone():
    (one,) = plausible.days({"purchased_on": DAY, "registered_on": dt.date(2026, 2, 28)})
    assert one.text == "Registered on February 28, 2026, before it was purchased on March 1, 2026."
    (other,) = plausible.days({"purchased_on": DAY, "registered_on": dt.date(2026, 2, 27)})
    assert one.value != other.value


def test_a_start_before_both_is_said_once():
    known = {"purchased_on": DAY, "installed_on": DAY, "started_on": dt.date(2026, 2, 28)}
    assert [one.field for one in plausible.days(known)] == ["started_on"]


@pytest.mark.parametrize(
    ("name", "known", "found"),
    [
        ("Northril", ["Northrill"], "Northrill"),
        ("Northrilll", ["Northrill"], "Northrill"),
        ("Nortnrill", ["Northrill"], "Northrill"),
        ("Nrothrill", ["Northrill"], "Northrill"),
        ("northrill", ["Northrill"], None),  # the same name
        ("North rill", ["Northrill"], None),  # blanks and hyphens tell no names apart
        ("Northri", ["Northrill"], None),  # two letters
        ("Northrill", ["Northrill", "Northril"], None),  # known itself
        ("NH-9", ["NH-6"], None),  # another size
        ("NH-96", ["NH-69"], None),
        ("NH-90", ["NH-9"], None),
        ("NH-O9", ["NH-09"], "NH-09"),  # a letter that looks like a digit
        ("NJ-9", ["NH-9"], "NH-9"),
        ("N9", ["M9"], None),  # too short to tell
        ("", ["NH-9"], None),
    ],
)
def test_one_letter_apart(name, known, found):
    assert plausible.near(name, known) == found


NAME = st.text(string.ascii_lowercase, min_size=4, max_size=12)


@given(NAME, st.data())
def test_any_single_slip_of_a_letter_is_found_and_the_name_itself_is_not(name, data):
    at = data.draw(st.integers(0, len(name) - 1))
    letter = data.draw(st.sampled_from(string.ascii_lowercase))
    for slip in (name[:at] + name[at + 1 :], name[:at] + letter + name[at:], name[:at] + letter + name[at + 1 :]):
        assert plausible.near(slip, [name]) == (None if slip == name else name)
    assert plausible.near(name, [name]) is None


def test_a_maker_and_a_model_are_held_against_what_is_on_file():
    known = [("Northrill", "NH-9"), ("Brantholm", "BR-X")]
    assert [one.field for one in plausible.names("Northril", "NH-9", known)] == ["maker"]
    assert [one.field for one in plausible.names("Brantholm", "BS-X", known)] == ["model"]
    assert not list(plausible.names("Brantholm", "NJ-9", known))  # a model of another maker


@pytest.mark.parametrize(
    ("role", "room", "odd"),
    [
        ("head", "Den", True),
        ("head", " den ", True),
        ("head", "Loft", False),
        ("head", "", False),
        ("outdoor", "Den", False),
    ],
)
def test_two_heads_in_one_room(role, room, odd):
    assert bool(list(plausible.same_room(role, room, ["Den", ""]))) is odd
