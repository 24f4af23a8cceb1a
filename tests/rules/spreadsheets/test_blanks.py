"""Texts that stand for nothing or for the row above, on both sides."""

import pytest

from fleet.rules.spreadsheets import blanks


@pytest.mark.parametrize(
    "text",
    ["n/a", "N/A", "NA", "na.", "-", "--", "?", "???", "unknown", "Unk.", "TBD", "none", "XX", "xxx", "see file", "(illegible)", "#N/A",
     "#REF!", blanks.NO_STORED_VALUE],
)  # fmt: skip
def test_a_text_that_stands_for_nothing(text):
    assert blanks.is_nothing(text)
    assert not blanks.is_above(text)


@pytest.mark.parametrize("text", ["", " ", "0", "no", "x", "Nan", "A", "S-1", "yes - see file", "unknown maker", "#2"])
def test_a_text_that_says_something_or_is_not_there(text):
    assert not blanks.is_nothing(text)


@pytest.mark.parametrize("text", ['"', "''", "”", "ditto", "Do.", "same", "Same as above"])
def test_a_mark_for_the_row_above(text):
    assert blanks.is_above(text)
    assert not blanks.is_nothing(text)


@pytest.mark.parametrize("text", ["", "same house", "door", "'", "n/a"])
def test_no_mark_for_the_row_above(text):
    assert not blanks.is_above(text)
