"""The kinds of payers: what their table must hold, whoever joins it."""

from fleet.rules import words
from fleet.rules.payers import PAYERS


def test_they_are_asked_in_this_order():
    assert words.PAYERS == ("maker", "labor plan", "installer")


def test_each_is_told_from_the_others():
    assert len({payer.code for payer in PAYERS}) == len(PAYERS)
    # In print and to the color-blind by the pattern alone, of the solid band and of the hatched one.
    assert len({(payer.band.strokes, payer.band.dots) for payer in PAYERS}) == len(PAYERS)
    assert len({payer.band.hatch for payer in PAYERS}) == len(PAYERS)


def test_a_code_fits_its_column_and_no_answer_means_something_else_by_it():
    """A payment says `customer`, `cannot say`, or a payer's code, with ` if` behind it."""
    for payer in PAYERS:
        assert 0 < len(payer.code) <= 12
        assert payer.code not in ("customer", "cannot say")
        assert not payer.code.endswith(" if")


def test_one_of_them_is_ourselves():
    assert [payer.code for payer in PAYERS if payer.ours] == ["installer"]
