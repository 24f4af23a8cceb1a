"""Serials that are the same or read alike: each pair of characters, and both sides of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.spreadsheets import serials
from fleet.rules.spreadsheets.serials import Likeness


@pytest.mark.parametrize(
    ("first", "second", "likeness"),
    [
        ("HX12", "HX12", Likeness.SAME), ("HX-12", "hx 12", Likeness.SAME),
        ("HO12", "H012", Likeness.LOOK_ALIKE), ("HI12", "H112", Likeness.LOOK_ALIKE), ("HS12", "H512", Likeness.LOOK_ALIKE),
        ("HZ12", "H212", Likeness.LOOK_ALIKE), ("HB12", "H812", Likeness.LOOK_ALIKE), ("HL12", "H112", Likeness.LOOK_ALIKE),
        ("HX.12", "HX12", Likeness.LOOK_ALIKE),
        ("HX12", "HX13", None), ("HX12", "HX1", None), ("HG12", "H612", None), ("", "", None), ("-", "-", None),
    ],
)  # fmt: skip
def test_two_serials_are_alike_as_they_are_read_off_a_plate(first, second, likeness):
    assert serials.likeness(first, second) == likeness
    assert serials.likeness(second, first) == likeness


def test_where_they_differ_is_shown():
    assert serials.differing("SO-12", "SO 12") == ()
    assert serials.differing("S0-12", "SO-I2") == (1, 3)


@given(st.text(alphabet="ABO01ISZ258-X", max_size=12), st.text(alphabet="ABO01ISZ258-X", max_size=12))
def test_only_look_alikes_differ_in_some_place(first, second):
    match serials.likeness(first, second):
        case Likeness.SAME:
            assert serials.differing(first, second) == ()
        case Likeness.LOOK_ALIKE:
            assert serials.differing(first, second)
