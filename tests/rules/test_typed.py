"""What somebody typed into the look-up: its words, and what it looks like."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.rules.typed import Kind, kind_of, line_of, phone, words_of


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("petrov", Kind.NAME),
        ("mrs petrov", Kind.NAME),
        ("O’Brien & Sons", Kind.NAME),
        ("Lewiston", Kind.NAME),
        ("12 cider ln", Kind.STREET),
        ("12 N. Main St", Kind.STREET),
        ("12a cider", Kind.STREET),
        ("3 9th st", Kind.STREET),
        ("12 c", Kind.SERIAL),
        ("0424", Kind.NUMBER),
        ("04240", Kind.ZIP),
        ("04240-1234", Kind.ZIP),
        ("042401", Kind.NUMBER),
        ("555-013", Kind.NUMBER),
        ("555-0134", Kind.PHONE),
        ("5550134", Kind.NUMBER),
        ("555013412", Kind.NUMBER),
        ("2075550134", Kind.PHONE),
        ("12075550134", Kind.PHONE),
        ("120755501345", Kind.NUMBER),
        ("(207) 555 0134", Kind.PHONE),
        ("+1.207.555.0134", Kind.PHONE),
        ("S10B-28761", Kind.SERIAL),
        ("A4471 0923", Kind.SERIAL),
        ("", Kind.NAME),
    ],
)
def test_what_a_text_looks_like(text, kind):
    assert kind_of(text) is kind


@pytest.mark.parametrize(
    "text",
    [
        "(207) 555-0134",
        "207.555.0134",
        "207 555 0134",
        "2075550134",
        "+1 207 555 0134",
        "1-207-555-0134",
        "12075550134",
    ],
)
def test_a_phone_is_its_digits_in_any_style(text):
    assert phone(text) == "2075550134"


def test_what_is_no_phone_has_no_digits_of_one():
    assert (phone("12 cider"), phone("A44"), phone("")) == ("", "", "")
    assert phone("207555013412") == "207555013412"


def test_the_words_of_a_text_without_what_is_only_said():
    assert words_of("Mrs. Petrov") == words_of("petrov")
    assert words_of("the Petrovs and Hale") == words_of("petrovs hale")
    assert words_of("O'Brien") == words_of("obrien") != words_of("o brien")
    assert words_of("mrs") == ("mr5",)
    assert words_of(" -- ") == ()


@pytest.mark.parametrize(
    ("on_file", "typed"),
    [
        ("12 Cider Lane", "ln"),
        ("12 Cider Ln", "lane"),
        ("9 Mt. Hope Ave.", "mount"),
        ("9 Mount Hope Avenue", "mt"),
        ("4 St. Ann St.", "saint"),
        ("4 Saint Ann Street", "st"),
        ("1 N Main", "north"),
    ],
)
def test_a_street_is_found_short_and_long(on_file, typed):
    assert f" {words_of(typed)[0]}" in line_of(on_file) + " "


@given(st.lists(st.text("abcdefghino -.", min_size=1, max_size=12), max_size=4))
def test_every_word_of_every_part_stands_in_the_line(parts):
    line = line_of(*parts)
    assert all(f" {word} " in f"{line} " for part in parts for word in words_of(part))
    assert line == "" or line.startswith(" ")
