"""Near misses of names and serials: where they begin and end, and that what is near is always looked at."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fleet.rules.near import allowed, edits, left_alone

WORDS = st.text("abcdef", max_size=7)
NAMES = st.text("abcdefghijklmnopqrstuvwxyz", min_size=4, max_size=14)


@pytest.mark.parametrize(
    ("one", "other", "off"),
    [
        ("petrov", "petrov", 0),
        ("petrof", "petrov", 1),  # changed
        ("petro", "petrov", 1),  # left out
        ("petrovv", "petrov", 1),  # put in
        ("pertov", "petrov", 1),  # swapped
        ("petroff", "petrov", 2),
        ("peotrv", "petrov", 2),
        ("potrof", "petrov", 2),
        ("patrof", "petrow", 2),
        ("kitten", "sitting", 3),  # the example of textbooks for Levenshtein's distance
        ("", "", 0),
        ("", "ab", 2),
        ("ca", "abc", 3),  # no letter is touched twice; the unrestricted distance is 2
    ],
)
def test_how_far_two_words_are_apart(one, other, off):
    assert edits(one, other, 3) == off
    assert edits(other, one, 3) == off
    assert edits(one, other, max(off - 1, 0)) == off


@pytest.mark.parametrize(
    ("word", "most"),
    [
        ("lee", 0),
        ("hale", 1),
        ("quist", 1),
        ("petrov", 2),
        ("0424", 0),
        ("04240", 0),
        ("555013", 0),
        ("5550134", 1),
        ("2075550134", 1),
        ("a44710", 2),
    ],
)
def test_how_much_a_word_may_be_off(word, most):
    assert allowed(word) == most


def slowly(one: str, other: str) -> int:
    """The same distance by its definition, recursively."""
    if not one or not other:
        return len(one) + len(other)
    least = min(
        slowly(one[1:], other) + 1, slowly(one, other[1:]) + 1, slowly(one[1:], other[1:]) + (one[0] != other[0])
    )
    if len(one) > 1 and len(other) > 1 and one[0] == other[1] and one[1] == other[0]:
        least = min(least, slowly(one[2:], other[2:]) + 1)
    return least


@given(st.text("abc", max_size=5), st.text("abc", max_size=5), st.integers(0, 4))
def test_the_distance_is_what_its_definition_says(one, other, most):
    assert edits(one, other, most) == min(slowly(one, other), most + 1)


@given(WORDS, WORDS)
def test_the_distance_is_the_same_both_ways_and_nothing_only_for_the_same(one, other):
    assert edits(one, other, 9) == edits(other, one, 9)
    assert (edits(one, other, 9) == 0) == (one == other)


def missed(name: str, how: str, at: int, letter: str) -> str:
    at %= len(name)
    match how:
        case "left out":
            return name[:at] + name[at + 1 :]
        case "put in":
            return name[:at] + letter + name[at:]
        case "changed":
            return name[:at] + letter + name[at + 1 :]
        case _:
            return name[:at] + name[at : at + 2][::-1] + name[at + 2 :]


HOW = st.tuples(
    st.sampled_from(["left out", "put in", "changed", "swapped"]), st.integers(0, 30), st.sampled_from("aqz")
)


@given(NAMES, HOW)
def test_whatever_one_slip_makes_of_a_name_is_near_and_looked_at(name, how):
    """Of five letters or more, some way to be off leaves nothing but pieces that the name has."""
    typed = missed(name, *how)
    assume(len(typed) >= 6 or (len(typed) == 5 and how[0] == "swapped"))
    assert edits(typed, name, 2) <= 1
    assert typed in name or any(all(piece in name for piece in way) for way in left_alone(typed))


# In a name of many like letters a piece may be whole by chance, and a swap with another slip may leave no piece to look for.
DISTINCT = st.lists(st.sampled_from("abcdefghijklmnopqrstuvwxyz"), unique=True, min_size=4, max_size=14).map("".join)
ONE_LETTER = HOW.filter(lambda how: how[0] != "swapped")


@given(DISTINCT, ONE_LETTER, ONE_LETTER)
def test_two_slips_are_looked_at_where_half_of_the_word_is_whole(name, first, second):
    typed = missed(missed(name, *first), *second)
    assume(len(typed) >= 6 and allowed(typed) == 2)
    whole = max((size for size in range(len(typed), 2, -1) if any(
        typed[at : at + size] in name for at in range(len(typed) - size + 1)
    )), default=0)  # fmt: skip
    assume(edits(typed, name, 2) <= 2 and whole > len(typed) // 2 + 1)
    assert typed in name or any(all(piece in name for piece in way) for way in left_alone(typed))


def test_pieces_are_never_shorter_than_the_index_can_find():
    for word in ("quist", "petrov", "510828761044"):
        assert left_alone(word)
        assert all(len(piece) >= 3 for way in left_alone(word) for piece in way)


@pytest.mark.parametrize(("length", "off"), [(39, 2), (40, 2), (41, 0), (1_000_000, 0)])
def test_a_word_longer_than_any_name_is_near_nothing(length, off):
    assert allowed("ab" * (length // 2) + "c" * (length % 2)) == off
    assert bool(left_alone("ab" * (length // 2) + "c" * (length % 2))) == bool(off)
